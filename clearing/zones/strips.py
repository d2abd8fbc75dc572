"""Cut each block into strips: the owner's own, else natural lines, else across the long axis."""

import itertools
import string
from collections.abc import Iterator
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.tables import columns
from clearing.zones.cutting import SLIVER, cut_block, fitted
from clearing.zones.footing import Footing, footing, on_foot, walls_in

ACCESS = ("gate", "farm_road", "public_road", "trail")  # ways in, best first

Named = tuple[str, str, shapely.Geometry]  # strip_id, name, shape
CUT = 8  # columns that cutting fills; shade and search ring come later


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
        becomes further strips, scraps of it lie with the strip beside them.
    wish_ha : float
        Wished area of a strip [ha].

    Returns
    -------
    GeoDataFrame
        As ``walk/strips``, block by block in the order given.

    References
    ----------
    own reasoning
    """
    rows: dict[str, list[tuple[Any, ...]]] = {}
    taken = {str(name) for name in [*blocks["block_id"], *own["strip_id"]]}
    walls = footing(walls_in(features))
    for block in sorted(blocks.itertuples(), key=lambda block: str(block.block_id)):
        drawn = own[own["block_id"] == block.block_id] if len(own) else own
        access = way_in_point(block.geometry, features)
        free = taken - {str(block.block_id)}
        if len(drawn):
            named = _own_pieces(block, drawn, (features, wish_ha * 1e4, access), free)
        else:
            pieces = cut_block(block.geometry, features, wish_ha * 1e4, access)
            named = _named(str(block.block_id), str(block.name), pieces, free)
        taken |= {strip_id for strip_id, _, _ in named}
        rows[block.block_id] = strip_rows(block.block_id, named, access, walls)
    table = [row for block_id in blocks["block_id"] for row in rows[block_id]]
    frame = pd.DataFrame(table, columns=columns("strips")[:CUT])
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=blocks.crs)


def strip_rows(
    block_id: str, named: list[Named], access: shapely.Point, walls: Footing
) -> list[tuple[Any, ...]]:
    """Return the rows of one block's strips (``walk/strips``), with the way to each on foot.

    Parameters
    ----------
    block_id : str
        The block.
    named : list of (str, str, Polygon)
        strip_id, name, shape.
    access : Point
        The block's way in.
    walls : Footing
        What nobody walks through.

    References
    ----------
    own reasoning
    """
    shapes = np.array([shape for _, _, shape in named], dtype=object)
    metres, entries = on_foot(access, shapes, walls)
    return [
        (strip_id, block_id, name, shape.area / 1e4, float(far), entry.x, entry.y, shape)
        for (strip_id, name, shape), far, entry in zip(named, metres, entries, strict=True)
    ]


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
    block: Any,
    drawn: gpd.GeoDataFrame,
    ground: tuple[gpd.GeoDataFrame, float, shapely.Point],
    taken: set[str],
) -> list[Named]:
    """Return the owner's strips cut to the block, and what they leave of it."""
    features, wish_m2, access = ground
    left, names, shapes = block.geometry, [], []
    for row in drawn.itertuples():
        shape = areas_of(left.intersection(shapely.make_valid(row.geometry)))
        if shape.area > 0:
            name = row.name if isinstance(row.name, str) and row.name else row.strip_id
            names.append((str(row.strip_id), str(name)))
            shapes.append(shape)
            left = areas_of(left.difference(shape))
    rest = []
    for part in shapely.get_parts(left):
        far = shapely.distance(part, shapes)
        if part.area >= SLIVER * wish_m2 or not len(far):
            rest.append(part)
            continue
        edges = [shapely.intersection(part.boundary, shape.buffer(0.01)).length for shape in shapes]
        at = min(range(len(shapes)), key=lambda i: (-edges[i], far[i]))
        shapes[at] = shapely.union_all([*fitted([shapes[at], part])])
    named = [(*name, shape) for name, shape in zip(names, shapes, strict=True)]
    if rest:
        pieces = cut_block(shapely.union_all(rest), features, wish_m2, access)
        ids = _free(f"{block.block_id}rest", _ends(len(pieces)), taken)
        named += [(strip_id, f"{block.name}, the rest", piece)
                  for strip_id, piece in zip(ids, pieces, strict=True)]  # fmt: skip
    return named


def areas_of(shape: shapely.Geometry) -> shapely.Geometry:
    """Return the areas of a shape without stray lines and points.

    References
    ----------
    own reasoning
    """
    parts = shapely.get_parts(shape)
    areas = parts[shapely.get_dimensions(parts) == 2]
    return areas[0] if len(areas) == 1 else shapely.union_all(areas)


def _named(
    block_id: str, name: str, pieces: list[shapely.Geometry], taken: set[str]
) -> list[Named]:
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


def _ends(number: int) -> list[str]:
    """Return nothing for one piece, else -a, -b and so on."""
    if number == 1:
        return [""]
    return [f"-{letter}" for letter in itertools.islice(_letters(), number)]


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
