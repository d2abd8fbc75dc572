"""Facts of the years made by hand: a summary with so many years, its forecast falling by half."""

from dataclasses import replace

from clearing import report
from clearing.report import words
from clearing.report.facts import Summary
from clearing.report.facts_ahead import Ahead, ForecastYear, GroundYear, SeasonFacts
from tests.report.small_place import small_results

FIRST = 2027
SUMMER_LIMIT = 120.0


def forecast(year: int, thick: float) -> ForecastYear:
    """Return one year with so many thick stems, twice as many thin ones, and ranges about both."""
    return ForecastYear(
        year, words.stems(thick, thick / 2, thick * 2),
        words.stems(2 * thick, thick, 6 * thick), words.stems(50, 50, 50), 20.0, "",
    )  # fmt: skip


def season(year: int, label: str, hours: float, limit: float | None) -> SeasonFacts:
    """Return one season of one year, its hours with a range of half to double."""
    said = "" if limit is None else f"{words.said(limit)} hours"
    amount = words.hours(hours, hours / 2, hours * 2)
    return SeasonFacts(year, label, label.replace(" ", "_"), amount, limit, said)


def many_years(
    count: int, units: str = "us", hours: float = 100.0, limit: float | None = SUMMER_LIMIT
) -> Summary:
    """Return a summary of so many years: summers with work, springs without, ground growing."""
    base = report.summarise(small_results(units=units))
    years = tuple(range(FIRST, FIRST + count))
    row = base.year_rows[0]
    rows = tuple(
        replace(row, year=year, cost=words.cost(300.0 * (1 + place % 4), 200.0, 2000.0),
                cost_limit="$1,500", cost_there=1500.0)
        for place, year in enumerate(years)
    )  # fmt: skip
    us = units == "us"
    ground = tuple(
        GroundYear(year, *(words.area(share * 8.0 * (place + 1) / count, us)
                           for share in (1.0, 0.6, 0.5)), "")
        for place, year in enumerate(years)
    )  # fmt: skip
    seasons = tuple(
        season(year, label, hours if label == "summer" else 0.0, limit)
        for year in years for label in ("spring", "summer")
    )  # fmt: skip
    place = tuple(forecast(FIRST + step, 20_000 / 2**step) for step in range(count + 1))
    ahead = Ahead(place=place, ground=ground, seasons=seasons)
    return replace(base, years=years, year_rows=rows, ahead=ahead)
