"""Hold a folder for one drawing page: a lock that goes with the program that holds it."""

import contextlib
import json
import os
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import IO

from clearing.errors import InputError
from clearing.files.durable import not_written

NAME = ".drawing.lock"
FAR = 1 << 20  # the byte that is locked where whole files cannot be: beyond what is written


class Held:
    """A folder that is held: say at which address its page is open."""

    def __init__(self, stream: IO[str], since: str) -> None:
        self._stream, self._since = stream, since

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

    The system gives the lock back when the program ends, however it ends.

    Parameters
    ----------
    home : path
        The property's folder.
    address : str
        Where the page is, when it is known already; else `Held.tell` says it later.

    Raises
    ------
    InputError
        The folder is held already, or the system does not let it be.

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
        if not _locked(stream):
            raise InputError([_held_words(home, path)], home.name)
        held = Held(stream, datetime.now().strftime("%H:%M"))
        held.tell(address)
        try:
            yield held
        finally:
            stream.seek(0)
            stream.truncate()
            stream.flush()


def _locked(stream: IO[str]) -> bool:
    """Return whether the lock was had, without waiting for it."""
    try:
        if os.name == "nt":
            import msvcrt

            stream.seek(FAR)
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _held_words(home: Path, path: Path) -> str:
    """Return the sentence for a folder that is open already."""
    told = {}
    with contextlib.suppress(OSError, ValueError):
        told = json.loads(path.read_text(encoding="utf-8"))
    since = f"since {told['since']}" if told.get("since") else ""
    at = f"at {told['address']}" if told.get("address") else ""
    both = ", ".join(words for words in (since, at) if words)
    more = f" ({both})" if both else ""
    return (
        f"{home.name} is open in a drawing page already{more}; go on there, or stop it there first"
    )
