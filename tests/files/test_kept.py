"""The owner's layers are kept whole: nothing of theirs is lost, whatever stops a save."""

import errno
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import warnings
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely

import clearing
from clearing.errors import InputError
from clearing.files import kept
from clearing.files.kept import LAYERS, LandChanged, open_land, save_land, stamp_of
from clearing.files.table_rows import teach_shapes
from clearing.files.versions import list_versions
from clearing.tables import cell_text
from tests.files.formats import SAVED, layer_of

SHIFT = 0.25


def renamed(land, name: str = "The far field") -> gpd.GeoDataFrame:
    """Return the blocks with the second one named anew."""
    blocks = land.layers["blocks"].copy()
    blocks.loc[blocks.index[1], "name"] = name
    return blocks


def shifted(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a layer whose first shape lies a little further east."""
    shapes = layer.geometry.to_numpy().copy()
    shapes[0] = shapely.affinity.translate(shapes[0], SHIFT, 0)
    return layer.set_geometry(gpd.GeoSeries(shapes, index=layer.index, crs=layer.crs))


def plain(folder: Path, name: str = "blocks") -> gpd.GeoDataFrame:
    """Return a layer as geopandas reads it, with warnings of the reader as errors."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return layer_of(folder, name)


def cells(frame: gpd.GeoDataFrame) -> list[list[str]]:
    """Return all cells but the shapes as text."""
    return pd.DataFrame(frame.drop(columns="geometry")).map(cell_text).to_numpy().tolist()


def same_shapes(one, two) -> bool:
    """Return whether two columns of shapes have the same corners to the bit."""
    return all(a.equals_exact(b, 0.0) for a, b in zip(one, two, strict=True))


def sql(folder: Path, *lines: str) -> list:
    """Run SQL in land.gpkg, as a map program that knows shapes, and return what comes last."""
    con = sqlite3.connect(folder / "land.gpkg")
    teach_shapes(con)
    try:
        for line in lines:
            found = con.execute(line).fetchall()
        con.commit()
        return found
    finally:
        con.close()


def test_the_sample_is_opened_as_it_stands(sample):
    """Every layer has the file's rows, cells and corners, in the file's own system."""
    land = open_land(sample)
    assert list(land.layers) == list(LAYERS)
    for name in ("blocks", "keep_trees", "features", "plots"):
        file = plain(sample, name)
        assert land.layers[name].crs == file.crs
        assert land.layers[name].columns.tolist() == file.columns.tolist()
        assert same_shapes(land.layers[name].geometry, file.geometry)
    assert land.where["blocks"] == "land.gpkg"
    assert land.where["strips"] is None


def test_a_missing_layer_is_empty_and_in_the_system_of_the_others(sample):
    """Its columns are the described ones."""
    strips = open_land(sample).layers["strips"]
    assert len(strips) == 0
    assert strips.crs.to_epsg() == 32616
    assert strips.columns.tolist() == ["strip_id", "block_id", "name", "geometry"]


def test_an_empty_folder_is_opened_and_the_first_block_makes_the_file(tmp_path):
    """Who draws a property from nothing gets a land.gpkg that plain geopandas reads."""
    land = open_land(tmp_path)
    assert {layer.crs.to_epsg() for layer in land.layers.values()} == {4326}
    blocks = gpd.GeoDataFrame(
        {"block_id": ["01"], "priority": [3], "name": [None]},
        geometry=[shapely.box(-85, 36, -84.9, 36.1)], crs="EPSG:4326",
    )  # fmt: skip
    land = save_land(tmp_path, land, {"blocks": blocks})
    file = plain(tmp_path)
    assert file["block_id"].tolist() == ["01"]
    assert file["priority"].tolist() == [3]
    assert same_shapes(file.geometry, blocks.geometry)
    assert open_land(tmp_path).stamp == land.stamp == stamp_of(tmp_path)


def test_a_changed_cell_and_a_moved_shape_are_in_the_file(sample):
    """What was saved is read back by plain geopandas, and all else is as it was."""
    before = plain(sample)
    land = open_land(sample)
    save_land(sample, land, {"blocks": shifted(renamed(land))})
    after = plain(sample)
    assert after["name"].iloc[1] == "The far field"
    assert after.geometry.iloc[0].equals_exact(
        shapely.affinity.translate(before.geometry.iloc[0], SHIFT, 0), 0.0
    )
    assert same_shapes(after.geometry.iloc[1:], before.geometry.iloc[1:])
    untouched = before["name"].index != 1
    assert cells(after[untouched]) == cells(before[untouched])


def test_rows_are_added_deleted_and_brought_back_in_order(sample):
    """A row in the middle goes, a new one comes at the end, and undo puts all back."""
    land = open_land(sample)
    old = land.layers["blocks"]
    new = old.iloc[[0]].assign(block_id="new").set_axis([old.index.max() + 1])
    changed = pd.concat([old.drop(old.index[3]), new])
    land = save_land(sample, land, {"blocks": changed})
    assert plain(sample)["block_id"].tolist() == changed["block_id"].tolist()
    land = save_land(sample, land, {"blocks": old})
    assert cells(plain(sample)) == cells(old)
    assert same_shapes(plain(sample).geometry, old.geometry)


def test_rows_without_numbers_are_known_by_their_ids(sample):
    """A table numbered from nought keeps the file's numbers where the ids are the same."""
    land = open_land(sample)
    old = land.layers["blocks"]
    changed = old.drop(old.index[2]).reset_index(drop=True)
    land = save_land(sample, land, {"blocks": changed})
    assert land.layers["blocks"].index.tolist() == old.index.drop(old.index[2]).tolist()
    assert cells(plain(sample)) == cells(changed)


def test_all_blocks_may_be_deleted(sample):
    """An empty layer is a layer."""
    land = open_land(sample)
    land = save_land(sample, land, {"blocks": land.layers["blocks"].iloc[:0]})
    assert len(plain(sample)) == 0
    assert len(open_land(sample).layers["blocks"]) == 0


def test_whole_numbers_blanks_and_texts_stay_what_they_are(sample):
    """Integers with blanks stay integers, 01 stays a text, and a new column gets its type."""
    land = open_land(sample)
    blocks = land.layers["blocks"].copy()
    blocks.loc[blocks.index[0], "ready_year"] = pd.NA
    blocks.loc[blocks.index[0], "block_id"] = "01"
    blocks["posts"] = pd.array([7, *[None] * (len(blocks) - 1)], dtype="Int64")
    land = save_land(sample, land, {"blocks": blocks})
    types = dict(zip(*[pyogrio.read_info(sample / "land.gpkg", layer="blocks")[key]
                       for key in ("fields", "ogr_types")], strict=True))  # fmt: skip
    assert types["ready_year"] == types["posts"] == "OFTInteger64"
    file = plain(sample)
    assert file["block_id"].iloc[0] == "01"
    assert np.isnan(file["ready_year"].iloc[0])
    assert file["posts"].iloc[0] == 7
    assert str(land.layers["blocks"]["ready_year"].dtype) == "Int64"


@pytest.mark.parametrize(
    ("column", "cell", "found"),
    [("priority", "high", "high"), ("priority", 1.5, 1.5), ("priority", "4", 4),
     ("ready_year", "02028", "02028"), ("name", 12.0, "12"), ("name", "It's \"ours\"", None)],
)  # fmt: skip
def test_a_cell_that_the_column_cannot_hold_widens_it(sample, column, cell, found):
    """No value is cut to fit: a column of numbers that gets a word becomes one of words."""
    land = open_land(sample)
    blocks = land.layers["blocks"].copy()
    old = blocks[column].iloc[1]
    blocks[column] = blocks[column].astype(object)
    blocks.loc[blocks.index[0], column] = cell
    save_land(sample, land, {"blocks": blocks})
    file = plain(sample)
    assert file[column].iloc[0] == (cell if found is None else found)
    assert str(file[column].iloc[1]).removesuffix(".0") == str(old)
    assert len(file) == len(blocks)


def test_a_table_of_polygons_takes_a_block_in_two_parts(sample):
    """The declared kind of shape follows what is in it, and no reader has a word to say."""
    land = open_land(sample)
    blocks = land.layers["blocks"].copy()
    parts = shapely.MultiPolygon([blocks.geometry.iloc[0], shapely.box(0, 0, 9, 9)])
    shapes = [parts, *blocks.geometry.iloc[1:]]
    save_land(sample, land, {"blocks": blocks.set_geometry(shapes, crs=blocks.crs)})
    assert same_shapes(plain(sample).geometry, shapes)
    assert plain(sample).sindex.query(shapely.box(0, 0, 9, 9)).tolist() == [0]
    found = sql(sample, "SELECT count(*) FROM rtree_blocks_geom")
    assert found == [(len(blocks),)]


def test_the_spatial_index_and_the_extent_follow(sample):
    """Another program that asks for what lies in a window finds the moved block there."""
    land = open_land(sample)
    blocks = land.layers["blocks"].copy()
    far = shapely.box(700_000, 4_100_000, 700_100, 4_100_100)
    blocks = blocks.set_geometry([far, *blocks.geometry.iloc[1:]], crs=blocks.crs)
    save_land(sample, land, {"blocks": blocks})
    window = gpd.read_file(sample / "land.gpkg", layer="blocks", bbox=far.bounds)
    info = pyogrio.read_info(sample / "land.gpkg", layer="blocks")
    assert window["block_id"].tolist() == [blocks["block_id"].iloc[0]]
    assert info["total_bounds"] == pytest.approx(blocks.total_bounds)
    assert info["features"] == len(blocks)


def test_the_owners_own_tables_styles_columns_and_rules_stay(sample):
    """Only cells that differ are written: styles, other tables, triggers and odd columns remain."""
    sql(
        sample,
        "CREATE TABLE layer_styles (id INTEGER PRIMARY KEY, f_table_name TEXT, styleQML TEXT)",
        "INSERT INTO layer_styles VALUES (1, 'blocks', '<qgis/>')",
        "CREATE TABLE my_sums (what TEXT, dollars REAL)",
        "INSERT INTO my_sums VALUES ('fence', 12.5)",
        "ALTER TABLE blocks ADD COLUMN bought DATE",
        "ALTER TABLE blocks ADD COLUMN picture BLOB",
        "ALTER TABLE blocks ADD COLUMN fenced BOOLEAN",
        "UPDATE blocks SET bought = '1999-05-01', picture = x'00ff10', fenced = 1 WHERE fid < 4",
        "CREATE INDEX by_name ON blocks (name)",
        "CREATE TRIGGER mine AFTER DELETE ON blocks BEGIN DELETE FROM my_sums WHERE 0; END",
    )
    rest = "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE '%rtree%' ORDER BY 2"
    odd = "SELECT fid, bought, hex(picture), fenced FROM blocks ORDER BY fid"
    before = [sql(sample, line) for line in (rest, odd, "SELECT * FROM layer_styles")]
    land = open_land(sample)
    land = save_land(sample, land, {"blocks": shifted(renamed(land))})
    assert [sql(sample, x) for x in (rest, odd, "SELECT * FROM layer_styles")] == before
    assert sql(sample, "SELECT * FROM my_sums") == [("fence", 12.5)]
    assert land.layers["blocks"]["fenced"].iloc[0] == True  # noqa: E712 - a cell


def test_heights_of_shapes_that_were_not_touched_stay(sample):
    """The page shows flat shapes; the file keeps what it does not show."""
    high = plain(sample, "keep_trees")
    high = high.set_geometry(shapely.force_3d(high.geometry.to_numpy(), 210.5), crs=high.crs)
    high.to_file(sample / "land.gpkg", layer="keep_trees", driver="GPKG")
    land = open_land(sample)
    assert not land.layers["keep_trees"].has_z.any()
    save_land(sample, land, {"keep_trees": shifted(land.layers["keep_trees"])})
    after = plain(sample, "keep_trees").geometry
    assert after.iloc[0].x == land.layers["keep_trees"].geometry.iloc[0].x + SHIFT
    assert (after.iloc[1:].get_coordinates(include_z=True)["z"] == 210.5).all()


def test_a_column_under_another_name_is_written_under_it(sample):
    """The owner's Block ID is our block_id, and stays the owner's Block ID in the file."""
    blocks = plain(sample).rename(columns={"block_id": "Block ID"})
    blocks.to_file(sample / "land.gpkg", layer="blocks", driver="GPKG")
    land = open_land(sample)
    changed = land.layers["blocks"].copy()
    changed["block_id"] = ["A1", *changed["block_id"].iloc[1:]]
    land = save_land(sample, land, {"blocks": changed})
    assert plain(sample)["Block ID"].iloc[0] == "A1"
    assert "block_id" not in plain(sample)
    assert land.layers["blocks"]["block_id"].iloc[0] == "A1"


@pytest.mark.parametrize("ending", SAVED)
def test_layers_of_other_files_are_taken_into_land_gpkg(ending, sample):
    """On the first change the layer moves, its file to earlier, and the folder reads as before."""
    SAVED[ending](sample)
    files = {path.name for path in sample.iterdir() if path.is_file()}
    land = open_land(sample)
    source = land.where["blocks"]
    moved = [name for name in LAYERS if land.where[name] == source]
    land = save_land(sample, land, {"blocks": renamed(land)})
    assert [land.where[name] for name in moved] == ["land.gpkg"] * len(moved)
    assert not (sample / source).exists()
    assert (sample / "earlier" / source).exists()
    gone = files - {path.name for path in sample.iterdir()}
    assert gone == {n for n in files if n.startswith(("blocks.", "land.k")) and n != "land.gpkg"}
    again = clearing.read(sample)
    assert again.blocks["name"].iloc[1] == "The far field"
    assert same_shapes(plain(sample).geometry, land.layers["blocks"].geometry)


def test_columns_of_a_moved_file_come_along(sample):
    """A column of the owner's that nobody here knows is in land.gpkg afterwards."""
    blocks = plain(sample).to_crs("EPSG:4326")
    blocks["who_mows"] = ["Ann"] * len(blocks)
    blocks["acres told"] = np.arange(len(blocks)) / 4
    blocks.to_file(sample / "blocks.geojson")
    land = open_land(sample)
    assert land.where["blocks"] == "blocks.geojson"
    save_land(sample, land, {"blocks": renamed(land)})
    file = plain(sample)
    assert file["who_mows"].tolist() == ["Ann"] * len(blocks)
    assert file["acres told"].tolist() == blocks["acres told"].tolist()


@pytest.mark.parametrize("stop", ["before", "after"])
def test_a_move_that_was_cut_off_is_settled_at_the_next_opening(sample, monkeypatch, stop):
    """Before the new file is in place all is as it was; after it, the old one is taken away."""
    SAVED["geojson"](sample)
    land = open_land(sample)
    step = "_replace" if stop == "before" else "_settle"
    with monkeypatch.context() as patch:
        patch.setattr(kept, step, _power_cut)
        with pytest.raises(KeyboardInterrupt):
            save_land(sample, land, {"blocks": renamed(land)})
    assert (sample / "blocks.geojson").exists()
    again = open_land(sample)
    moved = stop == "after"
    assert (sample / "blocks.geojson").exists() != moved
    assert again.where["blocks"] == ("land.gpkg" if moved else "blocks.geojson")
    assert (again.layers["blocks"]["name"].iloc[1] == "The far field") == moved


def _power_cut(*_given):
    """Stop as if the power had gone."""
    raise KeyboardInterrupt


def test_another_programs_edit_is_never_saved_over(sample):
    """The save is refused, and what the other program wrote is in the file."""
    land = open_land(sample)
    sql(sample, "UPDATE blocks SET name = 'theirs' WHERE fid = 1")
    with pytest.raises(LandChanged, match="changed by another program; it was not saved over"):
        save_land(sample, land, {"blocks": renamed(land)})
    assert plain(sample)["name"].iloc[0] == "theirs"
    assert list_versions(sample, "land") == []


@pytest.mark.parametrize("what", ["written", "appears", "goes", "shadowed"])
def test_the_stamp_tells_whatever_happens_to_a_layers_file(sample, what):
    """A file that is written anew, appears, goes, or comes to hold a layer instead."""
    before = stamp_of(sample)
    if what == "written":
        plain(sample).to_file(sample / "land.gpkg", layer="blocks", driver="GPKG")
    elif what == "appears":
        (sample / "strips.kml").write_text("<kml/>")
    elif what == "goes":
        (sample / "land.gpkg").unlink()
    else:
        (sample / "Blocks.GeoJSON").write_text("{}")
    assert stamp_of(sample) != before


def test_the_stamp_stays_while_nothing_happens(sample):
    """Reading, planning files beside and the tally do not touch it."""
    before = stamp_of(sample)
    open_land(sample)
    (sample / "tally.csv").write_text("plot_id\n")
    assert stamp_of(sample) == before


OTHER = """
import sqlite3, sys
from clearing.files.table_rows import teach_shapes
con = sqlite3.connect(sys.argv[1], isolation_level=None)
con.execute("PRAGMA journal_mode = WAL")
teach_shapes(con)
if sys.argv[2] == "edits":
    con.execute("UPDATE blocks SET name = 'theirs' WHERE fid = 1")
else:
    con.execute("SELECT count(*) FROM blocks").fetchall()
print("open", flush=True)
sys.stdin.read()
con.close()
"""


@pytest.mark.parametrize("what", ["edits", "looks"])
def test_a_land_that_is_open_in_a_program_that_writes_ahead_is_left_alone(sample, what):
    """What it writes later would go astray; once it closed the file, all of it is there."""
    given = [sys.executable, "-c", OTHER, str(sample / "land.gpkg"), what]
    other = subprocess.Popen(given, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert other.stdout.readline() == "open\n"
    land = open_land(sample)
    with pytest.raises(InputError, match="open in another program"):
        save_land(sample, land, {"blocks": renamed(land)})
    other.communicate("")
    land = open_land(sample)
    first = "theirs" if what == "edits" else land.layers["blocks"]["name"].iloc[0]
    save_land(sample, land, {"blocks": renamed(land)})
    assert plain(sample)["name"].iloc[:2].tolist() == [first, "The far field"]


@pytest.mark.parametrize("step", ["replace", "fsync", "copyfile", "hardlink"])
def test_a_full_disk_leaves_the_file_as_it_was(sample, monkeypatch, step):
    """Whichever write fails, the old file is whole, nothing lies about, and words say why."""
    land = open_land(sample)
    before = (sample / "land.gpkg").read_bytes()

    def full(*_given, **_more):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        if step == "hardlink":
            patch.setattr(Path, "hardlink_to", full)
            patch.setattr(shutil, "copy2", full)
        else:
            patch.setattr(shutil if step == "copyfile" else os, step, full)
        with pytest.raises(InputError, match="the disk is full; make room and try again"):
            save_land(sample, land, {"blocks": renamed(land)})
    assert (sample / "land.gpkg").read_bytes() == before
    assert not [path for path in sample.iterdir() if path.name.startswith(".")]
    assert list_versions(sample, "land") == []
    save_land(sample, land, {"blocks": renamed(land)})


def test_a_new_layer_on_a_full_disk_leaves_the_file_as_it_was(sample, monkeypatch):
    """The map library's own failure is no half-written file either."""
    land = open_land(sample)
    before = (sample / "land.gpkg").read_bytes()

    def fails(*_given, **_more):
        raise pyogrio.errors.DataSourceError("disk I/O error")

    monkeypatch.setattr(pyogrio, "write_dataframe", fails)
    with pytest.raises(InputError, match=r"land\.gpkg was not saved: disk I/O error"):
        save_land(sample, land, {"strips": land.layers["strips"]})
    assert (sample / "land.gpkg").read_bytes() == before


def test_no_permission_is_said_in_words(sample, monkeypatch):
    """A folder that may only be read names itself."""
    land = open_land(sample)

    def denied(*_given, **_more):
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(kept.tempfile, "TemporaryDirectory", denied)
    with pytest.raises(InputError, match="writing into sourwood_hollow is not allowed"):
        save_land(sample, land, {"blocks": renamed(land)})


SAVER = """
import sys
from clearing.files.kept import open_land, save_land
home = sys.argv[1]
land = open_land(home)
for number in range(50):
    blocks = land.layers["blocks"].copy()
    blocks.loc[blocks.index[0], "notes"] = f"stroke {number}"
    land = save_land(home, land, {"blocks": blocks})
    print(number, flush=True)
"""


@pytest.mark.parametrize("after", [2, 9])
def test_every_save_that_was_acknowledged_outlives_a_kill(sample, after):
    """SIGKILL in the middle of fifty saves: the last one that was told is in the file, or the next.

    The file opens in plain geopandas, and the drawing goes on.
    """
    saver = subprocess.Popen(
        [sys.executable, "-c", SAVER, str(sample)], stdout=subprocess.PIPE, text=True
    )
    told = [saver.stdout.readline() for _ in range(after)]
    time.sleep(0.01 * after)  # somewhere inside the next
    saver.send_signal(signal.SIGKILL)
    told += saver.stdout.read().splitlines()
    saver.stdout.close()
    saver.wait()
    last = max(int(line) for line in told if line.strip())
    file = plain(sample)
    assert file["notes"].iloc[0] in (f"stroke {last}", f"stroke {last + 1}")
    assert len(file) == 13
    land = open_land(sample)
    save_land(sample, land, {"blocks": renamed(land)})
    assert plain(sample)["name"].iloc[1] == "The far field"


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda home: (home / "land.gpkg").write_bytes(b"SQLite format 3\0"), "cannot be read"),
        (lambda home: (home / "blocks.geojson").write_text("no shapes"), "is no GEOJSON file"),
        (lambda home: _without_system(home), "does not state its coordinate system"),
    ],
    ids=["damaged", "not what its ending says", "no system"],
)  # fmt: skip
def test_what_cannot_be_read_is_named(sample, spoil, words):
    """A damaged file, one that is none, and one without a system: by the file's name."""
    spoil(sample)
    with pytest.raises(InputError, match=words):
        open_land(sample)


def _without_system(home: Path) -> None:
    """Save the blocks as a Shapefile that does not say where it lies."""
    SAVED["shp"](home)
    (home / "blocks.prj").unlink()


def test_an_outline_walked_as_a_line_is_an_area_and_saved_as_one(tmp_path):
    """A closed line becomes a polygon for the page; the file follows once it is changed."""
    ring = shapely.box(600_000, 4_000_000, 600_100, 4_000_100).exterior
    lines = gpd.GeoDataFrame({"block_id": ["1", "2"]}, geometry=[
        shapely.LineString(ring.coords), shapely.affinity.translate(shapely.LineString(ring), 200)
    ], crs="EPSG:32616")  # fmt: skip
    lines.to_file(tmp_path / "land.gpkg", layer="blocks", driver="GPKG")
    land = open_land(tmp_path)
    assert set(land.layers["blocks"].geom_type) == {"Polygon"}
    save_land(tmp_path, land, {"blocks": shifted(land.layers["blocks"])})
    assert plain(tmp_path).geom_type.tolist() == ["Polygon", "LineString"]


def test_many_keep_trees_stay_when_a_block_is_saved(sample):
    """With 50,000 trees in the file a saved block takes none of them away."""
    trees = plain(sample, "keep_trees").iloc[np.zeros(50_000, dtype=int)]
    trees = trees.assign(tree_id=[f"T{i}" for i in range(50_000)])
    trees.to_file(sample / "land.gpkg", layer="keep_trees", driver="GPKG")
    land = open_land(sample)
    save_land(sample, land, {"blocks": renamed(land)})
    assert len(plain(sample, "keep_trees")) == 50_000


def test_a_moved_file_that_cannot_be_removed_is_named(sample, monkeypatch):
    """It would be read instead of what was saved, so the page does not open over it."""
    SAVED["geojson"](sample)
    land = open_land(sample)

    def held(path, **_given):
        raise PermissionError(errno.EACCES, "Permission denied", path.name)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "unlink", held)
        save_land(sample, land, {"blocks": renamed(land)})
        with pytest.raises(InputError, match=r"blocks\.geojson was taken into land\.gpkg and cann"):
            open_land(sample)
    assert open_land(sample).layers["blocks"]["name"].iloc[1] == "The far field"
