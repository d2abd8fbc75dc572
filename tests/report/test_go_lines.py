"""Go or no-go: figures of the handbook, each once, none for a label that nobody confirmed."""

import re

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
