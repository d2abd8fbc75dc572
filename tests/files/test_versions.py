"""Earlier versions are kept, thinned by age, and opened by name."""

import errno
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.errors import InputError
from clearing.files.kept import open_land, save_land
from clearing.files.versions import LAST, keep_version, list_versions, open_version, to_drop

NOW = datetime(2026, 11, 26, 10, 15, 2)
moments = st.lists(st.integers(0, 200 * 24 * 60), max_size=120, unique=True)


def versions(minutes: list[int]) -> list[tuple[str, datetime]]:
    """Return versions of so many minutes ago."""
    return [(f"v{each}", NOW - timedelta(minutes=each)) for each in minutes]


def kept(minutes: list[int]) -> list[tuple[str, datetime]]:
    """Return the versions that stay, the newest first."""
    known = versions(minutes)
    gone = set(to_drop(known, NOW))
    stays = [each for each in known if each[0] not in gone]
    return sorted(stays, key=lambda each: each[1], reverse=True)


@given(moments)
def test_the_last_twenty_always_stay(minutes):
    """However old they are."""
    newest = sorted(versions(minutes), key=lambda each: each[1], reverse=True)[:LAST]
    assert kept(minutes)[: len(newest)] == newest


@given(moments)
def test_beyond_them_one_an_hour_stays_for_a_day_and_one_a_day_for_sixty(minutes):
    """Each hour and each day that had a version has one, its last, and no second one."""
    older = kept(minutes)[LAST:]
    recent = [when for _, when in older if NOW - when <= timedelta(days=1)]
    early = [when for _, when in older if NOW - when > timedelta(days=1)]
    assert len({(when.date(), when.hour) for when in recent}) == len(recent)
    assert len({when.date() for when in early}) == len(early)
    assert all(NOW - when <= timedelta(days=60) for when in early)
    stays = {when for _, when in kept(minutes)}
    for _, when in versions(minutes):
        if NOW - when <= timedelta(days=1):
            assert any(each.replace(minute=0) == when.replace(minute=0) for each in stays)
        elif NOW - when < timedelta(days=59):
            assert any(each.date() == when.date() for each in stays)


@given(moments)
def test_thinning_twice_is_thinning_once(minutes):
    """What stays at one moment stays when it is asked again."""
    assert to_drop(kept(minutes), NOW) == []


def test_a_version_is_the_file_as_it_was(tmp_path):
    """Its name tells the file and the time to a thousandth of a second."""
    path = tmp_path / "land.gpkg"
    path.write_text("before")
    name = keep_version(tmp_path, path)
    (tmp_path / "new").write_text("after")
    (tmp_path / "new").replace(path)
    [(found, when)] = list_versions(tmp_path, "land")
    assert found == name == when.strftime("land_%Y-%m-%d_%H%M%S_%f")[:-3] + ".gpkg"
    assert (tmp_path / "earlier" / name).read_text() == "before"
    assert abs(datetime.now() - when) < timedelta(minutes=1)


def test_versions_of_one_moment_are_told_apart_and_in_order(tmp_path, monkeypatch):
    """A clock that stands still or was set back an hour does not mix them up."""
    clock = iter([NOW, NOW, NOW - timedelta(hours=1)])

    class Clock(datetime):
        @classmethod
        def now(cls, tz=None):
            return next(clock)

    monkeypatch.setattr("clearing.files.versions.datetime", Clock)
    names = []
    for text in "abc":
        (tmp_path / "land.gpkg").unlink(missing_ok=True)
        (tmp_path / "land.gpkg").write_text(text)
        names.append(keep_version(tmp_path, tmp_path / "land.gpkg"))
    assert [name for name, _ in list_versions(tmp_path, "land")] == names
    assert [(tmp_path / "earlier" / name).read_text() for name in names] == ["a", "b", "c"]


def test_without_links_a_copy_is_kept(tmp_path, monkeypatch):
    """A stick that knows no second names gets a copy."""

    def unknown(*_given):
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(Path, "hardlink_to", unknown)
    path = tmp_path / "land.gpkg"
    path.write_text("before")
    name = keep_version(tmp_path, path)
    path.write_text("after")
    assert (tmp_path / "earlier" / name).read_text() == "before"
    assert [each.name for each in (tmp_path / "earlier").iterdir()] == [name]


def test_nothing_is_kept_of_a_file_that_is_not_there(tmp_path):
    """The first save of a new property has nothing before it."""
    assert keep_version(tmp_path, tmp_path / "land.gpkg") is None
    assert list_versions(tmp_path, "land") == []


def test_only_versions_of_the_file_are_listed_and_dropped(tmp_path):
    """Moved files, other tables and what the owner puts there are left alone."""
    folder = tmp_path / "earlier"
    folder.mkdir()
    others = ["blocks.geojson", "tally_2020-01-01_000000_000.csv", "land_old.gpkg", "notes.txt"]
    for name in others:
        (folder / name).touch()
    for day in range(1, 29):
        (folder / f"land_2020-01-{day:02}_120000_000.gpkg").touch()
    (tmp_path / "land.gpkg").touch()
    keep_version(tmp_path, tmp_path / "land.gpkg")
    assert len(list_versions(tmp_path, "land")) == LAST
    assert all((folder / name).exists() for name in others)


def test_an_earlier_land_is_opened_and_can_be_taken_back(sample):
    """The layers as they stood before the change, rows numbered as they were."""
    land = open_land(sample)
    before = land.layers["blocks"]
    land = save_land(sample, land, {"blocks": before.iloc[2:]})
    [(name, _)] = list_versions(sample, "land")
    earlier = open_version(sample, name)
    assert earlier.layers["blocks"].equals(before)
    land = save_land(sample, land, {"blocks": earlier.layers["blocks"]})
    assert land.layers["blocks"].equals(before)


@pytest.mark.parametrize(
    "name",
    ["../land.gpkg", "../../land.gpkg", "land.gpkg", "", ".", "land_2026-01-01_000000_000.gpkg",
     "tally_2026-01-01_000000_000.csv"],
)  # fmt: skip
def test_a_name_that_is_no_version_of_the_land_is_refused(sample, name):
    """No path leads out of the folder, and no other file is opened."""
    (sample / "earlier").mkdir()
    (sample / "earlier" / "tally_2026-01-01_000000_000.csv").touch()
    with pytest.raises(InputError, match="there is no earlier version"):
        open_version(sample, name)
