"""The log added up by piece of work, and what may not be taken for one."""

import numpy as np
import pandas as pd
import pytest

from clearing import records
from clearing.effort import FIRST_JOBS
from clearing.rates import for_settings
from tests.records.test_log import log
from tests.small_ground import SETTINGS

RATES = for_settings(SETTINGS)
CUT = pd.DataFrame([("4a", "4", 2.0), ("4b", "4", 1.0)],
                   columns=["strip_id", "block_id", "area_ha"])  # fmt: skip


def work(*rows: dict, running: tuple[int, str] = (0, "")) -> pd.DataFrame:
    """Return what a log of hacking on 4a, but for what is said, adds up to, by job and year."""
    usual = {"date": "2027-10-05", "strip_id": "4a", "job": "hack_and_squirt", "product_l": None}
    table = log(*(usual | row for row in rows))
    done = records.first_treatments(table, CUT, FIRST_JOBS, RATES)
    names = [part for own in done.parts.values() for part, _, _ in own]
    parts = pd.DataFrame({"strip_id": names, "block_id": "4", "area_ha": 1.0})
    strips = pd.concat([CUT[~CUT["strip_id"].isin(done.parts)], parts])
    return records.work_done(table, strips, done, RATES, running)


def test_days_add_up_and_a_blank_leaves_the_sum_unknown():
    """6 and 5 hours are 11; a day without product leaves the product unsaid, not smaller."""
    (row,) = work({"hours": 6.0, "product_l": 1.0}, {"hours": 5.0}).to_dict("records")
    assert (row["hours"], row["rows"], row["strips"]) == (11.0, 2, ("4a",))
    assert np.isnan(row["product_l"])


def test_product_is_worked_out_of_mix_and_percent():
    """10 l of a 5 % mix hold half a liter."""
    (row,) = work({"mix_l": 10.0, "percent": 5.0}).to_dict("records")
    assert row["product_l"] == pytest.approx(0.5)


def test_a_part_that_was_not_begun_is_no_piece_of_the_work():
    """Hours on 0.8 of 2 ha belong to 4a-1; its follow-up, logged for 4a, too."""
    rows = work({"area_ha": 0.8, "hours": 4.0},
                {"job": "follow_up", "date": "2028-07-01", "hours": 1.0})  # fmt: skip
    assert rows["strips"].tolist() == [("4a-1",), ("4a-1",)]


def test_work_in_a_season_that_is_not_over_may_go_on():
    """Without an area; with one it is what it is."""
    now = (2027, "fall")
    rows = work({}, {"strip_id": "4b", "area_ha": 1.0}, running=now).set_index("strips")
    assert rows["finished"].to_dict() == {("4a",): False, ("4b",): True}


def test_upkeep_and_follow_ups_are_one_piece_and_say_what_they_were():
    """Two words for spots on what came back: blank where the rows differ."""
    late = [{"job": job, "date": "2028-07-01", "hours": 1.0} for job in ("follow_up", "upkeep")]
    assert work(late[0])["said"].tolist() == ["follow_up"]
    assert work(*late)[["job", "said", "hours"]].to_numpy().tolist() == [["follow_up", "", 2.0]]


def test_work_in_no_strip_of_the_plan_is_no_piece_of_it():
    """A row on ground that nobody knows adds nothing to the others."""
    assert work({"hours": 3.0}, {"hours": 8.0, "strip_id": "99z"})["hours"].tolist() == [3.0]
