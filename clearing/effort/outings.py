"""Tell which parts of a first treatment are one outing, and share its ground among them."""

import numpy as np
import pandas as pd

from clearing.effort.dates import calendar, common
from clearing.effort.sums import key_of_year
from clearing.rates import Rates
from clearing.treatment.assign import MAIN_JOB


def outings_of(parts: pd.DataFrame, rates: Rates) -> pd.Series:
    """Return a whole number for each part, the same for parts of one job that share every date.

    A part is put in the first of its seasons from the option's start on; two parts of a job are
    one outing where that is the same season for every start that the option has.

    Parameters
    ----------
    parts : DataFrame
        pair, method_id, job, seasons.
    rates : Rates
        Seasons.

    References
    ----------
    own reasoning
    """
    days = calendar(rates.seasons)
    main: dict[int, list[str]] = {}
    method = parts["method_id"].str.split(":").str[0]
    for pair, seasons in zip(
        *(parts.loc[parts["job"] == method.map(MAIN_JOB), name] for name in ("pair", "seasons")),
        strict=True,
    ):
        main.setdefault(pair, []).append(seasons)
    starts: dict[int, tuple[int, ...]] = {}
    for pair, lists in main.items():
        fitting = common(lists, days.names) or common([" ".join(lists)], days.names)
        starts[pair] = tuple(days.names.index(name) for name in fitting)
    dates: dict[tuple[str, tuple[int, ...]], tuple[tuple[int, int], ...]] = {}
    codes: dict[object, int] = {}
    found = []
    for pair, job, seasons in parts[["pair", "job", "seasons"]].itertuples(index=False):
        ways = starts.get(pair, tuple(range(len(days.names))))
        if (seasons, ways) not in dates:
            dates[seasons, ways] = tuple(days.next_fit(seasons, start) for start in ways)
        found.append(codes.setdefault((pair, job, dates[seasons, ways]), len(codes)))
    return pd.Series(found, index=parts.index, dtype=np.int64)


def ground_shares(rows: pd.DataFrame, outing: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Return each row's share of its strip's ground, so that an outing's rows cover it once.

    Every zone that an outing works in is split among its rows there by their weight.

    Parameters
    ----------
    rows : DataFrame
        zone and start_year as whole numbers, share of the zone in its strip.
    outing, weight : array
        Outing of each row, and what it counts (stems, or crowns of a leaf spray).

    References
    ----------
    own reasoning
    """
    zones = int(rows["zone"].max()) + 1 if len(rows) else 1
    spot = outing * zones + rows["zone"].to_numpy()
    of = pd.factorize(key_of_year(spot, rows["start_year"]))[0]
    total = np.bincount(of, weights=weight)[of] if len(of) else weight
    part = np.divide(weight, total, out=np.zeros(len(of)), where=total > 0)
    return part * rows["share"].to_numpy(dtype=float)
