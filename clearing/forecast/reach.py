"""What of the seed of each strip falls on each other strip."""

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.forecast.creeks import along_water, on_creek
from clearing.forecast.growth import vital_rates
from clearing.forecast.kernels import Kernel, carriers_of, kernel_of
from clearing.forecast.squares import Squares
from clearing.property import Settings
from clearing.rates import Rates

COLUMNS = [
    "strip_id", "from_id", "species", "share", "way", "of_seed_out", "seedlings_a_seed",
    "held_back",
]  # fmt: skip
LEAST = 1e-6  # share that counts as none; own choice


def seed_reach(
    strips: gpd.GeoDataFrame, features: gpd.GeoDataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return the share of the seed shed in each strip that falls on each other strip.

    The kernel of each target species (`kernel_of`) is integrated over both strips on squares of
    one grid; a square belongs to a strip by the part of it that lies inside. Of species that water
    carries, ``water_share`` of the seed of strips on a creek goes along it instead
    (`along_water`), no more than others do not get by air of what leaves. What is left of the whole
    falls in the strip itself or on other ground.

    Error: against the plain integral 2 % at most while squares are 10 m wide or less (60 ha in
    all); with 200 strips of 1.2 ha they are 20 m wide, and shares of strips that touch are up to
    15 % off, by a square that both lie in. The kernels themselves are assumed.

    Parameters
    ----------
    strips : GeoDataFrame
        As ``walk/strips``.
    features : GeoDataFrame
        As ``walk/features``; water drawn as lines are creeks.
    rates : Rates
        Handbook figures.
    settings : Settings
        Targets.

    Returns
    -------
    DataFrame
        strip_id (where it lands), from_id, species, share (of the seeds shed in from_id), way
        (wind, bird, gravity or water); of_seed_out (share against the seed that leaves the strip,
        as ``futures.seed_out``), seedlings_a_seed (that come up the next spring), held_back (share
        of them that a mowed sward keeps down). Shares of one strip and species add up to 1 at most,
        with what stays in it; of_seed_out add up to 1 at most too.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    names = strips["strip_id"].astype(str).to_numpy()
    if len(names) < 2 or not settings.targets:
        return pd.DataFrame(columns=COLUMNS)
    squares = Squares(strips)
    known: dict[Kernel, tuple[np.ndarray, np.ndarray]] = {}
    frames = []
    for species in sorted(settings.targets):
        kernel, vital = kernel_of(species, rates), vital_rates(species, rates)
        if kernel not in known:
            leaving = 1.0 - squares.staying(kernel)
            known[kernel] = _at_most(squares.shares(kernel), leaving), leaving
        (by_air, leaving), by_water = known[kernel], None
        if "water" in carriers_of(species, rates):
            touch, mean = (rates.figure(species, f"water_{x}_m").value for x in ("touch", "kernel"))
            wet = on_creek(strips, features, touch).to_numpy()
            taken = rates.figure(species, "water_share").value
            by_air = by_air * np.where(wet, 1.0 - taken, 1.0)[None, :]
            by_water = taken * along_water(strips, features, touch, mean)
            by_water = _at_most(by_water, leaving - by_air.sum(axis=0))
        for way, shares in ((kernel.way, by_air), ("water", by_water)):
            if shares is None:
                continue
            to, come = np.nonzero(shares > LEAST)
            share = shares[to, come]
            frames.append(pd.DataFrame({
                "strip_id": names[to], "from_id": names[come], "species": species,
                "share": share, "way": way, "of_seed_out": share / leaving[come],
                "seedlings_a_seed": vital.bank_survival * vital.seed_to_seedling,
                "held_back": vital.grass_suppression,
            }))  # fmt: skip
    keys = ["species", "strip_id", "from_id", "way"]
    return pd.concat(frames, ignore_index=True).sort_values(keys, ignore_index=True)[COLUMNS]


def _at_most(shares: np.ndarray, most: np.ndarray) -> np.ndarray:
    """Return shares that add up to no more than the most of each column."""
    total = shares.sum(axis=0)
    part = np.divide(np.maximum(most, 0.0), total, out=np.ones_like(total), where=total > most)
    return shares * part[None, :]
