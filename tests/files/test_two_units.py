"""An amount that stands in two units and is not the same in both is named."""

import pandas as pd
import pytest

from clearing.files.two_units import unlike_units
from clearing.tables import check


def said(rows: list[dict]) -> list[str]:
    """Return what is said of rows of a tally on plot 1."""
    typed, problems = check(
        pd.DataFrame([{"plot_id": "1", "species": "oak", "count": "1"} | row for row in rows]),
        "tally",
    )
    assert problems == []
    return unlike_units(typed, "tally")


@pytest.mark.parametrize("cm", ["10.2", "10", "10.16", ""])
def test_rounding_is_no_difference(cm):
    """Four inches are 10.16 cm (an inch is 25.4 mm), or 10 on a coarse tape."""
    assert said([{"dbh_in": "4", "dbh_cm": cm}]) == []


def test_what_is_not_the_same_is_named_with_its_rows():
    """Six inches are not eight centimeters; the row between is as it should be."""
    rows = [{"dbh_in": "6", "dbh_cm": "8"}, {"dbh_in": "2", "dbh_cm": ""},
            {"dbh_in": "3", "dbh_cm": "30"}]  # fmt: skip
    [problem] = said(rows)
    assert problem == (
        "tally: row 2, row 4: 'dbh_in' and 'dbh_cm' are not the same (6 and 8 in the first); keep "
        "one of them"
    )


def test_one_unit_alone_is_nothing_to_compare():
    """A table in inches has no second column."""
    assert said([{"dbh_in": "6"}]) == []
