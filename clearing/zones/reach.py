"""The ground within reach of what may not be hit, wetted or poisoned: one shape a side or corner.

A whole line's buffer is not used, since it smooths bends by up to a hundredth of the distance.
Beside a straight side the distance is exact; round a corner the drawn circle has its sides on the
true one, so that no ground within reach is left out (0.12 % too far at most; 0.001 % round a well
or spring).
"""

import math
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.rates import Rates

WET = ("water", "well")
HARD = ("building", "public_road", "power_line")
OWN_THINGS = ("fence", "farm_road", "trail")  # a price, not a ban
KEPT_OFF = (*HARD, "property_line", *OWN_THINGS, "gate")  # an owner's setback here bars standing
FALLS_FROM = "1_3in"  # thinner stems reach nothing when they fall; own choice
ASSUMED_TREE_M = 6.0  # crown of a neighbour's tree that nobody measured; own choice
CORNERS = 16  # of a drawn quarter circle; own choice
FINE_CORNERS = 180  # the same around a well or a spring; own choice
INNER_M = 0.01  # ground that reaches into a zone by less than this is not named; own choice


Ground = tuple[np.ndarray, np.ndarray]  # shapes, and the row of the thing behind each


@dataclass(frozen=True)
class Reach:
    """The ground of one flag and size class in pieces, with a tree to find those of a strip.

    ``inner`` holds the same ground a centimetre short, and ``inner_of`` the row of the feature
    behind each of its pieces: what meets it does more than touch.
    """

    flag: str
    size: str
    shapes: np.ndarray
    tree: shapely.STRtree
    inner: shapely.STRtree
    inner_of: np.ndarray

    def over(self, shape: shapely.Geometry) -> shapely.Geometry | None:
        """Return the ground that touches a shape as one area, None where there is none."""
        found = self.tree.query(shape, predicate="intersects")
        return shapely.union_all(self.shapes[np.sort(found)]) if len(found) else None

    def holds(self, points: np.ndarray) -> np.ndarray:
        """Return whether each point lies on the ground."""
        found = np.zeros(len(points), dtype=bool)
        found[self.tree.query(points, predicate="intersects")[0]] = True
        return found

    def things(self, shape: shapely.Geometry) -> np.ndarray:
        """Return the rows of the features whose ground a shape shares, in order."""
        return np.unique(self.inner_of[self.inner.query(shape, predicate="intersects")])


def fixed_reaches(
    features: gpd.GeoDataFrame, keep_trees: gpd.GeoDataFrame, rates: Rates
) -> list[Reach]:
    """Return the ground by water and wells, and around what stays and must not be poisoned.

    Water, wells: the owner's setback, else the handbook's. Keep trees: the larger of twice the
    crown's radius and 5 m from the stem. Neighbours' trees: the same for an assumed crown (drawn
    as an area: one more radius beyond it), or the owner's setback if that is larger. Crops: the
    owner's setback, no ground where none is given.

    References
    ----------
    ditomaso_kyser_2007
    """
    points = features.geom_type.isin(["Point", "MultiPoint"]).to_numpy()
    wets = np.isin(features["kind"].to_numpy(), WET)
    far, shapes = fixed_distances(features, rates), features.geometry.to_numpy()
    fine, wet = np.where(wets & points, far, -1.0), np.where(wets & ~points, far, -1.0)
    water = _reach("water_edge", "", shapes, wet, ground_around(shapes, fine, FINE_CORNERS))
    factor = rates.figure("zone", "dripline_factor").value
    least = rates.figure("zone", "dripline_min_m").value
    own = np.maximum(factor * keep_trees["crown_m"].to_numpy(float) / 2, least)
    trees, _ = ground_around(keep_trees.geometry.to_numpy(), own)
    unnamed = (trees, np.full(len(trees), -1))
    return [water, _reach("dripline", "", shapes, np.where(wets, -1.0, far), unnamed)]


def fixed_distances(features: gpd.GeoDataFrame, rates: Rates) -> np.ndarray:
    """Return how far from each feature its ground reaches whatever grows there [m]; -1 for none.

    Parameters
    ----------
    features : GeoDataFrame
        kind, setback_m, geometry.
    rates : Rates
        Figures of the subject ``zone``.

    References
    ----------
    ditomaso_kyser_2007
    """
    kind, asked = features["kind"].to_numpy(), features["setback_m"].to_numpy(float)
    far = np.full(len(features), -1.0)
    for name, item in zip(WET, ("water_edge_m", "well_m"), strict=True):
        default = rates.figure("zone", item).value
        far = np.where(kind == name, np.where(np.isnan(asked), default, asked), far)
    factor = rates.figure("zone", "dripline_factor").value
    least = rates.figure("zone", "dripline_min_m").value
    radius = np.sqrt(features.area.to_numpy() / math.pi)  # drawn as an area: the crown itself
    rule = np.where(radius > 0, (factor - 1) * radius, factor * ASSUMED_TREE_M / 2)
    rule = np.fmax(np.fmax(rule, asked), least)
    far = np.where(kind == "neighbour_tree", rule, far)
    return np.where((kind == "crop") & ~np.isnan(asked), asked, far)


def height_reaches(
    features: gpd.GeoDataFrame,
    height: dict[str, float],
    beyond: shapely.Geometry | None,
    rates: Rates,
) -> list[Reach]:
    """Return the ground from which stems of each size class reach somebody, wires or own things.

    Fall reach [m]: 1.5 upper heights from buildings, public roads and power lines, one from the
    property line, all ground beyond it; an owner's setback on any of these, or on an own fence,
    road, trail or gate, holds where it is larger. Wires: sqrt((H + clearance)^2 - wire height^2),
    none where the root is not real. Price: one height from the owner's own things.

    Parameters
    ----------
    features : GeoDataFrame
        kind, setback_m, geometry.
    height : dict
        Upper height of each size class, thinnest first, as `upper_heights` gives it [m].
    beyond : Polygon or MultiPolygon or None
        The neighbours' side of the property line.
    rates : Rates
        Figures of the subject ``zone``.

    References
    ----------
    danger_tree_guide; own reasoning for the wires
    """
    order, kind = list(height), features["kind"].to_numpy()
    shapes, own = outlines(features), np.isin(kind, OWN_THINGS)
    over = _neighbours_side(beyond, kind)
    out = []
    for number, (name, tall) in enumerate(height.items()):
        falls = number >= order.index(FALLS_FROM)
        out.append(_reach("power_line", name, shapes, wire_distances(features, tall, falls, rates)))
        if falls:
            out.append(_reach("fall_reach", name, shapes, fall_distances(features, tall, rates),
                              over))  # fmt: skip
            out.append(_reach("price", name, shapes, np.where(own, tall, -1.0)))
    return out


def fall_distances(features: gpd.GeoDataFrame, tall_m: float, rates: Rates) -> np.ndarray:
    """Return how far from each feature a stem of a height may hit it [m]; -1 where it may.

    The owner's setback holds where it is larger.

    Parameters
    ----------
    features : GeoDataFrame
        kind, setback_m.
    tall_m : float
        Upper height of the stems [m].
    rates : Rates
        Figures of the subject ``zone``.

    References
    ----------
    danger_tree_guide
    """
    kind, asked = features["kind"].to_numpy(), features["setback_m"].to_numpy(float)
    factor = np.full(len(features), np.nan)
    factor[np.isin(kind, HARD)] = rates.figure("zone", "fall_factor_hard").value
    factor[kind == "property_line"] = rates.figure("zone", "fall_factor_line").value
    asked = np.where(np.isin(kind, KEPT_OFF), asked, np.nan)
    return np.nan_to_num(np.fmax(factor * tall_m, asked), nan=-1.0)


def wire_distances(
    features: gpd.GeoDataFrame, tall_m: float, falls: bool, rates: Rates
) -> np.ndarray:
    """Return how far from each power line a stem of a height may come too near it [m]; else -1.

    The owner's setback holds where it is larger, for stems that fall.

    References
    ----------
    own reasoning
    """
    kind, asked = features["kind"].to_numpy(), features["setback_m"].to_numpy(float)
    wire = _wire_reach(tall_m, rates)
    return np.where(kind == "power_line", np.fmax(asked, wire) if falls else wire, -1.0)


def _neighbours_side(beyond: shapely.Geometry | None, kind: np.ndarray) -> Ground:
    """Return the ground beyond the property line in pieces, all of the line's row."""
    parts = shapely.get_parts(beyond) if beyond is not None else np.array([], dtype=object)
    line = int(np.argmax(kind == "property_line")) if len(parts) else -1
    return parts, np.full(len(parts), line)


def _wire_reach(height_m: float, rates: Rates) -> float:
    """Return how far from a wire a stem of a height comes within the clearance [m]; -1 if never."""
    clearance = rates.figure("zone", "power_clearance_m").value
    wire = rates.figure("zone", "power_wire_height_m").low
    square = (height_m + clearance) ** 2 - wire**2
    return math.sqrt(square) if square > 0 else -1.0


def outlines(features: gpd.GeoDataFrame) -> np.ndarray:
    """Return the shapes of features, property lines drawn as areas by their common outline.

    References
    ----------
    own reasoning
    """
    shapes = features.geometry.to_numpy().copy()
    areas = (features["kind"] == "property_line").to_numpy() & (shapely.get_dimensions(shapes) == 2)
    if areas.any():
        first, *others = np.flatnonzero(areas)
        shapes[first] = shapely.boundary(shapely.union_all(shapely.make_valid(shapes[areas])))
        shapes[others] = shapely.MultiLineString()
    return shapes


def beyond_the_line(
    features: gpd.GeoDataFrame, ground: gpd.GeoSeries, around_m: float = 1.0
) -> shapely.Geometry | None:
    """Return the neighbours' side of a closed property line, None where no line closes.

    The side that holds most of the ground is the owner's: a line around the property, drawn as an
    area, as one closed line or as several that meet, and a line around somebody else's piece
    inside it all count.

    Parameters
    ----------
    features : GeoDataFrame
        kind, geometry.
    ground : GeoSeries
        The owner's strips or blocks.
    around_m : float
        How far round the ground the neighbours' side is wanted [m].

    References
    ----------
    own reasoning
    """
    inside = within_the_line(features)
    if inside is None or not len(ground):
        return None
    within = float(ground.intersection(inside).area.sum())
    if within < 0.5 * float(ground.area.sum()):
        return inside
    west, south, east, north = ground.total_bounds.tolist()
    far = around_m
    return shapely.box(west - far, south - far, east + far, north + far).difference(inside)


def within_the_line(features: gpd.GeoDataFrame) -> shapely.Geometry | None:
    """Return the ground that property lines close round, None where none closes.

    References
    ----------
    own reasoning
    """
    lines = features[features["kind"] == "property_line"]
    inside = shapely.build_area(shapely.union_all(outlines(lines))) if len(lines) else None
    return None if inside is None or inside.is_empty else inside


def ground_around(shapes: np.ndarray, distance_m: np.ndarray, corners: int = CORNERS) -> Ground:
    """Return the ground within a distance of shapes: areas, a rectangle a side, a circle a corner.

    Parameters
    ----------
    shapes : array of Geometry
        Points, lines or areas.
    distance_m : array of float
        One a shape [m]; at 0 an area is itself, below 0 there is no ground.
    corners : int
        Corners of a quarter circle.

    Returns
    -------
    array of Polygon, array of int
        Pieces of ground, and the row of the shape behind each.

    References
    ----------
    own reasoning
    """
    wanted = np.flatnonzero(distance_m >= 0)
    parts, at = _simple_parts(shapes[wanted])
    of = wanted[at]
    area = shapely.get_dimensions(parts) == 2
    areas, area_of = parts[area], of[area]
    reaching = distance_m[of] > 0
    parts, of = parts[reaching], of[reaching]
    lines = np.where(shapely.get_dimensions(parts) == 2, shapely.boundary(parts), parts)
    lines, line_of = shapely.get_parts(lines, return_index=True)
    xy, at = shapely.get_coordinates(lines, return_index=True)
    owner = of[line_of[at]] if len(xy) else np.array([], dtype=int)
    same = at[1:] == at[:-1]
    start, end, side_of = xy[:-1][same], xy[1:][same], owner[1:][same]
    real = (start != end).any(axis=1)
    sides = _rectangles(start[real], end[real], distance_m[side_of[real]])
    spots, at = np.unique(np.column_stack([owner, xy]), axis=0, return_index=True)
    spot_of = spots[:, 0].astype(int)
    circles = _circles(spots[:, 1:], distance_m[spot_of], _headings(xy, same)[at], corners)
    return (
        np.concatenate([areas, sides, circles]),
        np.concatenate([area_of, side_of[real], spot_of]),
    )


def _headings(xy: np.ndarray, same: np.ndarray) -> np.ndarray:
    """Return the direction of a side at each corner [radians]; 0 at a point."""
    turn = np.zeros(len(xy))
    along = np.arctan2(np.diff(xy[:, 1]), np.diff(xy[:, 0]))
    turn[1:][same] = along[same]
    turn[:-1][same] = along[same]
    return turn


def _simple_parts(shapes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return points, lines and sound polygons one by one, and the shape each belongs to."""
    of = np.arange(len(shapes))
    for mend in (False, True, False):  # collections may hold collections
        shapes = shapely.make_valid(shapes) if mend else shapes
        shapes, at = shapely.get_parts(shapes, return_index=True)
        of = of[at]
    return shapes, of


def _rectangles(start: np.ndarray, end: np.ndarray, far: np.ndarray) -> np.ndarray:
    """Return the rectangle that reaches a distance to both sides of each side."""
    along = end - start
    off = np.column_stack([-along[:, 1], along[:, 0]])
    off *= (far / np.hypot(along[:, 0], along[:, 1]))[:, None]
    return shapely.polygons(np.stack([start + off, start - off, end - off, end + off], axis=1))


def _circles(centres: np.ndarray, far: np.ndarray, heading: np.ndarray, corners: int) -> np.ndarray:
    """Return a polygon around each circle, its sides on the circle, one of them along a heading.

    So a corner in a straight line adds nothing to the rectangles beside it.
    """
    step = math.pi / (2 * corners)
    turn = heading[:, None] + (np.arange(4 * corners) + 0.5) * step
    out = far[:, None] / math.cos(step / 2)
    xy = np.stack([out * np.cos(turn), out * np.sin(turn)], axis=2)
    return shapely.polygons(centres[:, None, :] + xy)


def _reach(
    flag: str, size: str, shapes: np.ndarray, far: np.ndarray, more: Ground | None = None
) -> Reach:
    """Return the reach around shapes, and more ground of known things, with its trees.

    Ground of row -1 has no name.
    """
    pieces, _ = ground_around(shapes, far)
    inner, of = ground_around(shapes, far - INNER_M)
    if more is not None:
        pieces = np.concatenate([pieces, more[0]])
        named = more[1] >= 0
        inner = np.concatenate([inner, more[0][named]])
        of = np.concatenate([of, more[1][named]])
    return Reach(flag, size, pieces, shapely.STRtree(pieces), shapely.STRtree(inner), of)


def upper_heights(stocking: pd.DataFrame, rates: Rates) -> dict[str, dict[str, float]]:
    """Return for each block the upper height of each size class, thinnest first [m].

    A class that is not listed has the height of the next thinner one.

    References
    ----------
    own reasoning
    """
    order = rates.sizes.sort_values("order")["size_class"].tolist()
    tall = stocking.groupby(["block_id", "size_class"])["upper_height_m"].max().unstack()
    tall = tall.reindex(columns=order).fillna(0.0).cummax(axis=1)
    return {str(block): row for block, row in tall.to_dict("index").items()}
