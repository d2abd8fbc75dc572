"""Hold a folder for one page, one plan, or one change: locks that go with who holds them."""

import contextlib
import errno
import json
import os
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from clearing.errors import InputError
from clearing.files.durable import not_written

NAME, PLANNING = ".drawing.lock", ".planning.lock"
PAUSE_S = 0.02  # between two tries for a lock that is held for a moment; own choice
FAR = 1 << 20  # the byte that is locked where whole files cannot be: beyond what is written
TAKEN = (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES, errno.EDEADLK)  # held by someone else


class Held:
    """A folder that is held: say at which address its page is open.

    ``note`` says it when the folder lies where nothing can be held; else it is blank.
    """

    def __init__(self, stream: IO[str], since: str, note: str = "") -> None:
        self._stream, self._since, self.note = stream, since, note

    def tell(self, address: str) -> None:
        """Write down the page's address, for whoever finds the folder held.

        References
        ----------
        own reasoning
        """
        self._stream.seek(0)
        self._stream.truncate()
        json.dump({"since": self._since, "address": address}, self._stream)
        self._stream.flush()


@contextlib.contextmanager
def hold(home: str | Path, address: str = "") -> Iterator[Held]:
    """Hold a folder while a drawing page is open on it.

    The system gives the lock back when the program ends, however it ends. Where it has no locks
    (some shared disks), the folder is used without, and `Held.note` says so.

    Parameters
    ----------
    home : path
        The property's folder.
    address : str
        Where the page is, when it is known already; else `Held.tell` says it later.

    Raises
    ------
    InputError
        The folder is held already, or cannot be written.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    path = home / NAME
    try:
        stream = path.open("a+", encoding="utf-8")
    except OSError as cause:
        raise not_written(cause, NAME, home) from cause
    with stream:
        note = ""
        try:
            _take(stream)
        except OSError as cause:
            if cause.errno in TAKEN:
                raise InputError([_held_words(home, path)], home.name) from cause
            note = f"{home.name} lies on a disk where it cannot be held for one page; open only "
            note += "one drawing page on it at a time"
        held = Held(stream, datetime.now().strftime("%H:%M"), note)
        held.tell(address)
        try:
            yield held
        finally:
            stream.seek(0)
            stream.truncate()
            stream.flush()


@contextlib.contextmanager
def hold_briefly(home: Path, name: str, what: str, wait_s: float) -> Iterator[None]:
    """Hold a folder under a name of its own for one change of a file, waiting for others.

    Where the system has no locks, the change is made without.

    Parameters
    ----------
    home : Path
        The property's folder.
    name : str
        File of the lock; it stays, empty.
    what : str
        The file that is to be changed, for the sentence where it cannot be.
    wait_s : float
        Longest wait for whoever holds it [s].

    Raises
    ------
    InputError
        It is held for longer, or the folder cannot be written.

    References
    ----------
    own reasoning
    """
    try:
        stream = (home / name).open("a+", encoding="utf-8")
    except OSError as cause:
        raise not_written(cause, what, home) from cause
    until = time.monotonic() + wait_s
    with stream:
        while True:
            try:
                _take(stream)
                break
            except OSError as cause:
                if cause.errno not in TAKEN:
                    break
                if time.monotonic() > until:
                    said = f"{what} is being written by another program; try again when it is done"
                    raise InputError([said], what) from cause
                time.sleep(PAUSE_S)
        yield


@contextlib.contextmanager
def hold_planning(home: str | Path, who: str) -> Iterator[None]:
    """Hold a folder while a plan is made of it, so that two plans do not mix.

    The system gives it back when the program ends, however it ends. Where it has no locks, and
    where there is no such folder, nothing is held.

    Parameters
    ----------
    home : path
        The property's folder.
    who : str
        Who makes the plan, for whoever finds the folder held.

    Raises
    ------
    InputError
        A plan of it is being made, or the folder cannot be written.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    if not home.is_dir():
        yield
        return
    try:
        stream = (home / PLANNING).open("a+", encoding="utf-8")
    except OSError as cause:
        raise not_written(cause, "out", home) from cause
    with stream:
        try:
            _take(stream)
        except OSError as cause:
            if cause.errno in TAKEN:
                raise InputError([_planned_words(home)], home.name) from cause
        held = Held(stream, datetime.now().strftime("%H:%M"))
        held.tell(who)
        try:
            yield
        finally:
            stream.seek(0)
            stream.truncate()
            stream.flush()


def can_be_held(folder: Path) -> bool:
    """Return whether files of a folder can be held at all; on some shared disks they cannot.

    References
    ----------
    own reasoning
    """
    if os.name == "nt":
        return True
    import fcntl

    try:
        with tempfile.TemporaryFile(dir=folder) as stream:
            fcntl.lockf(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as cause:
        return cause.errno in (*TAKEN, errno.EROFS, errno.ENOSPC)
    return True


def _take(stream: IO[str]) -> None:
    """Take the lock without waiting for it."""
    if os.name == "nt":
        import msvcrt

        stream.seek(FAR)
        msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    else:
        import fcntl

        fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _told(path: Path) -> dict[str, Any]:
    """Return what whoever holds a folder wrote down."""
    with contextlib.suppress(OSError, ValueError):
        told = json.loads(path.read_text(encoding="utf-8"))
        return told if isinstance(told, dict) else {}
    return {}


def _planned_words(home: Path) -> str:
    """Return the sentence for a folder of which a plan is being made."""
    told = _told(home / PLANNING)
    both = [f"since {told['since']}" if told.get("since") else "", str(told.get("address") or "")]
    more = ", ".join(words for words in both if words)
    return (
        f"a plan of {home.name} is being made already{f' ({more})' if more else ''}; wait until "
        "it is done, or stop it there"
    )


def _held_words(home: Path, path: Path) -> str:
    """Return the sentence for a folder that is open already."""
    told = _told(path)
    since = f"since {told['since']}" if told.get("since") else ""
    at = f"at {told['address']}" if told.get("address") else ""
    both = ", ".join(words for words in (since, at) if words)
    more = f" ({both})" if both else ""
    return (
        f"{home.name} is open in a drawing page already{more}; go on there, or stop it there first"
    )
