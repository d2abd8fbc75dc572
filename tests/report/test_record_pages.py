"""The printed record holds every row, what was not recorded, the rules, and runs nowhere."""

import csv
import io

import pypdfium2
import pytest

import clearing
from clearing.files import add_records
from clearing.rates import for_settings
from clearing.report.record_pages import record_csv, record_pdf
from clearing.tables import column_file
from tests.report.test_workplan import letter_sizes

HOSTILE = "#panic[x] $x^2$ \\ <script>alert(1)</script> *bold* `raw` // gone? @ref"
ROWS = (
    {"date": "2027-03-01", "strip_id": "2", "job": "foliar", "product_floz": 12,
     "herbicide": "glyphosate_4", "wind_mph": 5, "temperature_f": 64, "notes": HOSTILE},
    {"date": "2027-03-02", "strip_id": "3", "job": "mow", "hours": 3, "notes": "=1+1"},
    {"date": "2027-03-04", "strip_id": "2", "job": "foliar", "product_floz": 14,
     "herbicide": "glyphosate_4", "replaces": "1", "notes": "@SUM(A1)"},
    {"date": "2028-06-01", "strip_id": "2", "job": "follow_up", "product_l": 0.25,
     "herbicide": "glyphosate_4"},
)  # fmt: skip


@pytest.fixture
def logged(sample):
    """Return the sample with four rows in its log, as read, and a damaged line."""
    add_records(sample, clearing.read(sample), ROWS)
    with (sample / "records.csv").open("a") as stream:
        stream.write("9,,2027-99-01,2,mow\n")
    return clearing.read(sample)


def pages(place, year=None) -> list[str]:
    """Return the text of each page of the record, in one line."""
    pdf = pypdfium2.PdfDocument(record_pdf(place, for_settings(place.settings), year))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pdf]


def table(place, year=None) -> list[dict[str, str]]:
    """Return the rows of record.csv."""
    return list(csv.DictReader(io.StringIO(record_csv(place, year).decode())))


def test_every_row_its_blanks_and_what_replaced_it_are_printed(logged):
    """Titles, amounts as typed, the correction both ways, not recorded, the damaged line."""
    text = " ".join(pages(logged))
    for number, day in enumerate(("2027-03-01", "2027-03-02", "2027-03-04", "2028-06-01"), start=1):
        assert f"Row {number} · {day}" in text
    for said in ("12 fl oz", "14 fl oz", "5 mph", "64 °F", "replaced by row 3",
                 "in force, in place of row 1", "start: not recorded", "people: not recorded",
                 "records.csv line 6: 'date' is '2027-99-01'", "training only"):  # fmt: skip
        assert said in text, said


def test_the_rules_and_who_decides_stand_on_it(logged):
    """Names of the rules, where they stand, and that state and label decide."""
    text = " ".join(pages(logged))
    for said in ("your state and the product's label decide", "7 USC 136i-1", "7 CFR 110.3",
                 "4 TAC 7.33", "3 CCR 6624", "40 CFR 170.122", "The label is the law",
                 "start time: not recorded in 2 rows",
                 "last entry row 4 of 2028-06-01"):  # fmt: skip
        assert said in text, said
    assert "complete" not in text


def test_sums_of_the_year_leave_out_what_was_replaced(logged):
    """14 fl oz of 4 lb ae a gallon are 0.4375 lb (14 / 128 x 4), to three figures."""
    text = " ".join(pages(logged, 2027))
    assert "2027 glyphosate 4 14 fl oz 0.438 lb 0" in text
    assert "Row 4 · 2028-06-01" not in text


def test_words_that_would_be_code_are_printed_plainly(logged):
    """Typesetting, markup and scripts stand as they were typed."""
    assert HOSTILE.replace(" ", "") in "".join(pages(logged)).replace(" ", "")


def test_the_same_log_gives_the_same_bytes(logged):
    """Twice the same PDF."""
    rates = for_settings(logged.settings)
    assert record_pdf(logged, rates) == record_pdf(logged, rates)


def test_nothing_is_set_smaller_than_nine_points(logged):
    """It is read at a desk and on a truck's hood."""
    paper = pypdfium2.PdfDocument(record_pdf(logged, for_settings(logged.settings)))
    sizes = [size for page in paper for size in letter_sizes(page)]
    assert min(sizes) == pytest.approx(9)
    assert max(sizes) > 9


def test_a_log_without_rows_is_a_record_without_rows(sample):
    """A page that says so."""
    assert "There are no rows." in " ".join(pages(clearing.read(sample)))


def test_the_table_has_every_row_with_its_status_in_the_owner_s_units(logged):
    """The owner's columns only, formulas disarmed, a blank left blank."""
    rows = table(logged)
    assert [row["status"] for row in rows] == ["replaced by 3", "in force", "in force", "in force"]
    assert [row["product_floz"] for row in rows] == ["12", "", "14", "8.453506"]
    assert (rows[0]["wind_mph"], rows[0]["temperature_f"]) == ("5", "64")
    assert (rows[1]["notes"], rows[2]["notes"]) == ("'=1+1", "'@SUM(A1)")
    assert rows[1]["people"] == ""
    metric = {"product_l", "mix_l", "area_ha", "wind_kmh", "temperature_c"}
    assert set(rows[0]) == set(column_file("records")["column"]) - metric | {"status"}
    assert [row["record_id"] for row in table(logged, 2028)] == ["4"]
