"""The rows of the log are said as they were typed, and blanks as blanks."""

import pandas as pd
import pytest

from clearing.report.record_facts import (
    NOT_RECORDED,
    amount,
    figure,
    pieces,
    plain_text,
    replaced_by,
    yearly_hours,
    yearly_sums,
)
from clearing.tables import to_metric
from tests.records.test_log import RATES, log

FLOZ = 0.0295735295625  # liters: 231 cubic inches over 128 (NIST Handbook 44)


@pytest.mark.parametrize(
    ("column", "value", "us", "said"),
    [
        ("product_l", 12 * FLOZ, True, "12 fl oz"), ("product_l", 0.355, False, "0.355 L"),
        ("mix_l", 3 * 128 * FLOZ, True, "3 gal"), ("area_ha", 0.40468564224, True, "1 acres"),
        ("wind_kmh", 8.04672, True, "5 mph"), ("wind_kmh", 8.0, False, "8 km/h"),
        ("temperature_c", 24.0, True, "75.2 °F"), ("temperature_c", -40.0, True, "-40 °F"),
        ("hours", 6.5, True, "6.5 h"), ("people", 2.0, True, "2"), ("stems", 1240.0, True, "1,240"),
        ("percent", None, True, ""), ("people", pd.NA, True, ""),
        ("temperature_c", 0, False, "0 °C"),
    ],
)  # fmt: skip
def test_an_amount_comes_back_as_it_was_typed(column, value, us, said):
    """Exact units of NIST Handbook 44; blank stays blank; nought is a figure."""
    assert amount(column, value, us) == said


def test_figures_have_no_idle_zeros():
    """Five figures are enough for what was typed."""
    assert [figure(x) for x in (0.1 + 0.2, 19, 1e6, 0.00012)] == [
        "0.3",
        "19",
        "1,000,000",
        "0.00012",
    ]


def test_words_stand_on_one_line_without_hidden_signs():
    """Line breaks and signs that turn the line are taken out, all else stays."""
    assert plain_text("a\nb\t\u202ec <b>") == "a b c <b>"


def test_a_piece_says_its_row_and_every_blank():
    """A row with product: all fields of the record; mowing: people and hours."""
    rows = to_metric(log({}, {"herbicide": None, "product_l": None, "job": "mow", "hours": 3}))
    spray, mow = pieces(rows, RATES, True)
    assert spray.title == "Row 1 · 2027-03-01 · 2a · leaf spray"
    cells = dict(spray.cells)
    assert cells["amount of product"] == "67.628 fl oz"
    assert cells["wind"] == cells["start"] == cells["registration number"] == NOT_RECORDED
    assert len(cells) == 23
    assert mow.cells == (("people", NOT_RECORDED), ("hours", "3 h"))


def test_a_correction_names_what_it_replaces_and_both_ways():
    """The chain 1, 2, 3: the first by the second, the second by the third."""
    rows = to_metric(log({}, {"replaces": "1"}, {"replaces": "2"}, {"replaces": "9"}))
    assert replaced_by(rows) == {"1": "2", "2": "3", "9": "4"}
    status = [piece.status for piece in pieces(rows, RATES, True)]
    assert status == ["replaced by row 2", "replaced by row 3, in place of row 1",
                      "in force, in place of row 2", "in force, in place of row 9"]  # fmt: skip
    assert not any(NOT_RECORDED in cell for cell in pieces(rows, RATES, True)[0].cells)


def test_sums_count_rows_in_force_by_year_and_product():
    """Two liters twice of one product under two names, 4 lb ae a gallon: 4.2267 lb."""
    rows = to_metric(
        log({"herbicide": "Glyphosate 4"}, {}, {"product_l": 9},
            {"replaces": "3", "product_l": None},
            {"date": "2028-01-01", "herbicide": "soap"})
    )  # fmt: skip
    assert yearly_sums(rows, RATES, False) == [
        ["2027", "glyphosate 4", "4 L", "1.92 kg", "1"],
        ["2028", "soap", "2 L", "strength not known", "0"],
    ]
    assert yearly_sums(rows, RATES, True, 2027)[0][3] == "4.23 lb"


def test_a_spray_without_herbicide_is_a_row_without_amount():
    """Its fields are said not to be recorded, and the sum counts it."""
    rows = to_metric(log({"herbicide": None, "product_l": None, "job": "Cut-and-spray"}))
    cells = dict(pieces(rows, RATES, True)[0].cells)
    assert cells["product"] == cells["amount of product"] == NOT_RECORDED
    assert yearly_sums(rows, RATES, True) == [["2027", NOT_RECORDED, NOT_RECORDED,
                                               NOT_RECORDED, "1"]]  # fmt: skip


def test_one_job_in_two_spellings_is_one_sum():
    """Hours of cut_and_spray and Cut-and-spray stand in one line."""
    rows = to_metric(log({"job": "cut_and_spray", "hours": 2}, {"job": "Cut-and-spray",
                                                               "hours": 3}))  # fmt: skip
    assert yearly_hours(rows) == [["2027", "cut-and-spray", "5", "0"]]


def test_a_strip_is_named_with_its_block():
    """A part of a strip lies in the strip's block."""
    rows = to_metric(log({"strip_id": "2a-1"}))
    assert "2a-1 (North field)" in pieces(rows, RATES, True, None, {"2a": "North field"})[0].title


def test_hours_that_nobody_wrote_are_not_nought():
    """A job without hours says so; blanks beside hours are counted."""
    rows = to_metric(log({"hours": 2}, {}, {"job": "mow"}))
    assert yearly_hours(rows) == [
        ["2027", "leaf spray", "2", "1"], ["2027", "mow", NOT_RECORDED, "1"],
    ]  # fmt: skip
