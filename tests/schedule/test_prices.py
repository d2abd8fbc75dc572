"""What one more of each limit would save: from the relaxation, in crew days and thousands."""

from dataclasses import replace

import pandas as pd
import pytest

from clearing.property import Crew, Money
from clearing.rates import for_settings
from clearing.schedule import Around, solve
from clearing.schedule.field import field_instance, owners_limits
from clearing.schedule.prices import COLUMNS, limit_prices, price_lines
from tests.schedule.test_choice import BASE, option, visit


def priced(settings, **prices: float) -> pd.DataFrame:
    """Return what is said of prices of resources; underscores of their names stand for blanks."""
    rates = for_settings(settings)
    rows = [(name.replace("_", " "), price) for name, price in prices.items()]
    table = pd.DataFrame(rows, columns=["resource", "price"])
    return limit_prices(table, owners_limits(settings, rates), rates, settings)


def test_a_crew_day_is_people_times_hours_of_that_season():
    """Three people of 4 hours in spring and 6 in fall, a dollar an hour: 12 and 18 dollars."""
    crew = Crew(people=3, hours_per_day={"spring": 4.0, "fall": 6.0})
    table = priced(replace(BASE, crew=crew), hours_2027_spring=1.0, hours_2028_fall=1.0)
    assert table["saves"].tolist() == [18.0, 12.0]
    assert table["season"].tolist() == ["fall", "spring"]


def test_money_is_spoken_of_by_the_thousand():
    """Twenty cents saved by a dollar are 200 by a thousand."""
    table = priced(BASE, money_2028=0.2)
    assert table[["saves", "unit", "unit_words"]].to_numpy().tolist() == [
        [200.0, 1000.0, "$1,000 more"]
    ]  # fmt: skip


def test_money_that_carries_over_is_worth_the_prices_of_all_later_years():
    """A dollar of 2027 is there in 2029 too, which alone has a price of its own: 0.1 and 0.3."""
    carried = replace(BASE, money=Money([100.0], carry_over=True))
    table = priced(carried, money_2027=0.1, money_2028=0.0, money_2029=0.3)
    by_year = table.set_index("year")["per_unit"].sort_index()
    assert by_year.tolist() == pytest.approx([0.4, 0.3, 0.3])


def test_only_what_is_scarce_has_a_price():
    """One strip of 20 hours in a season of ten: half of it, and an hour more saves a twentieth."""
    options = pd.DataFrame([option("a1", "y", 2027, 0.0, 400.0),
                            option("a1", "not_now", None, 0.0, 0.0)])  # fmt: skip
    visits = pd.DataFrame([visit("a1/y", 2027, 20.0, 0.0)])
    rates = for_settings(BASE)
    limits = owners_limits(BASE, rates)
    posed = field_instance(options, visits, rates, BASE, Around(), limits)
    relaxed = solve(posed.plain, relax=True)
    table = limit_prices(relaxed.prices, limits, rates, BASE)
    assert table["resource"].tolist() == ["hours 2027 spring"]
    assert table["per_unit"].tolist() == pytest.approx([400.0 / 20.0])


def test_little_is_not_told_and_alike_are_told_together():
    """Two seasons that save as much stand in one sentence; two dollars are not worth one."""
    rows = [("a", "hours", 2027, "fall", 5.0, 12.0, "one more day of the crew", 60.2),
            ("b", "hours", 2027, "summer", 5.0, 12.0, "one more day of the crew", 59.8),
            ("c", "money", 2028, "", 0.002, 1000.0, "$1,000 more", 2.0)]  # fmt: skip
    assert price_lines(pd.DataFrame(rows, columns=COLUMNS)) == (
        "One more day of the crew in fall 2027 or summer 2027 would save about $60 over the years.",
    )
