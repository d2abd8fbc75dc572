"""What changed since the last plan: a log and a last plan made by hand, sums worked out by hand."""

import json
import math
from dataclasses import replace

import pandas as pd
import pytest

from clearing import report
from clearing.files import write
from clearing.files.last_plan import last_plan as read_last
from clearing.report.foretold import dead_counted, kills_found
from clearing.report.front import front_card
from clearing.report.inputs import inputs_of, land_of
from clearing.report.log_facts import SinceLast, read_back
from clearing.report.pieces import strip_then
from clearing.report.plain_facts import plain
from tests.report.conftest import pages_of
from tests.report.logged_place import last_plan, lesson, logged, row
from tests.report.numbers import numbers, said
from tests.report.small_place import HOSTILE, small_results

KILL = ("kill", "callery_pear", "hack_glyphosate", "")
HACKED = (("1a",), "hack_and_squirt", 2027, 14.0, 1.2, math.nan, 1, True)
CUT = (("1b",), "cut_and_spray", 2027, 10.0, 0.9, math.nan, 1, True)


def since(results) -> SinceLast:
    """Return what changed since the last plan of a place."""
    return report.summarise(results).log.since


def test_without_a_last_plan_nothing_is_compared():
    """The first plan of a folder has nothing to be compared with."""
    made = logged([HACKED])
    assert since(replace(made, property=replace(made.property, last=None))) is None


def test_hours_of_one_strip_are_set_beside_its_range():
    """10 hours (8 to 13) foretold, 14 logged: over the range, one piece of work."""
    hours = since(logged([HACKED])).foretold[0]
    assert (hours.value, hours.low, hours.high) == pytest.approx((10, 8, 13))
    assert (hours.took, hours.inside, hours.pieces, hours.pieces_inside) == (14, False, 1, 0)
    assert hours.words.endswith("the log has 14 hours, over it.")


def test_two_strips_are_joined_as_the_plan_joins_them():
    """20 hours; d = sqrt(0.5 (2+2)^2 + 0.5 (4+4)) below and sqrt(0.5 6^2 + 0.5 18) above."""
    hours = since(logged([HACKED, CUT], begun=("1a", "1b"))).foretold[0]
    assert hours.value == 20
    assert hours.low == pytest.approx(20 - math.sqrt(12))
    assert hours.high == pytest.approx(20 + math.sqrt(27))
    assert (hours.took, hours.inside, hours.pieces, hours.pieces_inside) == (24, True, 2, 1)


def test_product_is_told_in_the_owners_unit():
    """1 l (0.8 to 1.3) is 33.8 fl oz; 1.2 l logged are 40.6 (29.5735 ml each, NIST HB 44)."""
    product = since(logged([HACKED])).foretold[1]
    assert (product.herbicide, product.unit) == ("glyphosate_4", "fl oz")
    assert product.value == pytest.approx(1000 / 29.5735, rel=1e-4)
    assert product.took == pytest.approx(1200 / 29.5735, rel=1e-4)
    assert product.inside


def test_a_metric_owner_reads_litres():
    """The same in liters: 1 (0.8 to 1.3) against 1.2."""
    product = since(logged([HACKED], units="metric")).foretold[1]
    assert (product.unit, product.value, product.took) == ("L", 1.0, pytest.approx(1.2))


def test_another_product_is_not_set_against_the_planned_one():
    """Imazapyr in the log says nothing on the glyphosate that was foretold; hours still count."""
    rows = [row("1", "1a", "hack_and_squirt", herbicide="imazapyr_2")]
    assert [one.kind for one in since(logged([HACKED], rows)).foretold] == ["hours"]


def test_a_strip_done_in_part_is_foretold_by_its_area():
    """Half of the 2 ha of 1a: 5 hours (4 to 6.5) of the 10 (8 to 13)."""
    made = logged([(("1a-1",), "hack_and_squirt", 2027, 6.0, math.nan, math.nan, 1, True)])
    first = made.strips[made.strips["strip_id"] == "1a"]
    parts = [first.assign(strip_id=name, area_ha=1.0) for name in ("1a-1", "1a-2")]
    rest = made.strips[made.strips["strip_id"] != "1a"]
    options = made.plan.options
    options = options.assign(strip_id=options["strip_id"].replace("1a", "1a-1"))
    made = replace(
        made, strips=pd.concat([*parts, rest], ignore_index=True),
        over=pd.DataFrame({"strip_id": ["1a-1"]}), plan=replace(made.plan, options=options),
    )  # fmt: skip
    found = since(made)
    hours = found.foretold[0]
    assert (hours.value, hours.low, hours.high) == pytest.approx((5, 4, 6.5))
    assert {one.strip_id: one.kind for one in found.changes} == {
        "1a-1": "part", "1a-2": "rest", "1b": "missed",
    }  # fmt: skip
    assert "50 %" in found.changes[0].why


def test_work_that_only_one_of_them_has_is_told_as_numbers():
    """A mowing that was not planned is beyond the plan; the cutting of 1b is missing."""
    mowed = (("3",), "mow", 2027, 3.0, math.nan, math.nan, 1, True)
    found = since(logged([HACKED, mowed]))
    assert (found.compared, found.beyond, found.missing, found.going) == (1, 1, 1, 0)
    assert found.pieces == (
        "1 piece of work compared; 1 in the log that the last plan had not; "
        "1 that it had and the log has not."
    )


def test_work_that_goes_on_is_not_compared():
    """A piece of work of the running season says nothing yet."""
    found = since(logged([(*HACKED[:-1], False)]))
    assert (found.compared, found.going, found.foretold) == (0, 1, ())


def test_work_that_the_last_plan_knew_is_not_compared():
    """A row of the log that the last plan was made with is left out."""
    rows = [row("1", "1a", "hack_and_squirt", hours=14.0)]
    made = logged([HACKED], rows)
    old = last_plan(known=frozenset({"1"}))
    assert since(replace(made, property=replace(made.property, last=old))).compared == 0


def test_each_strip_has_one_reason():
    """1a is done, 1b was missed, 2 and 3 are as they were."""
    changes = since(logged([HACKED])).changes
    assert [(one.strip_id, one.kind) for one in changes] == [("1a", "done"), ("1b", "missed")]
    assert changes[0].why == "Done in 2027: hack-and-squirt."
    assert changes[1].why == "Planned for summer 2027, and the log has no work on it."


def moved(lessons, **changed):
    """Return the one change of a strip 2 that was planned a year later, before these lessons."""
    made = logged([], lessons=lessons, begun=())
    strips = last_plan().strips | {
        "2": last_plan().strips["2"] | {"start_year": 2029, "when": "summer 2029"}
    }
    visits = last_plan().visits
    visits = visits[visits["strip_id"] == "2"].assign(year=2029)
    old = last_plan(strips=strips, visits=visits, **changed)
    made = replace(made, property=replace(made.property, last=old))
    return next(one for one in since(made).changes if one.strip_id == "2")


def test_a_slower_job_is_told_with_its_figure():
    """Mowing down at half the speed moved the strip: the lesson and its pieces of work."""
    change = moved([lesson("mower", "brush_open", "mow_kmh", 0.5)])
    assert change.kind == "pace"
    assert change.why.startswith("Mowing open ground: 0.31 mph (0.28 to 0.34)")
    assert change.why.endswith("from 9 pieces of work.")


def test_more_stems_are_told_of_their_block():
    """Half as many stems again in block 2; a lesson on another block is no reason."""
    change = moved([lesson("stems", "1", "", 3.0), lesson("stems", "2", "", 1.5)])
    assert (change.kind, "1.5 times" in change.why) == ("stems", True)


def test_what_the_last_plan_had_learned_is_no_reason():
    """The mower was as slow by the last plan; what moved the strip is something else."""
    known = {("mower", "brush_open", "mow_kmh", ""): (0.5, 0.4, 0.6, 9.0)}
    slow = lesson("mower", "brush_open", "mow_kmh", 0.5)
    assert moved([slow], learned=known).kind == "land"


def test_what_the_last_plan_knew_as_done_is_not_done_again():
    """A row of the log that the last plan was made with began strip 1a before it."""
    rows = [row("1", "1a", "hack_and_squirt", hours=14.0)]
    old = last_plan(known=frozenset({"1"}))
    made = logged([HACKED], rows)
    changes = since(replace(made, property=replace(made.property, last=old))).changes
    assert "1a" not in {one.strip_id for one in changes if one.kind == "done"}


def test_other_settings_are_told_where_the_log_has_no_reason():
    """Layers and settings are not what they were."""
    assert moved([]).kind == "land"


def test_a_strip_may_have_moved_with_the_others():
    """The same land and no lesson: the others took its hours."""
    assert moved([], land=land_of(logged([], begun=()))).kind == "moved"


def test_a_lower_kill_comes_before_a_slower_pace():
    """Half of the stems of the planned recipe died."""
    kill = lesson("kill", "callery_pear", "hack_glyphosate", 0.5, 40)
    old = last_plan().visits.assign(strip_id="2", year=2029)
    made = logged([], lessons=[kill, lesson("mower", "brush_open", "mow_kmh", 0.5)], begun=())
    strips = last_plan().strips | {"2": last_plan().strips["2"] | {"start_year": 2029}}
    made = replace(made, property=replace(made.property, last=last_plan(visits=old, strips=strips)))
    change = next(one for one in since(made).changes if one.strip_id == "2")
    assert change.kind == "kill"
    assert "50 % (45 to 55), not 100 %" in change.why


def test_totals_leave_out_what_is_over_or_done():
    """Ahead by the last plan: 20 of its 40 hours and $240; by this one: three visits of 10."""
    totals = since(logged([HACKED])).totals
    assert totals.hours_then[0] == 20
    assert totals.cost_then[0] == 240
    assert totals.hours_now[0] == 30
    assert (totals.finish_then, totals.finish_now) == (2030, None)


def counted():
    """Return the small place with ten stems in strip 1a looked at a year after: six dead."""
    rows = [row("1", "1a", "hack_and_squirt", herbicide="glyphosate_4")]
    kill = lesson("kill", "callery_pear", "hack_glyphosate", 0.7, 10)
    made = logged([HACKED], rows, [kill])
    tally = pd.DataFrame(
        [("1-1", "callery_pear", 10.0, n, None, state, "2028-06-01")
         for state, n in (("dead", 6), ("resprout", 3), ("live", 1))],
        columns=["plot_id", "species", "dbh_cm", "count", "keep", "status", "date"],
    ).assign(size=None)  # fmt: skip
    methods = made.methods.assign(
        job="hack_and_squirt", recipe_id="hack_glyphosate", herbicide="glyphosate_4"
    )
    return replace(made, methods=methods, property=replace(made.property, tally=tally))


def test_kills_are_counted_on_plots_visited_again():
    """6 dead of 10, of class and species that were treated."""
    assert dead_counted(counted()) == {("hack_glyphosate", "callery_pear"): (6, 10)}


def test_a_kill_is_set_beside_what_was_thought():
    """60 % counted against 80 % (70 to 90) by the last plan: under its range."""
    thought = last_plan(learned={KILL: (0.8, 0.7, 0.9, 0.0)})
    (found,) = kills_found(counted(), thought)
    assert (found.dead, found.counted, found.share, found.inside) == (6, 10, 60.0, False)
    assert (found.value, found.low, found.high) == pytest.approx((80, 70, 90))


def test_counts_that_the_last_plan_knew_are_not_told_again():
    """Ten stems then, ten stems now: nothing was counted since."""
    known = last_plan(learned={KILL: (0.7, 0.6, 0.8, 10.0)})
    assert kills_found(counted(), known) == ()


@pytest.mark.parametrize(
    ("name", "then"), [("1a", "1a"), ("1a-1", "1a"), ("1a--2", "1a"), ("9-3", "9-2"), ("x", "")]
)
def test_parts_are_found_in_the_strip_they_were_cut_from(name, then):
    """A part lies in its strip; a new part of a strip in parts in the last of them."""
    strips = last_plan().strips
    strips |= {"9-1": strips["1a"], "9-2": strips["1a"]}
    assert strip_then(name, last_plan(strips=strips)) == then


def test_what_changed_is_read_back_as_it_was():
    """Plain, through JSON and back: the same."""
    found = since(logged([HACKED]))
    assert read_back(SinceLast, json.loads(json.dumps(plain(found)))) == found


@pytest.mark.parametrize("piece", [[], {}, {"foretold": 1}, None, "x"])
def test_words_that_do_not_fit_are_none(piece):
    """Whatever stands there, nothing is made up."""
    assert read_back(SinceLast, piece) is None


def written_on(results, folder):
    """Return the files of a plan that was written into a folder where the last one lies."""
    last = read_last(folder)
    made = replace(results, property=replace(results.property, last=last))
    out = write(made, folder)
    return {path.name: path.read_bytes() for path in out.iterdir()}


def test_same_inputs_twice_give_the_same_files(tmp_path):
    """A plan, a plan with a log upon it, and the same again: the last two are the same bytes."""
    first = written_on(small_results(), tmp_path)
    second = written_on(logged([HACKED]), tmp_path)
    third = written_on(logged([HACKED]), tmp_path)
    assert json.loads(first["plan.json"])["since_last"] is None
    assert json.loads(second["plan.json"])["since_last"]["compared"] == 1
    assert second == third


def texts(results):
    """Return the card of the map, the terminal's lines and the page of the log."""
    summary = report.summarise(results)
    lines = [line for label, line in report.summary_lines(summary) if label == "Log"]
    return front_card(results, summary).log, lines, pages_of(results)[4]


def test_every_number_shown_is_in_the_plan():
    """Card, terminal and page say no number that plan.json lacks."""
    made = logged([HACKED], lessons=[lesson("pace", "hack_and_squirt", "base_s", 1.5)])
    card, lines, page = texts(made)
    page = page.partition("The label is the law")[0]
    known = said(json.loads(report.outputs(made)["plan.json"]))
    assert 3 <= len(card) <= 6
    assert numbers(" ".join([*card, *lines, page])) <= known


def test_without_a_log_nothing_is_shown(small):
    """No card, no lines, no page."""
    summary = report.summarise(small)
    assert front_card(small, summary).log == ()
    assert not any(label in ("Log", "Changed") for label, _ in report.summary_lines(summary))
    assert not any("What was done and what it taught" in page for page in pages_of(small))


def test_with_a_log_there_is_one_page_more():
    """The page of the log stands before the blocks, whose pages move on by one."""
    made = logged([HACKED])
    pages = pages_of(made)
    assert pages[4].startswith("What was done and what it taught")
    assert pages[5].startswith("1 Road field")
    assert "on page 4 those of every visit" in pages[5]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_full_page_is_not_cut_off(units):
    """With 60 strips of long names and 60 lessons the page ends with how many are left out."""
    lessons = [lesson("stems", f"{n}", "", 1.5) for n in range(60)]
    made = logged([HACKED], lessons=lessons, units=units)
    strips = last_plan().strips | {f"{'W' * 30} {n}": last_plan().strips["1b"] for n in range(60)}
    made = replace(made, property=replace(made.property, last=last_plan(strips=strips)))
    page = pages_of(made)[4]
    assert "more in plan.json" in page[page.index("What changed") :]


def test_hostile_names_are_words():
    """A block and a strip named by somebody who means harm run nowhere."""
    lessons = [lesson("stems", "1", "", 1.5)]
    made = logged([HACKED], lessons=lessons, name=HOSTILE)
    strips = last_plan().strips | {HOSTILE: last_plan().strips["1a"]}
    made = replace(made, property=replace(made.property, last=last_plan(strips=strips)))
    assert "</script>" in texts(made)[2]
    page = report.outputs(made)["map.html"].decode()
    assert "</script><img" not in page


def test_the_land_is_the_same_whatever_the_log_says():
    """Rows of the log change the fingerprint of the inputs and not that of the land."""
    one, two = logged([HACKED]), logged([HACKED, CUT])
    assert inputs_of(one) != inputs_of(two)
    assert land_of(one) == land_of(two)


def test_work_done_a_year_late_is_set_beside_what_was_planned():
    """1b was planned for 2027 and cut in 2028: compared in 2028, and not missing."""
    late = (("1b",), "cut_and_spray", 2028, 12.0, math.nan, math.nan, 1, True)
    found = since(logged([HACKED, late], begun=("1a", "1b")))
    assert [(one.year, one.took) for one in found.foretold if one.kind == "hours"] == [
        (2027, 14.0), (2028, 12.0),
    ]  # fmt: skip
    assert found.missing == 0


def test_work_of_two_years_is_not_set_beside_one_visit_twice():
    """Of two cuttings of 1b the first is compared; the second is beyond the last plan."""
    again = (("1b",), "cut_and_spray", 2028, 12.0, math.nan, math.nan, 1, True)
    found = since(logged([HACKED, CUT, again], begun=("1a", "1b")))
    assert (found.compared, found.beyond) == (2, 1)
