"""The tables' text runs in no sheet, and every reader finds the promised header and the cells."""

import csv
import io

import pandas as pd
import pytest

from clearing import report
from clearing.report.tables import csv_bytes, disarmed, plan_tables
from clearing.tables import column_file
from tests.hostile_place import NAMES
from tests.report.small_place import small_results

# what a cell must not begin with, and an attack with each: OWASP's page on CSV injection, from
# memory (= + - @, tab, carriage return, line feed, the full-width forms, a separator or a quote
# that opens a new cell)
ATTACKS = [
    "=cmd|' /C calc'!A0", "+1+cmd|' /C calc'!A0", "-1+1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1",
    "\uff1d1+1", "\uff0b1", "\uff0d1", "\uff20SUM(A1)", " =1+1", "\u00a0=1+1", "\ufeff=1+1",
    *(f"{letter}=1+1" for letter in "\u034f\u3164\u115f\u1160\uffa0\u2800\U000e0020\ufff0"),
    '"=1+1', "'=1+1", "\u200b=1+1", "\u22121+1", '=HYPERLINK("http://127.0.0.1/x","pay")',
]  # fmt: skip


@pytest.mark.parametrize("text", ATTACKS)
def test_text_that_a_sheet_would_run_is_disarmed(text):
    """A text that begins like a formula, seen or unseen, has an apostrophe before it."""
    assert disarmed(text).startswith("'")
    assert disarmed(text).replace("'", "") == text.replace("'", "")


@pytest.mark.parametrize("mark", [";", "\t", "\n", "\r"])
def test_a_formula_behind_a_separator_is_disarmed(mark):
    """Where a sheet parts cells by semicolons or tabs, the new cell begins with an apostrophe."""
    assert disarmed(f"low{mark}=1+1") == f"low{mark}'=1+1"


@pytest.mark.parametrize(
    "text", ["Road field", "May - June", "a=b", "#1 field", "| north", "5 - 6"]
)
def test_plain_words_stay_as_they_are(text):
    """Signs inside a text, a number sign and a pipe are no formula and get nothing."""
    assert disarmed(text) == text


def test_numbers_below_zero_stay_numbers(small):
    """Only text is disarmed: a cost below zero is written as a number."""
    table = small.plan.visits[["cost"]].head(1) * -1
    assert csv_bytes(table).decode().splitlines()[1] == "-120"


def test_two_readers_find_the_same_header_without_a_mark_before_it(small):
    """Python's csv and pandas both read visit_id as the first column's name."""
    content = csv_bytes(plan_tables(small, report.summarise(small))["visits"])
    assert next(csv.reader(io.StringIO(content.decode("utf-8"))))[0] == "visit_id"
    assert pd.read_csv(io.BytesIO(content)).columns[0] == "visit_id"


@pytest.mark.parametrize("name", NAMES)
def test_a_name_comes_back_whole_but_for_the_apostrophes(name):
    """A hostile name read from blocks.csv is the name, with nothing but apostrophes added."""
    results = small_results(name)
    content = csv_bytes(plan_tables(results, report.summarise(results))["blocks"]).decode()
    first = next(csv.DictReader(io.StringIO(content, newline="")))
    assert first["name"].replace("'", "") == name.replace("'", "")


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_table_has_the_columns_of_its_file(units):
    """Each table is described in a column file, and holds what of it fits the owner's units."""
    results = small_results(units=units)
    other = ["ha", "l", "ml"] if units == "us" else ["acres", "gal", "floz"]
    for name, table in plan_tables(results, report.summarise(results)).items():
        described = column_file(name, "out")
        kept = described.loc[~described["unit"].isin(other), "column"].tolist()
        assert table.columns.tolist() == kept, name


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_mix_is_blank_until_the_label_is_confirmed(units):
    """Of the product that waits for its label the visit has product and cost, and no mix."""
    results = small_results(units=units)
    visits = plan_tables(results, report.summarise(results))["visits"].set_index("herbicide")
    mix, product = ("mix_gal", "product_floz") if units == "us" else ("mix_l", "product_ml")
    waiting, ready = visits.loc["imazapyr_2"], visits.loc["glyphosate_4"].iloc[0]
    assert pd.isna(waiting[mix])
    assert (waiting[product], waiting["cost"]) == (ready[product], ready["cost"])
    assert ready[mix] > 0


def test_stems_by_size_are_area_times_density(small):
    """120 seedlings a hectare on 4 ha are 480 stems, 160 to 1,200 (the small place's table)."""
    stems = plan_tables(small, report.summarise(small))["stems"]
    first = stems.iloc[0]
    assert (first["block_id"], first["size_class"]) == ("1", "seedling")
    assert first[["stems", "stems_low", "stems_high"]].tolist() == [480, 160, 1200]


def test_strips_and_blocks_have_the_same_hours(small):
    """The hours of a block's strips add up to the block's."""
    tables = plan_tables(small, report.summarise(small))
    by_block = tables["strips"].groupby("block_id")["hours"].sum()
    assert by_block.to_dict() == tables["blocks"].set_index("block_id")["hours"].to_dict()
