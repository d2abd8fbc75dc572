"""A tiny whole property, quick to read, and the tools that damage one thing in a copy of it."""

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import rasterio
import shapely
from shapely import box

GRID = "EPSG:32616"
X, Y, SIDE = 500_000.0, 4_020_000.0, 100.0
LAND, TOML, TALLY, LOG, PINS = (
    "land.gpkg", "property.toml", "tally.csv", "records.csv", "photo_pins.csv",
)  # fmt: skip
Damage = Callable[[Path], object]
SETTINGS = """[property]
name = "Wren Corner"
region = "upper_south"
units = "us"
first_year = 2027
years = 2

[targets]
species = ["callery_pear"]

[crew]
who = "family"
people = 2
sawyers = 1
hours_per_day = 6
wage_per_hour = 18

[contractor]
mowing_per_acre = 85

[money]
budget_per_year = 4500
carry_over = true

[[cost_share]]
name = "hill program"
dollars_per_acre = 100
finish_by = 2031-12-31

[[season]]
name = "summer"
months = [6, 7, 8]
work_days = 12

[[season]]
name = "fall"
months = [9, 10, 11]

[herbicide.glyphosate_4]
active_ingredient = "glyphosate"
lb_ae_per_gal = 4.0
container_gal = [1.0]
price = [38]
registration = "training only"
date = 2026-03-01
sites = ["pasture", "woodland"]
methods = ["hack_and_squirt", "cut_and_spray", "foliar"]
limits = { lb_ae_per_acre_year = 8.0 }
confirmed = true

[plan]
confidence = 0.9
"""
COUNTS = """plot_id,species,dbh_in,size,count,keep,status,date
P1,callery_pear,1.4,,2,no,live,2026-10-05
P1,callery_pear,4.0,,3,no,live,2026-10-05
P2,callery_pear,,pencil,5,no,live,2026-10-06
P3,white_oak,12.5,,1,yes,live,2026-10-06
"""
WORK = """record_id,date,strip_id,job,people,hours,notes
1,2026-11-02,S1,mark,2,3,first look
"""
PINNED = """pin,column_px,row_px,longitude,latitude
gate,0,0,-87.00111,36.32592
barn,32,0,-86.99726,36.32592
pond,32,16,-86.99726,36.32404
"""


@dataclass(frozen=True)
class Case:
    """One damage: its name, the file it meets, what was done, and the words of the verb."""

    name: str
    file: str
    done: str
    damage: Damage
    verb: str = "check"


def layers() -> dict[str, list[dict[str, Any]]]:
    """Return the rows of each layer of the property."""
    road = shapely.LineString([(X - 20, Y - 15), (X + 220, Y - 15)])
    creek = shapely.LineString([(X - 20, Y + 110), (X + 220, Y + 112)])
    halves = [box(X, Y, X + 60, Y + SIDE), box(X + 60, Y, X + SIDE, Y + SIDE)]
    return {
        "blocks": [
            {"block_id": "1", "name": "hill", "goal": "pasture", "hay": "no", "slope_pct": 8.0,
             "ready_year": 2028, "priority": 1, "geometry": box(X, Y, X + SIDE, Y + SIDE)},
            {"block_id": "2", "name": "wood", "goal": "woodland", "hay": "no", "slope_pct": 12.0,
             "ready_year": 2029, "priority": 2,
             "geometry": box(X + SIDE, Y, X + 2 * SIDE, Y + SIDE)},
        ],
        "strips": [
            {"strip_id": f"S{n + 1}", "block_id": "1", "geometry": half}
            for n, half in enumerate(halves)
        ],
        "keep_trees": [
            {"tree_id": f"T{n + 1}", "species": "white_oak", "dbh_in": 20.0, "crown_ft": 30.0,
             "geometry": shapely.Point(X + at, Y + 80)} for n, at in enumerate((30, 150))
        ],
        "features": [
            {"kind": "public_road", "name": "county road", "setback_ft": 10.0, "geometry": road},
            {"kind": "water", "name": "creek", "setback_ft": 30.0, "geometry": creek},
        ],
        "plots": [
            {"plot_id": f"P{n + 1}", "radius_ft": 20.0, "small_radius_ft": 6.0,
             "small_below_in": 1.0, "visited": "yes", "geometry": shapely.Point(X + at, Y + 40)}
            for n, at in enumerate((25, 75, 150))
        ],
    }  # fmt: skip


def lay_out(home: Path) -> Path:
    """Return the folder into which the undamaged property was written."""
    home.mkdir(parents=True)
    for name, text in ((TOML, SETTINGS), (TALLY, COUNTS), (LOG, WORK), (PINS, PINNED)):
        (home / name).write_text(text, encoding="utf-8")
    for name, rows in layers().items():
        put(home, name, gpd.GeoDataFrame(rows, crs=GRID))
    picture = np.full((3, 16, 32), 90, dtype="uint8")
    take_photo(home / "aerial.tif", picture)
    return home


def put(home: Path, name: str, frame: gpd.GeoDataFrame, file: str = LAND, **how: Any) -> None:
    """Write a layer into a GeoPackage, in the place of the one of its name."""
    pyogrio.write_dataframe(frame, home / file, layer=name, driver="GPKG", **how)


def take_photo(path: Path, bands: np.ndarray, placed: bool = True, **how: Any) -> None:
    """Write a photo that covers both blocks, without a place if that is wished."""
    count, high, wide = bands.shape
    step = 2 * (SIDE + 20) / wide
    place = {"crs": GRID, "transform": rasterio.Affine(step, 0, X - 20, 0, -step, Y + SIDE + 15)}
    how = {"driver": "GTiff", "dtype": bands.dtype} | how | (place if placed else {})
    path.unlink(missing_ok=True)
    with rasterio.open(path, "w", width=wide, height=high, count=count, **how) as out:
        out.write(bands)


def bytes_of(name: str, content: bytes) -> Damage:
    """Return a damage that puts other bytes into a file."""
    return lambda home: (home / name).write_bytes(content)


def changed(name: str, change: Callable[[bytes], bytes]) -> Damage:
    """Return a damage that changes the bytes of a file, and sees to it that they are others."""

    def damage(home: Path) -> None:
        before = (home / name).read_bytes()
        after = change(before)
        assert after != before
        (home / name).write_bytes(after)

    return damage


def swapped(name: str, old: str, new: str, code: str = "utf-8") -> Damage:
    """Return a damage that puts other words in the place of the first of their kind."""
    return changed(name, lambda raw: raw.replace(old.encode(), new.encode(code), 1))


def recoded(name: str, code: str, old: str = "", new: str = "") -> Damage:
    """Return a damage that saves a text in another encoding, with a word swapped before."""
    return changed(name, lambda raw: raw.decode().replace(old, new, 1).encode(code))


def cut(name: str, share: float) -> Damage:
    """Return a damage that keeps the first share of a file."""
    return changed(name, lambda raw: raw[: int(len(raw) * share)])


def rows_of(name: str, change: Callable[[list[list[str]]], object]) -> Damage:
    """Return a damage that works on the rows of a table, the heading among them."""

    def damage(home: Path) -> None:
        rows = list(csv.reader(io.StringIO((home / name).read_text(encoding="utf-8"))))
        change(rows)
        text = io.StringIO()
        csv.writer(text, lineterminator="\n").writerows(rows)
        (home / name).write_text(text.getvalue(), encoding="utf-8")

    return damage


def cell(name: str, column: str, value: str, row: int = 1) -> Damage:
    """Return a damage that writes another value into a cell of a table."""

    def change(rows: list[list[str]]) -> None:
        rows[row][rows[0].index(column)] = value

    return rows_of(name, change)


def column_gone(name: str, column: str) -> Damage:
    """Return a damage that takes a column out of a table."""

    def change(rows: list[list[str]]) -> None:
        place = rows[0].index(column)
        for row in rows:
            del row[place]

    return rows_of(name, change)


def layer(name: str, change: Callable[[gpd.GeoDataFrame], gpd.GeoDataFrame], **how: Any) -> Damage:
    """Return a damage that works on a layer of land.gpkg as a table."""

    def damage(home: Path) -> None:
        frame = pyogrio.read_dataframe(home / LAND, layer=name)
        put(home, name, change(frame), **how)

    return damage


def written(name: str, column: str, value: object, row: int = 1) -> Damage:
    """Return a damage that writes another value into a cell of a layer."""

    def change(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
        if column != "geometry":
            frame[column] = frame[column].astype(object) if column in frame else None
        frame.loc[row, column] = value
        if column != "geometry" and isinstance(value, str):
            held = frame[column].map(lambda each: None if pd.isna(each) else str(each))
            frame[column] = held.astype(object)
        return frame

    return layer(name, change)


def both(*damages: Damage) -> Damage:
    """Return several damages as one."""

    def damage(home: Path) -> None:
        for each in damages:
            each(home)

    return damage
