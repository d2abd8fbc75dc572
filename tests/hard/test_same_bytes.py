"""The same folder gives the same files, whatever the machine's language, clock, place and order."""

import os
import shutil
import subprocess
import sys

import pytest

from tests.hard.small import small_place

DAY = {"run.log"}  # carries times
PLAN = """
import locale, os, sys
os.umask(int(sys.argv[3], 8))
try:
    locale.setlocale(locale.LC_ALL, "")
except locale.Error:
    pass
from clearing.cli import main
if sys.argv[2] == "one core":
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
main(["plan", sys.argv[1], "--gap", "0.01"])
"""
WAYS = {  # what is different, and the permissions that new files lose
    "first": ({"PYTHONHASHSEED": "0", "LC_ALL": "C", "TZ": "Pacific/Kiritimati"}, "077"),
    "language": (
        {"PYTHONHASHSEED": "1", "LC_ALL": "tr_TR.UTF-8", "LANG": "de_DE.UTF-8",
         "TZ": "America/Los_Angeles", "PYTHONUTF8": "0", "OMP_NUM_THREADS": "1", "COLUMNS": "20"},
        "000"),
    "one core": ({"PYTHONHASHSEED": "random", "LC_ALL": "C.UTF-8", "TZ": "Asia/Kathmandu",
                 "OMP_NUM_THREADS": "1", "COLUMNS": "20"}, "022"),
}  # fmt: skip


def files_of(home, way, cwd):
    """Return the files of a plan made in a process of its own, as bytes."""
    environment, mask = WAYS[way]
    given = [sys.executable, "-c", PLAN, str(home), way, mask]
    done = subprocess.run(given, capture_output=True, text=True, check=False, cwd=cwd,
                          env=os.environ | environment)  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return {path.name: path.read_bytes() for path in (home / "out").iterdir()
            if path.name not in DAY}  # fmt: skip


@pytest.fixture(scope="module")
def first(tmp_path_factory):
    """Return the small property with a log, and the files of its plan."""
    place = tmp_path_factory.mktemp("first")
    home = small_place(place / "here", rows=True)
    return home, files_of(home, "first", place)


# every way at a desk: SAME_BYTES=all
@pytest.mark.parametrize("way", list(WAYS)[1:] if os.environ.get("SAME_BYTES") else list(WAYS)[1:2])
def test_the_same_folder_gives_the_same_bytes(first, way, tmp_path):
    """Copied elsewhere in another order, under another language, clock, umask and hash seed."""
    home, told = first
    other = tmp_path / "élsewhere, a long way off" / "there"
    other.mkdir(parents=True)
    for path in sorted(home.iterdir(), reverse=True):
        if path.is_file() and not path.name.startswith("."):
            shutil.copyfile(path, other / path.name)
    (other / "unrelated notes.txt").write_text("buy gloves")
    again = files_of(other, way, other)
    assert len(told) == 12
    assert again.keys() == told.keys()
    assert [name for name in told if again[name] != told[name]] == []
