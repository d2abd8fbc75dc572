"""Cut the part of a strip off that was done, so that the rest can still be planned."""

from collections.abc import Mapping, Sequence

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.zones.cutting import fitted
from clearing.zones.footing import footing, walls_in
from clearing.zones.strips import areas_of, strip_rows, way_in_point

TOWARDS = {
    "north": (0.0, 1.0), "south": (0.0, -1.0), "east": (1.0, 0.0), "west": (-1.0, 0.0),
}  # fmt: skip
HALVINGS = 60

Part = tuple[str, float, str]  # strip_id of the part, share of the strip that is left, side


def part_off(
    shape: shapely.Geometry, share: float, side: str, entry: shapely.Point
) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Return the part of a shape on one side with so much of its area, and the rest.

    Cut straight across the way to that side. Together they are the shape, and they share their
    corners.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        A strip in the grid.
    share : float
        Of its area, over 0 and below 1.
    side : str
        north, south, east, west, near (where the way in reaches it) or far.
    entry : Point
        Where the way in reaches it.

    References
    ----------
    own reasoning
    """
    along = _direction(shape, side, entry)
    low_x, low_y, high_x, high_y = shape.bounds
    middle = np.array([(low_x + high_x) / 2, (low_y + high_y) / 2])
    reach = float(np.hypot(high_x - low_x, high_y - low_y)) + 1.0
    across = np.array([-along[1], along[0]])

    def beyond(at: float) -> shapely.Geometry:
        near, far = middle + along * at, middle + along * 2 * reach
        corners = [near - across * reach * 2, near + across * reach * 2]
        return shapely.Polygon([*corners, *(far + across * s * reach * 2 for s in (1, -1))])

    low, high = -reach, reach
    for _ in range(HALVINGS):
        at = (low + high) / 2
        if shape.intersection(beyond(at)).area > share * shape.area:
            low = at
        else:
            high = at
    half = beyond((low + high) / 2)
    done, rest = fitted([areas_of(shape.intersection(half)), areas_of(shape.difference(half))])
    return done, rest


def split_strips(
    strips: gpd.GeoDataFrame,
    parts: Mapping[str, Sequence[Part]],
    blocks: gpd.GeoDataFrame,
    features: gpd.GeoDataFrame,
) -> gpd.GeoDataFrame:
    """Return the strips with those of which a part was done in parts, each a strip of its own.

    Parameters
    ----------
    strips : GeoDataFrame
        As `cut_strips` gives them.
    parts : mapping
        Strip -> its parts in the order of the work: id, share of what is then left (the last is
        what remains, with share 1), side.
    blocks, features : GeoDataFrame
        As ``walk/blocks`` and ``walk/features``.

    References
    ----------
    own reasoning
    """
    if not parts:
        return strips
    walls, shapes = footing(walls_in(features)), blocks.set_index("block_id").geometry
    frames = []
    for row in strips.itertuples():
        own = parts.get(str(row.strip_id))
        if not own:
            frames.append(strips[strips["strip_id"] == row.strip_id])
            continue
        entry, left, named = shapely.Point(row.way_in_x_m, row.way_in_y_m), row.geometry, []
        for number, (name, share, side) in enumerate(own):
            last = number == len(own) - 1
            done, left = (left, left) if last else part_off(left, share, side, entry)
            named.append((name, f"{row.name}, part {number + 1}", done))
        access = way_in_point(shapes.loc[row.block_id], features)
        rows = strip_rows(str(row.block_id), named, access, walls)
        frames.append(pd.DataFrame(rows, columns=strips.columns[: len(rows[0])]))
    table = pd.concat(frames, ignore_index=True)[list(strips.columns)]
    return gpd.GeoDataFrame(table, geometry="geometry", crs=strips.crs)


def _direction(shape: shapely.Geometry, side: str, entry: shapely.Point) -> np.ndarray:
    """Return the unit vector towards a side."""
    if side in TOWARDS:
        return np.array(TOWARDS[side])
    way = shapely.get_coordinates(entry)[0] - shapely.get_coordinates(shape.centroid)[0]
    length = float(np.hypot(*way))
    if length < 1e-6:  # the way in reaches its very middle
        return np.array(TOWARDS["south"])
    return way / length * (-1.0 if side == "far" else 1.0)
