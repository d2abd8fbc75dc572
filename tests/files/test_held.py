"""The land file is held while it is replaced, whatever other programs do, link or no link."""

import sqlite3
import subprocess
import sys

import geopandas as gpd
import pytest
import shapely

import clearing
from clearing.errors import InputError
from clearing.files import held, kept, lock
from clearing.files.held import alone
from clearing.files.kept import LandChanged, open_land, save_land, stamp_of
from clearing.files.versions import drop_second_names, list_versions, open_version
from tests.files.test_kept import plain, renamed

OTHER = """
import sqlite3, sys
from clearing.files.table_rows import teach_shapes
con = sqlite3.connect(sys.argv[1], isolation_level=None, timeout=0)
teach_shapes(con)
for line in sys.stdin:
    try:
        print("done", con.execute(line).fetchall(), flush=True)
    except sqlite3.Error as cause:
        print("not done", cause, flush=True)
"""
THEIRS = "UPDATE blocks SET name = 'theirs' WHERE fid = 1"


class Other:
    """Another program that has a land file open: locks of one process would be shared."""

    def __init__(self, path):
        self.program = subprocess.Popen(
            [sys.executable, "-c", OTHER, str(path)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        self.ask("SELECT count(*) FROM blocks")

    def ask(self, line: str) -> str:
        """Return what came of one line of SQL."""
        self.program.stdin.write(line + "\n")
        self.program.stdin.flush()
        return self.program.stdout.readline().strip()

    def kill(self) -> None:
        """End the program as a power cut would."""
        self.program.kill()
        self.program.communicate()


@pytest.fixture
def other(sample):
    """Another program, on the sample's land file."""
    program = Other(sample / "land.gpkg")
    yield program
    program.kill()


@pytest.mark.parametrize("begin", ["BEGIN IMMEDIATE", "BEGIN EXCLUSIVE"])
def test_no_save_while_another_program_is_in_a_write(sample, other, begin):
    """It is refused in words, and what the other writes then is there."""
    land = open_land(sample)
    other.ask(begin)
    with pytest.raises(InputError, match="open in another program"):
        save_land(sample, land, {"blocks": renamed(land)})
    assert list_versions(sample, "land") == []
    other.ask(THEIRS)
    other.ask("COMMIT")
    assert plain(sample)["name"].iloc[0] == "theirs"
    land = open_land(sample)
    save_land(sample, land, {"blocks": renamed(land)})
    assert plain(sample)["name"].iloc[:2].tolist() == ["theirs", "The far field"]


def test_nobody_writes_while_the_file_is_replaced(sample, other, monkeypatch):
    """Between the last look and the replacing another program's write is turned away."""
    land, put, said = open_land(sample), kept.put_in_place, []

    def watched(waiting, path):
        if path.name == "land.gpkg":
            said.append(other.ask(THEIRS))
        put(waiting, path)

    monkeypatch.setattr(kept, "put_in_place", watched)
    save_land(sample, land, {"blocks": renamed(land)})
    assert said == ["not done database is locked"]


def test_a_write_before_the_last_look_is_not_saved_over(sample, other, monkeypatch):
    """What another program wrote while our copy was made stays, and no version is left."""
    land, keep = open_land(sample), kept.keep_version

    def late(home, path):
        other.ask(THEIRS)
        return keep(home, path)

    monkeypatch.setattr(kept, "keep_version", late)
    with pytest.raises(LandChanged):
        save_land(sample, land, {"blocks": renamed(land)})
    assert plain(sample)["name"].iloc[0] == "theirs"
    assert list_versions(sample, "land") == []


def test_a_write_just_after_the_replacing_is_noticed(sample, monkeypatch):
    """The stamp is the one of what we wrote, not of what was found later."""
    land, finish = open_land(sample), kept.finished

    def after(home, target):
        late = Other(sample / "land.gpkg")
        late.ask(THEIRS)
        late.kill()
        finish(home, target)

    monkeypatch.setattr(kept, "finished", after)
    land = save_land(sample, land, {"blocks": renamed(land)})
    assert land.stamp != stamp_of(sample)
    with pytest.raises(LandChanged):
        save_land(sample, land, {"blocks": renamed(land, "again")})


@pytest.mark.parametrize("how", ["WAL", "DELETE"])
def test_what_a_dead_program_left_is_put_in_order(sample, other, how):
    """What it had finished is there, the rest is not, all of it is kept, and it is said once."""
    other.ask(f"PRAGMA journal_mode = {how}")
    other.ask("PRAGMA cache_size = 1")
    other.ask(THEIRS)
    other.ask("BEGIN IMMEDIATE")
    other.ask("UPDATE blocks SET name = hex(randomblob(20000))")
    other.kill()
    left = [path.name for path in sample.glob("land.gpkg-*l")]
    assert left
    land = open_land(sample)
    assert land.layers["blocks"]["name"].iloc[0] == "theirs"
    assert not list(sample.glob("land.gpkg-*l"))
    (note,) = land.notes
    assert "a program that ended" in note
    (copy,) = (sample / "earlier").iterdir()
    assert {path.name for path in copy.iterdir()} == {"land.gpkg", *left}
    land = save_land(sample, land, {"blocks": renamed(land)})
    assert land.notes == open_land(sample).notes == ()


@pytest.mark.parametrize("how", ["WAL", "DELETE"])
@pytest.mark.parametrize("alive", [False, True])
def test_reading_takes_what_lies_beside_and_leaves_it_there(sample, other, how, alive):
    """What the other program had finished is read, the rest is not, and no byte is touched."""
    other.ask(f"PRAGMA journal_mode = {how}")
    other.ask("PRAGMA cache_size = 1")
    other.ask(THEIRS)
    other.ask("BEGIN IMMEDIATE")
    other.ask("UPDATE blocks SET name = hex(randomblob(20000))")
    if not alive:
        other.kill()
    before = {path.name: path.read_bytes() for path in sample.iterdir() if path.is_file()}
    assert any(name.endswith(("-wal", "-journal")) for name in before)
    assert clearing.read(sample).blocks["name"].iloc[0] == "theirs"
    assert {path.name: path.read_bytes() for path in sample.iterdir() if path.is_file()} == before


def test_a_program_that_dies_while_the_page_is_open_does_not_stop_it(sample, other):
    """What it had finished was read already, so the next save goes on with it."""
    other.ask("PRAGMA journal_mode = WAL")
    other.ask(THEIRS)
    land = open_land(sample)
    assert land.notes == ()
    with pytest.raises(InputError, match=r"land\.gpkg-wal lies beside it"):
        save_land(sample, land, {"blocks": renamed(land)})
    assert not list((sample / "earlier").glob("*"))
    other.kill()
    land = save_land(sample, land, {"blocks": renamed(land)})
    assert "a program that ended" in land.notes[0]
    assert plain(sample)["name"].iloc[:2].tolist() == ["theirs", "The far field"]


@pytest.mark.parametrize("relative", [True, False])
def test_a_link_to_the_land_stays_a_link(sample, tmp_path, relative):
    """The real file is replaced, and the version is a file of its own."""
    shared = tmp_path / "shared"
    shared.mkdir()
    (sample / "land.gpkg").rename(shared / "land.gpkg")
    (sample / "land.gpkg").symlink_to(
        (("../shared" if relative else shared) / "land.gpkg") if not relative
        else "../shared/land.gpkg"
    )  # fmt: skip
    land = open_land(sample)
    first = land.layers["blocks"]["name"].iloc[1]
    save_land(sample, land, {"blocks": renamed(land)})
    assert (sample / "land.gpkg").is_symlink()
    assert plain(shared)["name"].iloc[1] == "The far field"
    assert [path.name for path in shared.iterdir()] == ["land.gpkg"]
    ((version, _),) = list_versions(sample, "land")
    assert not (sample / "earlier" / version).is_symlink()
    assert open_version(sample, version).layers["blocks"]["name"].iloc[1] == first


def test_a_version_that_is_the_live_file_goes_at_opening(sample):
    """A kill between the keeping and the replacing leaves a second name; another version stays."""
    land = open_land(sample)
    save_land(sample, land, {"blocks": renamed(land)})
    kept.keep_version(sample, sample / "land.gpkg")
    first, second = (sample / "earlier" / name for name, _ in list_versions(sample, "land"))
    assert second.samefile(sample / "land.gpkg")
    open_land(sample)
    assert [name for name, _ in list_versions(sample, "land")] == [first.name]
    drop_second_names(sample, sample / "nothing.gpkg")


def test_earlier_that_is_a_file_is_named(sample):
    """Nothing is saved without a version, and the words say what is in the way."""
    (sample / "earlier").write_text("my notes")
    land, before = open_land(sample), (sample / "land.gpkg").read_bytes()
    with pytest.raises(InputError, match=r"earlier in sourwood_hollow is no folder"):
        save_land(sample, land, {"blocks": renamed(land)})
    assert (sample / "land.gpkg").read_bytes() == before
    assert (sample / "earlier").read_text() == "my notes"


def test_a_disk_without_locks_is_drawn_on_without(sample, other, monkeypatch):
    """Where nothing can be held at all, a file that seems busy is not taken for an open one."""
    other.ask("BEGIN IMMEDIATE")
    monkeypatch.setattr(held, "BUSY_S", 0.0)
    with pytest.raises(InputError, match=r"land\.gpkg"), alone(sample / "land.gpkg"):
        pass

    def none(*_given):
        raise OSError(37, "No locks available")

    fcntl = pytest.importorskip("fcntl")
    monkeypatch.setattr(fcntl, "lockf", none)
    assert not lock.can_be_held(sample)
    with alone(sample / "land.gpkg"):
        assert "done" in other.ask("COMMIT")


def test_a_file_that_is_none_is_told_as_such(tmp_path):
    """A spoilt land file is not taken for one that is open elsewhere."""
    (tmp_path / "land.gpkg").write_bytes(b"no database at all" * 100)
    with (
        pytest.raises(sqlite3.DatabaseError, match="not a database"),
        alone(tmp_path / "land.gpkg"),
    ):
        pass


def test_a_first_land_needs_no_hold(tmp_path):
    """Without a file there is nothing to hold."""
    land = open_land(tmp_path)
    blocks = gpd.GeoDataFrame(
        {"block_id": ["1"]}, geometry=[shapely.box(-85, 36, -84.9, 36.1)], crs="EPSG:4326"
    )
    assert save_land(tmp_path, land, {"blocks": blocks}).stamp == stamp_of(tmp_path)
