"""Write a file whole or not at all."""

import contextlib
import os
import tempfile
from pathlib import Path


def write_whole(path: Path, text: str) -> None:
    """Return nothing; write a text file whole or not at all.

    References
    ----------
    own reasoning
    """
    handle, waiting = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(waiting, path)  # noqa: PTH105 - atomic on one disk
    except BaseException:
        with contextlib.suppress(OSError):
            Path(waiting).unlink()
        raise
