"""Rules of the owner's own table are kept: defaults, triggers, computed cells, heights."""

import sqlite3

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from clearing.errors import InputError
from clearing.files.kept import open_land, save_land
from clearing.files.table_rows import teach_shapes
from tests.files.test_kept import plain, renamed, same_shapes, sql

HEIGHT = 7.5
EDITED = (
    "ALTER TABLE blocks ADD COLUMN edited TEXT",
    "CREATE TRIGGER edits AFTER UPDATE OF name ON blocks BEGIN "
    "UPDATE blocks SET edited = coalesce(edited, '') || 'x' WHERE fid = new.fid; END",
)


def any_cells(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a layer whose columns take any cell, as the drawing page has it."""
    return layer.astype({column: object for column in layer if column != "geometry"})


def with_one_more(land) -> gpd.GeoDataFrame:
    """Return the blocks with a new one, of which but the number and the shape are given."""
    blocks = any_cells(land.layers["blocks"])
    both = blocks.loc[[*blocks.index, blocks.index[0]]]
    both.index = pd.Index([*blocks.index, blocks.index.max() + 1], dtype="int64")
    for column in both.columns.drop("geometry"):
        both.iloc[-1, both.columns.get_loc(column)] = "new" if column == "block_id" else None
    return both


def raw_shapes(folder) -> dict[int, bytes]:
    """Return the bytes of every block's shape."""
    return dict(sql(folder, "SELECT fid, geom FROM blocks"))


@pytest.mark.parametrize(
    ("rules", "asked", "found"),
    [
        (["ALTER TABLE blocks ADD COLUMN crew TEXT NOT NULL DEFAULT 'ours'"], "crew", "ours"),
        (["ALTER TABLE blocks ADD COLUMN loud TEXT GENERATED ALWAYS AS (upper(block_id)) VIRTUAL"],
         "loud", "NEW"),
        (["CREATE TRIGGER asks BEFORE INSERT ON blocks WHEN new.block_id IS NULL BEGIN "
          "SELECT raise(ABORT, 'a number, please'); END"], "block_id", "new"),
        (["ALTER TABLE blocks ADD COLUMN seen TEXT", "CREATE TRIGGER sees AFTER INSERT ON blocks "
          "BEGIN UPDATE blocks SET seen = 'today' WHERE fid = new.fid; END"], "seen", "today"),
        (["CREATE UNIQUE INDEX one ON blocks(block_id)"], "block_id", "new"),
    ],
    ids=["default", "computed", "insert trigger", "trigger that fills", "unique"],
)  # fmt: skip
def test_a_new_row_goes_by_the_tables_own_rules(sample, rules, asked, found):
    """It is written whole, with only the cells that are given; the file does the rest.

    Saving again, from what the first save returned, does not undo what the file did.
    """
    sql(sample, *rules)
    land = open_land(sample)
    land = save_land(sample, land, {"blocks": with_one_more(land)})
    land = save_land(sample, land, {"blocks": renamed(land)})
    assert sql(sample, f"SELECT {asked} FROM blocks WHERE block_id = 'new'") == [(found,)]


def test_what_a_trigger_writes_beside_a_changed_cell_stays(sample):
    """Two saves that change a name run an edit counter twice; neither is refused or undone."""
    sql(sample, *EDITED)
    land = open_land(sample)
    mine = any_cells(land.layers["blocks"])
    for name in ("north", "south"):
        mine.loc[mine.index[1], "name"] = name
        land = save_land(sample, land, {"blocks": mine})
    assert sql(sample, "SELECT name, edited FROM blocks ORDER BY fid")[1] == ("south", "xx")


def test_a_cell_that_a_trigger_turns_into_another_is_refused(sample):
    """What this save changed must be in the file as it was meant."""
    sql(sample, "CREATE TRIGGER shouts AFTER UPDATE OF name ON blocks WHEN new.name <> "
        "upper(new.name) BEGIN UPDATE blocks SET name = upper(new.name) WHERE fid = new.fid; "
        "END")  # fmt: skip
    land, before = open_land(sample), (sample / "land.gpkg").read_bytes()
    with pytest.raises(InputError, match="name of blocks cannot be kept in it as they are"):
        save_land(sample, land, {"blocks": renamed(land)})
    assert (sample / "land.gpkg").read_bytes() == before


def test_a_computed_cell_is_not_written_over(sample):
    """Who changes one is told; nothing is changed."""
    sql(sample, "ALTER TABLE blocks ADD COLUMN loud TEXT GENERATED ALWAYS AS (upper(block_id))")
    land = open_land(sample)
    blocks = land.layers["blocks"].assign(loud="mine")
    with pytest.raises(InputError, match="loud of blocks cannot be kept"):
        save_land(sample, land, {"blocks": blocks})


@pytest.mark.parametrize("kind", ["TEXT", "TEXT NOT NULL DEFAULT ''", "INTEGER NOT NULL DEFAULT 0"])
def test_cells_that_may_be_there_but_once_can_be_exchanged(sample, kind):
    """Two rows swap, and a third takes what a fourth gives up, under a unique index."""
    sql(sample, f"ALTER TABLE blocks ADD COLUMN code {kind}", "UPDATE blocks SET code = fid",
        "CREATE UNIQUE INDEX one ON blocks(code)")  # fmt: skip
    land = open_land(sample)
    blocks = land.layers["blocks"].copy()
    codes = blocks["code"].tolist()
    codes = [codes[1], codes[0], codes[3], codes[4], codes[2], *codes[5:]]
    blocks["code"] = codes
    land = save_land(sample, land, {"blocks": blocks})
    assert [row[0] for row in sql(sample, "SELECT code FROM blocks ORDER BY fid")] == codes


def test_a_code_that_is_there_already_is_refused_in_words(sample):
    """A unique index is a rule of the owner's: the file stays as it was."""
    sql(sample, "CREATE UNIQUE INDEX one ON blocks(block_id)")
    land, before = open_land(sample), (sample / "land.gpkg").read_bytes()
    blocks = land.layers["blocks"].copy()
    blocks["block_id"] = blocks["block_id"].iloc[0]
    with pytest.raises(InputError, match="UNIQUE constraint failed"):
        save_land(sample, land, {"blocks": blocks})
    assert (sample / "land.gpkg").read_bytes() == before


def with_heights(folder) -> dict[int, bytes]:
    """Give every block of a folder heights, and return the bytes of its shapes."""
    blocks = plain(folder)
    tall = gpd.GeoSeries(shapely.force_3d(blocks.geometry.to_numpy(), HEIGHT), crs=blocks.crs)
    blocks.set_geometry(tall).to_file(folder / "land.gpkg", layer="blocks", driver="GPKG")
    return raw_shapes(folder)


def test_heights_come_back_with_undo(sample):
    """A moved and a deleted shape, brought back, are what they were to the byte."""
    before = with_heights(sample)
    land = open_land(sample)
    old = land.layers["blocks"]
    moved = old.copy()
    moved.loc[moved.index[0], "geometry"] = shapely.affinity.translate(old.geometry.iloc[0], 1)
    land = save_land(sample, land, {"blocks": moved.drop(moved.index[3])})
    between = raw_shapes(sample)
    first, gone, *_ = (old.index[0], old.index[3])
    assert {n for n in between if between[n] != before[n]} == {first}
    assert gone not in between
    land = save_land(sample, land, {"blocks": old})
    assert raw_shapes(sample) == before


def test_a_changed_shape_is_flat(sample):
    """No height is made up for a corner that was moved."""
    with_heights(sample)
    land = open_land(sample)
    blocks = land.layers["blocks"].copy()
    meant = shapely.affinity.translate(blocks.geometry.iloc[0], 1)
    blocks.loc[blocks.index[0], "geometry"] = meant
    save_land(sample, land, {"blocks": blocks})
    found = plain(sample).geometry
    assert found.has_z.tolist() == [False] + [True] * (len(found) - 1)
    assert same_shapes(found.iloc[:1], [meant])


def test_shapes_of_another_programs_hand_come_back_to_the_byte(sample):
    """A blob written in the other byte order and without bounds is the same after an undo."""
    shape = plain(sample).geometry.iloc[0]
    body = shapely.to_wkb(shape, byte_order=0, flavor="iso")
    blob = b"GP\x00\x00" + (32616).to_bytes(4, "big") + body
    con = sqlite3.connect(sample / "land.gpkg")
    teach_shapes(con)
    con.execute("UPDATE blocks SET geom = ? WHERE fid = 1", (blob,))
    con.commit()
    con.close()
    land = open_land(sample)
    old = land.layers["blocks"]
    land = save_land(sample, land, {"blocks": old.iloc[1:]})
    save_land(sample, land, {"blocks": old})
    assert raw_shapes(sample)[1] == blob
