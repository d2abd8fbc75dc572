"""Read a CSV table as text, whatever program saved it, and say in words what cannot be read."""

import codecs
import csv
import io
import re
from pathlib import Path

import pandas as pd

from clearing.errors import InputError
from clearing.tables import ROW, column_file, name_list, plain_name, shortened

LARGEST_BYTES = 200_000_000  # a larger table is no farm's; own choice
DIVIDERS = (",", ";", "\t")
TOLD = {";": "semicolons", "\t": "tabs"}
MARKS = {
    codecs.BOM_UTF8: "utf-8",
    codecs.BOM_UTF16_LE: "utf-16-le",
    codecs.BOM_UTF16_BE: "utf-16-be",
}
# the line that spreadsheets in some languages put before the headings, such as sep=;
SEPARATED = re.compile(r"""\ufeff?"?sep=.?"?[,;\t ]*(\r\n|\n|\r|\Z)""", re.IGNORECASE)
NO_TEXT = "holds a sign that is no text in UTF-8"
# a decimal comma in a table that commas do not divide; 1,000 may be a thousand and stays as it is
_DECIMAL = re.compile(r"\s*[-+]?\d+,(\d{1,2}|\d{4,})\s*")


def read_table(path: Path, name: str) -> tuple[pd.DataFrame, list[str]]:
    """Return a CSV table as text, and what is wrong with its rows and headings.

    Commas divide it; where the headings are only found so, semicolons or tabs do, and then a
    number may have a decimal comma. Headings are known in any case. Rows without a word are
    passed over, and so is a first line such as ``sep=;``, which a spreadsheet does not count.

    Parameters
    ----------
    path : Path
    name : str
        Which column file describes it.

    Returns
    -------
    DataFrame
        Text cells; the index is each row's number in the file (the headings are row 1).
    list of str

    Raises
    ------
    InputError
        Nothing of the file can be used.

    References
    ----------
    rfc_4180
    """
    text = plain_text(path, "table as CSV")
    before = SEPARATED.match(text)
    text = text if before is None else text[before.end() :]
    described = column_file(name)
    needed = set(described.loc[described["required"] == "yes", "column"])
    tried = {sign: _headings(text, sign) for sign in DIVIDERS}
    whole = [sign for sign in DIVIDERS if needed <= set(tried[sign])]
    divider = whole[0] if whole else max(DIVIDERS, key=lambda s: len(needed & set(tried[s])))
    rows = _rows(text, divider, path.name)
    filled = [(number, row) for number, row in rows if any(cell.strip() for cell in row)]
    if not filled:
        first = name_list(described.loc[described["required"] == "yes", "column"])
        raise InputError([f"{path.name} is empty; its first line names the columns: {first}"], name)
    headings = _known(filled[0][1], described["column"].tolist())
    problems = _twice(headings, described["column"].tolist(), path.name)
    problems += _too_long(filled[1:], len(headings))
    cells, numbers = [], []
    for number, row in filled[1:]:
        cells.append([*row, *[""] * (len(headings) - len(row))][: len(headings)])
        numbers.append(number)
    table = pd.DataFrame(cells, columns=headings, index=pd.Index(numbers, name=ROW), dtype=str)
    table = table.loc[:, [each != "" for each in headings]]
    table = table.loc[:, ~table.columns.duplicated()]
    if divider != ",":
        kinds = described.set_index("column")["kind"]
        for column in table:
            if kinds.get(column) in ("number", "integer"):
                table[column] = table[column].map(_with_a_point)
    return table, problems


def plain_text(path: Path, what: str = "file") -> str:
    """Return the text of a file in UTF-8, or in UTF-16 where its mark says so.

    Parameters
    ----------
    path : Path
    what : str
        What the owner is told to save in UTF-8.

    Raises
    ------
    InputError
        It is no text, or too large.

    References
    ----------
    own reasoning
    """
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except OSError as cause:
        words = "it is a folder" if path.is_dir() else (cause.strerror or str(cause)).lower()
        raise InputError([f"{path.name} cannot be read: {words}"], path.name) from cause
    if len(raw) > LARGEST_BYTES:
        words = f"it holds more than {LARGEST_BYTES // 10**6} MB"
        raise InputError([f"{path.name} cannot be read: {words}"], path.name)
    mark = next((mark for mark in MARKS if raw.startswith(mark)), b"")
    body = raw.removeprefix(mark)
    text = body.decode(MARKS.get(mark, "utf-8"), "replace")
    wrong = text.find("\0")
    if text.count("�") > (body.count("�".encode()) if MARKS.get(mark, "utf-8") == "utf-8" else 0):
        wrong = min(at for at in (wrong, text.find("�")) if at >= 0)
    if wrong >= 0:
        line = len(re.findall(r"\r\n|\n|\r", text[:wrong])) + 1
        raise InputError(
            [f"{path.name} cannot be read: line {line} {NO_TEXT}; save the {what} in UTF-8"],
            path.name,
        )
    return text


def _headings(text: str, divider: str) -> list[str]:
    """Return the headings that a divider gives, in small letters with underscores."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    return [plain_name(cell.strip(' "')) for cell in first.split(divider)]


def _rows(text: str, divider: str, name: str) -> list[tuple[int, list[str]]]:
    """Return the rows with their numbers as a spreadsheet counts them."""
    csv.field_size_limit(LARGEST_BYTES)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=divider, strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            rows.append((len(rows) + 1, row))
    except csv.Error as cause:
        said = f"{name} cannot be read: in row {len(rows) + 1} a quotation mark is opened and not "
        said += 'closed, or stands inside a cell; close it, write it twice ("") or take it out'
        raise InputError([said], name) from cause
    return rows


def _known(headings: list[str], described: list[str]) -> list[str]:
    """Return headings with the described names where they differ by case and blanks only."""
    known = [heading.strip() for heading in headings]
    plain = [plain_name(heading) for heading in known]
    return [
        easy if heading not in described and easy in described and easy not in known else heading
        for heading, easy in zip(known, plain, strict=True)
    ]


def _twice(headings: list[str], described: list[str], name: str) -> list[str]:
    """Return a sentence for each described column that stands twice."""
    return [
        f"column {column!r} stands twice in the first line of {name}; keep one"
        for column in described if headings.count(column) > 1
    ]  # fmt: skip


def _too_long(rows: list[tuple[int, list[str]]], width: int) -> list[str]:
    """Return a sentence when rows have more cells than there are headings."""
    extra = {n: row for n, row in rows if any(cell.strip() for cell in row[width:])}
    if not extra:
        return []
    first = next(iter(extra.values()))
    has = "has" if len(extra) == 1 else "have"
    return [
        f"{name_list(f'row {number}' for number in extra)} {has} more than the {width} cells of "
        f"the first line; put text with commas into quotation marks (beyond them stands "
        f"{shortened(next(cell for cell in first[width:] if cell.strip()))!r})"
    ]


def _with_a_point(cell: str) -> str:
    """Return a number with its decimal comma as a point."""
    return cell.replace(",", ".") if _DECIMAL.fullmatch(cell) else cell
