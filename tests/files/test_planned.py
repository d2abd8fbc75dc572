"""A plan is as old as its reading: whatever of the owner's is younger makes it out of date."""

import os

import pytest

from clearing.files.planned import CHANGED, PLAN_TO_COME, changed_since
from clearing.files.writing import EARLIER_NS, write_files

MADE_NS = 1_800_000_000 * 10**9
SECOND = 10**9
NOW_NS = MADE_NS + 3600 * SECOND


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
    assert changed_since(home, NOW_NS) == ()
    touched(home / name, 1)
    assert changed_since(home, NOW_NS) == (CHANGED[of],)


def test_other_files_do_not_make_a_plan_old(home):
    """A photo, notes of the owner's own and what is written into out count for nothing."""
    for name in ("aerial.tif", "shopping.txt", "out/map.html", "notes.gpkg"):
        touched(home / name, 60)
    assert changed_since(home, NOW_NS) == ()


@pytest.mark.parametrize("name", ["land.gpkg", "property.toml", "tally.csv", "records.csv"])
def test_a_time_that_is_still_to_come_is_told_with_what_mends_it(home, name):
    """The sentence names file and time; saved again and planned anew nothing is left of it."""
    touched(home / name, 86_400)
    (said,) = changed_since(home, NOW_NS)
    assert said.startswith(f"{name} carries the time 2027-01-1")
    assert said.endswith("save it once more, then plan anew.")
    touched(home / name, 60)
    assert changed_since(home, NOW_NS)[0].endswith("changed after this plan was made.")
    touched(home / "out" / "plan.json", 120)
    assert changed_since(home, NOW_NS) == ()


def test_a_layer_that_was_changed_is_told_before_one_of_a_time_to_come(home):
    """That the land was changed is known, whatever the other file's time."""
    touched(home / "blocks.kml", 86_400)
    touched(home / "land.gpkg", 60)
    assert changed_since(home, NOW_NS) == (CHANGED["land"],)


def test_a_plan_of_a_time_to_come_is_told(home):
    """Nothing is younger than it, so it does not pass for one that holds."""
    assert changed_since(home, MADE_NS - 3600 * SECOND) == (PLAN_TO_COME,)


def test_what_another_program_has_not_folded_in_counts_as_the_land(home):
    """A journal with something in it is younger; one without a byte is not."""
    touched(home / "land.gpkg-wal", 60)
    assert changed_since(home, NOW_NS) == ()
    (home / "land.gpkg-wal").write_text("x")
    os.utime(home / "land.gpkg-wal", ns=(NOW_NS, NOW_NS))
    assert changed_since(home, NOW_NS) == (CHANGED["land"],)


def read_at(home) -> None:
    """Write a plan whose reading began then."""
    write_files({"plan.json": b"{}"}, home, {"plan.json": MADE_NS - EARLIER_NS})


def test_a_plan_takes_the_time_of_its_reading(home):
    """Saved a second after the reading began: younger, though the plan was written later."""
    touched(home / "land.gpkg", 1)
    touched(home / "out" / "plan.json", 30)
    assert changed_since(home, NOW_NS) == ()
    read_at(home)
    assert changed_since(home, NOW_NS) == (CHANGED["land"],)


def test_what_was_saved_just_before_the_reading_is_in_the_plan(home):
    """A file that was there a second before does not count as changed."""
    touched(home / "land.gpkg", -1)
    read_at(home)
    assert changed_since(home, NOW_NS) == ()
