"""Keep what the owner's files were before each change, and let the oldest go."""

import contextlib
import os
import re
import shutil
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from clearing.errors import InputError
from clearing.files.standing import Land, standing_in

FOLDER = "earlier"
LAST = 20  # versions that always stay; own choice
HOURLY = timedelta(days=1)  # so long one version an hour stays; own choice
DAILY = timedelta(days=60)  # and so long one a day; own choice
CLOCK_BACK = timedelta(hours=2)  # a clock set back by less than this keeps the order; own choice
_NAME = re.compile(r"(?P<stem>.+)_(?P<when>\d{4}-\d\d-\d\d_\d{6}_\d{3})(?P<ending>\.\w+)")
_FORM = "%Y-%m-%d_%H%M%S_%f"


def keep_version(home: str | Path, path: str | Path) -> str | None:
    """Return the name under which a file as it is now was kept in ``earlier``, none without it.

    The copy is a second name of the same file where the system allows it, so the file itself must
    be replaced by another one afterwards, never written into. Versions beyond `to_drop` go.

    Parameters
    ----------
    home, path : path
        The property's folder, and the file in it.

    Raises
    ------
    OSError
        The disk is full or the folder cannot be written.
    InputError
        ``earlier`` is a file.

    References
    ----------
    own reasoning
    """
    path = Path(path)
    if not path.exists():
        return None
    folder = made_folder(Path(home))
    there = _versions(folder, path.stem, path.suffix)
    when = datetime.now()
    if there and timedelta(0) <= there[-1][1] - when < CLOCK_BACK:
        when = there[-1][1] + timedelta(milliseconds=1)
    name = _named(path, when)
    while (folder / name).exists():
        when += timedelta(milliseconds=1)
        name = _named(path, when)
    try:
        (folder / name).hardlink_to(path.resolve())  # never a second name of a mere link
    except OSError:
        waiting = folder / f".{name}-new"
        try:
            shutil.copy2(path, waiting)
            os.replace(waiting, folder / name)  # noqa: PTH105 - atomic on one disk
        finally:
            waiting.unlink(missing_ok=True)
    for old in to_drop([*there, (name, when)], when):
        with contextlib.suppress(OSError):  # another time
            (folder / old).unlink()
    return name


def to_drop(names_with_times: Sequence[tuple[str, datetime]], now: datetime) -> list[str]:
    """Return which versions may go: the last 20 stay, then one an hour for a day, one a day.

    Of an hour or a day the last version stays.

    Parameters
    ----------
    names_with_times : sequence of (str, datetime)
        All versions of one file.
    now : datetime

    References
    ----------
    own reasoning
    """
    newest = sorted(names_with_times, key=lambda each: (each[1], each[0]), reverse=True)
    stays = {name for name, _ in newest[:LAST]}
    hours, days = set(), set()
    for name, when in newest:
        age = now - when
        hour, day = (when.date(), when.hour), when.date()
        if age <= HOURLY and hour not in hours:
            stays.add(name)
        if HOURLY < age <= DAILY and day not in days:
            stays.add(name)
        hours.add(hour)
        if age > HOURLY:
            days.add(day)
    return [name for name, _ in reversed(newest) if name not in stays]


def list_versions(home: str | Path, stem: str) -> list[tuple[str, datetime]]:
    """Return the kept versions of a file, such as ``land``: name and time, the oldest first.

    References
    ----------
    own reasoning
    """
    return _versions(Path(home) / FOLDER, stem, None)


def open_version(home: str | Path, name: str) -> Land:
    """Return the land as it stood in a kept version.

    Raises
    ------
    InputError
        There is no such version, or it cannot be read.

    References
    ----------
    own reasoning
    """
    known = [each for each, _ in list_versions(home, "land") if each.endswith(".gpkg")]
    if name not in known:
        raise InputError([f"there is no earlier version {name!r} of the land"], str(name))
    return standing_in(Path(home) / FOLDER / name)


def made_folder(home: Path) -> Path:
    """Return the folder of earlier versions, made where it is missing.

    Raises
    ------
    InputError
        What is called so is no folder.

    References
    ----------
    own reasoning
    """
    folder = home / FOLDER
    try:
        folder.mkdir(exist_ok=True)
    except FileExistsError as cause:
        words = f"{FOLDER} in {home.name} is no folder, and what a file was before a change is "
        words += f"kept in a folder of that name; call {FOLDER} otherwise. Nothing was saved"
        raise InputError([words], FOLDER) from cause
    return folder


def drop_second_names(home: Path, path: Path) -> None:
    """Return nothing; take away versions that are but second names of the file as it is now.

    A save that was cut off before the file was replaced leaves one.

    References
    ----------
    own reasoning
    """
    if not path.exists() or path.stat().st_nlink < 2:
        return
    for name, _ in list_versions(home, path.stem):
        version = home / FOLDER / name
        if version.samefile(path) and not version.is_symlink():
            version.unlink()


def _named(path: Path, when: datetime) -> str:
    """Return the name of a version: the file's own with the time to a thousandth."""
    stamp = when.strftime(_FORM)[:-3]
    return f"{path.stem}_{stamp}{path.suffix}"


def _versions(folder: Path, stem: str, suffix: str | None) -> list[tuple[str, datetime]]:
    """Return the versions of a file with their times, the oldest first."""
    if not folder.is_dir():
        return []
    found = []
    for path in folder.iterdir():
        parts = _NAME.fullmatch(path.name)
        if not parts or parts["stem"] != stem or suffix not in (None, parts["ending"]):
            continue
        with contextlib.suppress(ValueError):
            found.append((path.name, datetime.strptime(parts["when"], _FORM)))
    return sorted(found, key=lambda each: (each[1], each[0]))
