"""How much to keep back of each limit so that the plan holds, and limits with that kept back."""

import numpy as np
import pandas as pd

from clearing.forecast import Draws
from clearing.property import Settings
from clearing.schedule.odds import drawn_totals, period_limits, sums_held

COLUMNS = [
    "year", "season", "kind", "limit", "plan_on", "confidence", "holds_with", "reserve", "holds",
]  # fmt: skip
EIGHTY = 0.8
SMALL = 1e-6
ERRORS = 2.0  # standard errors of a quantile of the draws that are added; own choice
BACK = 0.5  # share of the room to spare that is given back in the next round; own choice
NEAR = 0.01  # share of a limit below which nothing is worth another round; own choice


def reserves(
    visits: pd.DataFrame,
    limits: pd.DataFrame,
    settings: Settings,
    draws: Draws | None = None,
    chances: tuple[float, ...] | None = None,
) -> pd.DataFrame:
    """Return what each season and year must have beyond what is planned to hold with a chance.

    reserve = quantile of the draws - plan on. A quantile of n draws is itself unsure: its rank has
    the standard error sqrt(q (1 - q) / n), and ERRORS of them are added to q, so that the plan
    holds in other draws as well. Money that carries over is held as the sum up to each year, as its
    limit is.

    Parameters
    ----------
    visits : DataFrame
        Chosen visits inside the horizon.
    limits : DataFrame
        resource, kind, year, season, high.
    settings : Settings
        Seed, confidence, whether money carries over.
    draws : Draws, optional
        What the forecast draws.
    chances : tuple of float, optional
        With which it is to hold; else 0.8 and the settings' confidence.

    Returns
    -------
    DataFrame
        year, season, kind (hours, money), limit, plan_on, confidence, holds_with (the quantile),
        reserve, holds (whether the limit leaves as much). Rows without a limit are left out.

    References
    ----------
    own reasoning
    """
    totals = drawn_totals(visits, limits, settings, draws)
    highs = period_limits(limits)
    held, planned = sums_held(totals, settings)
    asked = sorted({EIGHTY, settings.confidence} if chances is None else set(chances))
    rows = []
    for at, row in enumerate(totals.rows.itertuples()):
        limit = highs.get((row.kind, row.year, row.season))
        if limit is None or (row.kind, row.season) == ("hours", "") or row.kind == "product":
            continue
        for chance in asked:
            rank = surer(chance, held.shape[1])
            needed = max(float(np.quantile(held[at], rank)), planned[at])
            rows.append((row.year, row.season, row.kind, limit, planned[at], chance, needed,
                         needed - planned[at], needed <= limit + SMALL))  # fmt: skip
    return pd.DataFrame(rows, columns=COLUMNS)


def surer(chance: float, draws: int) -> float:
    """Return the quantile of so many draws that lies over the true one but for bad luck.

    References
    ----------
    own reasoning
    """
    return min(chance + ERRORS * float(np.sqrt(chance * (1.0 - chance) / draws)), 1.0)


def tightened(limits: pd.DataFrame, now: pd.DataFrame, table: pd.DataFrame) -> pd.DataFrame:
    """Return the limits to plan with next, so that the owner's own hold with the table's chance.

    Hours: high = own high x plan on / what would hold, for each season; a season without work yet
    takes the mean share of the others. Money: high = own high - reserve. Where that is more than
    the last high, the share BACK of the difference is given back if the season or year holds, and
    none if it does not. No high rises over the owner's own.

    Parameters
    ----------
    limits : DataFrame
        The owner's: resource, kind, year, season, low, high.
    now : DataFrame
        What the last plan was made with; the owner's at first.
    table : DataFrame
        As `reserves` gives it for that plan and one chance.

    References
    ----------
    own reasoning
    """
    own = table.set_index(["kind", "year", "season"])
    hours = own[(own["holds_with"] > 0) & (own.index.get_level_values("kind") == "hours")]
    sums = hours[["plan_on", "holds_with"]].sum()
    usual = float(sums["plan_on"] / sums["holds_with"]) if len(hours) else 1.0
    highs = []
    for row in limits.itertuples():
        key = (row.kind, row.year, row.season)
        if key not in own.index or pd.isna(row.high):
            highs.append(row.high)
            continue
        found = own.loc[key]
        if row.kind == "money":
            highs.append(row.high - float(found["reserve"]))
        else:
            worked = float(found["holds_with"]) > 0
            share = float(found["plan_on"] / found["holds_with"]) if worked else usual
            highs.append(row.high * share)
    last = now.set_index("resource")["high"].reindex(limits["resource"]).to_numpy(dtype=float)
    wanted = np.array(highs, dtype=float)
    keys = limits[["kind", "year", "season"]].itertuples(index=False, name=None)
    holds = np.array([key in own.index and bool(own.loc[key, "holds"]) for key in keys])
    room = np.where(holds, BACK * np.maximum(wanted - last, 0.0), 0.0)
    return limits.assign(high=np.fmin(wanted, last) + room)


def given_back(last: pd.DataFrame, now: pd.DataFrame) -> bool:
    """Return whether some limit has risen by enough to plan once more.

    Parameters
    ----------
    last, now : DataFrame
        resource, high of two rounds.

    References
    ----------
    own reasoning
    """
    before = last.set_index("resource")["high"].astype(float)
    after = now.set_index("resource")["high"].astype(float)
    return bool((after - before > NEAR * before.abs().clip(lower=1.0)).any())


def excess(table: pd.DataFrame) -> tuple[int, float]:
    """Return in how many seasons and years a plan does not hold, and by what shares in all.

    Parameters
    ----------
    table : DataFrame
        As `reserves` gives it for one chance.

    References
    ----------
    own reasoning
    """
    over = table.loc[~table["holds"].astype(bool)]
    share = (over["holds_with"] - over["limit"]) / over["limit"].abs().clip(lower=1.0)
    return len(over), round(float(share.sum()), 9)


def all_hold(table: pd.DataFrame) -> bool:
    """Return whether every season and year of a table of `reserves` holds.

    References
    ----------
    own reasoning
    """
    return bool(table["holds"].all())
