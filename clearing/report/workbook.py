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
from openpyxl.utils.exceptions import IllegalCharacterError
from openpyxl.worksheet.worksheet import Worksheet

from clearing.report import look
from clearing.report.facts import Summary
from clearing.report.tables import out_columns

FIXED_DAY = (2000, 1, 1, 0, 0, 0)  # the same file every time
FIXED_TIME = "2000-01-01T00:00:00Z"
WIDEST = 60
_NOT_TEXT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


def workbook_bytes(tables: dict[str, pd.DataFrame], summary: Summary) -> bytes:
    """Return the tables as an xlsx file; text stays text whatever it starts with.

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
    front["A1"].font = Font(bold=True)
    front["A2"].font = Font(bold=True, size=16)
    front.column_dimensions["A"].width = 2 * WIDEST
    us = summary.units == "us"
    for name, table in tables.items():
        _sheet(book.create_sheet(name.capitalize()), table)
    meaning = [
        (name, row.column, row.unit, row.description)
        for name in tables
        for row in out_columns(name, us).itertuples(index=False)
    ]
    notes = pd.DataFrame(meaning, columns=["table", "column", "unit", "what it is"])
    _sheet(book.create_sheet("Columns"), notes)
    out = io.BytesIO()
    book.save(out)
    return _fixed(out.getvalue())


def _sheet(sheet: Worksheet, table: pd.DataFrame) -> None:
    """Fill one sheet: bold head that stays in sight, columns as wide as they need."""
    for place, name in enumerate(table.columns, start=1):
        head = sheet.cell(1, place)
        _put(head, str(name))
        head.font = Font(bold=True, color=look.PAPER.lstrip("#"))
        head.fill = PatternFill("solid", fgColor=look.ACCENT.lstrip("#"))
        head.alignment = Alignment(vertical="center")
    for number, row in enumerate(table.itertuples(index=False), start=2):
        for place, value in enumerate(row, start=1):
            if value is not None and not pd.isna(value) and value != "":
                _put(sheet.cell(number, place), value)
    for place, name in enumerate(table.columns, start=1):
        longest = max([len(str(name)), *(len(str(value)) for value in table[name].head(500))])
        sheet.column_dimensions[get_column_letter(place)].width = min(longest + 2, WIDEST)
    sheet.freeze_panes = "A2"
    if len(table):
        sheet.auto_filter.ref = sheet.dimensions


def _put(cell: Cell | Any, value: Any) -> None:
    """Put a value into a cell; text is stored as text, never as a formula."""
    if not isinstance(value, str):
        cell.value = value.item() if hasattr(value, "item") else value
        return
    try:
        cell.value = value
    except IllegalCharacterError:
        cell.value = _NOT_TEXT.sub("", value)
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
