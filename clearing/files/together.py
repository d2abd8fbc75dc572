"""Put several files into a folder together: those of one run or those of the run before.

Everything is written into a folder of its own first, with what it replaces beside it. One rename
then says that the new files hold; they are moved to their places, and whoever comes after a run
that died in the middle of that moves the rest. Only in between, for as long as the moves take, do
files of two runs lie side by side.
"""

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from clearing.errors import InputError
from clearing.files.durable import not_written, settled
from clearing.files.lock import hold_briefly

OUT, LOCK = "out", ".out.lock"
NEW = ".new-"  # start of the names of folders that nobody needs once their run is over
READY, BACK, DONE = ".ready", ".back", f"{NEW}done"  # to be moved in; to be put back; neither
FRESH, HELD, FILES = "first", "before", "files"  # names without a file before; those files; the new
WAIT_S = 30.0  # longest wait for another run that writes its files; own choice


def write_together(
    files: Mapping[str, bytes], home: Path, times_ns: Mapping[str, int] | None = None
) -> Path:
    """Return the folder ``out`` into which files were written, all of them or none.

    Parameters
    ----------
    files : Mapping
        File name -> content.
    home : Path
        The property's folder.
    times_ns : Mapping, optional
        File name -> time that the file is to carry [ns since 1970].

    Raises
    ------
    InputError
        The system does not let us write; the sentence names the file. Those before are in place.

    References
    ----------
    own reasoning
    """
    out, at = home / OUT, [OUT]
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise not_written(cause, OUT, out) from cause
    with hold_briefly(home, LOCK, OUT, WAIT_S):
        try:
            _settle(out)
            with tempfile.TemporaryDirectory(prefix=NEW, dir=out) as desk:
                ready = Path(desk) / READY
                _lay_ready(ready, files, out, times_ns or {}, at)
                os.replace(ready, out / READY)  # noqa: PTH105 - from here on the new files hold
            _move_in(out)
        except OSError as cause:
            _put_back(out)
            raise _refused(cause, at[0], out) from cause
        except BaseException:
            _put_back(out)
            raise
    return out


def healed(home: str | Path) -> None:
    """Return nothing; finish what a run that died had begun to move into ``out``.

    Where that cannot be done now, ``out`` stays as it is.

    Parameters
    ----------
    home : path
        The property's folder.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    if any((home / OUT / name).is_dir() for name in (READY, BACK)):
        with at_rest(home):
            pass


@contextlib.contextmanager
def at_rest(home: str | Path) -> Iterator[None]:
    """Hold ``out`` while several of its files are read, so that they are of one run.

    In a folder that cannot be written they are read as they are.

    Parameters
    ----------
    home : path
        The property's folder.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    with contextlib.ExitStack() as stack:
        with contextlib.suppress(OSError, InputError):
            stack.enter_context(hold_briefly(home, LOCK, OUT, WAIT_S))
            try:
                _settle(home / OUT)
            except OSError:  # a file is held by another program
                _put_back(home / OUT)
        yield


def _lay_ready(
    desk: Path, files: Mapping[str, bytes], out: Path, times_ns: Mapping[str, int], at: list[str]
) -> None:
    """Write the new files, and keep those they replace; ``at`` says which one it is at."""
    for part in (FILES, HELD, FRESH):
        (desk / part).mkdir(parents=True)
    for name, content in files.items():
        at[0] = name
        path, there = desk / FILES / name, out / name
        path.write_bytes(content)
        if name in times_ns:
            os.utime(path, ns=(times_ns[name], times_ns[name]))
        settled(path)
        if not os.path.lexists(there):
            (desk / FRESH / name).touch()
        elif there.is_dir():
            raise IsADirectoryError(0, f"a folder of that name lies in {out.name}", str(there))
        else:
            _kept(there, desk / HELD / name)
    settled(desk)


def _kept(there: Path, copy: Path) -> None:
    """Keep a file under another name: a second name where the disk has such, else a copy."""
    try:
        os.link(there, copy, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(there, copy, follow_symlinks=False)


def _move_in(out: Path) -> None:
    """Move what is ready to its places."""
    for path in _inside(out / READY / FILES):
        os.replace(path, out / path.name)  # noqa: PTH105 - atomic on one disk
    settled(out)
    _take_away(out / READY)


def _inside(folder: Path) -> list[Path]:
    """Return what lies in a folder; nothing where there is none."""
    return sorted(folder.iterdir()) if folder.is_dir() else []


def _put_back(out: Path) -> None:
    """Put back what was there before; where that fails the next run does it."""
    with contextlib.suppress(OSError):
        if (out / READY).is_dir():
            os.replace(out / READY, out / BACK)  # noqa: PTH105 - atomic on one disk
        _settle(out)


def _settle(out: Path) -> None:
    """Finish what was begun, either way, and take away what nobody needs."""
    back = out / BACK
    if back.is_dir():
        waiting = {path.name for path in _inside(back / FILES)}  # these never came to their place
        for path in _inside(back / HELD):
            if path.name not in waiting:
                os.replace(path, out / path.name)  # noqa: PTH105 - atomic on one disk
        for path in _inside(back / FRESH):
            if path.name not in waiting:
                (out / path.name).unlink(missing_ok=True)
        _take_away(back)
    if (out / READY).is_dir():
        _move_in(out)
    for left in out.glob(f"{NEW}*"):
        shutil.rmtree(left, ignore_errors=True)


def _take_away(folder: Path) -> None:
    """Take a folder away: no longer in force at once, then file by file."""
    done = folder.with_name(DONE)
    shutil.rmtree(done, ignore_errors=True)
    os.replace(folder, done)  # noqa: PTH105 - atomic on one disk
    shutil.rmtree(done, ignore_errors=True)


def _refused(cause: OSError, name: str, out: Path) -> InputError:
    """Return the sentence for files that could not be put in place."""
    if isinstance(cause, PermissionError) and cause.filename2 is not None:
        name = Path(cause.filename2).name
        words = "it is open in another program or protected; close it there, then do this again"
        return InputError([f"out/{name} was not saved: {words}; all files are as they were"], name)
    return not_written(cause, name if name == OUT else f"out/{name}", out)
