"""Write the tables as one workbook: a sheet a table, and one that says what columns mean."""

import io
import re
import zipfile
from typing import Any

import pandas as pd
from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from clearing.report import look
from clearing.report.facts import Summary
from clearing.report.tables import out_columns

FIXED_DAY = (2000, 1, 1, 0, 0, 0)  # the same file every time
FIXED_TIME = "2000-01-01T00:00:00Z"
WIDEST = 60  # letters; longer text goes on in the next line of its cell
LONGEST_TEXT = 32767  # letters that a cell of the format holds
LETTER, A4 = 1, 9  # paper sizes as the format numbers them
DOLLARS = '"$"#,##0;-"$"#,##0'
# unit -> how a sheet shows the number; the cell holds it as the CSV does
FORMATS = {
    "h": "#,##0.0", "dollars": DOLLARS, "acres": "#,##0.00", "ha": "#,##0.000", "gal": "#,##0.00",
    "l": "#,##0.00", "floz": "#,##0.0", "ml": "#,##0", "share": "0%", "percent": "0.0",
    "stems": "#,##0", "strips": "0", "containers": "0", "year": "0",
}  # fmt: skip
PLAIN = "#,##0.0"
TOP, FOLDED = Alignment(vertical="top"), Alignment(vertical="top", wrap_text=True)
_NOT_TEXT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_LOOKS_CODED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")  # the format reads _x0041_ as A


def workbook_bytes(tables: dict[str, pd.DataFrame], summary: Summary) -> bytes:
    """Return the tables as an xlsx file; text stays text whatever it starts with.

    There is no formula and no link in it: sums stand in the tables where they carry a range.

    References
    ----------
    own reasoning
    """
    book = Workbook()
    front = book.active
    assert front is not None  # a new workbook has one sheet
    front.title = "Plan"
    for line in (summary.property_name, summary.headline, summary.lead, summary.status_words):
        front.append([""])
        _put(front.cell(front.max_row, 1), line)
        front.cell(front.max_row, 1).alignment = FOLDED
    front["A1"].font = Font(bold=True)
    front["A2"].font = Font(bold=True, size=16)
    front.column_dimensions["A"].width = 2 * WIDEST
    us = summary.units == "us"
    _paper(front, us)
    for name, table in tables.items():
        units = {row.column: row.unit for row in out_columns(name, us).itertuples(index=False)}
        _sheet(book.create_sheet(name.capitalize()), table, units, us)
    _sheet(book.create_sheet("Columns"), _meaning(list(tables), us), {}, us)
    out = io.BytesIO()
    book.save(out)
    return _fixed(out.getvalue())


def _meaning(names: list[str], us: bool) -> pd.DataFrame:
    """Return what each column of each sheet means."""
    rows = [
        (name.capitalize(), row.column, row.unit, row.description)
        for name in names
        for row in out_columns(name, us).itertuples(index=False)
    ]
    return pd.DataFrame(rows, columns=["sheet", "column", "unit", "what it is"])


def _sheet(sheet: Worksheet, table: pd.DataFrame, units: dict[str, str], us: bool) -> None:
    """Fill one sheet: bold head that stays in sight, columns as wide as they need."""
    for place, name in enumerate(table.columns, start=1):
        head = sheet.cell(1, place)
        _put(head, str(name))
        head.font = Font(bold=True, color=look.PAPER.lstrip("#"))
        head.fill = PatternFill("solid", fgColor=look.ACCENT.lstrip("#"))
        head.alignment = Alignment(vertical="center")
    formats = [FORMATS.get(units.get(name, ""), PLAIN) for name in table.columns]
    for number, row in enumerate(table.itertuples(index=False), start=2):
        for place, value in enumerate(row, start=1):
            if value is None or pd.isna(value) or value == "":
                continue
            cell = sheet.cell(number, place)
            _put(cell, value)
            if isinstance(value, str):
                cell.alignment = FOLDED if len(value) > WIDEST else TOP
            else:
                cell.number_format = formats[place - 1]
                cell.alignment = TOP
    for place, name in enumerate(table.columns, start=1):
        longest = max([len(str(name)), *(len(str(value)) for value in table[name].head(500))])
        sheet.column_dimensions[get_column_letter(place)].width = min(longest + 2, WIDEST)
    sheet.freeze_panes = "A2"
    if len(table):
        sheet.auto_filter.ref = sheet.dimensions
    sheet.print_title_rows = "1:1"
    _paper(sheet, us)


def _paper(sheet: Worksheet, us: bool) -> None:
    """Set how a sheet prints: across the page, all columns on it, its name and page at the foot."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = LETTER if us else A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    assert sheet.sheet_properties.pageSetUpPr is not None  # openpyxl makes it with the sheet
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.oddFooter.left.text = "&A"
    sheet.oddFooter.right.text = "&P of &N"


def _put(cell: Cell | Any, value: Any) -> None:
    """Put a value into a cell; text is stored as text, never as a formula."""
    if not isinstance(value, str):
        cell.value = value.item() if hasattr(value, "item") else value
        return
    cell.value = _LOOKS_CODED.sub("_x005F_", _NOT_TEXT.sub("", value))[:LONGEST_TEXT]
    cell.data_type = "s"
    if value.startswith(("=", "+", "-", "@")):
        cell.quotePrefix = True


def _fixed(content: bytes) -> bytes:
    """Return the same workbook with fixed dates, so that the same tables give the same bytes."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in sorted(old.namelist()):
            data = old.read(name)
            if name == "docProps/core.xml":
                data = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", FIXED_TIME.encode(), data)
            entry = zipfile.ZipInfo(name, FIXED_DAY)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            new.writestr(entry, data)
    return out.getvalue()
