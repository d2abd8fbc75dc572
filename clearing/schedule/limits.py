"""What there is in each season and year, and what each option uses of it."""

import itertools

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
        resource, kind (hours, mower or money), year, season, low, high. Money that may be carried
        over is limited by the sum of the budgets up to each year; the mower's hours only where the
        owner named them. Of the first year's seasons what is over is gone.

    References
    ----------
    own reasoning
    """
    rows, purse, mower = [], 0.0, settings.money.mower_hours_a_season
    for i in range(settings.years):
        year = settings.first_year + i
        for season in seasons.itertuples():
            left = 1.0 - (settings.season_gone.get(season.season, 0.0) if i == 0 else 0.0)
            name = f"hours {year} {season.season}"
            rows.append((name, "hours", year, season.season, None, season.hours * left))
            if mower is not None:
                name = f"mower {year} {season.season}"
                rows.append((name, "mower", year, season.season, None, mower * left))
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
    """Return what each option uses of hours, mower and money inside the years of the plan.

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
    season, names = pd.factorize(inside["season"])
    year = inside["year"].to_numpy(dtype=int)
    when = (year - settings.first_year) * len(names) + season
    years = range(settings.first_year, last + 1)
    dates = pd.Series([f"{year} {name}" for year in years for name in names], dtype=object)
    money = inside[["option_id", "year", "cost"]]
    if income is not None and len(income):
        back = income[(income["year"] <= last) & income["option_id"].isin(visits["option_id"])]
        back = back[["option_id", "year"]].assign(cost=-back["amount"])
        money = pd.concat([money, back], ignore_index=True)
    money = money.groupby(["option_id", "year"], as_index=False)["cost"].sum()
    if settings.money.carry_over:
        later = pd.DataFrame({"until": years})
        money = money.merge(later, how="cross")
        money = money[money["until"] >= money["year"]].assign(year=lambda t: t["until"])
    parts = [("hours", inside["option_id"], when, inside["hours"], dates)]
    if settings.money.mower_hours_a_season is not None:
        on = (inside["machine_hours"] > 0).to_numpy()
        mower = inside[on]
        parts.append(("mower", mower["option_id"], when[on], mower["machine_hours"], dates))
    spent = money["year"].to_numpy(dtype=int) - settings.first_year
    parts.append(("money", money["option_id"], spent, money["cost"],
                  pd.Series([str(year) for year in years], dtype=object)))  # fmt: skip
    frames = []
    for kind, option, place, amount, said in parts:
        code, options = pd.factorize(option)
        rows = pd.DataFrame({"option": code, "resource": place, "amount": amount.to_numpy()})
        sums = rows.groupby(["option", "resource"], as_index=False)["amount"].sum()
        sums["option"] = options.to_numpy()[sums["option"]]
        sums["resource"] = (f"{kind} " + said).to_numpy()[sums["resource"]]
        frames.append(sums)
    out = pd.concat(frames, ignore_index=True)
    return out.sort_values(["option", "resource"], ignore_index=True)


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


def order_rows(
    options: pd.DataFrame, order: dict[str, int], before: tuple[tuple[str, str], ...]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the uses and limits that start one block in a later season than another.

    For each strip b of the later block, each strip a of the earlier and each season t: b may have
    started by t only where a has started before it: sum(b starts <= t) - sum(a starts < t) <= 0. A
    strip that no option treats is not waited for.

    Parameters
    ----------
    options : DataFrame
        option_id, strip_id, block_id, start_year, start_season (missing for not_now).
    order : dict
        Season -> its place in the year.
    before : tuple of (str, str)
        Earlier block, later block.

    Returns
    -------
    uses, limits : DataFrame
        group, option, resource, amount; resource, kind, year, season, low, high.

    References
    ----------
    own reasoning
    """
    own = options[options["start_year"].notna()]
    at = own["start_year"].astype(int) * len(order) + own["start_season"].map(order)
    own = own.assign(at=at.astype(int))
    uses, limits = [], []
    for first, then in before:
        ahead, behind = own[own["block_id"] == first], own[own["block_id"] == then]
        for (a, early), (b, late) in itertools.product(
            ahead.groupby("strip_id"), behind.groupby("strip_id")
        ):
            for when in sorted(late["at"].unique()):
                name = f"order {first} before {then}: {a}, {b}, {when}"
                limits.append((name, "order", when // len(order), "", None, 0.0))
                begun, before_it = late[late["at"] <= when], early[early["at"] < when]
                uses += [
                    part[["strip_id", "option_id"]].assign(resource=name, amount=sign)
                    for part, sign in ((begun, 1.0), (before_it, -1.0))
                ]
    empty = pd.DataFrame(columns=["strip_id", "option_id", "resource", "amount"])
    rows = pd.concat(uses, ignore_index=True) if uses else empty
    names = ["resource", "kind", "year", "season", "low", "high"]
    rows = rows.rename(columns={"strip_id": "group", "option_id": "option"})
    return rows, pd.DataFrame(limits, columns=names)


def limit_words(resource: str) -> str:
    """Return a limit as a person would say it.

    References
    ----------
    own reasoning
    """
    kind, year, *season = resource.split(" ", 2)
    named = season[0].split(" ")[0].replace("_", " ") if season else ""
    if kind == "order":
        first, then = resource.removeprefix("order ").split(":")[0].split(" before ", 1)
        return f"the wish that block {first} come before block {then}"
    if kind == "products":
        return f"kinds of product in {year}"
    if kind == "blocks":
        return f"blocks to work in {named} {year}"
    if kind == "hours":
        return f"hours in {named} {year}"
    if kind == "mower":
        return f"mower hours in {named} {year}"
    return f"money in {year}"
