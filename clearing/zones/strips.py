"""Cut each block into strips: the owner's own, else natural lines, else across the long axis."""

import itertools
import math
import string
from collections.abc import Iterator
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely import affinity

from clearing.tables import columns

NATURAL = ("water", "fence", "trail", "farm_road")  # lines a strip should end at
ACCESS = ("gate", "farm_road", "public_road", "trail")  # ways in, best first
WHOLE_UP_TO = 1.5  # a piece up to this many wished areas stays whole; own choice
SLIVER = 0.35  # a piece below this share of the wished area joins its neighbour; own choice


def cut_strips(
    blocks: gpd.GeoDataFrame,
    features: gpd.GeoDataFrame,
    own: gpd.GeoDataFrame,
    wish_ha: float,
) -> gpd.GeoDataFrame:
    """Return the strips of every block; together they tile it.

    Parameters
    ----------
    blocks, features : GeoDataFrame
        As ``walk/blocks`` and ``walk/features``.
    own : GeoDataFrame
        The owner's own strips in the grid (may be empty); ground of a block that they leave out
        becomes a further strip.
    wish_ha : float
        Wished area of a strip [ha].

    Returns
    -------
    GeoDataFrame
        As ``walk/strips``.

    References
    ----------
    own reasoning
    """
    rows: list[tuple[Any, ...]] = []
    given = {str(name) for name in [*blocks["block_id"], *own["strip_id"]]}
    for block in blocks.itertuples():
        drawn = own[own["block_id"] == block.block_id] if len(own) else own
        access = way_in_point(block.geometry, features)
        taken = (given - {block.block_id}) | {str(row[0]) for row in rows}
        if len(drawn):
            named = _own_pieces(block, drawn, taken)
        else:
            pieces = _pieces(block.geometry, features, wish_ha * 1e4, access)
            named = _named(block.block_id, block.name, pieces, taken)
        for strip_id, name, shape in named:
            entry = shapely.get_point(shapely.shortest_line(access, shape), -1)
            rows.append((strip_id, block.block_id, name, shape.area / 1e4, access.distance(shape),
                         entry.x, entry.y, shape))  # fmt: skip
    frame = pd.DataFrame(rows, columns=columns("strips"))
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=blocks.crs)


def way_in_point(shape: shapely.Geometry, features: gpd.GeoDataFrame) -> shapely.Point:
    """Return where a crew comes from: the nearest gate, else road or trail, else the edge itself.

    References
    ----------
    own reasoning
    """
    for kind in ACCESS:
        found = features[features["kind"] == kind]
        if len(found):
            nearest = found.geometry.iloc[int(found.distance(shape).to_numpy().argmin())]
            return shapely.get_point(shapely.shortest_line(nearest, shape), 0)
    return shapely.get_point(shapely.shortest_line(shape.boundary, shape.centroid), 0)


def _own_pieces(
    block: Any, drawn: gpd.GeoDataFrame, taken: set[str]
) -> list[tuple[str, str, shapely.Geometry]]:
    """Return the owner's strips cut to the block, and what they leave of it."""
    left, named = block.geometry, []
    for row in drawn.itertuples():
        shape = left.intersection(shapely.make_valid(row.geometry))
        if shape.area > 1.0:
            name = row.name if isinstance(row.name, str) and row.name else row.strip_id
            named.append((str(row.strip_id), str(name), shape))
            left = left.difference(shape)
    if left.area > 1.0:
        rest = _free(f"{block.block_id}", ["rest"], taken)
        named.append((*rest, f"{block.name}, the rest", left))
    return named


def _named(
    block_id: str, name: str, pieces: list[shapely.Geometry], taken: set[str]
) -> list[tuple[str, str, shapely.Geometry]]:
    """Return pieces with ids: the block's own when it stays whole, else 4a, 4b and so on."""
    if len(pieces) == 1 and block_id not in taken:
        return [(block_id, name, pieces[0])]
    letters = list(itertools.islice(_letters(), len(pieces)))
    stem = block_id if block_id[-1:].isdigit() else f"{block_id}-"
    ids = _free(stem, letters, taken)
    return [
        (strip_id, f"{name} {letter}", piece)
        for strip_id, letter, piece in zip(ids, letters, pieces, strict=True)
    ]


def _letters() -> Iterator[str]:
    """Yield a, b ... z, aa, ab and so on."""
    for length in itertools.count(1):
        for letters in itertools.product(string.ascii_lowercase, repeat=length):
            yield "".join(letters)


def _free(stem: str, ends: list[str], taken: set[str]) -> list[str]:
    """Return stem and end joined, with dashes between where an id would stand twice."""
    while taken.intersection(f"{stem}{end}" for end in ends):
        stem += "-"
    return [f"{stem}{end}" for end in ends]


def _pieces(
    shape: shapely.Geometry, features: gpd.GeoDataFrame, wish_m2: float, access: shapely.Point
) -> list[shapely.Geometry]:
    """Return the strips of one block, nearest to the way in first."""
    if shape.area <= WHOLE_UP_TO * wish_m2:
        return [shape]
    pieces = []
    for part in _natural_parts(shape, features, wish_m2):
        number = max(1, round(part.area / wish_m2)) if part.area > WHOLE_UP_TO * wish_m2 else 1
        pieces += _across(part, number, access)
    pieces = _joined(pieces, SLIVER * wish_m2)
    return sorted(pieces, key=lambda piece: (round(access.distance(piece.centroid), 3), piece.area))


def _natural_parts(
    shape: shapely.Geometry, features: gpd.GeoDataFrame, wish_m2: float
) -> list[shapely.Geometry]:
    """Return the block cut at creeks, fences, trails and farm roads, without slivers."""
    lines = features[
        features["kind"].isin(NATURAL)
        & features.geom_type.isin(["LineString", "MultiLineString"])
        & features.intersects(shape)
    ]
    if not len(lines):
        return _parts(shape)
    net = shapely.union_all([*lines.geometry, shape.boundary])
    cells = shapely.get_parts(shapely.polygonize([net]))
    inside = [cell for cell in cells if shape.contains(cell.representative_point())]
    return _joined(inside, SLIVER * wish_m2) or _parts(shape)


def _parts(shape: shapely.Geometry) -> list[shapely.Geometry]:
    """Return the polygons of a shape."""
    return [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]


def _across(shape: shapely.Geometry, number: int, access: shapely.Point) -> list[shapely.Geometry]:
    """Return a polygon cut across its long axis into parts of equal area, from the way in."""
    if number == 1:
        return [shape]
    box = shapely.minimum_rotated_rectangle(shape)
    corners = np.asarray(box.exterior.coords)
    sides = corners[1:3] - corners[0:2]
    long_side = sides[int(np.argmax(np.hypot(sides[:, 0], sides[:, 1])))]
    angle = math.degrees(math.atan2(long_side[1], long_side[0]))
    centre = shape.centroid
    turned = affinity.rotate(shape, -angle, origin=centre)
    way_in = affinity.rotate(access, -angle, origin=centre)
    west, south, east, north = turned.bounds
    cuts = [_cut_at(turned, i / number) for i in range(1, number)]
    edges = [west - 1, *cuts, east + 1]
    parts = []
    for left, right in itertools.pairwise(edges):
        window = shapely.box(left, south - 1, right, north + 1)
        # cut the shape as it lies, so that neighbours share the very same corners
        parts += _parts(shape.intersection(affinity.rotate(window, angle, origin=centre)))
    return parts if way_in.x <= (west + east) / 2 else parts[::-1]


def _cut_at(turned: shapely.Geometry, share: float) -> float:
    """Return the x left of which the wished share of the area lies."""
    west, south, east, north = turned.bounds
    low, high = west, east
    for _ in range(60):
        middle = (low + high) / 2
        if turned.intersection(shapely.box(west, south, middle, north)).area < share * turned.area:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _joined(pieces: list[shapely.Geometry], least_m2: float) -> list[shapely.Geometry]:
    """Return the pieces with each one that is too small joined to its longest neighbour."""
    pieces = list(pieces)
    while len(pieces) > 1:
        small = min(range(len(pieces)), key=lambda i: pieces[i].area)
        if pieces[small].area >= least_m2:
            break
        lone = pieces.pop(small)
        shared = [lone.boundary.intersection(other.buffer(0.01)).length for other in pieces]
        far = [lone.distance(other) for other in pieces]
        best = min(range(len(pieces)), key=lambda i: (-shared[i], far[i]))
        pieces[best] = shapely.union_all([pieces[best], lone])
    return pieces
