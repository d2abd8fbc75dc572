"""Read the small file from the phone: its rows, what is wrong with them, and their own order."""

import hashlib
from collections.abc import Iterable, Sequence

from clearing.errors import InputError
from clearing.files.log_lines import near_names, take_apart
from clearing.tables import column_file

KEY_LETTERS = 16  # of the key of a row that brings none; own choice
NOT_WORDS = ("record_id", "replaces", "entry", "registration")  # the label's number is filled in
AGAIN = "save it again on the phone and take that file"
Row = dict[str, str]


def file_rows(data: bytes, name: str) -> tuple[dict[int, Row], dict[int, list[str]]]:
    """Return the rows of a file that may be taken by line, and what is wrong with the others.

    Parameters
    ----------
    data : bytes
        The file: columns of the log, without numbers.
    name : str
        What the file is called.

    Raises
    ------
    InputError
        It holds nothing, or a column has nearly the name of one of the log's.

    References
    ----------
    own reasoning
    """
    file = take_apart(data, name, numbered=False)
    if not file.rows:
        raise InputError([f"records: {name} holds no row of the log; {AGAIN}"], name)
    near = near_names(file.header)
    if near:
        said = f"records: {name} line 1: {near}; mend the name and take the file again"
        raise InputError([f"{said}; nothing of it was taken"], name)
    rows: dict[int, Row] = {}
    refused: dict[int, list[str]] = {}
    last = file.rows[-1].line
    for row in file.rows:
        if row.fault:
            refused[row.line] = [row.fault]
        elif len(row.cells) < len(file.header):
            refused[row.line] = [
                f"it has {len(row.cells)} cells, and the first line has {len(file.header)}, so it "
                f"may be cut off; {AGAIN}"
            ]
        elif row.line == last and not data.endswith((b"\n", b"\r")):
            refused[row.line] = [f"the file ends within this row, so it may be cut off; {AGAIN}"]
        else:
            pairs = zip(file.header, row.cells, strict=False)
            rows[row.line] = {column: cell.strip() for column, cell in pairs
                              if column and cell.strip()}  # fmt: skip
    return rows, refused


def keyed(rows: Iterable[Row]) -> list[Row]:
    """Return rows of a file in which each has a key: one of its words and their times so far.

    References
    ----------
    own reasoning
    """
    seen: dict[str, int] = {}
    out = []
    for row in rows:
        words = hashlib.sha256(repr(sorted(row.items())).encode()).hexdigest()[:KEY_LETTERS]
        seen[words] = seen.get(words, 0) + 1
        out.append({"entry": f"{words}-{seen[words]}"} | row)
    return out


def own_order(which: Sequence[int], rows: Sequence[Row]) -> list[int]:
    """Return the places of rows in their order, each correction after the entry that it corrects.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> own_order([0, 1], [{"entry": "b", "replaces": "a"}, {"entry": "a"}])
    [1, 0]
    """
    first = {key: n for n in reversed(which) if (key := rows[n].get("entry", ""))}
    placed: dict[int, None] = {}
    for n in which:
        chain: dict[int, None] = {}
        at: int | None = n
        while at is not None and at not in placed and at not in chain:
            chain[at] = None
            at = first.get(rows[at].get("replaces", ""))
        placed |= dict.fromkeys(reversed(chain))
    return list(placed)


def words_apart(old: Row, new: Row) -> list[str]:
    """Return each column in which two rows differ, as ``hours 3 / 4``, a blank as ``blank``.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> words_apart({"hours": "3.0", "notes": "a"}, {"hours": "3"})
    ['notes a / blank']
    """
    return [
        f"{column} {old.get(column) or 'blank'} / {new.get(column) or 'blank'}"
        for column in column_file("records")["column"]
        if column not in NOT_WORDS and not _same(old.get(column, ""), new.get(column, ""))
    ]


def _same(one: str, other: str) -> bool:
    """Return whether two cells say the same, as words or as numbers."""
    try:
        return one == other or float(one) == float(other)
    except ValueError:
        return False
