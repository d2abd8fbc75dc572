"""Set methods side by side: what a hectare and a stem cost, and what the others would have cost."""

from collections.abc import Collection

import pandas as pd

from clearing.effort.contract import asked
from clearing.effort.money import present_value
from clearing.property import Settings

FIRST_JOBS = (
    "hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "hand_work", "call_utility",
    "mow_down",
)  # fmt: skip


def unit_costs(
    options: pd.DataFrame,
    visits: pd.DataFrame,
    place: pd.DataFrame,
    last_year: int | None = None,
    wage_per_hour: float = 0.0,
) -> pd.DataFrame:
    """Return what each option costs a hectare and a stem of its first treatment.

    per_ha = (cash + own hours x wage) / area; per_stem = the same / stems; cash_per_ha = cash /
    area. All are sums of the same years and not discounted, so cash is part of the whole.

    Parameters
    ----------
    options, visits : DataFrame
        As ``walk/options`` and ``walk/visits``.
    place : DataFrame
        Strips with area_ha, indexed by strip_id.
    last_year : int, optional
        Last year whose visits count; without it all count.
    wage_per_hour : float
        What an hour of the owner's own time is worth [dollars].

    Returns
    -------
    DataFrame
        option_id, per_ha [dollars/ha], per_stem [dollars], cash_per_ha [dollars/ha]; per_stem is
        missing where no stem is treated.

    References
    ----------
    own reasoning
    """
    area = options["strip_id"].map(place["area_ha"]).astype(float)
    first = visits[visits["job"].isin(FIRST_JOBS)].groupby("option_id")["stems"].sum()
    stems = options["option_id"].map(first).astype(float)
    inside = visits if last_year is None else visits[visits["year"] <= last_year]
    by_option = inside.groupby("option_id")[["cost", "own_hours"]].sum()
    cash = options["option_id"].map(by_option["cost"]).fillna(0.0)
    spent = cash + options["option_id"].map(by_option["own_hours"]).fillna(0.0) * wage_per_hour
    return pd.DataFrame(
        {
            "option_id": options["option_id"],
            "per_ha": spent / area,
            "per_stem": spent / stems.where(stems > 0),
            "cash_per_ha": cash / area,
        }
    ).reset_index(drop=True)


def compare_methods(
    options: pd.DataFrame,
    visits: pd.DataFrame,
    chosen: Collection[str],
    place: pd.DataFrame,
    settings: Settings,
) -> pd.DataFrame:
    """Return the cheapest option of each kind of method for each strip, beside the chosen one.

    Of a kind that can start in the year the chosen one starts, only such options are looked at:
    what starts later is cheaper because it is later. cost = cost + run-off, discounted, own time
    at its worth; the chosen one stands for its own kind. ``contractor`` is what others would ask
    for those jobs of the option that have a price, discounted, to be read with
    ``contractor_jobs``; it is missing where no job has one.

    Parameters
    ----------
    options, visits : DataFrame
        As ``walk/options`` and ``walk/visits``.
    chosen : collection of str
        Ids of the plan's options, one a strip.
    place : DataFrame
        Strips with area_ha, indexed by strip_id.
    settings : Settings
        Prices, years, discount rate.

    Returns
    -------
    DataFrame
        strip_id, method, option_id, chosen, cost, per_ha, hours, extra [dollars over the chosen],
        worth and paid_back (discounted, what stands against the cost), contractor,
        contractor_jobs.

    References
    ----------
    own reasoning
    """
    rows = options.assign(
        chosen=options["option_id"].isin(set(chosen)), cost=options["cost"] + options["run_off"]
    )
    mine = rows[rows["chosen"]].set_index("strip_id")
    rows = rows[rows["strip_id"].isin(mine.index)]
    year = rows["strip_id"].map(mine["start_year"])
    then = (rows["start_year"] == year) | year.isna()
    keys = [rows["strip_id"], rows["method"]]
    rows = rows[then | ~then.groupby(keys).transform("any")]
    order = rows.assign(other=~rows["chosen"])
    order = order.sort_values(["strip_id", "method", "other", "cost", "option_id"])
    out = order.drop_duplicates(["strip_id", "method"]).reset_index(drop=True)
    out["extra"] = out["cost"] - out["strip_id"].map(mine["cost"])
    out["per_ha"] = out["cost"] / out["strip_id"].map(place["area_ha"])
    out = out.join(_contractors(out["option_id"], visits, place, settings), on="option_id")
    out["contractor_jobs"] = out["contractor_jobs"].fillna("")
    columns = [
        "strip_id", "method", "option_id", "chosen", "cost", "per_ha", "hours", "extra",
        "worth", "paid_back", "contractor", "contractor_jobs",
    ]  # fmt: skip
    return out.sort_values(["strip_id", "cost", "option_id"], ignore_index=True)[columns]


def _contractors(
    option_ids: pd.Series, visits: pd.DataFrame, place: pd.DataFrame, settings: Settings
) -> pd.DataFrame:
    """Return what a contractor asks for the priced jobs of each option inside the years."""
    last = settings.first_year + settings.years - 1
    own = visits[visits["option_id"].isin(set(option_ids)) & (visits["year"] <= last)]
    own = own.assign(area_ha=own["strip_id"].map(place["area_ha"]))
    ask = asked(own, settings)["asked"].where(own["their_hours"] == 0, own["other_cost"])
    rate = settings.money.discount_rate
    own = own.assign(contractor=present_value(ask, own["year"], settings.first_year, rate))
    own = own[own["contractor"].notna()]
    by_option = own.groupby("option_id")
    jobs = by_option["job"].agg(lambda names: " ".join(sorted(set(names))))
    return pd.DataFrame({"contractor": by_option["contractor"].sum(), "contractor_jobs": jobs})
