"""Damages of the folder itself, and of the system beneath it.

The tests may run as root, whom no permission binds, so a folder without the right to write and a
full disk are played by the calls of the system that would refuse.
"""

import errno
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

from tests.hard.ground import LAND, LOG, TALLY, TOML, Case, Damage, both, swapped, written

ADD = "log HOME add --date 2026-11-09 --strip S1 --job mark --people 2 --hours 1"


def _refusing(call: str, number: int) -> Damage:
    """Return no damage, but a system that refuses a call beneath the folder with an error."""
    homes: list[Path] = []
    done = getattr(os, call)

    def refuse(*given: object, **named: object) -> object:
        sync = isinstance(given[0], int)
        if sync or Path(str(given[-1] if call == "replace" else given[0])).is_relative_to(homes[0]):
            raise OSError(number, os.strerror(number))
        return done(*given, **named)

    @contextmanager
    def guard() -> Iterator[None]:
        with patch(f"os.{call}", refuse):
            yield

    def damage(home: Path) -> None:
        homes[:] = [home]

    damage.guard = guard
    return damage


def _elsewhere(change: Callable[[Path], object]) -> Damage:
    """Return a damage that takes the folder away and puts something in its place."""

    def damage(home: Path) -> None:
        shutil.rmtree(home)
        change(home)

    return damage


CASES = [
    Case(f"place_{name}", file, done, damage, verb)
    for name, file, done, verb, damage in [
        ("not_there", "", "there is no folder", "check", _elsewhere(lambda home: None)),
        (
            "a_file",
            "",
            "the folder is a file",
            "check",
            _elsewhere(lambda home: home.write_text("x")),
        ),
        (
            "dead_link",
            "",
            "the folder is a link to nothing",
            "check",
            _elsewhere(lambda home: home.symlink_to("gone")),
        ),
        ("empty", "", "the folder is empty", "check", _elsewhere(lambda home: home.mkdir())),
        (
            "nested",
            "",
            "the property lies one folder deeper",
            "check",
            _elsewhere(lambda home: (home / "wren").mkdir(parents=True)),
        ),
        ("plan_not_there", "", "there is no folder", "plan", _elsewhere(lambda home: None)),
        ("plots_not_there", "", "there is no folder", "plots", _elsewhere(lambda home: None)),
        ("next_not_there", "", "there is no folder", "next", _elsewhere(lambda home: None)),
        ("next_no_plan", "", "nothing was planned yet", "next", lambda home: None),
        (
            "new_a_file",
            "",
            "the folder is a file",
            "new",
            _elsewhere(lambda home: home.write_text("x")),
        ),
        ("new_there", TOML, "the folder holds a property", "new", lambda home: None),
        ("demo_there", TOML, "the folder holds another property", "demo", lambda home: None),
        (
            "out_a_file",
            "out",
            "out is a file",
            "plots",
            lambda home: (home / "out").write_text("x"),
        ),
        (
            "out_dead_link",
            "out",
            "out is a link to nothing",
            "plots",
            lambda home: (home / "out").symlink_to("gone/far"),
        ),
        ("no_right", "out", "writing is not allowed", "plots", _refusing("mkdir", errno.EACCES)),
        ("read_only", "out", "the disk is read only", "plots", _refusing("mkdir", errno.EROFS)),
        (
            "full_replace",
            "out",
            "the disk is full at the last step",
            "plots",
            _refusing("replace", errno.ENOSPC),
        ),
        (
            "log_full",
            LOG,
            "the disk is full at the log's sync",
            ADD,
            _refusing("fsync", errno.ENOSPC),
        ),
        (
            "log_no_right",
            LOG,
            "the log may not be put in place",
            ADD,
            _refusing("replace", errno.EACCES),
        ),
        (
            "many_at_once",
            "",
            "four files are damaged at once",
            "check",
            both(
                swapped(TOML, "people = 2", "people = -1"),
                swapped(TALLY, ",5,", ",x,"),
                written("blocks", "goal", "pastuer"),
                written("keep_trees", "species", "lirio"),
            ),
        ),
        (
            "out_land",
            LAND,
            "plan.gpkg of an earlier plan is a text",
            "check",
            lambda home: ((home / "out").mkdir(), (home / "out" / "plan.json").write_text("{")),
        ),
    ]
]
