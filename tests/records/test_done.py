"""What the log says was treated a first time: whole strips, parts of strips, and what is left."""

from dataclasses import replace

import pandas as pd
import pytest

from clearing import records
from clearing.effort import FIRST_JOBS
from clearing.rates import for_settings
from tests.records.test_log import log
from tests.small_ground import SETTINGS

RATES = for_settings(SETTINGS)
STRIPS = pd.DataFrame(
    [("4a", "4", 2.0), ("4b", "4", 1.0), ("7", "7", 1.5)],
    columns=["strip_id", "block_id", "area_ha"],
)


def done(*rows: dict) -> records.Done:
    """Return what a log of hacking in fall 2027 on strip 4a, but for what is said, has done."""
    usual = {"date": "2027-10-05", "strip_id": "4a", "job": "hack_and_squirt"}
    return records.first_treatments(log(*(usual | row for row in rows)), STRIPS, FIRST_JOBS, RATES)


def begun(found: records.Done) -> list[tuple]:
    """Return strip, year, season and job of what was begun."""
    return [tuple(r) for r in found.begun[["strip_id", "start_year", "season", "job"]].to_numpy()]


def test_a_row_without_an_area_is_the_whole_strip():
    """It keeps its name, and no part is cut."""
    found = done({})
    assert begun(found) == [("4a", 2027, "fall", "hack_and_squirt")]
    assert found.parts == {}
    (note,) = found.notes
    assert note.startswith(
        "strip 4a: the log has a first treatment, so the plan counts it as treated"
    )
    (note,) = done({"strip_id": "4"}).notes
    assert note.startswith("strips 4a, 4b: the log has a first treatment")


def test_a_part_is_cut_off_and_the_rest_is_named():
    """0.8 of 2 ha: 40 % done as 4a-1, the rest as 4a-2."""
    found = done({"area_ha": 0.8, "side": "north"})
    assert begun(found) == [("4a-1", 2027, "fall", "hack_and_squirt")]
    assert found.parts == {"4a": [("4a-1", pytest.approx(0.4), "north"), ("4a-2", 1.0, "near")]}
    assert found.parents == {"4a-1": "4a", "4a-2": "4a"}
    assert found.notes[-1] == "strip 4a: 60 % of it is still to do, as strip 4a-2"


def test_days_of_one_season_add_up():
    """Three days of 0.5, 0.5 and 0.6 ha are 80 %, whether they name the strip or the part."""
    days = [{"area_ha": a, "date": f"2027-10-0{d}"} for d, a in ((5, 0.5), (6, 0.5), (7, 0.6))]
    assert done(*days).parts["4a"][0][1] == pytest.approx(0.8)
    days[2]["strip_id"] = "4a-2"
    assert done(*days).parts["4a"][0][1] == pytest.approx(0.8)


def test_two_jobs_on_the_same_ground_count_once():
    """Hacked on 0.8 ha and the thin ones cut there: 40 %, not 80."""
    found = done({"area_ha": 0.8}, {"area_ha": 0.8, "job": "cut_and_spray"})
    assert found.parts["4a"][0][1] == pytest.approx(0.4)
    assert found.begun["jobs"].tolist() == ["cut_and_spray hack_and_squirt"]


def test_the_product_is_the_one_that_most_was_put_out_of():
    """A little glyphosate by the water comes first in the log; most was done with the other."""
    usual = {"date": "2027-10-05", "strip_id": "4a", "job": "cut_and_spray"}
    used = ("glyphosate_4", 0.05), ("triclopyr amine", 0.4), ("triclopyr amine", 0.4)
    rows = [usual | {"herbicide": name, "product_l": litres} for name, litres in used]
    either = for_settings(replace(SETTINGS, herbicides=()))
    found = records.first_treatments(log(*rows), STRIPS, FIRST_JOBS, either)
    assert found.begun["herbicide"].tolist() == ["triclopyr_amine_3"]
    assert found.begun["products"].tolist() == ["glyphosate_4 triclopyr_amine_3"]


def test_the_rest_of_another_year_is_a_part_of_its_own():
    """40 % in 2027 and what was left in 2028: two parts, nothing left."""
    found = done({"area_ha": 0.8}, {"date": "2028-07-02", "job": "cut_and_spray"})
    assert begun(found) == [
        ("4a-1", 2027, "fall", "hack_and_squirt"), ("4a-2", 2028, "summer", "cut_and_spray"),
    ]  # fmt: skip
    assert [share for _, share, _ in found.parts["4a"]] == [pytest.approx(0.4), 1.0]


def test_half_of_the_rest_leaves_a_third_part():
    """40 % and then 0.6 of 2 ha: half of what was left, 30 % still to do."""
    found = done({"area_ha": 0.8}, {"date": "2028-07-02", "area_ha": 0.6, "strip_id": "4a-2"})
    assert [share for _, share, _ in found.parts["4a"]] == [
        pytest.approx(0.4), pytest.approx(0.5), 1.0,
    ]  # fmt: skip
    assert found.notes[-1] == "strip 4a: 30 % of it is still to do, as strip 4a-3"


@pytest.mark.parametrize(("area", "whole"), [(1.95, True), (2.4, True), (0.02, None)])
def test_nearly_all_is_all_and_hardly_any_is_none(area, whole):
    """97 % is the strip, as is more than there is; 1 % is nothing."""
    found = done({"area_ha": area})
    assert len(found.begun) == (whole is not None)
    assert found.parts == {}


def test_a_block_stands_for_its_strips():
    """Without an area all of them, with one the same share of each."""
    assert [row[0] for row in begun(done({"strip_id": "4"}))] == ["4a", "4b"]
    found = done({"strip_id": "4", "area_ha": 1.5})
    assert [found.parts[name][0][1] for name in ("4a", "4b")] == [pytest.approx(0.5)] * 2


def test_follow_ups_and_work_in_no_strip_begin_nothing():
    """Nor does mowing."""
    rows = ({"job": "follow_up"}, {"job": "mow"}, {"strip_id": "99"})
    assert not len(done(*rows).begun)


def test_the_corrected_row_counts_and_not_the_one_before():
    """0.8 ha were a slip for 1.0."""
    found = done({"area_ha": 0.8}, {"area_ha": 1.0, "replaces": "1"})
    assert found.parts["4a"][0][1] == pytest.approx(0.5)
