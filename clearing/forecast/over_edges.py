"""Seed that comes to treated strips from those not yet treated."""

import numpy as np
import pandas as pd

COLUMNS = ["strip_id", "from_id", "species", "year", "seeds", "seedlings"]
KEYS = ["strip_id", "from_id", "species"]


def arriving(futures: pd.DataFrame, reach: pd.DataFrame, mowed: pd.DataFrame) -> pd.DataFrame:
    """Return the seed that each strip would get of each other that is not treated yet, by year.

    First order: seeds of a year are what the other strip sheds untreated; seedlings come up of
    them the next spring, before the crowding that a full strip would give them, less what a mowed
    sward keeps down where every way of treating the strip has it mowed by then. Seed that stays in
    the bank for later springs is not in it; `follow_through` has that too.

    Parameters
    ----------
    futures : DataFrame
        As ``walk/futures``: of the strips left alone.
    reach : DataFrame
        As `seed_reach` gives it.
    mowed : DataFrame
        As `mowed_years` gives it.

    Returns
    -------
    DataFrame
        strip_id (where it lands), from_id, species, year (of the seed), seeds, seedlings (of the
        spring after), all over 0.

    References
    ----------
    own reasoning
    """
    if not len(reach) or not len(futures):
        return pd.DataFrame(columns=COLUMNS)
    idle = futures[(futures["method_id"] == "not_now") & (futures["stage"] == "seed_bank")]
    shed = idle[["strip_id", "species", "year", "seed_out"]]
    shed = shed.rename(columns={"strip_id": "from_id"})
    out = reach.merge(shed, on=["from_id", "species"])
    out["seeds"] = out["seed_out"] * out["of_seed_out"]
    kept = pd.MultiIndex.from_frame(mowed[["strip_id", "year"]])
    short = pd.MultiIndex.from_frame(out[["strip_id", "year"]]).isin(kept)
    held = 1.0 - np.where(short, out["held_back"], 0.0)
    out["seedlings"] = out["seeds"] * out["seedlings_a_seed"] * held
    sums = out.groupby([*KEYS, "year"], as_index=False)[["seeds", "seedlings"]].sum()
    return sums[sums["seeds"] > 0].reset_index(drop=True)[COLUMNS]


def mowed_years(futures: pd.DataFrame) -> pd.DataFrame:
    """Return strips and years in which all that is treated by then is mowed.

    Parameters
    ----------
    futures : DataFrame
        As ``walk/futures``, of every way of treating the strips.

    Returns
    -------
    DataFrame
        strip_id, year.

    References
    ----------
    own reasoning
    """
    late = futures[futures["work"].isin(["follow_up", "upkeep"])]
    late = late[late["stage"] == "seed_bank"]
    every = late.groupby(["strip_id", "year"])["mowable"].all()
    return every.index[every.to_numpy(dtype=bool)].to_frame(index=False)
