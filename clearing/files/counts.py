"""Count stems into tally.csv in place: one cell changes, all else stays byte for byte."""

import csv
import hashlib
import os
import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import accumulate, pairwise
from pathlib import Path

import pandas as pd

from clearing.errors import InputError
from clearing.files.durable import not_written, put_in_place
from clearing.files.plain_tables import SEPARATED
from clearing.files.strays import strayed
from clearing.files.versions import keep_version, list_versions
from clearing.files.whole import clear_left, new_mode
from clearing.tables import YES, columns

TALLY = "tally.csv"
NEEDED = ("plot_id", "species", "count")
SIZES = ("size", "dbh_in", "dbh_cm")
BOM = "\ufeff"
VERSION_EVERY = timedelta(minutes=10)  # counting makes a version no more often; own choice


class CountsChanged(InputError):
    """Return an error: another program changed tally.csv since it was opened."""


@dataclass(frozen=True)
class Counts:
    """The tally as it stands in the file.

    Attributes
    ----------
    rows : DataFrame
        All columns as text, exactly as in the file; the index is the line of the file.
    stamp : str
        Another text as soon as the file says anything else.
    """

    rows: pd.DataFrame
    stamp: str


@dataclass(frozen=True)
class _Record:
    """One row of the file: its text with its line end, its cells, and where they stand in it."""

    line: int
    text: str
    cells: list[str]
    spans: list[tuple[int, int]]


@dataclass(frozen=True)
class _File:
    """A tally file taken apart; joined again, its records are the file."""

    mark: str = ""
    header: _Record | None = None
    records: list[_Record] = field(default_factory=list)
    end: str = "\n"


def open_counts(home: str | Path) -> Counts:
    """Return the tally as it stands; without the file no rows and the described columns.

    Raises
    ------
    InputError
        The file is damaged: which line, and what is wrong with it.

    References
    ----------
    own reasoning
    """
    raw = _bytes(Path(home) / TALLY)
    return _counts(_taken_apart(raw), raw)


def count(
    home: str | Path, counts: Counts, plot_id: str, stem: Mapping[str, object], by: int, date: str,
    nought_stays: bool = True,
) -> Counts:  # fmt: skip
    """Return the tally after stems were counted into it (or taken back: ``by`` below nought).

    The stems go to the plot's row of this species, size, status and keep of the same day, or
    without a day; a row of another day belongs to another visit. Where there is none, a row is
    added at the end. A count never falls below nought, and a row that comes to nought stays,
    unless it is told to go. Nought stems say that nothing was found: a row of nought is added
    where none fits, which needs no size.

    Parameters
    ----------
    home : path
        The property's folder.
    counts : Counts
        As opened or counted last.
    plot_id : str
    stem : mapping
        species, one of size, dbh_in and dbh_cm, and, where they are known, status and keep.
    by : int
        How many stems; 0 where nothing was found.
    date : str
        The day as YYYY-MM-DD, or blank.
    nought_stays : bool
        A row that comes to nought stays; without it the row goes, as if it had never been added.
        With ``by`` 0 it says whether the row of nought is written or goes.

    Raises
    ------
    CountsChanged
        Another program changed the file since.
    InputError
        The file is damaged, or the system does not let it be written. It is as it was then.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    path = home / TALLY
    raw = _bytes(path)
    if _stamp(raw) != counts.stamp:
        raise CountsChanged(
            [f"{TALLY} was changed by another program; nothing was counted into it"], TALLY
        )
    given = {key: _text(value) for key, value in stem.items() if _text(value)}
    wanted = {**given, "plot_id": plot_id.strip(), "date": date.strip()}
    sized = sum(key in given for key in SIZES)
    if sized > 1 or (by and not sized) or "species" not in given:
        raise InputError(["a stem has a species, and one of size, dbh_in and dbh_cm"], TALLY)
    new = _counted(_taken_apart(raw), wanted, by, nought_stays)
    text = new.mark + "".join(r.text for r in ([new.header] if new.header else []) + new.records)
    data = text.encode("utf-8")
    if data != raw:
        try:
            _save(home, path, data)
        except OSError as cause:
            raise not_written(cause, TALLY, home) from cause
    return _counts(_taken_apart(data), data)


def _bytes(path: Path) -> bytes:
    """Return the file's content; of a file that is not there the header of a new one."""
    try:
        return path.read_bytes()
    except FileNotFoundError as cause:
        near = strayed(path.parent, TALLY)
        if near:
            raise InputError([near], TALLY) from cause
        return b""
    except OSError as cause:
        raise InputError([f"{TALLY} cannot be read: {cause.strerror}"], TALLY) from cause


def _stamp(raw: bytes) -> str:
    """Return a text that is another one as soon as the content is."""
    return hashlib.sha256(raw).hexdigest()


def _counts(file: _File, raw: bytes) -> Counts:
    """Return the table of a file."""
    header = file.header.cells if file.header else columns("tally", "owner")
    rows = [r for r in file.records if r.cells]
    cells = [[*r.cells, *[""] * (len(header) - len(r.cells))] for r in rows]
    table = pd.DataFrame(cells, columns=header, index=[r.line for r in rows], dtype=object)
    return Counts(table, _stamp(raw))


def _save(home: Path, path: Path, data: bytes) -> None:
    """Write the file whole or not at all; now and then the one before is kept."""
    last = list_versions(home, path.stem)
    clear_left(home / TALLY, f".{TALLY}-")
    handle, name = tempfile.mkstemp(prefix=f".{TALLY}-", dir=home)
    waiting = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        if not path.exists():
            waiting.chmod(new_mode())
        if not last or datetime.now() - last[-1][1] > VERSION_EVERY:
            keep_version(home, path)
        put_in_place(waiting, path)
    finally:
        waiting.unlink(missing_ok=True)


def _taken_apart(raw: bytes) -> _File:
    """Return the records of a file, each with its own text."""
    if not raw:
        return _File()
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as cause:
        line = raw[: cause.start].count(b"\n") + 1
        raise _damaged(line, "it holds a sign that is no UTF-8; save it as UTF-8") from cause
    mark = BOM if text.startswith(BOM) else ""
    records = _records(text.removeprefix(BOM))
    filled = [each for each in records if each.cells and not SEPARATED.fullmatch(each.text)]
    if not filled:
        return _File(mark, None, records)
    header = filled[0]
    names = [cell.strip() for cell in header.cells]
    gone = [name for name in NEEDED if name not in names]
    if gone and len(names) == 1 and re.search("[;\t]", names[0]):
        raise _damaged(header.line, "commas do not divide it; save it with commas to count here")
    if gone:
        raise _damaged(header.line, f"the column {gone[0]!r} is missing in the header")
    twice = sorted({name for name in names if name and names.count(name) > 1})
    if twice:
        raise _damaged(header.line, f"the column {twice[0]!r} stands in the header twice")
    for record in filled[1:]:
        if len(record.cells) > len(names):
            more = f"it has {len(record.cells)} cells, and the header has {len(names)}"
            raise _damaged(record.line, more)
    end = re.search(r"\r\n|\n|\r", header.text)
    before = records[: records.index(header)]
    lead = "".join(record.text for record in before)
    whole = _Record(header.line, lead + header.text, names, [])
    return _File(mark, whole, records[len(before) + 1 :], end[0] if end else "\n")


def _records(text: str) -> list[_Record]:
    """Return the records of a CSV text; a quoted cell may hold line ends."""
    out, held, first, line = [], "", 1, 1
    for piece in re.findall(r"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+", text):
        held = held + piece
        if held.count('"') % 2 == 0:
            out.append(_record(held, first))
            held, first = "", line + 1
        line += 1
    if held:
        raise _damaged(first, "a quotation mark is opened and not closed")
    return out


def _record(text: str, line: int) -> _Record:
    """Return one record with its cells and where they stand."""
    body = text.rstrip("\r\n")
    if not body.strip():
        return _Record(line, text, [], [])
    if '"' not in body:
        cells = body.split(",")
        ends = accumulate(len(cell) + 1 for cell in cells)
        spans = [(end - 1 - len(cell), end - 1) for cell, end in zip(cells, ends, strict=True)]
        return _Record(line, text, cells, spans)
    commas = [i for i, sign in enumerate(body) if sign == "," and body.count('"', 0, i) % 2 == 0]
    around = pairwise([-1, *commas, len(body)])
    spans = [(start + 1, end) for start, end in around]
    try:
        [cells] = csv.reader([body.replace("\r\n", "\n")], strict=False)
    except (csv.Error, ValueError):
        cells = []
    if len(cells) != len(spans):
        raise _damaged(line, "a quotation mark stands inside a cell")
    return _Record(line, text, cells, spans)


def _counted(file: _File, wanted: dict[str, str], by: int, nought_stays: bool) -> _File:
    """Return a file with stems counted into it."""
    header = file.header
    if header is None:
        names = columns("tally", "owner")
        header = _Record(1, ",".join(names) + file.end, names, [])
    place = {name: i for i, name in enumerate(header.cells)}
    records = list(file.records)
    fitting = [
        i for i, record in enumerate(records) if record.cells and _fits(record, place, wanted)
    ]
    if by < 0:  # the last row that still holds a stem
        fitting = [i for i in fitting[::-1] if _held(records[i], place["count"])] or fitting
    if not by and fitting and nought_stays:  # the look is written down already
        return file
    if fitting and (by or not _held(records[fitting[0]], place["count"])):
        i = fitting[0]
        records[i] = _with_count(records[i], place["count"], by)
        if by <= 0 and not nought_stays and records[i].cells[place["count"]] == "0":
            del records[i]
        return _File(file.mark, header, records, file.end)
    if by < 0 or not (by or nought_stays):
        return _File(file.mark, file.header, records, file.end)
    lacking = [name for name in wanted if name not in place and wanted[name]]
    if lacking:  # rows that are shorter than the header end in blanks
        body = header.text.rstrip("\r\n")
        tail = header.text[len(body) :]
        header = _Record(header.line, ",".join([body, *lacking]) + tail,
                         [*header.cells, *lacking], [])  # fmt: skip
    cells = wanted | {"count": str(by)}
    row = ",".join(_quoted(cells.get(name, "")) for name in header.cells) + file.end
    if records and not records[-1].text.endswith(("\n", "\r")):
        last = records[-1]
        records[-1] = _Record(last.line, last.text + file.end, last.cells, last.spans)
    elif not records and not header.text.endswith(("\n", "\r")):
        header = _Record(header.line, header.text + file.end, header.cells, [])
    return _File(file.mark, header, [*records, _Record(0, row, [], [])], file.end)


def _fits(record: _Record, place: Mapping[str, int], wanted: Mapping[str, str]) -> bool:
    """Return whether a row is that of a plot, a stem and a day."""

    def cell(name: str) -> str:
        i = place.get(name, len(record.cells))
        return record.cells[i].strip() if i < len(record.cells) else ""

    if cell("plot_id") != wanted["plot_id"] or cell("date") not in ("", wanted["date"]):
        return False
    same = all(_number_or_word(cell(n)) == _number_or_word(wanted.get(n, "")) for n in SIZES)
    word = [_word(text) for text in (cell("species"), wanted["species"])]
    state = [_word(text) or "live" for text in (cell("status"), wanted.get("status", ""))]
    keep = [YES.get(_word(text) or "no", text) for text in (cell("keep"), wanted.get("keep", ""))]
    return same and all(one == two for one, two in (word, state, keep))


def _held(record: _Record, place: int) -> bool:
    """Return whether a row counts any stems."""
    found = record.cells[place].strip() if place < len(record.cells) else ""
    return found.strip("0.") != ""


def _with_count(record: _Record, place: int, by: int) -> _Record:
    """Return a row with another count, all else as it was."""
    found = record.cells[place].strip() if place < len(record.cells) else ""
    if not re.fullmatch(r"\d+(\.0*)?", found):
        raise _damaged(record.line, f"the count is {found!r}; write a whole number")
    new = max(0, int(float(found)) + by)
    if place >= len(record.spans):
        raise _damaged(record.line, "it has no cell for the count")
    start, end = record.spans[place]
    cells = [*record.cells[:place], str(new), *record.cells[place + 1 :]]
    return _Record(record.line, f"{record.text[:start]}{new}{record.text[end:]}", cells, [])


def _text(value: object) -> str:
    """Return a cell as text; yes and no for truth values."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None or value != value:
        return ""
    return str(int(value) if isinstance(value, float) and value.is_integer() else value).strip()


def _word(text: str) -> str:
    """Return a word as the checks read it: small letters, underscores for blanks."""
    return re.sub(r"[\s-]+", "_", text.strip().lower())


def _number_or_word(text: str) -> float | str:
    """Return a size as a number where it is one: 2 and 2.0 are the same."""
    try:
        return float(text)
    except ValueError:
        return _word(text)


def _quoted(cell: str) -> str:
    """Return a cell as CSV holds it."""
    return '"' + cell.replace('"', '""') + '"' if re.search(r'[",\r\n]', cell) else cell


def _damaged(line: int, words: str) -> InputError:
    """Return the sentence for a file that cannot be counted into."""
    return InputError([f"{TALLY} line {line}: {words}"], TALLY)
