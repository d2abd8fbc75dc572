"""Lay out what becomes of every strip under every method and start year."""

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.forecast.canopy import canopy_pct, crown_m2, forage_pct
from clearing.forecast.cases import CASE, Cases, lay_out
from clearing.forecast.found import lay_on
from clearing.forecast.growth import STAGES, SUCKER, Vital
from clearing.forecast.run import Paths, run
from clearing.forecast.squares import leaving_shares
from clearing.property import Settings
from clearing.rates import Rates
from clearing.tables import columns


def look_ahead(
    methods: pd.DataFrame,
    strips: gpd.GeoDataFrame,
    blocks: gpd.GeoDataFrame,
    rates: Rates,
    settings: Settings,
    seen: tuple[pd.DataFrame, pd.DataFrame] | None = None,
) -> pd.DataFrame:
    """Return the stems of each strip, method and start year through the years.

    Each species runs as a yearly stage-structured population; the first treatment kills by its
    recipes, survivors come back as resprouts and root suckers, follow-ups go on yearly until
    ``done_when`` holds, then upkeep for the life of the seed bank.

    Stems that this crew may not treat (left by a rule or to the utility) grow on and stand in every
    later year, in all stages; ``done`` ignores them. A wish of no stem over an inch holds at
    ``done_stems_per_ha`` expected ones. What is treated in a year sheds no seed in it.

    Three scenarios run side by side under the same work. Low: the low end of the count, and
    ``scenario_way`` to their ends better kills, fewer seedlings, sprouts and places; high: the
    reverse.
    Each step makes more of more, so low <= stems <= high holds in every row.

    Parameters
    ----------
    methods : DataFrame
        As ``walk/methods``.
    strips, blocks : GeoDataFrame
        As ``walk/strips`` and ``walk/blocks``; ``keep_canopy_pct`` of a strip is the ground under
        crowns that stay, nought where it does not stand.
    rates : Rates
        Handbook figures.
    settings : Settings
        Years, done_when, grass.
    seen : (DataFrame, DataFrame), optional
        Counts after treatment and follow-ups that were not made (`found.lay_on`).

    Returns
    -------
    DataFrame
        As ``walk/futures``; the years reach four past the last. Species that do not sucker have no
        rows of that stage.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    cases = lay_out(methods, (strips, blocks), rates, settings)
    found = None if seen is None else lay_on(cases, *seen)
    paths = run(cases, rates, settings, found=found)
    return as_table(cases, paths, strips, rates, settings)


def as_table(
    cases: Cases, paths: Paths, strips: gpd.GeoDataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return paths as ``walk/futures`` rows.

    References
    ----------
    own reasoning
    """
    if not len(cases.frame) or not cases.kinds:
        return pd.DataFrame(columns=columns("futures"))
    covered = canopy_of(cases, paths, rates).astype(np.float32)
    grass = forage_pct(covered, settings.grass, rates).astype(np.float32)
    out = leaving_shares(strips, sorted(cases.kinds), rates)
    leaving = out.loc[cases.frame["strip_id"].astype(str)]
    frames = [
        _rows(cases, name, paths, (covered, grass), leaving[name].to_numpy())
        for name in cases.kinds
    ]
    return pd.concat(frames, ignore_index=True)[columns("futures")]


def canopy_of(cases: Cases, paths: Paths, rates: Rates) -> np.ndarray:
    """Return the ground under crowns [percent] (years, cases).

    Live stems of all species to clear, trees that stay where they are known, and of dead stems
    that stand the share that branches without leaves shade.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    dead = rates.figure("any", "dead_shade_share").value
    crowns = np.zeros(paths.work.shape)
    for name in cases.kinds:
        each = crown_m2(name, rates)
        crowns += paths.stems[name][:, 0] @ each + dead * (paths.dead[name] @ each)
    keep = cases.frame["keep_pct"].to_numpy(dtype=float)
    return canopy_pct(crowns, cases.area_ha, keep)


def _rows(
    cases: Cases,
    species: str,
    paths: Paths,
    shaded: tuple[np.ndarray, np.ndarray],
    leaving: np.ndarray,
) -> pd.DataFrame:
    """Return the paths of one species as ``walk/futures`` rows."""
    kind, years, n = cases.kinds[species], cases.years, len(cases.frame)
    stems = paths.stems[species]
    last = len(STAGES) if (stems[..., SUCKER] > 0).any() or _suckers(kind.vital) else SUCKER
    stems = stems[..., :last]
    shape = (len(years), n, last)

    def spread(values: np.ndarray) -> np.ndarray:
        return np.broadcast_to(values[..., None], shape).reshape(-1)

    frame: dict[str, object] = {
        name: spread(np.broadcast_to(cases.frame[name], shape[:2])) for name in CASE
    }
    frame |= {
        "year": np.repeat(years, n * last),
        "species": species,
        "stage": np.tile(np.array(STAGES[:last], dtype=object), len(years) * n),
        "stems": stems[:, 0].reshape(-1),
        "stems_low": stems[:, 1].reshape(-1),
        "stems_high": stems[:, 2].reshape(-1),
        "standing_dead": spread(paths.dead[species].sum(axis=2)),
        "work": spread(paths.work),
        "seed_out": spread(paths.seeds[species] * leaving),
        "mowable": spread(paths.mowable),
        "done": spread(paths.done),
        "canopy_pct": spread(shaded[0]),
        "forage_pct": spread(shaded[1]),
    }
    return pd.DataFrame(frame)


def _suckers(vital: tuple[Vital, ...]) -> bool:
    """Return whether a species sends up suckers from its roots in any scenario."""
    return any(each.suckers_of_tree > 0 or each.suckers_per_stem > 0 for each in vital)
