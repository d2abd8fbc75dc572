"""What is on hand is less by what the log used since it was counted."""

import datetime
from dataclasses import replace

import pandas as pd
import pytest

from clearing.property import OwnProduct
from clearing.rates import for_settings
from clearing.records import left_on_hand
from clearing.units import L_PER_GAL
from tests.small_ground import SETTINGS

SHED = OwnProduct("glyphosate_4", "glyphosate", 0.4793, (40.0,), (4.0,), on_hand_l=10.0)


def left(counted: datetime.date | None, *rows: tuple, us: bool = False) -> tuple[float, tuple]:
    """Return the litres that are left of ten, and what is said, by rows of day, name and litres."""
    own = replace(SHED, on_hand_counted=counted)
    rates = for_settings(replace(SETTINGS, herbicides=(own,)))
    log = pd.DataFrame(rows, columns=["date", "herbicide", "product_l"]).assign(strip_id="1")
    log["record_id"], log["replaces"] = [str(n) for n in range(len(log))], ""
    found, said = left_on_hand(rates, log, us)
    return found.products[0].on_hand_l, said


def test_what_was_used_after_the_count_is_off():
    """Ten litres counted on the first of March, less 2 and 1.5 of later days, are 6.5."""
    rows = [("2027-03-01", "glyphosate_4", 9.0), ("2027-03-02", "Glyphosate 4", 2.0),
            ("2027-06-01", "glyphosate_4", 1.5), ("2027-06-01", "triclopyr", 5.0)]  # fmt: skip
    litres, [said] = left(datetime.date(2027, 3, 1), *rows)
    assert litres == pytest.approx(6.5)
    assert said.endswith("of 10 L counted on 2027-03-01 the log has used 3.5 L; 6.5 L are left")


def test_nothing_is_left_below_nought():
    """Where the log used more than was there, nothing is left and a new count is asked for."""
    litres, [said] = left(datetime.date(2027, 3, 1), ("2027-05-01", "glyphosate_4", 12.0))
    assert litres == 0.0
    assert said.endswith("more than was there: count it again")


def test_without_a_day_of_the_count_nothing_is_taken_off():
    """The owner is asked for the day, in his own unit."""
    litres, [said] = left(None, ("2027-05-01", "glyphosate_4", L_PER_GAL), us=True)
    assert litres == 10.0
    assert "on_hand_gal is taken for what is there now (2.6 gal)" in said
    assert "the log has 1 gal of it used; write the day of the count as on_hand_counted" in said


@pytest.mark.parametrize("rows", [(), (("2027-02-01", "glyphosate_4", 3.0),)])
def test_what_was_not_used_since_is_left_without_a_word(rows):
    """An empty log and work before the count change nothing."""
    assert left(datetime.date(2027, 3, 1), *rows) == (10.0, ())
