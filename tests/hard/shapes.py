"""Damages of the shapes and of their coordinate systems."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import numpy as np
import shapely
from shapely import LineString, MultiPoint, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from tests.hard.ground import GRID, LAND, SIDE, Case, Damage, X, Y, layer, layers, put, written

BLOCK = box(X + SIDE, Y, X + 2 * SIDE, Y + SIDE)


def _corner(value: float) -> BaseGeometry:
    """Return the block with a corner that is no place."""
    return shapely.transform(BLOCK, lambda xy: np.where(xy == xy.max(), value, xy))


BOW = Polygon([(X + 100, Y), (X + 200, Y + 100), (X + 200, Y), (X + 100, Y + 100)])
LOOP = Polygon(
    [
        (X + 100, Y),
        (X + 200, Y),
        (X + 200, Y + 100),
        (X + 201, Y + 100.5),
        (X + 201, Y + 99.5),
        (X + 200, Y + 100),
        (X + 100, Y + 100),
    ]
)
SPIKE = Polygon(
    [
        (X + 100, Y),
        (X + 200, Y),
        (X + 200, Y + 100),
        (X + 150, Y + 100),
        (X + 150, Y + 400),
        (X + 150, Y + 100),
        (X + 100, Y + 100),
    ]
)
HOLE_OUT = Polygon(BLOCK.exterior, [box(X + 300, Y, X + 310, Y + 10).exterior])
HOLES = Polygon(
    BLOCK.exterior,
    [
        box(X + 120, Y + 20, X + 150, Y + 60).exterior,
        box(X + 140, Y + 30, X + 180, Y + 70).exterior,
    ],
)
ARC = (  # well-known binary of a curve polygon whose ring is one circular string
    b"\x01\x0a\0\0\0\x01\0\0\0\x01\x08\0\0\0\x05\0\0\0"
    + np.array(
        [(X + 100, Y), (X + 150, Y + 50), (X + 200, Y), (X + 150, Y - 50), (X + 100, Y)],
        dtype="<f8",
    ).tobytes()
)


def _drawn(name: str, shape: BaseGeometry | None, row: int = 1) -> Damage:
    """Return a damage that draws a row of a layer anew."""
    return written(name, "geometry", shape, row)


def _of_all(name: str, change: Callable[[gpd.GeoDataFrame], gpd.GeoDataFrame]) -> Damage:
    """Return a damage that works on all shapes of a layer."""
    return layer(name, change)


def _said(system: object) -> Callable[[gpd.GeoDataFrame], gpd.GeoDataFrame]:
    """Return a change that says another system of the same figures."""
    return lambda frame: frame.set_crs(system, allow_override=True)


def _moved(system: object) -> Callable[[gpd.GeoDataFrame], gpd.GeoDataFrame]:
    """Return a change into another system."""
    return lambda frame: frame.to_crs(system)


def _shifted(east: float, north: float) -> Damage:
    """Return a damage that puts the whole property at another place on the globe, in degrees."""

    def damage(home: Path) -> None:
        (home / "aerial.tif").unlink()
        west, south = (
            gpd.GeoSeries([box(X, Y, X + 1, Y + 1)], crs=GRID).to_crs(4326).total_bounds[:2]
        )
        for name, rows in layers().items():
            degrees = gpd.GeoDataFrame(rows, crs=GRID).to_crs(4326)
            put(home, name, degrees.set_geometry(degrees.translate(east - west, north - south)))

    return damage


def _flipped(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a layer in degrees with latitude and longitude exchanged."""
    degrees = frame.to_crs(4326)
    return degrees.set_geometry(
        degrees.geometry.map(lambda s: shapely.transform(s, lambda xy: xy[:, ::-1]))
    )


def _raised(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a layer with heights."""
    return frame.set_geometry(frame.geometry.map(lambda s: shapely.force_3d(s, 321.5)))


def _measured(code: str, kind: int) -> Damage:
    """Return a damage that gives the second block measures (M, or Z and M), cell by cell."""

    def damage(home: Path) -> None:
        ring = np.column_stack(
            [np.array(BLOCK.exterior.coords), *(np.arange(5.0) for _ in range(len(code)))]
        )
        wkb = b"\x01" + kind.to_bytes(4, "little") + b"\1\0\0\0\5\0\0\0"
        _stored(home, wkb + ring.astype("<f8").tobytes())

    return damage


def _stored(home: Path, wkb: bytes) -> None:
    """Write a shape that GEOS does not know into the second row of the blocks."""
    head = b"GP\0\x01" + (32616).to_bytes(4, "little")
    with sqlite3.connect(home / LAND) as con:
        gone = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'blocks'"
        for (trigger,) in con.execute(gone).fetchall():
            con.execute(f'DROP TRIGGER "{trigger}"')
        con.execute("UPDATE blocks SET geom = ? WHERE block_id = '2'", (head + wkb,))
    con.close()


def _emptied(home: Path) -> None:
    """Take the coordinate system out of the blocks."""
    frame = gpd.GeoDataFrame(layers()["blocks"])
    put(home, "blocks", frame)


LOCAL = (
    'ENGCRS["site",EDATUM["post"],CS[Cartesian,2],AXIS["x",east],AXIS["y",north],'
    'LENGTHUNIT["metre",1]]'
)
EDGES = {
    "crossing": ("a block's outline is a bow tie", BOW),
    "small_loop": ("a block has a small loop at a corner", LOOP),
    "spike": ("a block has a spike of no width", SPIKE),
    "none": ("a block has no shape", None),
    "empty": ("a block's shape is empty", Polygon()),
    "point": ("a block is a point", Point(X + 150, Y + 50)),
    "points": (
        "a block is three points",
        MultiPoint([(X + 100, Y), (X + 200, Y), (X + 200, Y + 50)]),
    ),
    "line_open": (
        "a block is an open line",
        LineString([(X + 100, Y), (X + 200, Y), (X + 200, Y + 100)]),
    ),
    "line_closed": ("a block is a closed line", LineString(BLOCK.exterior.coords)),
    "line_back": (
        "a block is a line there and back",
        LineString([(X + 100, Y), (X + 200, Y), (X + 100, Y)]),
    ),
    "collection": (
        "a block is a collection of an area and a point",
        shapely.GeometryCollection([BLOCK, Point(X, Y)]),
    ),
    "collection_deep": (
        "a block is a collection in a collection",
        shapely.GeometryCollection([shapely.GeometryCollection([BLOCK])]),
    ),
    "collection_empty": ("a block is an empty collection", shapely.GeometryCollection()),
    "no_area": (
        "a block has no area",
        Polygon([(X + 100, Y), (X + 200, Y), (X + 150, Y), (X + 100, Y)]),
    ),
    "sliver": ("a block is 1 mm wide", box(X + 200, Y, X + 200.001, Y + 100)),
    "tiny": ("a block of a square inch", box(X + 200, Y, X + 200.0254, Y + 0.0254)),
    "hole_outside": ("a hole lies outside its block", HOLE_OUT),
    "holes_cross": ("two holes cross", HOLES),
    "same_ground": ("two blocks are one shape", box(X, Y, X + SIDE, Y + SIDE)),
    "overlap": ("two blocks lie over each other by a third", affinity.translate(BLOCK, -35, 0)),
    "endless": ("a corner is endless", _corner(float("inf"))),
    "nan": ("a corner is no number", _corner(float("nan"))),
    "enormous": (
        "a corner lies 1e300 m off",
        Polygon([(X + 100, Y), (1e300, Y), (X + 200, Y + 100), (X + 100, Y)]),
    ),
    "far": ("a block lies 3,000 miles off", affinity.translate(BLOCK, 4.8e6, 0)),
    "county": ("a block of 40 by 40 miles", box(X + 100, Y, X + 65_000, Y + 65_000)),
    "many_corners": ("a block of 8,000 corners", shapely.segmentize(BLOCK, 400 / 8_000)),
    "twice_the_corner": (
        "each corner stands twice",
        Polygon([c for c in BLOCK.exterior.coords for _ in (0, 1)]),
    ),
}
SYSTEMS = {
    "none": ("blocks state no coordinate system", _emptied),
    "other_zone": ("blocks say the next zone", _of_all("blocks", _said(32617))),
    "degrees": ("blocks in meters say degrees", _of_all("blocks", _said(4326))),
    "geocentric": ("blocks say a grid from the earth's center", _of_all("blocks", _said(4978))),
    "vertical": ("blocks say a system of heights", _of_all("blocks", _said(5703))),
    "engineering": ("blocks say a grid of their own", _of_all("blocks", _said(LOCAL))),
    "moon": (
        "blocks say the moon's degrees",
        _of_all("blocks", lambda f: f.to_crs(4326).set_crs("IAU_2015:30100", allow_override=True)),
    ),
    "feet": ("blocks are in survey feet", _of_all("blocks", _moved(2274))),
    "web": ("blocks are in the web map's grid", _of_all("blocks", _moved(3857))),
    "swapped": ("latitude and longitude are exchanged", _of_all("blocks", _flipped)),
    "trees_swapped": (
        "the trees' latitude and longitude are exchanged",
        _of_all("keep_trees", _flipped),
    ),
    "trees_zone": ("trees say the next zone", _of_all("keep_trees", _said(32617))),
    "pole": ("the property lies at the pole", _shifted(0, 89.999)),
    "over_the_pole": ("the property lies at 91 degrees", _shifted(0, 91)),
    "date_line": ("the property lies across the date line", _shifted(179.999, 36)),
    "three_poles": ("the property lies 5 m from the pole", _shifted(0, 89.99995)),
    "null": ("the property lies at 0, 0", _shifted(0, 0)),
    "three": ("blocks have heights", _of_all("blocks", _raised)),
    "plots_three": ("plots have heights", _of_all("plots", _raised)),
    "measured": ("a block has measures", _measured("M", 2003)),
    "measured_three": ("a block has heights and measures", _measured("ZM", 3003)),
    "curve": ("a block has arcs", lambda home: _stored(home, ARC)),
    "no_kind": (
        "a block is of a kind that is not there",
        lambda home: _stored(home, b"\x01\x63\0\0\0"),
    ),
    "cut_shape": (
        "a block's shape is cut short",
        lambda home: _stored(home, shapely.to_wkb(BLOCK)[:40]),
    ),
}
OTHERS = {
    "strip_crossing": (
        "a strip's outline crosses itself",
        _drawn("strips", affinity.translate(BOW, -100)),
    ),
    "strip_outside": (
        "a strip lies outside its block",
        _drawn("strips", affinity.translate(BLOCK, 500)),
    ),
    "strip_point": ("a strip is a point", _drawn("strips", Point(X, Y))),
    "tree_line": ("a tree is a line", _drawn("keep_trees", LineString([(X, Y), (X + 9, Y)]))),
    "tree_far": ("a tree lies 300 miles off", _drawn("keep_trees", Point(X + 500_000, Y))),
    "tree_none": ("a tree has no place", _drawn("keep_trees", None)),
    "tree_empty": ("a tree's place is empty", _drawn("keep_trees", Point())),
    "plot_points": ("a plot is two points", _drawn("plots", MultiPoint([(X, Y), (X + 9, Y)]))),
    "plot_area": ("a plot is an area", _drawn("plots", box(X + 70, Y + 30, X + 80, Y + 40))),
    "plot_outside": ("a plot lies outside all blocks", _drawn("plots", Point(X + 260, Y + 50))),
    "plot_nan": ("a plot's place is no number", _drawn("plots", Point(float("nan"), Y))),
    "feature_none": ("a creek has no shape", _drawn("features", None)),
    "feature_dot": (
        "a creek is a line of no length",
        _drawn("features", LineString([(X, Y + 110), (X, Y + 110)])),
    ),
    "feature_crossing": (
        "a pond's outline crosses itself",
        _drawn("features", affinity.translate(BOW, 0, 150)),
    ),
    "feature_all": (
        "a pond covers both blocks",
        _drawn("features", box(X - 50, Y - 50, X + 300, Y + 200)),
    ),
    "feature_mixed": (
        "a creek is a collection of a line and a point",
        _drawn(
            "features",
            shapely.GeometryCollection(
                [LineString([(X, Y + 110), (X + 200, Y + 110)]), Point(X, Y)]
            ),
        ),
    ),
}
CASES = [
    *(
        Case(f"shape_{name}", LAND, done, _drawn("blocks", shape))
        for name, (done, shape) in EDGES.items()
    ),
    *(Case(f"system_{name}", LAND, done, damage) for name, (done, damage) in SYSTEMS.items()),
    *(Case(name, LAND, done, damage) for name, (done, damage) in OTHERS.items()),
]
