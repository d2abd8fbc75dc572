"""Write a file whole or not at all."""

import contextlib
import os
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from clearing.files.durable import put_in_place

LEFT_S = 60.0  # age from which a half-written file beside another is nobody's; own choice
COPYING = ".copy-"  # start of the names of copies that are not whole yet


def write_whole(path: Path, text: str) -> None:
    """Return nothing; write a text file whole or not at all.

    References
    ----------
    own reasoning
    """

    def fill(waiting: Path) -> None:
        with waiting.open("w", encoding="utf-8", newline="") as stream:
            stream.write(text)

    _filled(path, f".{path.name}-", fill)


def copy_whole(source: Path, path: Path) -> None:
    """Return nothing; copy a file's content whole or not at all.

    References
    ----------
    own reasoning
    """
    _filled(path, f"{COPYING}{path.name}-", lambda waiting: shutil.copyfile(source, waiting))


def clear_left(path: Path, prefix: str) -> None:
    """Return nothing; take away what programs that were killed left half written beside a file.

    Parameters
    ----------
    path : Path
        The file.
    prefix : str
        How the names of what is half written begin.

    References
    ----------
    own reasoning
    """
    for left in path.parent.glob(f"{prefix}*"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > LEFT_S:
                left.unlink()


def new_mode() -> int:
    """Return the permissions that the system gives to new files.

    References
    ----------
    own reasoning
    """
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _filled(path: Path, prefix: str, fill: Callable[[Path], object]) -> None:
    """Fill a file beside another and let it take its place, or leave nothing."""
    clear_left(path, prefix)
    handle, name = tempfile.mkstemp(prefix=prefix, dir=path.parent)
    os.close(handle)
    waiting = Path(name)
    try:
        fill(waiting)
        if not path.exists():
            waiting.chmod(new_mode())
        put_in_place(waiting, path)
    except BaseException:
        with contextlib.suppress(OSError):
            waiting.unlink()
        raise
