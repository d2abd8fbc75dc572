"""Follow one plan through: every strip as it was chosen, with seed crossing between them."""

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.forecast.cases import lay_out
from clearing.forecast.futures import as_table
from clearing.forecast.run import run
from clearing.property import Settings
from clearing.rates import Rates


def follow_through(
    chosen: pd.DataFrame,
    methods: pd.DataFrame,
    strips: gpd.GeoDataFrame,
    blocks: gpd.GeoDataFrame,
    reach: pd.DataFrame | None,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return the stems of each strip under one plan, with the seed of the others every year.

    As `look_ahead` for the chosen cases, and besides: what each strip sheds, treated or not, falls
    on the others by their share and joins their banks; what grows of it sheds again. A strip's
    own bank keeps all that it sheds, as in `look_ahead`, so that seed from others only adds.

    Parameters
    ----------
    chosen : DataFrame
        strip_id, method_id, start_year (missing for not_now): one case a strip.
    methods : DataFrame
        As ``walk/methods``.
    strips, blocks : GeoDataFrame
        As ``walk/strips`` and ``walk/blocks``.
    reach : DataFrame or None
        As `seed_reach` gives it; none = no seed crosses.
    rates : Rates
        Handbook figures.
    settings : Settings
        Years, done_when, grass.

    Returns
    -------
    DataFrame
        As ``walk/futures``.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    cases = lay_out(methods, (strips, blocks), rates, settings, chosen)
    crossing = None
    if reach is not None and len(reach):
        at = {name: place for place, name in enumerate(cases.frame["strip_id"])}
        crossing = {species: matrix_of(reach, species, at) for species in cases.kinds}
    return as_table(cases, run(cases, rates, settings, crossing), strips, rates, settings)


def matrix_of(reach: pd.DataFrame, species: str, at: dict[str, int]) -> np.ndarray:
    """Return the shares of one species as a matrix: row = where it lands, column = from where.

    References
    ----------
    own reasoning
    """
    own = reach[(reach["species"] == species)]
    own = own[own["strip_id"].isin(list(at)) & own["from_id"].isin(list(at))]
    out = np.zeros((len(at), len(at)))
    to, come = (own[name].map(at).to_numpy(dtype=int) for name in ("strip_id", "from_id"))
    np.add.at(out, (to, come), own["share"].to_numpy(dtype=float))
    return out
