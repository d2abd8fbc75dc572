"""Hold the land file alone while another takes its place, and put in order what was left."""

import contextlib
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from clearing.errors import InputError
from clearing.files.lock import can_be_held

BUSY_S = 1.0  # so long another program's reading is waited for; own choice
TRIES = 5  # at a copy that no other program changes meanwhile; own choice
LEFT = ("-wal", "-journal")  # what a program that ended in a change leaves beside a file
HELD = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


@contextlib.contextmanager
def alone(path: Path) -> Iterator[Callable[[], None]]:
    """Hold a land file so that no other program reads or writes it; give what lets it go earlier.

    No other handle on the file may be closed meanwhile: that would let it go too.

    Raises
    ------
    InputError
        Another program reads or writes it, or may do so at once.

    References
    ----------
    own reasoning
    """
    if not path.exists():
        yield lambda: None
        return
    con = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
    try:
        try:
            con.execute("PRAGMA locking_mode = EXCLUSIVE")
            con.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as cause:
            if _code(cause) not in HELD:
                raise
            if can_be_held(path.parent):  # else nobody can hold it there, nor can we
                raise held_words(path.name) from cause
        yield con.close
    finally:
        con.close()


def held_words(name: str, beside: str = "") -> InputError:
    """Return the error for a land file that another program has open.

    References
    ----------
    own reasoning
    """
    more = f" ({beside} lies beside it)" if beside else ""
    return InputError(
        [f"{name} is open in another program that may hold changes that are not saved{more}; "
         "save and close it there"], name,
    )  # fmt: skip


def left_beside(path: Path) -> list[Path]:
    """Return the files beside a land file that hold what another program has not put in it.

    References
    ----------
    own reasoning
    """
    beside = (path.with_name(path.name + ending) for ending in LEFT)
    return [each for each in beside if each.exists() and each.stat().st_size > 0]


def recovered(path: Path, earlier: Path) -> str:
    """Return a sentence when a land file was put in order that a program left in a change.

    All as it lay is copied first. A file that a program still holds is left alone.

    Parameters
    ----------
    path, earlier : Path
        The file itself, and the folder for the copy.

    References
    ----------
    own reasoning
    """
    left = left_beside(path)
    if not left or not path.exists():
        return ""
    copy = earlier / f"left_{datetime.now():%Y-%m-%d_%H%M%S_%f}"
    try:
        copy.mkdir(parents=True)
        for each in (path, *left):
            shutil.copy2(each, copy / each.name)
        _put_in_order(path)
    except (OSError, sqlite3.Error):
        shutil.rmtree(copy, ignore_errors=True)
        return ""
    if left_beside(path):
        return ""
    return (
        f"{path.name} was left in the middle of a change by a program that ended; it was put in "
        f"order, and all as it lay is kept in {earlier.name}{os.sep}{copy.name}"
    )


@contextlib.contextmanager
def settled_copy(path: Path) -> Iterator[Path]:
    """Give a copy of a land file with all that lies beside it folded in; nothing of it is touched.

    Raises
    ------
    InputError
        Another program writes it just now, or what lies beside it cannot be folded in.

    References
    ----------
    own reasoning
    """
    with tempfile.TemporaryDirectory(prefix="clearing-") as folder:
        copy = Path(folder) / path.name
        for _ in range(TRIES):
            before = _facts(path)
            for old in Path(folder).iterdir():
                old.unlink()
            for each in (path, *left_beside(path)):
                with contextlib.suppress(FileNotFoundError):  # folded in meanwhile
                    shutil.copyfile(each, copy.with_name(each.name))
            if _facts(path) == before:
                break
        else:
            raise held_words(path.name, "it is being written just now")
        try:
            _put_in_order(copy)
        except sqlite3.Error as cause:
            beside = " and ".join(each.name for each in left_beside(path))
            words = f"{path.name} cannot be read: what another program left beside it ({beside}) "
            words += "does not fit; open it in that program, save and close it"
            raise InputError([words], path.name) from cause
        yield copy


def _facts(path: Path) -> list[tuple[str, int, int]]:
    """Return what changes when a land file, or what lies beside it, is written."""
    found = [(each.name, each.stat()) for each in (path, *left_beside(path))]
    return [(name, facts.st_size, facts.st_mtime_ns) for name, facts in found]


def _put_in_order(path: Path) -> None:
    """Let the database take back, or finish, what was left beside a file that nobody holds."""
    con = sqlite3.connect(path, timeout=0.0, isolation_level=None)
    try:
        con.execute("PRAGMA locking_mode = EXCLUSIVE")
        con.execute("BEGIN EXCLUSIVE")
        con.execute("COMMIT")
        con.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        con.execute("PRAGMA journal_mode = PERSIST")  # one that was emptied goes with the next
        con.execute("PRAGMA journal_mode = DELETE")
    finally:
        con.close()


def _code(cause: sqlite3.Error) -> int:
    """Return the kind of a database's error."""
    return int(getattr(cause, "sqlite_errorcode", 0)) & 0xFF
