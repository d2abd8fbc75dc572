"""The land of the sample property: blocks cut as one planar partition, and the features on it."""

from functools import cache
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from scipy.interpolate import PchipInterpolator
from shapely import LineString, Point, Polygon
from shapely.ops import polygonize

from maker import outline

GRID_M = 0.01  # all corners stand on a grid of one centimetre, so shared edges are equal
SEEN_M = 60.0  # features are drawn this far past the property
VERTEX_M = 9.0  # distance of corners along a drawn line


class Land(NamedTuple):
    """What does not change with the seed."""

    outer: Polygon
    blocks: gpd.GeoDataFrame
    features: gpd.GeoDataFrame


@cache
def make_land() -> Land:
    """Return the land: property polygon, blocks and features."""
    outer = _place(Polygon(outline.PROPERTY))
    blocks = _blocks(outer)
    return Land(outer, blocks, _features(outer))


def _scale() -> float:
    return float(np.sqrt(outline.ACRES * outline.M2_PER_ACRE / Polygon(outline.PROPERTY).area))


def _place(geometry: shapely.Geometry) -> shapely.Geometry:
    """Return a sketch geometry at its place on the map."""
    placed = shapely.transform(geometry, placed_points)
    return shapely.set_precision(placed, GRID_M)


def placed_points(points: np.ndarray | list[tuple[float, float]]) -> np.ndarray:
    """Return sketch points at their places on the map (n, 2)."""
    return np.array(points) * _scale() + np.array(outline.CORNER)


def smooth(points: list[tuple[float, float]], wiggle_m: float = 0.0, seed: int = 0) -> LineString:
    """Return a line through the points, rounded like a drawn one, with a small wiggle [m]."""
    xy = np.array(points, float)
    along = np.r_[0, np.cumsum(np.hypot(*np.diff(xy, axis=0).T))]
    at = np.linspace(0, along[-1], max(int(along[-1] / VERTEX_M), 2) + 1)
    drawn = PchipInterpolator(along, xy)(at)
    noise = np.random.default_rng(seed).normal(0, wiggle_m, drawn.shape) if wiggle_m else 0.0
    return LineString(drawn + noise)


def _blocks(outer: Polygon) -> gpd.GeoDataFrame:
    """Return the blocks as faces of one set of lines, so that neighbours share every corner."""
    outside = _outside()
    lines = [outer.exterior, _place(smooth(outline.VERGE)), _place(smooth(outline.FARM_ROAD))]
    lines += [_place(smooth(cut, 1.3, seed=i + 1)) for i, cut in enumerate(outline.CUTS)]
    lines += list(shapely.get_parts(outside.boundary))
    faces = gpd.GeoSeries(list(polygonize(shapely.unary_union(lines, grid_size=GRID_M))))
    inside = faces.representative_point().within(outer)
    verge = _place(Polygon([*outline.VERGE, (690, -80), (-20, -80)]))
    free = ~faces.representative_point().within(outside.union(verge))
    faces = faces[inside & free & (faces.area > 1)]
    rows, shapes = [], []
    for row in outline.BLOCKS:
        middle = _place(Point(row[2]))
        shapes.append(faces[faces.contains(middle)].iloc[0])
        rows.append(row[:2] + row[3:])
    columns = ["block_id", "name", "goal", "brush", "ground", "wet", "stock", "hay"]
    table = pd.DataFrame(rows, columns=[*columns, "ready_year", "priority", "notes"])
    table["ready_year"] = table["ready_year"].astype("Int64")
    return gpd.GeoDataFrame(table, geometry=shapes, crs=outline.CRS)


def _outside() -> shapely.Geometry:
    """Return the land inside the fence that is in no block: yard, pond, creek corridor."""
    corridor = smooth(outline.CREEK).buffer(9.5, quad_segs=3).simplify(0.6)
    pond = smooth([*outline.POND, outline.POND[0]])
    bank = Polygon(pond.coords).buffer(6, quad_segs=3)
    yard = Polygon(outline.YARD)
    return _place(shapely.union_all([corridor, bank, yard]))


def _box(middle: tuple[float, float], long_m: float, wide_m: float, turn_deg: float) -> Polygon:
    box = shapely.box(-long_m / 2, -wide_m / 2, long_m / 2, wide_m / 2)
    turned = shapely.affinity.rotate(box, turn_deg)
    return shapely.affinity.translate(turned, *middle)


def _features(outer: Polygon) -> gpd.GeoDataFrame:
    """Return the features with the setbacks [ft] that the owner gave, and no others."""
    farm_road = [xy for xy in outline.FARM_ROAD if xy[1] <= outline.FARM_ROAD_END]
    rows = [
        ("water", "Sourwood Branch", 35, smooth(outline.CREEK)),
        ("water", "pond", 50, Polygon(smooth([*outline.POND, outline.POND[0]]).coords)),
        ("well", "house well", 100, Point(outline.WELL)),
        ("building", "house", None, _box(*outline.HOUSE)),
        ("building", "barn", None, _box(*outline.BARN)),
        ("public_road", "county road", None, smooth(outline.COUNTY_ROAD)),
        ("farm_road", "lane to the ridge", None, smooth(farm_road)),
        ("power_line", "power line", None, LineString(outline.POWER_LINE)),
        ("crop", "neighbor's corn and beans", 100, Polygon(outline.CROP)),
    ]
    rows += [("trail", None, None, smooth(line)) for line in outline.TRAILS]
    rows += [("fence", None, None, smooth(line)) for line in outline.FENCES]
    rows += [("gate", None, None, Point(xy)) for xy in outline.GATES]
    rows += [("neighbour_tree", None, None, Point(xy)) for xy in outline.NEIGHBOUR_TREES]
    table = pd.DataFrame([row[:3] for row in rows], columns=["kind", "name", "setback_ft"])
    seen = shapely.box(*outer.buffer(SEEN_M).bounds)
    shapes = [_place(row[3]).intersection(seen) for row in rows]
    table.loc[len(table)] = ["property_line", None, None]
    shapes.append(LineString(outer.exterior.coords))
    table["setback_ft"] = pd.to_numeric(table["setback_ft"])
    return gpd.GeoDataFrame(table, geometry=shapes, crs=outline.CRS)
