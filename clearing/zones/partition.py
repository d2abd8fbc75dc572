"""Draw the zones of each strip by exact overlay: one set of rules each, together the strip."""

import math

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.rates import Rates
from clearing.tables import columns

HARD = ("building", "public_road", "power_line")
OWN_THINGS = ("fence", "farm_road", "trail")  # a price, not a ban
FALLS_FROM = "1_3in"  # thinner stems reach nothing when they fall; own choice
ASSUMED_TREE_M = 6.0  # crown of a neighbour's tree that nobody measured; own choice
CORNERS = 16  # of a drawn quarter circle; own choice

Piece = tuple[shapely.Geometry, frozenset[str], str, str]  # shape, flags, fall_from, power_from


def draw_zones(
    strips: gpd.GeoDataFrame,
    features: gpd.GeoDataFrame,
    keep_trees: gpd.GeoDataFrame,
    stocking: pd.DataFrame,
    rates: Rates,
) -> gpd.GeoDataFrame:
    """Return the zones of all strips: a partition by what lies in reach of whom.

    Fall reach of a size class: 1.5 of its upper heights from buildings, public roads and power
    lines, one from the property line. Power line: where a stem of the class, falling any way,
    comes within the clearance of a wire at the assumed height. Water edge and wells by the owner's
    setback, else the handbook's. Dripline: the larger of twice the crown's radius and 5 m.

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
    heights = stocking.groupby(["block_id", "size_class"])["upper_height_m"].max()
    water = _setback_ground(features, rates)
    dripline = _dripline_ground(features, keep_trees, rates)
    order = rates.sizes.sort_values("order")["size_class"].tolist()
    rows = []
    for strip in strips.itertuples():
        height = {name: float(heights.get((strip.block_id, name), 0.0)) for name in order}
        pieces: list[Piece] = [(strip.geometry, frozenset(), "", "")]
        pieces = _split(pieces, water, "water_edge")
        pieces = _split(pieces, dripline, "dripline")
        pieces = _banded(pieces, fall_reaches(features, height, order, rates), "fall_reach")
        pieces = _banded(pieces, power_reaches(features, height, order, rates), "power_line")
        rows += _rows(strip.strip_id, pieces, features, height, order)
    frame = pd.DataFrame(rows, columns=columns("zones"))
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=strips.crs)


def fall_reaches(
    features: gpd.GeoDataFrame, height: dict[str, float], order: list[str], rates: Rates
) -> list[tuple[str, shapely.Geometry]]:
    """Return for each size class the ground from which its dead stems could reach somebody.

    reach = factor x upper height [m].

    References
    ----------
    danger_tree_guide
    """
    hard = features[features["kind"].isin(HARD)].geometry
    line = features[features["kind"] == "property_line"].geometry
    line = line.map(lambda shape: shape.boundary if shape.geom_type.endswith("Polygon") else shape)
    over_hard = rates.figure("zone", "fall_factor_hard").value
    over_line = rates.figure("zone", "fall_factor_line").value
    reaches = []
    for name in order[order.index(FALLS_FROM) :]:
        areas = [*_around(hard, over_hard * height[name]), *_around(line, over_line * height[name])]
        reaches.append((name, shapely.union_all(areas)))
    return reaches


def power_reaches(
    features: gpd.GeoDataFrame, height: dict[str, float], order: list[str], rates: Rates
) -> list[tuple[str, shapely.Geometry]]:
    """Return for each size class the ground from which a stem could come near the wires.

    d = sqrt((H + clearance)^2 - wire height^2) [m], none where the root is not real.

    References
    ----------
    own reasoning
    """
    lines = features[features["kind"] == "power_line"].geometry
    clearance = rates.figure("zone", "power_clearance_m").value
    wire = rates.figure("zone", "power_wire_height_m").low
    reaches = []
    for name in order:
        square = (height[name] + clearance) ** 2 - wire**2
        area = _around(lines, math.sqrt(square)) if square > 0 else []
        reaches.append((name, shapely.union_all([*area])))
    return reaches


def _around(shapes: gpd.GeoSeries, distance_m: float | np.ndarray) -> list[shapely.Geometry]:
    """Return the ground within a distance of each shape, none of it left out.

    A drawn circle has its corners on the true one and its sides inside it; here the sides touch
    the true circle (0.12 % too far at most). Lines are taken side by side, since a buffer around a
    whole line smooths its bends by up to a hundredth of the distance.
    """
    far = np.broadcast_to(distance_m, len(shapes)) / math.cos(math.pi / (4 * CORNERS))
    return [
        shapely.union_all([shape, *shapely.buffer(_sides(shape), each, quad_segs=CORNERS)])
        for shape, each in zip(shapes, far, strict=True)
    ]


def _sides(shape: shapely.Geometry) -> np.ndarray:
    """Return the sides of lines and outlines one by one, and points as they are."""
    outline = shape.boundary if shape.geom_type.endswith("Polygon") else shape
    sides: list[shapely.Geometry] = []
    for part in shapely.get_parts(outline):
        corners = shapely.get_coordinates(part)
        if len(corners) < 2:
            sides.append(part)
            continue
        sides += [*shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1))]
    return np.array(sides, dtype=object)


def _setback_ground(features: gpd.GeoDataFrame, rates: Rates) -> shapely.Geometry:
    """Return the ground within the setback of water and wells."""
    areas = []
    for kind, item in (("water", "water_edge_m"), ("well", "well_m")):
        found = features[features["kind"] == kind]
        default = rates.figure("zone", item).value
        areas += [*_around(found.geometry, found["setback_m"].fillna(default).to_numpy(float))]
    return shapely.union_all(areas)


def _dripline_ground(
    features: gpd.GeoDataFrame, keep_trees: gpd.GeoDataFrame, rates: Rates
) -> shapely.Geometry:
    """Return the ground under and around keep trees and neighbours' trees."""
    factor = rates.figure("zone", "dripline_factor").value
    least = rates.figure("zone", "dripline_min_m").value
    own = _around(
        keep_trees.geometry, np.maximum(factor * keep_trees["crown_m"] / 2, least).to_numpy(float)
    )
    theirs = features[features["kind"] == "neighbour_tree"].geometry
    theirs = _around(theirs, max(factor * ASSUMED_TREE_M / 2, least))
    return shapely.union_all([*own, *theirs])


def _split(pieces: list[Piece], ground: shapely.Geometry, flag: str) -> list[Piece]:
    """Return each piece cut into what lies on the ground of a flag and what does not."""
    out: list[Piece] = []
    for shape, flags, fall, power in pieces:
        inside = shape.intersection(ground)
        if inside.area == 0:
            out.append((shape, flags, fall, power))
            continue
        out.append((_polygons(inside), flags | {flag}, fall, power))
        outside = shape.difference(ground)
        if outside.area > 0:
            out.append((_polygons(outside), flags, fall, power))
    return out


def _banded(
    pieces: list[Piece], reaches: list[tuple[str, shapely.Geometry]], flag: str
) -> list[Piece]:
    """Return each piece cut into bands by the smallest size class that reaches from it."""
    done: list[Piece] = []
    for name, ground in reaches:
        left: list[Piece] = []
        for piece in pieces:
            for shape, flags, fall, power in _split([piece], ground, flag):
                if flag not in flags:
                    left.append((shape, flags, fall, power))
                elif flag == "fall_reach":
                    done.append((shape, flags, name, power))
                else:
                    done.append((shape, flags, fall, name))
        pieces = left
    return done + pieces


def _polygons(shape: shapely.Geometry) -> shapely.Geometry:
    """Return the areas of a shape without stray lines and points."""
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        return shape
    areas = [part for part in shapely.get_parts(shape) if part.geom_type.endswith("Polygon")]
    return shapely.union_all(areas)


def _rows(
    strip_id: str,
    pieces: list[Piece],
    features: gpd.GeoDataFrame,
    height: dict[str, float],
    order: list[str],
) -> list[tuple]:
    """Return one row a zone; pieces under the same rules are one zone."""
    groups: dict[tuple[str, str, str], list[shapely.Geometry]] = {}
    for shape, flags, fall, power in pieces:
        key = ("+".join(sorted(flags)) or "open", fall, power)
        groups.setdefault(key, []).append(shape)
    rows = []
    for number, (key, shapes) in enumerate(sorted(groups.items()), start=1):
        shape = shapes[0] if len(shapes) == 1 else shapely.union_all(shapes)
        area = sum(each.area for each in shapes)
        near = _near(shape, key[0], features, max(height.values()))
        price = _price_from(shape, features, height, order)
        rows.append((f"{strip_id}:{number}", strip_id, *key, near, price, area / 1e4, shape))
    return rows


WATCHED = {
    "fall_reach": (*HARD, "property_line"),
    "power_line": ("power_line",),
    "water_edge": ("water", "well"),
    "dripline": ("neighbour_tree",),
}


def _near(shape: shapely.Geometry, flags: str, features: gpd.GeoDataFrame, height_m: float) -> str:
    """Return what lies in reach of a zone and gave it the first of its flags, in words."""
    kinds = next((kinds for flag, kinds in WATCHED.items() if flag in flags), ())
    watched = features[features["kind"].isin(kinds)]
    close = watched[watched.distance(shape) <= 1.5 * height_m]
    return ", ".join(dict.fromkeys(str(name) for name in close["name"]))


def _price_from(
    shape: shapely.Geometry, features: gpd.GeoDataFrame, height: dict[str, float], order: list[str]
) -> str:
    """Return the smallest size class that could fall on the owner's own fence, road or trail."""
    own = features[features["kind"].isin(OWN_THINGS)]
    if not len(own):
        return ""
    away = float(own.distance(shape).min())
    reaching = [n for n in order[order.index(FALLS_FROM) :] if height[n] >= away]
    return reaching[0] if reaching else ""
