"""Draw the zones of each strip by exact overlay: one set of rules each, together the strip."""

import functools
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.rates import Rates
from clearing.tables import columns
from clearing.zones.reach import (
    Reach,
    beyond_the_line,
    fixed_reaches,
    height_reaches,
    upper_heights,
)

RULES = ["flags", "fall_from", "power_from", "price_from"]
FLAGS = ("dripline", "fall_reach", "power_line", "water_edge")
TOLD = ("fall_reach", "power_line", "water_edge", "dripline")  # the first says what lies near
CLOSE = 1e-10  # share of a strip by which its faces may miss it; own choice
GRIDS_M = (None, 1e-9, 1e-8, 1e-7)  # tried in turn where a free overlay does not close; own choice


def draw_zones(
    strips: gpd.GeoDataFrame,
    features: gpd.GeoDataFrame,
    keep_trees: gpd.GeoDataFrame,
    stocking: pd.DataFrame,
    rates: Rates,
) -> gpd.GeoDataFrame:
    """Return the zones of all strips: a partition by what lies in reach of whom.

    Fall reach of a size class: 1.5 of its upper heights from buildings, public roads and power
    lines, one from the property line and all beyond it. Power line: where a stem of the class,
    falling any way, comes within the clearance of a wire at the assumed height. Water edge and
    wells by the owner's setback, else the handbook's. Dripline: the larger of twice the crown's
    radius and 5 m, and the owner's setback from crops. Price: one height from the owner's own
    fences, farm roads and trails. A setback that the owner gives for anything else holds as fall
    reach where it is larger than the rule.

    Parameters
    ----------
    strips, features, keep_trees : GeoDataFrame
        In the local grid.
    stocking : DataFrame
        As ``walk/stocking``; for the upper height of each size class.
    rates : Rates
        Factors and distances, under the subject ``zone``.

    Returns
    -------
    GeoDataFrame
        As ``walk/zones``; the areas of a strip's zones sum to its own.

    References
    ----------
    danger_tree_guide, osha_1910_266
    """
    heights = upper_heights(stocking, rates)
    unknown = dict.fromkeys(rates.sizes.sort_values("order")["size_class"], 0.0)
    beyond = beyond_the_line(features, strips.geometry)
    fixed = fixed_reaches(features, keep_trees, rates)
    names = features["name"].astype(str).to_numpy()
    ready: dict[tuple[float, ...], list[Reach]] = {}
    rows: list[tuple[Any, ...]] = []
    for strip in strips.itertuples():
        height = heights.get(str(strip.block_id), unknown)
        key = tuple(height.values())
        if key not in ready:
            ready[key] = [*fixed, *height_reaches(features, height, beyond, rates)]
        rows += _rows(str(strip.strip_id), strip.geometry, ready[key], names)
    frame = pd.DataFrame(rows, columns=columns("zones"))
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=strips.crs)


def _rows(
    strip_id: str, shape: shapely.Geometry, reaches: list[Reach], names: np.ndarray
) -> list[tuple[Any, ...]]:
    """Return one row a zone; faces under the same rules are one zone."""
    found = [(reach, ground) for reach in reaches if (ground := reach.over(shape)) is not None]
    faces = _faces(shape, [ground for _, ground in found])
    around = [reach for reach, _ in found]
    rules = _rules(faces, around)
    rows = []
    for number, (key, own) in enumerate(rules.groupby(RULES).indices.items(), start=1):
        zone = _joined(faces[own])
        flags, fall_from, power_from, price_from = key
        near = ", ".join(dict.fromkeys(names[_things(zone, flags, around)]))
        rows.append((f"{strip_id}:{number}", strip_id, flags, fall_from, power_from, near,
                     price_from, zone.area / 1e4, zone))  # fmt: skip
    return rows


def _joined(faces: np.ndarray) -> shapely.Geometry:
    """Return faces as one area; those that fit corner to corner are joined without reckoning.

    Joining may lose ground without a word where faces meet in a point: the area is the judge.
    """
    if len(faces) == 1:
        return faces[0]
    wanted = float(shapely.area(faces).sum())
    tries = [shapely.coverage_union_all, shapely.union_all]
    tries += [functools.partial(shapely.union_all, grid_size=grid) for grid in GRIDS_M[1:]]
    best, off = shapely.Polygon(), wanted
    for join in tries:
        try:
            joined = join(faces)
        except shapely.GEOSException:
            continue
        missed = abs(joined.area - wanted)
        if joined.is_valid and missed < off:
            best, off = joined, missed
        if off <= CLOSE * wanted:
            break
    return best


def _faces(shape: shapely.Geometry, grounds: list[shapely.Geometry]) -> np.ndarray:
    """Return the faces into which the edges of the grounds cut a shape."""
    if not grounds:
        return np.array([shape], dtype=object)
    west, south, east, north = shape.bounds
    edges = shapely.clip_by_rect(
        shapely.boundary(np.array(grounds)), west - 1, south - 1, east + 1, north + 1
    )
    lines = [shapely.boundary(shape), *edges]
    for grid in GRIDS_M:
        net = shapely.union_all(lines, grid_size=grid)
        faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(net)))
        faces = faces[shapely.contains(shape, shapely.point_on_surface(faces))]
        whole = abs(shapely.area(faces).sum() - shape.area) <= CLOSE * shape.area
        if whole and shapely.coverage_is_valid(faces):
            break
    return faces


def _rules(faces: np.ndarray, reaches: list[Reach]) -> pd.DataFrame:
    """Return the rules of each face: its flags, and the thinnest class that each starts at."""
    points = shapely.point_on_surface(faces)
    on = {flag: np.zeros(len(faces), dtype=bool) for flag in (*FLAGS, "price")}
    starts = {flag: np.full(len(faces), "", dtype=object) for flag in on}
    for reach in reaches:
        inside = reach.holds(points)
        starts[reach.flag][inside & ~on[reach.flag]] = reach.size
        on[reach.flag] |= inside
    flags = ["+".join(flag for flag in FLAGS if on[flag][i]) or "open" for i in range(len(faces))]
    return pd.DataFrame(
        {"flags": flags, "fall_from": starts["fall_reach"], "power_from": starts["power_line"],
         "price_from": starts["price"]}
    )  # fmt: skip


def _things(zone: shapely.Geometry, flags: str, reaches: list[Reach]) -> list[int]:
    """Return the features that gave a zone the first of its flags, in their order."""
    flag = next((flag for flag in TOLD if flag in flags), "")
    return sorted(
        {row for reach in reaches if reach.flag == flag for row in reach.things(zone).tolist()}
    )
