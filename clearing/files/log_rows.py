"""Add rows to the log: what is there stays byte for byte, and a row that was told is there."""

import contextlib
import csv
import io
import os
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from clearing.errors import InputError
from clearing.files.durable import not_written, put_in_place
from clearing.files.lock import hold_briefly
from clearing.files.log_file import file_rows, keyed, own_order, words_apart
from clearing.files.log_lines import LOG, LogFile, id_of, log_table, next_number, take_apart
from clearing.files.log_ready import Row, ready_rows
from clearing.files.whole import clear_left, new_mode
from clearing.property import Property
from clearing.tables import column_file, name_list

LOCK = ".log.lock"
WAIT_S = 10.0  # longest wait for another program that writes the log; own choice


@dataclass(frozen=True)
class Added:
    """What became of rows that were to be added.

    Attributes
    ----------
    added : tuple of str
        Numbers of the new rows, in the order given.
    known : tuple of str
        Keys of entries that were in the log already; they were not added again.
    refused : tuple of str
        A sentence for each row of a file that could not be taken (see `take_log_file`).
    """

    added: tuple[str, ...] = ()
    known: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()


@dataclass
class _Log:
    """The log as it stands under the lock, and the rows that join it."""

    raw: bytes
    file: LogFile
    keys: dict[str, str]
    numbers: list[str]
    replaced: dict[str, str]
    new: list[Row] = field(default_factory=list)


def add_record(folder: str | Path, place: Property, given: Mapping[str, object]) -> str:
    """Return the number of the row that was added to records.csv (or of the same entry there).

    Parameters
    ----------
    folder : path
        The property's folder.
    place : Property
        As read: its products and ground.
    given : mapping
        Columns of the log, ``strip`` for strip_id, and ``product`` for an amount with its unit.

    Raises
    ------
    InputError
        As `add_records`.

    References
    ----------
    own reasoning
    """
    rows = [dict(given)]
    done = add_records(folder, place, rows)
    if done.added:
        return done.added[0]
    file = take_apart(_bytes(Path(folder) / LOG))
    return _keys(file)[done.known[0]]


def add_records(
    folder: str | Path,
    place: Property,
    rows: Sequence[Mapping[str, object]],
    key_once: bool = True,
) -> Added:
    """Return what became of rows that were to be added to records.csv: all of them, or none.

    Rows are numbered from what is in the file at that moment. The file is written beside the old
    one and takes its place at once, so that whoever reads it finds all of a row or nothing, and a
    row whose number was given back is there after a power cut.

    Parameters
    ----------
    folder : path
        The property's folder.
    place : Property
        As read: its products and ground.
    rows : sequence of mapping
        Columns of the log -> what stands there; ``strip`` may stand for strip_id, and ``product``
        for an amount with its unit. ``replaces`` is a number, or the key of an entry.
    key_once : bool
        An entry whose key is in the log already is not added again.

    Raises
    ------
    InputError
        A row is none that could be read again, its strip or the row that it replaces is none that
        is known, or the file cannot be written. Nothing was added.

    References
    ----------
    own reasoning
    """
    ready, problems = ready_rows(place, rows)
    found = {n: said for n, said in problems.items() if said}

    def join(log: _Log) -> Added:
        done, corrections = _join(log, ready, key_once)
        for n, said in corrections.items():
            found.setdefault(n, []).extend(said)
        return done

    done = _change(Path(folder), join, found)
    if found:
        raise InputError(_sentences(found, len(rows)), LOG)
    return done


def take_log_file(folder: str | Path, place: Property, data: bytes, name: str) -> Added:
    """Return what became of the rows of a small file from the phone; the good ones are added.

    Parameters
    ----------
    folder : path
        The property's folder.
    place : Property
        As read: its products and ground.
    data : bytes
        The file: columns of the log, without numbers, ``entry`` filled; a row without it gets a
        key of its words, so that the same file can be taken twice without harm.
    name : str
        What the file is called.

    Raises
    ------
    InputError
        Nothing of the file can be used, a column of it has nearly the name of one of the log's, or
        records.csv cannot be written.

    References
    ----------
    own reasoning
    """
    found, refused = file_rows(data, name)
    lines, cells = list(found), keyed(found.values())
    ready, problems = ready_rows(place, cells)
    refused |= {lines[n]: said for n, said in problems.items() if said}
    good = own_order([n for n in range(len(cells)) if lines[n] not in refused], ready)
    lost = {cells[n].get("entry", "") for n in range(len(cells)) if n not in good} - {""}
    for n in good:  # what it corrects was not taken, so it stands alone
        if ready[n].get("replaces", "") in lost:
            ready[n].pop("replaces")

    def join(log: _Log) -> Added:
        done, wrong = _join(log, [ready[n] for n in good], True)
        refused.update({lines[good[n]]: said for n, said in wrong.items()})
        for n in good:
            if (key := ready[n].get("entry", "")) in log.keys:
                said = _other_words(key, ready[n], log)
                refused.update({lines[n]: [said]} if said else {})
        return done

    done = _change(Path(folder), join, {}) if good else Added()
    told = tuple(
        f"{name} line {line}: {'; '.join(refused[line])}; this row was not taken"
        for line in sorted(refused)
    )
    return Added(done.added, done.known, told)


def row_of(folder: str | Path, which: str) -> Row:
    """Return the cells of a row of the log by its number or key, as they stand; none if not there.

    Parameters
    ----------
    folder : path
        The property's folder.
    which : str
        Number of the row, or key of the entry.

    References
    ----------
    own reasoning
    """
    file = take_apart(_bytes(Path(folder) / LOG))
    return _cells_of(file, _keys(file).get(which, which))


def _cells_of(file: LogFile, number: str) -> Row:
    """Return the cells of a row that can be told apart, those that are not blank."""
    for row in file.rows:
        if not row.fault and id_of(row, file.header) == number:
            pairs = zip(file.header, row.cells, strict=False)
            return {column: cell.strip() for column, cell in pairs if column and cell.strip()}
    return {}


def _other_words(key: str, row: Row, log: _Log) -> str:
    """Return how a row differs from the one in the log with its key, and from its correction."""
    fresh = {each["record_id"]: each for each in log.new}
    number = latest = log.keys[key]
    while latest in log.replaced:
        latest = log.replaced[latest]
    then, now = (fresh.get(one) or _cells_of(log.file, one) for one in (number, latest))
    apart = words_apart(then, row)
    if not apart or not words_apart(now, row):
        return ""
    return (
        f"entry {key!r} is in the log already, as row {latest}, with other words: "
        f"{', '.join(apart)}; correct it with --replaces {latest}"
    )


def _sentences(problems: Mapping[int, list[str]], rows: int) -> list[str]:
    """Return the problems of rows; of several rows each is named by its place."""
    which = {n: f"row {n + 1} of {rows}: " if rows > 1 else "" for n in sorted(problems)}
    return [f"records: {row}{said}" for n, row in which.items() for said in problems[n]]


def _join(log: _Log, rows: Sequence[Row], key_once: bool) -> tuple[Added, dict[int, list[str]]]:
    """Return what became of rows that join the log, and the corrections of nothing."""
    added, known = [], []
    problems: dict[int, list[str]] = {}
    for n, row in enumerate(rows):
        key = row.get("entry", "")
        if key_once and key in log.keys:
            known.append(key)
            continue
        gone, why = _corrected(row.get("replaces", ""), log)
        if why:
            problems[n] = [why]
            continue
        number = str(next_number(log.numbers))
        log.numbers.append(number)
        if key:
            log.keys[key] = number
        if gone:
            log.replaced[gone] = number
        log.new.append(row | {"record_id": number} | ({"replaces": gone} if gone else {}))
        added.append(number)
    return Added(tuple(added), tuple(known)), problems


def _corrected(wanted: str, log: _Log) -> tuple[str, str]:
    """Return the number of the row that is corrected, and why there is none."""
    if not wanted:
        return "", ""
    if (
        wanted in log.keys
    ):  # a phone knows its own key alone: the latest of its corrections is meant
        number = log.keys[wanted]
        while number in log.replaced:
            number = log.replaced[number]
        return number, ""
    if wanted not in log.numbers:
        there = f"there are {name_list(log.numbers)}" if log.numbers else "there is none yet"
        older = "" if wanted.isdigit() else "; take an older file of the phone first if it has it"
        return "", f"'replaces' is {wanted!r}; no row has this number or key ({there}){older}"
    if wanted in log.replaced:
        later = log.replaced[wanted]
        return "", f"'replaces' is {wanted!r}, which row {later} replaces already; name {later}"
    return wanted, ""


def _change(home: Path, join: Callable[[_Log], Added], stop: Mapping[int, list[str]]) -> Added:
    """Return what became of rows; the log is written once they have joined it."""
    with hold_briefly(home, LOCK, LOG, WAIT_S):
        path = home / LOG
        raw = _bytes(path)
        file = take_apart(raw)
        log = _Log(raw, file, _keys(file), _numbers(file), _replaced(file))
        done = join(log)
        if stop or not log.new:
            return done
        try:
            _save(path, _grown(log))
        except OSError as cause:
            raise not_written(cause, LOG, home) from cause
        return done


def _bytes(path: Path) -> bytes:
    """Return the file's content; nothing where there is none."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return b""
    except OSError as cause:
        raise InputError([f"{LOG} cannot be read: {cause.strerror}"], LOG) from cause


def _numbers(file: LogFile) -> list[str]:
    """Return the numbers of all rows, those of damaged ones too as far as they can be told."""
    return [number for row in file.rows if (number := id_of(row, file.header))]


def _keys(file: LogFile) -> dict[str, str]:
    """Return the number of each entry's row by its key."""
    pairs = [(id_of(row, file.header, "entry"), id_of(row, file.header)) for row in file.rows]
    return {key: number for key, number in pairs if key and number}


def _replaced(file: LogFile) -> dict[str, str]:
    """Return by which row each corrected row is replaced, as far as rows can be read."""
    if not file.header:
        return {}
    table, _ = log_table(file)
    if "replaces" not in table:
        return {}
    seen: set[str] = set()
    found: dict[str, str] = {}
    for number, gone in zip(table["record_id"], table["replaces"], strict=True):
        if gone.strip() in seen:
            found[gone.strip()] = number.strip()
        seen.add(number.strip())
    return found


def _grown(log: _Log) -> bytes:
    """Return the file with its new rows; the head grows by columns that these need."""
    file, raw, end = log.file, log.raw, log.file.end
    header = list(file.header)
    if not header:
        header = column_file("records")["column"].tolist()
        mark = raw if raw == b"\xef\xbb\xbf" else b""
        raw = mark + ",".join(header).encode()
    else:
        lacking = [
            column for column in column_file("records")["column"]
            if column not in header and any(row.get(column) for row in log.new)
        ]  # fmt: skip
        if lacking:  # a cell too many in an old row must not fall under a new column
            longest = max((len(row.cells) for row in file.rows), default=0)
            more = [*[""] * max(longest - len(header), 0), *lacking]
            head = raw[: file.head_end] + ("," + ",".join(more)).encode()
            raw, header = head + raw[file.head_end :], [*header, *more]
    if not raw.endswith((b"\n", b"\r")):
        raw += end.encode()
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator=end)
    writer.writerows([[row.get(column, "") for column in header] for row in log.new])
    return raw + stream.getvalue().encode("utf-8", "replace")


def _save(path: Path, data: bytes) -> None:
    """Write the file whole or not at all, and wait until it is on the disk."""
    path = path.resolve()
    clear_left(path, f".{LOG}-")
    handle, name = tempfile.mkstemp(prefix=f".{LOG}-", dir=path.parent)
    waiting = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        if not path.exists():
            waiting.chmod(new_mode())
        put_in_place(waiting, path)
    finally:
        with contextlib.suppress(OSError):
            waiting.unlink(missing_ok=True)
