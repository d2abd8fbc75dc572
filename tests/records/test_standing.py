"""Where the land stands: what lies ahead, what was counted for which year, what lies on parts."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from clearing import effort, records
from clearing.rates import APPLIED
from clearing.records.standing import applied_on
from tests.records.test_log import log
from tests.small_ground import small_ground

CUT = {"date": "2027-10-05", "strip_id": "a", "job": "cut_and_spray"}
SPRAYED = {"date": "2028-06-10", "strip_id": "a", "job": "follow_up"}
LEFT = {"a": 0.0, "b": 40.0, "c": 100.0}  # western edge of each strip [m]


def tally(*rows: tuple) -> pd.DataFrame:
    """Return counts of pears: plot, day, state and number."""
    usual = {"species": "callery_pear", "dbh_cm": 10.0, "size": None, "keep": None}
    names = ["plot_id", "date", "status", "count"]
    frame = pd.DataFrame([usual | dict(zip(names, row, strict=True)) for row in rows])
    return frame if len(rows) else pd.DataFrame(columns=[*usual, *names])


def stand(*rows: dict, counts: pd.DataFrame, day: str) -> records.Standing:
    """Return where three strips with a plot in each stand on a day."""
    ground = small_ground(years=6)
    shapes = [shapely.box(x, 0, x + 30, 100) for x in LEFT.values()]
    strips = ground.strips.set_geometry(shapes)
    plots = gpd.GeoDataFrame(
        {"plot_id": ["1", "2", "3"], "block_id": ["p", "p", "w"], "inside_ha": 0.04,
         "small_inside_ha": 0.01, "small_below_cm": 5.0},
        geometry=[shape.centroid for shape in shapes],
    )  # fmt: skip
    nothing = gpd.GeoDataFrame({"kind": [], "geometry": []}, geometry="geometry")
    layers, known = (ground.blocks, nothing, plots, strips), (ground.rates, ground.settings)
    return records.stand(layers, (log(*rows), counts), effort.FIRST_JOBS, known, pd.Timestamp(day))[
        0
    ]


def test_counts_stand_for_the_year_in_which_they_are_next_met():
    """A winter before the plan counts as its first year, an August as the year after."""
    counts = tally(("1", "2026-11-01", None, 4), ("3", "2028-08-20", None, 7))
    found = stand(counts=counts, day="2029-03-10")
    assert found.counted_in == {"p": 2027, "w": 2029}
    assert found.first_base() == 2027
    early = stand(counts=tally(("3", "2028-06-20", None, 7)), day="2029-03-10")
    assert early.counted_in == {"p": 2027, "w": 2028}
    assert stand(counts=tally(), day="2029-03-10").counted_in == {"p": 2027, "w": 2027}


def test_a_plot_counted_only_after_treatment_is_no_part_of_the_survey():
    """Stems dead or sprouted again in plot 1 tell of the cutting, not of what stood there."""
    counts = tally(("1", "2028-06-01", "dead", 3), ("1", "2028-06-01", "resprout", 2))
    found = stand(CUT, counts=counts, day="2029-03-10")
    assert found.no_survey == {"1"}
    assert found.found[["dead", "resprout"]].sum().tolist() == [3, 2]
    both = pd.concat([tally(("1", "2026-11-01", None, 6)), counts], ignore_index=True)
    known = stand(CUT, counts=both, day="2029-03-10")
    assert known.no_survey == frozenset()
    assert known.before["count"].tolist() == [6]


def test_a_count_after_the_year_s_spray_is_what_the_next_year_starts_from():
    """Two sprouts in June: before the spray of 2028 they stand for 2028, after it for 2029."""
    for day, year in (("2028-06-01", 2028), ("2028-09-01", 2029)):
        found = stand(CUT, SPRAYED, counts=tally(("1", day, "resprout", 2)), day="2029-03-10")
        sprouts = found.seen[0].query("stage == 'resprout'")
        assert sprouts[["strip_id", "year", "stems"]].to_numpy().tolist() == [["a", year, 2.0]]


def test_years_without_a_follow_up_are_told_until_the_plan_s_own_begin():
    """Cut in 2027, nothing in 2028; 2029 is still ahead. A spray in 2028 leaves none."""
    skipped = stand(CUT, counts=tally(), day="2029-03-10").seen[1]
    assert skipped.to_numpy().tolist() == [["a", 2028]]
    assert not len(stand(CUT, SPRAYED, counts=tally(), day="2029-03-10").seen[1])


@pytest.mark.parametrize(("day", "over"), [("2028-06-20", False), ("2029-03-10", True)])
def test_work_of_a_season_that_is_not_over_may_go_on(day, over):
    """Ten days after a spray in June it may go on; in March of the next year it cannot."""
    found = stand(CUT, SPRAYED, counts=tally(), day=day)
    spray = found.work.query("job == 'follow_up'")
    assert spray["finished"].tolist() == [over]
    assert ("a", "follow_up", 2028) in found.logged
    assert ("a", "follow_up") in found.logged_jobs


def test_product_logged_for_a_strip_in_parts_lies_on_the_parts_begun():
    """Parts of 1 and 3 ha begun in 2027 and 2028: that year's part, then both by their area."""
    begun = pd.DataFrame({"strip_id": ["a-1", "a-2"], "start_year": [2027, 2028]})
    parts = {"a": [("a-1", 0.2, "near"), ("a-2", 0.75, "near"), ("a-3", 1.0, "near")]}
    done = records.Done(begun, parts, dict.fromkeys(("a-1", "a-2", "a-3"), "a"), ())
    strips = pd.DataFrame({"strip_id": ["a-1", "a-2", "a-3"], "area_ha": [1.0, 3.0, 1.0]})
    years = [2026, 2027, 2028, 2029]
    rows = [("a", year, "glyphosate_4", 2.0) for year in years] + [("c", 2027, "glyphosate_4", 5.0)]
    put = pd.DataFrame(rows, columns=APPLIED)
    found = applied_on(put, strips, done).set_index(["place", "year"])["product_l"].to_dict()
    assert found == {
        ("a-1", 2026): 0.5, ("a-2", 2026): 1.5, ("a-1", 2027): 2.0, ("a-2", 2028): 2.0,
        ("a-1", 2029): 0.5, ("a-2", 2029): 1.5, ("c", 2027): 5.0,
    }  # fmt: skip
    assert applied_on(put.iloc[:0], strips, done).empty
    assert applied_on(put, strips, records.Done(begun, {}, {}, ())) is put
