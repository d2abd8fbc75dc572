"""What there is in each season and year, and what each option uses of it."""

import pandas as pd

from clearing.property import Settings


def field_limits(settings: Settings, seasons: pd.DataFrame) -> pd.DataFrame:
    """Return the limits of the owner's crew and purse.

    Parameters
    ----------
    settings : Settings
        Years, budget.
    seasons : DataFrame
        season, hours (`rates.season_hours`).

    Returns
    -------
    DataFrame
        resource, kind (hours or money), year, season, low, high. Money that may be carried over
        is limited by the sum of the budgets up to each year.

    References
    ----------
    own reasoning
    """
    rows, purse = [], 0.0
    for i in range(settings.years):
        year = settings.first_year + i
        for season in seasons.itertuples():
            rows.append(
                (f"hours {year} {season.season}", "hours", year, season.season, None, season.hours)
            )
        budgets = settings.money.budget_per_year
        if not budgets:
            continue
        budget = budgets[min(i, len(budgets) - 1)]
        purse = purse + budget if settings.money.carry_over else budget
        rows.append((f"money {year}", "money", year, "", None, purse))
    return pd.DataFrame(rows, columns=["resource", "kind", "year", "season", "low", "high"])


def field_uses(
    visits: pd.DataFrame, settings: Settings, income: pd.DataFrame | None = None
) -> pd.DataFrame:
    """Return what each option uses of hours and money inside the years of the plan.

    Money is the cost of the visits: product at its price by the litre, on hand or not, where the
    purchases come in whole containers.

    Parameters
    ----------
    visits : DataFrame
        As ``walk/visits``.
    settings : Settings
        Years; whether money may be carried over.
    income : DataFrame, optional
        option_id, year, amount: what is paid back after the work, room for that year's spending.

    Returns
    -------
    DataFrame
        option, resource, amount.

    References
    ----------
    own reasoning
    """
    last = settings.first_year + settings.years - 1
    inside = visits[visits["year"] <= last]
    year = inside["year"].astype(int).astype(str)
    hours = pd.DataFrame(
        {
            "option": inside["option_id"],
            "resource": "hours " + year + " " + inside["season"],
            "amount": inside["hours"],
        }
    )
    money = inside[["option_id", "year", "cost"]]
    if income is not None and len(income):
        back = income[(income["year"] <= last) & income["option_id"].isin(visits["option_id"])]
        back = back[["option_id", "year"]].assign(cost=-back["amount"])
        money = pd.concat([money, back], ignore_index=True)
    money = money.groupby(["option_id", "year"], as_index=False)["cost"].sum()
    if settings.money.carry_over:
        later = pd.DataFrame({"until": range(settings.first_year, last + 1)})
        money = money.merge(later, how="cross")
        money = money[money["until"] >= money["year"]].assign(year=lambda t: t["until"])
    spent = pd.DataFrame(
        {
            "option": money["option_id"],
            "resource": "money " + money["year"].astype(int).astype(str),
            "amount": money["cost"],
        }
    )
    both = pd.concat([hours, spent], ignore_index=True)
    return both.groupby(["option", "resource"], as_index=False)["amount"].sum()


def with_income(
    limits: pd.DataFrame, income: pd.DataFrame | None, chosen: pd.DataFrame, settings: Settings
) -> pd.DataFrame:
    """Return the limits with the room that what is paid back gives to each year's money.

    Parameters
    ----------
    limits : DataFrame
        As `field_limits` gives them.
    income : DataFrame or None
        option_id, year, amount.
    chosen : DataFrame
        The plan's options: option_id.
    settings : Settings
        Whether money may be carried over: then what was paid back stays for later years.

    References
    ----------
    own reasoning
    """
    if income is None or not len(income):
        return limits
    own = income[income["option_id"].isin(chosen["option_id"])].groupby("year")["amount"].sum()
    years = limits["year"].astype(int)
    paid = own.reindex(range(years.min(), years.max() + 1), fill_value=0.0)
    paid = paid.cumsum() if settings.money.carry_over else paid
    more = years.map(paid).where(limits["kind"] == "money", 0.0)
    return limits.assign(high=limits["high"] + more)


def limit_words(resource: str) -> str:
    """Return a limit as a person would say it.

    References
    ----------
    own reasoning
    """
    kind, year, *season = resource.split(" ", 2)
    if kind == "products":
        return f"kinds of product in {year}"
    if kind == "hours":
        return f"hours in {season[0].replace('_', ' ')} {year}"
    return f"money in {year}"
