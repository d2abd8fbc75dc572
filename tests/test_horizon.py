"""Waiting past the last year pays nothing: two years more leave the first year's work as it is."""

from dataclasses import replace

import clearing
from clearing import schedule
from clearing.schedule.choice import begun_with
from clearing.schedule.field import Around, field_instance, owners_limits

GAP = 0.002


def planned(years: int):
    """Return the sample planned for so many years."""
    place = clearing.read(clearing.sample_folder())
    asked = replace(place, settings=replace(place.settings, years=years))
    return clearing.run(asked, gap=GAP)


def test_two_years_more_do_not_move_the_first_year():
    """In the plan of ten years the first year of the plan of eight costs no more than the gap."""
    eight, ten = planned(8).plan.options, planned(10)
    settings, rates, options = ten.property.settings, ten.rates, ten.options
    first = eight[eight["start_year"] == settings.first_year]
    assert len(first)
    same = options["option_id"].isin(first["option_id"])
    others = ~options["strip_id"].isin(first["strip_id"])
    others &= options["start_year"] != settings.first_year
    posed = field_instance(
        options[same | others], ten.visits, rates, settings,
        Around(income=ten.income, arrivals=ten.arrivals), owners_limits(settings, rates),
    )  # fmt: skip
    order = Around(order=schedule.strip_order(ten.strips, ten.methods))
    start = begun_with(posed, rates, settings, order, None)
    held = schedule.solve(posed.instance, GAP, start=start)
    assert held.cost <= ten.plan.cost + 2 * GAP * abs(ten.plan.cost)
