"""Weigh each option: cost and worth inside the years, and what is left to do after them.

Every option is charged with the same programme: its first treatment, and all that follows up to
the same age, wherever the last year cuts it. So neither a late start nor waiting looks cheap only
because its follow-ups fall behind the last year.
"""

import numpy as np
import pandas as pd

from clearing.effort.cost_share import paid_back_inside
from clearing.effort.dates import Calendar
from clearing.effort.first import CASE, PAIR
from clearing.effort.money import present_value
from clearing.property import Settings

CLEAN = 3  # years that must be clean before a strip counts as done; own choice
LATER = ("follow_up", "upkeep", "mow", "seed")


def paid(visits: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return visits with what they cost, own time at its worth, undiscounted and discounted.

    spent = cost + own hours x wage; paid = present value of spent [dollars].

    Parameters
    ----------
    visits : DataFrame
        year, hours, own_hours, cost; with low and high.
    settings : Settings
        Wage, discount rate.

    References
    ----------
    own reasoning
    """
    share = (visits["own_hours"] / visits["hours"].where(visits["hours"] > 0)).fillna(0.0)
    out = visits.copy()
    rate = settings.money.discount_rate
    for end in ("", "_low", "_high"):
        own = out[f"hours{end}"] * share * settings.crew.wage_per_hour
        out[f"spent{end}"] = out[f"cost{end}"] + own
        out[f"paid{end}"] = present_value(
            out[f"spent{end}"], out["year"], settings.first_year, rate
        )
    return out


def by_age(visits: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return what follows the first treatment by years since the start, from the first start year.

    Returns
    -------
    DataFrame
        strip_id, method_id, age [years], spent [dollars]; one row each.

    References
    ----------
    own reasoning
    """
    early = visits[(visits["start_year"] == settings.first_year) & visits["job"].isin(LATER)]
    early = paid(early, settings).assign(age=early["year"] - settings.first_year)
    one = early.groupby([*PAIR, "option_id", "age"], as_index=False)["spent"].sum()
    return one.groupby([*PAIR, "age"], as_index=False)["spent"].max()


def tail_after(
    cases: pd.DataFrame, tail: pd.DataFrame, year: float, settings: Settings
) -> pd.Series:
    """Return the discounted cost of the programme of each case that falls after a year.

    Parameters
    ----------
    cases : DataFrame
        strip_id, method_id, start_year.
    tail : DataFrame
        As `by_age` gives it.
    year : float
        Last year that the visits themselves reach.
    settings : Settings
        First year, discount rate.

    References
    ----------
    own reasoning
    """
    rows = cases[CASE].drop_duplicates().merge(tail, on=PAIR)
    rows["year"] = rows["start_year"] + rows["age"]
    rows = rows[rows["year"] > year]
    rate = settings.money.discount_rate
    rows["paid"] = present_value(rows["spent"], rows["year"], settings.first_year, rate)
    return rows.groupby(CASE)["paid"].sum()


def dated_options(
    visits: pd.DataFrame,
    tail: pd.DataFrame,
    by_year: pd.DataFrame,
    place: pd.DataFrame,
    settings: Settings,
    days: Calendar,
    clear: pd.Series,
) -> pd.DataFrame:
    """Return one row an option with hours, cost, run-off, worth, finish and first mowing.

    Parameters
    ----------
    visits : DataFrame
        Priced visits, those after the last year among them.
    tail : DataFrame
        As `by_age` gives it.
    by_year : DataFrame
        One row a case and year: done.
    place : DataFrame
        Strips with goal and area, indexed by strip_id.
    settings : Settings
        Years and money.
    days : Calendar
        Seasons.
    clear : Series
        As `first.clear_share` gives it.

    References
    ----------
    own reasoning
    """
    last = settings.first_year + settings.years - 1
    out = visits[["option_id", *CASE, "method", "place"]].drop_duplicates("option_id")
    out = out.join(place, on="strip_id").join(clear.rename("clear_share"), on=PAIR)
    spent = paid(visits, settings)
    sums = (
        spent[spent["year"] <= last]
        .groupby("option_id")[["hours", "paid", "paid_low", "paid_high"]]
        .sum()
    )
    out = out.join(sums, on="option_id").fillna(dict.fromkeys(sums.columns, 0.0))
    after = spent[spent["year"] > last].groupby("option_id")["paid"].sum()
    rest = tail_after(out, tail, float(by_year["year"].max()), settings).rename("rest")
    out = out.join(rest, on=CASE)
    out["run_off"] = out["option_id"].map(after).fillna(0.0) + out["rest"].fillna(0.0)
    out = out.join(finish_years(by_year, last), on=CASE)
    mowed = visits[(visits["job"] == "mow") & (visits["year"] <= last)]
    mowed = mowed.sort_values("year", kind="stable").drop_duplicates("option_id")
    ends = {
        name: months[-1] + 12 * (months[-1] < months[0])  # over the turn of the year
        for name, months in zip(days.names, days.months, strict=True)
    }
    mowed = mowed.assign(mow_season_end=mowed["season"].map(ends), mow_year=mowed["year"])
    facts = mowed.set_index("option_id")[["mow_year", "mow_season_end"]]
    out = out.join(facts, on="option_id")
    out = out.rename(columns={f"paid{end}": f"cost{end}" for end in ("", "_low", "_high")})
    return out.assign(worth=worth(out, settings), paid_back=paid_back_inside(out, place, settings))


def finish_years(by_year: pd.DataFrame, last: int) -> pd.Series:
    """Return the first year from which each case stays done, inside the years; else missing.

    Done in every year from then to the last, and in CLEAN years at the least, those past the last
    year among them: so that a spring before sprouts show, at the end of the plan, is no finish.

    Parameters
    ----------
    by_year : DataFrame
        One row a case and year: done; the years reach past the last.
    last : int
        Last year of the plan.

    References
    ----------
    own reasoning
    """
    still = by_year[~by_year["done"].astype(bool)]
    first = (still[still["year"] <= last].groupby(CASE)["year"].max() + 1).rename("finish_year")
    after = still[still["year"] > last].groupby(CASE)["year"].min().reindex(first.index)
    kept = (first <= last) & ~(after < first + CLEAN)
    return first.where(kept)


def worth(options: pd.DataFrame, settings: Settings) -> np.ndarray:
    """Return the discounted worth of the cleared ground inside the years [dollars].

    value a hectare and year x area x share of it that is cleared x weight of the owner's priority,
    from the first mowing (grass), or from the finish on (woods, and grass on slopes that no mower
    is planned for).

    References
    ----------
    own reasoning
    """
    mown = options["mown"].astype(bool)
    ready = np.where(mown, options["mow_year"], options["finish_year"]).astype(float)
    a_year = options["goal"].map(settings.money.value_per_ha_year).fillna(0.0) * options["area_ha"]
    a_year = a_year * options["weight"] * options["clear_share"]
    total = np.zeros(len(options))
    for year in range(settings.first_year, settings.first_year + settings.years):
        gained = present_value(a_year, year, settings.first_year, settings.money.discount_rate)
        total += np.where(ready <= year, gained, 0.0)
    return total


def not_now(
    place: pd.DataFrame, beyond: pd.DataFrame, tail: pd.DataFrame, settings: Settings
) -> pd.DataFrame:
    """Return the option of leaving each strip, with what clearing it afterwards will cost.

    run-off = the cheapest programme that starts the year after the last: the first treatment of
    the stems that then stand there, and all that follows it.

    Parameters
    ----------
    place : DataFrame
        Strips, indexed by strip_id.
    beyond : DataFrame
        Priced first visits that start the year after the last.
    tail : DataFrame
        As `by_age` gives it.
    settings : Settings
        Years and money.

    References
    ----------
    own reasoning
    """
    first = paid(beyond, settings)
    first = first.groupby([*CASE, "option_id"], as_index=False)["paid"].sum()
    later = tail_after(first, tail, -np.inf, settings).rename("later")
    total = first.join(later, on=CASE)
    known = total[total["later"].notna()]
    total = known if len(known) else total
    cost = (total["paid"] + total["later"].fillna(0.0)).groupby(total["strip_id"]).min()
    return left_alone(place, cost)


def left_alone(place: pd.DataFrame, run_off: pd.Series) -> pd.DataFrame:
    """Return the option of leaving each strip, with its run-off by strip_id (none = nought).

    References
    ----------
    own reasoning
    """
    out = place[["block_id"]].reset_index()
    out["run_off"] = out["strip_id"].map(run_off).fillna(0.0).astype(float)
    zero = ["hours", "cost", "cost_low", "cost_high", "worth", "paid_back", "clear_share"]
    blank = dict.fromkeys(zero, 0.0)
    missing = dict.fromkeys(["start_year", "finish_year", "mow_year", "mow_season_end"], np.nan)
    return out.assign(
        option_id=out["strip_id"] + ":not_now",
        **blank,
        **missing,
        method_id="not_now",
        method="not_now",
        start_season="",
    )
