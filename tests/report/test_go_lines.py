"""Go or no-go: figures of the handbook, each once, none for a label that nobody confirmed."""

import re
from dataclasses import replace

import pytest

from clearing.report import summarise
from clearing.report.go_lines import go_lines, no_go_lines


def visits_of(results, block_id: str):
    """Return the visits of a block in words."""
    block = next(one for one in summarise(results).blocks if one.block_id == block_id)
    return [visit for strip in block.strips for visit in strip.visits]


def test_lines_carry_the_figures_of_the_handbook(results):
    """Wind, heat, dry hours, stump and re-entry of glyphosate, as herbicides.csv has them."""
    lines = " ".join(line.what for line in go_lines(results, visits_of(results, "1")))
    figure = results.rates.figure
    assert f"Wind {figure('glyphosate_4', 'wind_min_mph').value:g} to 10 mph" in lines
    assert f"{figure('glyphosate_4', 'rei_hours').value:g} hours" in lines
    assert f"within {figure('any', 'stump_minutes').value:g} minutes" in lines


def test_every_line_says_where_its_figure_is_from(results):
    """No line is without a source, and none says that something is safe or allowed."""
    for block in results.blocks["block_id"]:
        for line in go_lines(results, visits_of(results, block)):
            assert line.known
            assert not re.search("safe|allowed|permitted", f"{line.what} {line.known}".lower())


def test_an_unconfirmed_label_is_no_go(small):
    """Imazapyr stands with one sentence and without figures."""
    visits = visits_of(small, "1")
    assert no_go_lines(small, visits) == (
        "Imazapyr 2: no go until the label is read and confirmed",
    )
    assert {line.products for line in go_lines(small, visits)} == {"glyphosate 4"}


def test_without_spray_there_is_nothing_to_tick(small):
    """A block that is mowed has no lines."""
    assert go_lines(small, visits_of(small, "2")) == ()
    assert no_go_lines(small, visits_of(small, "2")) == ()


def test_waits_of_stock_are_the_owner_s_where_the_label_says_them(results):
    """Block 1 is grazed: its stock waits the days of the owner's label, told as his."""
    days = {one.name: one.limits["graze_days"] for one in results.rates.products
            if one.confirmed and "graze_days" in one.limits}  # fmt: skip
    lines = go_lines(results, visits_of(results, "1"), "1")
    stock = [line for line in lines if line.what.startswith("Stock stays off")]
    assert {line.what for line in stock} == {
        f"Stock stays off for {days['glyphosate_4']:g} days after it"
    }
    assert all(line.own for line in stock)


def test_figures_of_the_handbook_leave_a_blank_for_the_label(results):
    """Wind, heat, dry hours, stump and re-entry are nobody's label yet; the water line is."""
    lines = go_lines(results, visits_of(results, "1"), "1")
    own = {line.what.split(" ")[0].strip(":") for line in lines if line.own}
    assert own == {"Water", "Stock"}


OWN = {"wind_min_mph": 3.0, "wind_max_mph": 8.0, "max_temp_f": 84.0, "rain_free_hours": 4.0,
       "reentry_hours": 24.0, "stump_minutes": 5.0}  # fmt: skip


def labelled(results, confirmed: bool = True, **limits: float):
    """Return a property whose glyphosate has these lines on its label too."""
    products = tuple(
        replace(one, limits=one.limits | limits, confirmed=confirmed)
        if one.name == "glyphosate_4" else one
        for one in results.rates.products
    )  # fmt: skip
    return replace(results, rates=replace(results.rates, products=products))


def test_the_owner_s_label_takes_the_place_of_the_handbook(results):
    """Wind, heat, dry hours, stump and re-entry are the label's, told as the owner's own."""
    visits = visits_of(results, "1")
    lines = {line.what: line for line in go_lines(labelled(results, **OWN), visits, "1")}
    for figure in ("Wind 3 to 8 mph", "Heat below 84", "Dry for 4 hours",
                   "Stump wetted within 5 minutes", "Nobody back in for 24 hours"):  # fmt: skip
        (line,) = [one for what, one in lines.items() if what.startswith(figure)]
        assert line.own
        assert line.known.startswith("your label")


def test_one_end_of_the_wind_is_told_apart_from_the_other(results):
    """The label's upper end is the owner's own; the lower end stays the handbook's."""
    lines = go_lines(labelled(results, wind_max_mph=7.0), visits_of(results, "1"), "1")
    wind = {line.what.partition(",")[0]: line.own for line in lines if "Wind" in line.what}
    assert wind == {"Wind at most 7 mph": True, "Wind at least 2 mph": False}


@pytest.mark.parametrize("limit", OWN)
def test_a_label_s_line_counts_only_when_the_label_is_confirmed(results, limit):
    """An unconfirmed label brings no line at all: its product is no go."""
    own = labelled(results, confirmed=False, **{limit: OWN[limit]})
    visits = visits_of(results, "1")
    assert not any("glyphosate" in line.products for line in go_lines(own, visits, "1"))
    assert any(line.startswith("Glyphosate 4: no go") for line in no_go_lines(own, visits))
