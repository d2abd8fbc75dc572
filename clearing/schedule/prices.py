"""Say what one more unit of each limit would save, from the relaxation of the plan."""

import pandas as pd

from clearing.property import Settings
from clearing.rates import Rates

COLUMNS = [
    "resource", "kind", "year", "season", "per_unit", "unit", "unit_words", "saves",
]  # fmt: skip
MONEY_STEP, MOWER_STEP = 1000.0, 1.0  # dollars and hours that are spoken of at once; own choice
WORTH_SAYING = 5.0  # dollars that a unit must save to be told; own choice
MOST_LINES = 3


def limit_prices(
    prices: pd.DataFrame, limits: pd.DataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return what a crew day, a thousand dollars or an hour of the mower more would save.

    saves = price of the relaxation x units; money that carries over is worth the prices of its year
    and of all later ones. Strips may be done in shares there, so it is about
    what the plan itself would gain, and holds for a small change only. A crew day is people x
    hours a day of that season.

    Parameters
    ----------
    prices : DataFrame
        resource, price [dollars a unit], as ``solve(instance, relax=True).prices`` gives them.
    limits : DataFrame
        resource, kind (hours, money, mower), year, season.
    rates : Rates
        Seasons with their hours and working days.
    settings : Settings
        Not more than the crew's people and hours.

    Returns
    -------
    DataFrame
        resource, kind, year, season, per_unit [dollars an hour or a dollar], unit [hours or
        dollars], unit_words, saves [dollars]; what saves most first, nothing without a price.

    References
    ----------
    own reasoning
    """
    known = limits[limits["kind"].isin(["hours", "money", "mower"])]
    rows = known.merge(prices[["resource", "price"]], on="resource", how="inner")
    if settings.money.carry_over:
        rows["price"] = _carried(rows)
    rows = rows[rows["price"] > 0]
    day = _crew_day(rates, settings)
    unit = rows["season"].map(day).where(rows["kind"] == "hours", MOWER_STEP).astype(float)
    unit = unit.mask(rows["kind"] == "money", MONEY_STEP)
    words = {"hours": "one more day of the crew", "money": f"${MONEY_STEP:,.0f} more",
             "mower": "one more hour of the mower"}  # fmt: skip
    out = rows.assign(
        per_unit=rows["price"], unit=unit, unit_words=rows["kind"].map(words),
        saves=rows["price"] * unit,
    )  # fmt: skip
    out = out.sort_values(["saves", "resource"], ascending=[False, True], ignore_index=True)
    return out[COLUMNS]


def _carried(rows: pd.DataFrame) -> pd.Series:
    """Return prices where a dollar of one year is there in all later years, too."""
    money = rows[rows["kind"] == "money"].sort_values("year", ascending=False)
    later = money["price"].cumsum()
    return rows["price"].mask(rows["kind"] == "money", later.reindex(rows.index))


def _crew_day(rates: Rates, settings: Settings) -> dict[str, float]:
    """Return the hours of one day of the whole crew, by season."""
    by_season, people = settings.crew.hours_per_day, settings.crew.people
    return {
        str(name): people * float(by_season.get(name, 0.0) if isinstance(by_season, dict)
                                  else by_season)
        for name in rates.seasons["season"]
    }  # fmt: skip


def price_lines(prices: pd.DataFrame, most: int = MOST_LINES) -> tuple[str, ...]:
    """Return in sentences what more of each limit would save, what saves most first.

    Parameters
    ----------
    prices : DataFrame
        As `limit_prices` gives them.
    most : int
        How many are told.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> rows = [("hours 2027 fall", "hours", 2027, "fall", 15.0, 12.0, "one more day of the crew",
    ...          180.0)]
    >>> price_lines(pd.DataFrame(rows, columns=COLUMNS))
    ('One more day of the crew in fall 2027 would save about $180 over the years.',)
    """
    told: dict[tuple[str, str], list[str]] = {}
    for row in (prices[prices["saves"] >= WORTH_SAYING] if len(prices) else prices).itertuples():
        saves = f"${float(f'{row.saves:.2g}'):,.0f}"
        season = f"{row.season} ".replace("_", " ") if row.season else ""
        told.setdefault((row.unit_words, saves), []).append(f"{season}{row.year}")
    return tuple(
        f"{words[:1].upper()}{words[1:]} in {' or '.join(when[:MOST_LINES])} would save about "
        f"{saves} over the years."
        for (words, saves), when in list(told.items())[:most]
    )
