"""Put files on the disk so that they are there after a power cut, and say what stood in the way."""

import contextlib
import errno
import os
import shutil
from pathlib import Path

from clearing.errors import InputError


def settled(path: Path) -> None:
    """Return nothing; wait until a file's content, or a folder's list of names, is on the disk.

    References
    ----------
    own reasoning
    """
    if path.is_dir() and os.name == "nt":  # there a folder cannot be opened
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def put_in_place(waiting: Path, path: Path) -> None:
    """Return nothing; let a file that was written beside another take its place, at once.

    It gets the permissions of the one it replaces.

    References
    ----------
    own reasoning
    """
    if path.exists():
        with contextlib.suppress(OSError):
            shutil.copymode(path, waiting)
    settled(waiting)
    os.replace(waiting, path)  # noqa: PTH105 - atomic on one disk
    with contextlib.suppress(OSError):  # it is in place already
        settled(path.parent)


def not_written(cause: OSError, name: str, home: Path) -> InputError:
    """Return the sentence for a file that the system did not let us write.

    References
    ----------
    own reasoning
    """
    if cause.errno in (errno.ENOSPC, errno.EDQUOT):
        words = "the disk is full; make room and try again"
    elif isinstance(cause, PermissionError) or cause.errno == errno.EROFS:
        words = f"writing into {home.name} is not allowed; change the folder's permissions"
    else:
        words = (cause.strerror or str(cause) or "the system refused").lower()
    return InputError([f"{name} was not saved: {words}; the file is as it was"], name)
