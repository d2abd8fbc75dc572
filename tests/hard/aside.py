"""Damages that leave something beside what is read: copies, second places, other maps, journals."""

import shutil
import sqlite3
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio

from clearing.files.table_rows import teach_shapes
from tests.hard.ground import (
    GRID,
    LAND,
    LOG,
    PINS,
    TALLY,
    TOML,
    Case,
    Damage,
    cell,
    changed,
    layers,
    put,
)
from tests.hard.packed import moved_out


def _copy(name: str, copy: str) -> Damage:
    """Return a damage that lays a copy beside a file."""
    return lambda home: shutil.copyfile(home / name, home / copy)


def _layer(home: Path, name: str) -> gpd.GeoDataFrame:
    """Return a layer of land.gpkg."""
    return pyogrio.read_dataframe(home / LAND, layer=name)


def _second(name: str, rows: slice, file: str = "", **cells: object) -> Damage:
    """Return a damage that saves rows of a layer, with other cells, in a file of their own too."""

    def damage(home: Path) -> None:
        frame = _layer(home, name).iloc[rows].assign(**cells)
        frame.to_crs(4326).to_file(home / (file or f"{name}.geojson"), engine="pyogrio")

    return damage


def _moved(home: Path) -> None:
    """Save the blocks in a file of their own too, the first of them half a foot further east."""
    frame = _layer(home, "blocks")
    frame.geometry = [frame.geometry[0].buffer(0), *frame.translate(0.15)[1:]]
    frame.to_crs(4326).to_file(home / "blocks.geojson")


def _one_more(home: Path) -> None:
    """Save the plots in a file of their own too, with a fourth one."""
    frame = gpd.GeoDataFrame(layers()["plots"], crs=GRID)
    more = frame.iloc[[0]].assign(plot_id="P4", geometry=frame.geometry.iloc[[0]].translate(20))
    pd.concat([frame, more]).to_crs(4326).to_file(home / "plots.geojson")


def _journal(home: Path) -> None:
    """Leave a change of the goal of block 1 in the journal that another program was killed over."""
    con = sqlite3.connect(home / LAND, isolation_level=None)
    teach_shapes(con)
    con.execute("PRAGMA journal_mode = WAL")
    con.execute("UPDATE blocks SET goal = 'pastuer' WHERE block_id = '1'")
    held = {name: (home / name).read_bytes() for name in (LAND, f"{LAND}-wal")}
    con.close()
    for name, raw in held.items():
        (home / name).write_bytes(raw)


def _other_layer(name: str) -> Damage:
    """Return a damage that puts a layer of another name into land.gpkg."""
    return lambda home: put(home, name, _layer(home, "features"))


def _late(raw: bytes) -> bytes:
    """Return the log with a row that is dated far ahead."""
    return raw + b"2,2190-03-01,S1,mark,2,3,a slip\n"


PHONE = b"date,strip_id,job,people,hours,entry\n2026-11-05,S1,mark,2,3,k1\n"
CASES = [
    Case(f"aside_{name}", file, done, damage)
    for name, file, done, damage in [
        ("tally_copy", TALLY, "a copy lies beside it", _copy(TALLY, "tally (1).csv")),
        ("log_copy", LOG, "a copy lies beside it", _copy(LOG, "records - Copy.csv")),
        ("toml_copy", TOML, "a copy lies beside it", _copy(TOML, "property (1).toml")),
        ("land_copy", LAND, "a copy lies beside it", _copy(LAND, "land (1).gpkg")),
        ("pins_copy", PINS, "a copy lies beside it", _copy(PINS, "Copy of photo_pins.csv")),
        ("photo_copy", "aerial.tif", "a copy lies beside it", _copy("aerial.tif", "aerial-2.tif")),
        (
            "photo_name",
            "aerial.tif",
            "the photo has another name",
            lambda home: (home / "aerial.tif").rename(home / "photo 2026.tif"),
        ),
        (
            "tally_sheet",
            TALLY,
            "a spreadsheet of its name lies beside it",
            lambda home: (home / "tally.xlsx").write_bytes(b"PK"),
        ),
        ("tally_new", TALLY, "counts stand in new_tally.csv", _copy(TALLY, "new_tally.csv")),
        ("tally_other", TALLY, "counts stand in another table", _copy(TALLY, "fall counts.csv")),
        (
            "log_phone",
            LOG,
            "the phone's file lies in the folder",
            lambda home: (home / "log_2026-11-05.csv").write_bytes(PHONE),
        ),
        ("tally_letters", TALLY, "two of one name in other letters", _copy(TALLY, "Tally.csv")),
        ("land_letters", LAND, "two of one name in other letters", _copy(LAND, "Land.gpkg")),
        ("layer_other", LAND, "a layer of another name", _other_layer("creeks")),
        ("layer_near", LAND, "a layer of nearly the name", _other_layer("feature")),
        ("map_other", "trees.geojson", "trees in a file of another name",
         _second("keep_trees", slice(None), "trees.geojson")),
        ("map_json", "blocks.json", "blocks in a .json", _second("blocks", slice(None),
                                                                  "blocks.json")),
        ("same_blocks", "blocks.geojson", "blocks lie in land.gpkg too",
         _second("blocks", slice(None))),
        ("same_more", "plots.geojson", "plots lie in land.gpkg too, with one less", _one_more),
        ("apart_blocks", "blocks.geojson", "of two blocks one lies in land.gpkg alone",
         _second("blocks", slice(1))),
        ("apart_moved", "blocks.geojson", "in land.gpkg a block lies elsewhere", _moved),
        ("apart_strips", "strips.geojson", "in land.gpkg strips have another block",
         _second("strips", slice(None), block_id="2")),
        ("apart_trees", "keep_trees.geojson", "trees lie in land.gpkg alone",
         _second("keep_trees", slice(0))),
        ("apart_features", "features.geojson", "in land.gpkg a creek is a road",
         _second("features", slice(None), kind="public_road")),
        ("apart_plots", "plots.geojson", "of three plots one lies in land.gpkg alone",
         _second("plots", slice(2))),
        ("log_ahead", LOG, "work that is dated far ahead", changed(LOG, _late)),
        ("tally_ahead", TALLY, "counts that are dated far ahead",
         cell(TALLY, "date", "2190-03-01")),
        ("journal", LAND, "a goal is misspelt in the journal beside it", _journal),
        ("gone_and_own", "blocks.geojson", "blocks lie in a file of their own alone",
         lambda home: (_second("blocks", slice(None))(home), moved_out(home))),
    ]
]  # fmt: skip
