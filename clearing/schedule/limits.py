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


def field_uses(visits: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return what each option uses of hours and money inside the years of the plan.

    Parameters
    ----------
    visits : DataFrame
        As ``walk/visits``.
    settings : Settings
        Years; whether money may be carried over.

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
    money = inside.groupby(["option_id", "year"], as_index=False)["cost"].sum()
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
