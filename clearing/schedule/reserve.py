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


def reserves(
    visits: pd.DataFrame,
    limits: pd.DataFrame,
    settings: Settings,
    draws: Draws | None = None,
    chances: tuple[float, ...] | None = None,
) -> pd.DataFrame:
    """Return what each season and year must have beyond what is planned to hold with a chance.

    reserve = quantile of the draws - plan on. Money that carries over is held as the sum up to each
    year, as its limit is.

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
            needed = max(float(np.quantile(held[at], chance)), planned[at])
            rows.append((row.year, row.season, row.kind, limit, planned[at], chance, needed,
                         needed - planned[at], needed <= limit + SMALL))  # fmt: skip
    return pd.DataFrame(rows, columns=COLUMNS)


def tightened(limits: pd.DataFrame, now: pd.DataFrame, table: pd.DataFrame) -> pd.DataFrame:
    """Return the limits to plan with next, so that the owner's own hold with the table's chance.

    Hours: high = own high x plan on / what would hold, for each season; a season without work yet
    takes the mean share of the others. Money: high = own high - reserve. No high rises again, so
    that the loop of plan, draws and tighter limits ends.

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
    return limits.assign(high=np.fmin(np.array(highs, dtype=float), last))


def all_hold(table: pd.DataFrame) -> bool:
    """Return whether every season and year of a table of `reserves` holds.

    References
    ----------
    own reasoning
    """
    return bool(table["holds"].all())
