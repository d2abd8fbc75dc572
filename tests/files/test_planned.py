"""A plan is as old as its reading: whatever of the owner's is younger makes it out of date."""

import os

import pytest

from clearing.files.planned import CHANGED, changed_since
from clearing.files.writing import EARLIER_NS, write_files

MADE_NS = 1_800_000_000 * 10**9
SECOND = 10**9


@pytest.fixture
def home(tmp_path):
    """Return a folder whose owner's files are an hour older than its plan."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text("{}")
    os.utime(tmp_path / "out" / "plan.json", ns=(MADE_NS, MADE_NS))
    for name in ("property.toml", "land.gpkg", "tally.csv", "records.csv", "aerial.tif"):
        touched(tmp_path / name, -3600)
    return tmp_path


def touched(path, seconds: float) -> None:
    """Write a file so many seconds after the plan."""
    path.write_text("")
    moment = MADE_NS + int(seconds * SECOND)
    os.utime(path, ns=(moment, moment))


@pytest.mark.parametrize(
    ("name", "of"),
    [("land.gpkg", "land"), ("land.kml", "land"), ("blocks.geojson", "land"),
     ("strips.shp", "land"), ("property.toml", "property.toml"), ("tally.csv", "tally.csv"),
     ("records.csv", "records.csv")],
)  # fmt: skip
def test_what_is_younger_than_the_plan_is_named(home, name, of):
    """One sentence for the thing that was changed, and none for what was not."""
    assert changed_since(home) == ()
    touched(home / name, 1)
    assert changed_since(home) == (CHANGED[of],)


def test_other_files_do_not_make_a_plan_old(home):
    """A photo, notes of the owner's own and what is written into out count for nothing."""
    for name in ("aerial.tif", "shopping.txt", "out/map.html", "notes.gpkg"):
        touched(home / name, 60)
    assert changed_since(home) == ()


def read_at(home) -> None:
    """Write a plan whose reading began then."""
    write_files({"plan.json": b"{}"}, home, {"plan.json": MADE_NS - EARLIER_NS})


def test_a_plan_takes_the_time_of_its_reading(home):
    """Saved a second after the reading began: younger, though the plan was written later."""
    touched(home / "land.gpkg", 1)
    touched(home / "out" / "plan.json", 30)
    assert changed_since(home) == ()
    read_at(home)
    assert changed_since(home) == (CHANGED["land"],)


def test_what_was_saved_just_before_the_reading_is_in_the_plan(home):
    """A file that was there a second before does not count as changed."""
    touched(home / "land.gpkg", -1)
    read_at(home)
    assert changed_since(home) == ()
