"""The workbook holds the tables, cell by cell, for a reader that did not write it."""

import csv
import io
import re
import zipfile

import openpyxl
import pandas as pd
import pytest

from clearing import report
from clearing.report.tables import csv_bytes, disarmed, plan_tables
from clearing.report.workbook import workbook_bytes
from tests.hostile_place import NAMES
from tests.report.small_place import small_results

SHEETS = "Plan Blocks Strips Visits Purchases Years Limits Stems Forecast Columns"


def made(name: str = "Road field", units: str = "us") -> tuple[dict[str, pd.DataFrame], bytes]:
    """Return the tables of the small place and its workbook."""
    results = small_results(name, units)
    summary = report.summarise(results)
    tables = plan_tables(results, summary)
    return tables, workbook_bytes(tables, summary)


def as_csv(cell: object) -> str:
    """Return a cell of the sheet as the CSV writes it."""
    if isinstance(cell, str):
        return disarmed(cell)
    return str(int(cell)) if float(cell) == int(cell) else str(cell)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_second_reader_finds_every_cell_of_the_csv(units):
    """Read by calamine, each sheet has the cells of the table's CSV, none more and none less."""
    tables, content = made(units=units)
    sheets = pd.read_excel(io.BytesIO(content), sheet_name=None, header=None, dtype=object,
                           engine="calamine", keep_default_na=False)  # fmt: skip
    for name, table in tables.items():
        rows = list(csv.reader(io.StringIO(csv_bytes(table).decode())))
        found = [["" if cell == "" else as_csv(cell) for cell in row]
                 for row in sheets[name.capitalize()].to_numpy().tolist()]  # fmt: skip
        width = len(rows[0])
        assert [row + [""] * (width - len(row)) for row in found] == rows, name


@pytest.mark.parametrize("name", NAMES)
def test_a_hostile_name_is_text_and_whole(name):
    """Both readers give the name back; no cell is a formula, and none a link."""
    _, content = made(name)
    sheet = pd.read_excel(io.BytesIO(content), sheet_name="Blocks", engine="calamine", dtype=str)
    assert sheet.loc[0, "name"] == name
    book = openpyxl.load_workbook(io.BytesIO(content))
    cells = [cell for one in book for row in one.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert not [cell for cell in cells if cell.hyperlink]


@pytest.mark.parametrize("name", ["3-4", "1E5", "007"])
def test_a_name_like_a_date_or_a_number_is_text(name):
    """What a spreadsheet that opens a CSV takes for a date or a number is a text cell here."""
    sheet = openpyxl.load_workbook(io.BytesIO(made(name)[1]))["Blocks"]
    cell = sheet.cell(2, [head.value for head in sheet[1]].index("name") + 1)
    assert (cell.value, cell.data_type) == (name, "s")


def test_text_that_looks_like_the_format_s_own_code_is_kept():
    """_x0041_ would be read as A (ECMA-376, ST_Xstring); it is written so that it stays."""
    _, content = made("_x0041_ field")
    sheet = pd.read_excel(io.BytesIO(content), sheet_name="Blocks", engine="calamine", dtype=str)
    assert sheet.loc[0, "name"] == "_x0041_ field"


def test_the_sheets_are_the_tables_and_what_their_columns_mean():
    """A sheet a table, one for the plan in words, and one that explains every column."""
    tables, content = made()
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert " ".join(book.sheetnames) == SHEETS
    told = {(row[0], row[1]) for row in book["Columns"].iter_rows(min_row=2, values_only=True)}
    assert told == {(name.capitalize(), column) for name, table in tables.items()
                    for column in table.columns}  # fmt: skip


@pytest.mark.parametrize(
    ("sheet", "column", "shown"),
    [("Visits", "hours", "#,##0.0"), ("Stems", "stems", "#,##0"), ("Visits", "year", "0"),
     ("Blocks", "cost", '"$"#,##0;-"$"#,##0')],
)  # fmt: skip
def test_numbers_are_shown_by_their_unit(sheet, column, shown):
    """Hours have one decimal, stems none, years no comma, and dollars their sign."""
    one = openpyxl.load_workbook(io.BytesIO(made()[1]))[sheet]
    place = [cell.value for cell in one[1]].index(column)
    assert one[2][place].number_format == shown


@pytest.mark.parametrize(("units", "paper"), [("us", "1"), ("metric", "9")])
def test_a_sheet_prints_across_the_page_with_its_head_on_each(units, paper):
    """Landscape, letter or A4, all columns on the page, and the head repeats (print titles)."""
    _, content = made(units=units)
    book = openpyxl.load_workbook(io.BytesIO(content))
    for name in book.sheetnames[1:]:
        sheet = book[name]
        assert (sheet.page_setup.orientation, str(sheet.page_setup.paperSize)) == (
            "landscape", paper,
        )  # fmt: skip
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.print_title_rows == "$1:$1"


def test_the_file_carries_no_clock():
    """No part of the file has a date but the fixed one, so that the same tables give one file."""
    first, again = made()[1], made()[1]
    assert first == again
    with zipfile.ZipFile(io.BytesIO(first)) as parts:
        assert {one.date_time[:3] for one in parts.infolist()} == {(2000, 1, 1)}
        dates = re.findall(rb"\d{4}-\d\d-\d\dT", parts.read("docProps/core.xml"))
    assert set(dates) == {b"2000-01-01T"}
