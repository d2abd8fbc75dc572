"""The forms of the log ask for what the log holds, in the owner's units."""

import pytest

from clearing import report
from clearing.records import products_meant
from clearing.report import names
from clearing.report.field_log import (
    NOT_ASKED,
    field_log,
    log_choices,
    log_fields,
    log_places,
    place_key,
)
from clearing.tables import column_file

OTHER = {True: {"ha", "l", "kmh", "c"}, False: {"acres", "floz", "gal", "mph", "f"}}
GRID = "+proj=laea +lat_0={} +lon_0={} +datum=WGS84 +units=m +no_defs"


@pytest.mark.parametrize("us", [True, False])
def test_each_thing_is_asked_once_in_the_owners_units(us):
    """Every column of the log is asked, but the program's own and the twins in other units."""
    described = column_file("records")["column"]
    asked = [field[0] for field in log_fields(us)]
    left = [name for name in described if name not in asked and name not in NOT_ASKED]
    assert len(asked) == len(set(asked))
    assert {name.rpartition("_")[2] for name in left} == OTHER[us]


def test_bounds_are_the_columns_own():
    """A number's field has the least and most of the column file."""
    described = column_file("records").set_index("column")
    for column, _, kind, _, least, most, *_ in log_fields(True):
        if kind in ("number", "integer"):
            assert (least, most) == tuple(
                float(described.loc[column, end]) for end in ("minimum", "maximum")
            )


def test_jobs_with_product_are_jobs(small):
    """Every job that is asked for product is one to choose, and all jobs have words."""
    choices = log_choices(small.rates)
    keys = [key for key, _ in choices["jobs"]]
    assert set(choices["with_product"]) <= set(keys) <= set(names.JOBS)


def test_herbicides_are_read_back_as_they_are_offered(results):
    """Each herbicide of the form means exactly one product in use."""
    offered = log_choices(results.rates)["herbicides"]
    assert offered
    assert [len(products_meant(words, results.rates)) for words in offered] == [1] * len(offered)


def test_a_block_of_several_strips_comes_first_and_whole():
    """A block with strips of its own is all of it; one that is a single strip has its name."""
    rows = [("1", "1", "Hill"), ("1a", "1", "Hill a"), ("2", "2", "Pond")]
    assert log_places(rows) == [
        ["1", "all of Hill", "Hill"], ["1a", "Hill a", "Hill"], ["2", "Pond", "Pond"]
    ]  # fmt: skip


def test_strips_of_the_plan_can_be_chosen(small):
    """Every strip and every block of the plan is a place of the form, once."""
    summary = report.summarise(small)
    places = [one[0] for one in field_log(small, summary)["places"]]
    strips = [strip.strip_id for strip in summary.strips]
    assert len(places) == len(set(places))
    assert set(places) == {*strips, *(block.block_id for block in summary.blocks)}


def test_the_key_stays_while_the_place_does():
    """A grid moved by a hundred meters has the same key, another place or name another one."""
    here = place_key("Hill", GRID.format(36.33, -85.75))
    assert here == place_key("Hill", GRID.format(36.331, -85.751))
    assert here != place_key("Hill", GRID.format(37.33, -85.75))
    assert here != place_key("Dale", GRID.format(36.33, -85.75))
