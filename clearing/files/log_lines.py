"""Take records.csv apart line by line, so that a damaged line stops nothing else."""

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass, field

import pandas as pd

from clearing.errors import InputError
from clearing.files.log_typed import unlike_twins
from clearing.files.plain_tables import SEPARATED
from clearing.tables import (
    cell_text,
    column_file,
    did_you_mean,
    faulty_cells,
    plain_name,
)

LOG = "records.csv"
MARK = b"\xef\xbb\xbf"
NOT_TEXT = "a sign that is no text in UTF-8; save the file as CSV in UTF-8"
NOT_COUNTED = "this row is not counted"
LONGEST_CELL = 60  # letters of a wrong cell that a sentence repeats; own choice


@dataclass(frozen=True)
class LogLine:
    """One row of the file, which may lie over several lines: where it begins, its cells, its fault.

    A row with a fault keeps the cells that could be told apart.
    """

    line: int
    cells: list[str]
    fault: str = ""


@dataclass(frozen=True)
class LogFile:
    """The file taken apart: its head, its rows, and how its lines end.

    Attributes
    ----------
    header : list of str
        Names of the columns; empty where the file holds nothing.
    head_end : int
        Where the text of the head line ends in the file, before its line end [bytes].
    rows : list of LogLine
    end : str
        How lines end.
    """

    header: list[str] = field(default_factory=list)
    head_end: int = 0
    rows: list[LogLine] = field(default_factory=list)
    end: str = "\n"


def take_apart(raw: bytes, name: str = LOG, numbered: bool = True) -> LogFile:
    """Return a log file taken apart.

    Parameters
    ----------
    raw : bytes
        The whole file.
    name : str
        What the file is called.
    numbered : bool
        Its rows have numbers; those of a phone have none yet.

    Raises
    ------
    InputError
        Its first line is no head of a log, so nothing of it can be used.

    References
    ----------
    rfc_4180
    """
    lines = re.findall(rb"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+", raw)
    filled = (n for n, line in enumerate(lines) if line.strip(MARK + b"\r\n \t,;"))
    first = next((n for n in filled if not SEPARATED.fullmatch(_text(lines[n])[0])), None)
    if first is None:
        return LogFile()
    body = lines[first].rstrip(b"\r\n")
    header = _head(body.removeprefix(MARK), name, numbered)
    end = lines[first][len(body) :].decode() or "\n"
    texts = [_text(line) for line in lines]
    rows, place = [], first + 1
    while place < len(lines):
        row, place = _row(texts, place, header)
        if row.fault or any(cell.strip() for cell in row.cells):
            rows.append(row)
    head_end = sum(len(line) for line in lines[:first]) + len(body)
    return LogFile(header, head_end, rows, end)


def log_table(file: LogFile, name: str = LOG) -> tuple[pd.DataFrame, list[str]]:
    """Return the rows that can be read, as text with their line, and a sentence for each other.

    A damaged row that a later one replaces needs no sentence any more. The numbers of all damaged
    rows stand in the table's ``attrs`` under set_aside.

    Parameters
    ----------
    file : LogFile
    name : str
        What the file is called.

    Returns
    -------
    DataFrame
        The file's columns and ``line``; all cells are text.
    list of str

    References
    ----------
    own reasoning
    """
    faults = {row.line: row.fault for row in file.rows if row.fault}
    sound = [row for row in file.rows if not row.fault]
    width = len(file.header)
    cells = [[*row.cells, *[""] * (width - len(row.cells))][:width] for row in sound]
    table = pd.DataFrame(cells, columns=file.header, index=[row.line for row in sound], dtype=str)
    table = table.loc[:, [name != "" for name in file.header]]
    own = {row.line: id_of(row, file.header) for row in file.rows}
    free = next_number(own.values())
    wrong: dict[int, list[str]] = {}
    for line, said in faulty_cells(table, "records"):
        if said.startswith("'record_id'"):
            said = f"'record_id' is blank; write a number that no other row has, such as {free}"
        wrong.setdefault(line, []).append(said)
    faults |= {line: "; ".join(said) for line, said in wrong.items()}
    faults |= _twice(table, own, faults, free)
    good = table.drop(index=[line for line in faults if line in table.index])
    mended = {cell_text(gone) for gone in good.get("replaces", [])} - {""}
    told = [
        f"{name} line {line}: {faults[line]}; {NOT_COUNTED}"
        for line in sorted(faults) if own[line] not in mended or own[line] in set(good["record_id"])
    ]  # fmt: skip
    told += [
        f"{name} line {line}: {said}; the metric one is counted"
        for line, row in zip(good.index, good.to_dict("records"), strict=True)
        for said in unlike_twins(row) if own[line] not in mended
    ]  # fmt: skip
    good = good.assign(line=good.index).reset_index(drop=True)
    good.attrs["set_aside"] = tuple(own[line] for line in faults if own[line])
    near = near_names(file.header)
    odd = [f"{name} line 1: {near}; it is kept and not counted"] if near else []
    return good, [*odd, *told]


def id_of(row: LogLine, header: list[str], column: str = "record_id") -> str:
    """Return a cell of a row as far as it can be told apart, such as its number; else blank.

    References
    ----------
    own reasoning
    """
    place = header.index(column) if column in header else len(row.cells)
    return row.cells[place].strip() if place < len(row.cells) else ""


def next_number(numbers: Iterable[str]) -> int:
    """Return the number after the largest of those given; texts that are none do not count.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> next_number(["1", "x", "7"]), next_number([])
    (8, 1)
    """
    whole = [int(n) for n in numbers if re.fullmatch(r"[0-9]{1,15}", n)]
    return max(whole, default=0) + 1


def _head(line: bytes, name: str, numbered: bool) -> list[str]:
    """Return the names of the columns."""
    text, sound = _text(line)
    if not sound:
        said = f"records: {name} cannot be read: its first line holds {NOT_TEXT}"
        raise InputError([said], name)
    cells = _cells(text)
    header = [cell.strip() for cell in cells or text.split(",")]
    described = column_file("records")
    needed = described[described["required"] == "yes"]
    needed = needed[numbered | (needed["kind"] != "id")]
    gone = [
        f"records: column {row.column!r} is missing ({row.description}) in the first line of {name}"
        + _nearly(row.column, header)
        for row in needed.itertuples() if row.column not in header
    ]  # fmt: skip
    for sign, words in ((";", "semicolons"), ("\t", "tabs")):
        if gone and sign in text and "," not in text:
            gone = [f"records: {name} is divided by {words}; save it with commas"]
    known = set(described["column"])
    twice = [column for column in dict.fromkeys(header)
             if column in known and header.count(column) > 1]  # fmt: skip
    gone += [f"records: column {column!r} stands twice in the first line of {name}; keep one"
             for column in twice]  # fmt: skip
    if gone:
        raise InputError(gone, name)
    return header


def _nearly(column: str, header: list[str]) -> str:
    """Return how a column is to be written that stands in other letters, else an empty text."""
    alike = [each for each in header if plain_name(each) == column]
    return f"; it stands there as {alike[0]!r}, write {column!r}" if alike else ""


def _text(line: bytes) -> tuple[str, bool]:
    """Return a line as text, as well as it can be, and whether all of it is text."""
    text = line.decode("utf-8", "replace")
    return text.replace("\0", ""), text.encode("utf-8", "replace") == line and "\0" not in text


def _cells(text: str) -> list[str] | None:
    """Return the cells of one row, or None where its quotation marks are astray."""
    body = text.rstrip("\r\n")
    if '"' not in body:
        return body.split(",")
    try:
        rows = list(csv.reader([body], strict=True))
    except csv.Error:
        return None
    return rows[0] if len(rows) == 1 else None


def _row(texts: list[tuple[str, bool]], place: int, header: list[str]) -> tuple[LogLine, int]:
    """Return the row that begins at a place, and where the next one begins."""
    (text, sound), line = texts[place], place + 1
    loose = text.rstrip("\r\n").replace('"', "").split(",")
    if not sound:
        return LogLine(line, loose, f"it holds {NOT_TEXT}"), place + 1
    after = place + 1
    if text.count('"') % 2:
        joined, after = _joined(texts, place, header)
        if joined is None:
            said = "a quotation mark is opened and not closed; close it, or take it out"
            return LogLine(line, loose, said), place + 1
        text = joined
    cells = _cells(text)
    if cells is None:
        said = 'a quotation mark stands inside a cell; write it twice ("") or take it out'
        return LogLine(line, loose, said), after
    extra = [cell for cell in cells[len(header) :] if cell.strip()]
    extra += [c for c, name in zip(cells, header, strict=False) if name == "" and c.strip()]
    if extra:
        said = f"it has {len(cells)} cells, and the first line has {len(header)}; put text with "
        said += f"commas into quotation marks (the last cell is {extra[-1][:LONGEST_CELL]!r})"
        return LogLine(line, cells, said), after
    return LogLine(line, cells), after


def _joined(texts: list[tuple[str, bool]], place: int, header: list[str]) -> tuple[str | None, int]:
    """Return the text of a row with line ends in its cells; None where no row comes of it."""
    held = texts[place][0]
    for after in range(place + 1, len(texts)):
        more, sound = texts[after]
        if not sound or _looks_whole(more, header):
            return None, place
        held += more
        if more.count('"') % 2:
            cells = _cells(held)
            fits = cells is not None and len(cells) <= len(header)
            return (held, after + 1) if fits else (None, place)
    return None, place


def _looks_whole(text: str, header: list[str]) -> bool:
    """Return whether a line alone is a row of the log: it has a number, if any has, and a day."""
    row = LogLine(0, _cells(text) or text.replace('"', "").split(","))
    number, day = id_of(row, header), id_of(row, header, "date")
    numbered = number.isdigit() or "record_id" not in header
    return numbered and re.fullmatch(r"\d{4}-\d{2}-\d{2}", day) is not None


def _twice(
    table: pd.DataFrame, own: dict[int, str], faults: dict[int, str], free: int
) -> dict[int, str]:
    """Return the fault of each row whose number an earlier row has already."""
    first: dict[str, int] = {}
    found = {}
    for line in table.index:
        if line in faults or not own[line]:
            continue
        if own[line] in first:
            found[line] = (
                f"'record_id' {own[line]!r} stands in line {first[own[line]]} already; write a "
                f"number that no other row has, such as {free}"
            )
        first.setdefault(own[line], line)
    return found


def near_names(header: list[str]) -> str:
    """Return that columns nearly have the name of one of the log's, and of which; blank for none.

    References
    ----------
    own reasoning
    """
    known = column_file("records")["column"].tolist()
    absent = [column for column in known if column not in header]
    near = {
        column: did_you_mean(column, absent)
        for column in header if column and column not in known
    }  # fmt: skip
    found = [f"{column!r}{said}" for column, said in near.items() if said]
    return f"no column of the log is called {', '.join(found)}" if found else ""
