"""Mend what an owner's hand let slip in drawing blocks, and say by how much each one changed."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.land.edges import drawn_together
from clearing.land.overlay import areas_of, ground, less, shared
from clearing.land.rings import mended_ring
from clearing.land.words import area_words
from clearing.tables import columns

BARRIERS = ("farm_road", "public_road", "water", "trail", "building", "crop")
WORTH_SAYING_M2 = 1.0  # smaller changes stand in the table and not in the notes; own choice
ROUNDING_M2 = 0.05  # smaller pieces are counted with the rest of an edge; own choice
REACH_M = 5.0  # blocks further off have no part in an edge; own choice, twice the widest gap
TOUCH_M = 1e-3  # nearer than this is touching: rounding


def mend_blocks(
    blocks: gpd.GeoDataFrame, features: gpd.GeoDataFrame | None = None
) -> tuple[gpd.GeoDataFrame, pd.DataFrame]:
    """Return blocks with slips of the hand mended, and what was done to each.

    Outlines that cross themselves by little, spikes and tiny parts first, then small gaps and
    overlaps between neighbours. What is too much for a slip stays as it was drawn (the problems of
    `shape_problems`). A block that is well drawn keeps every corner. The changes of a block add up
    to the change of its area.

    Parameters
    ----------
    blocks : GeoDataFrame
        block_id, geometry (polygons) in the grid [m].
    features : GeoDataFrame
        kind, geometry in the grid; a gap along a road or creek is meant when wider than a metre.

    Returns
    -------
    GeoDataFrame
        The blocks, rows and other columns as they were.
    DataFrame
        block_id, change (words), area_m2 (signed).

    References
    ----------
    own reasoning
    """
    shapes = blocks.geometry.to_numpy().copy()
    ids = blocks["block_id"].astype(str).tolist()
    rows: list[tuple[str, str, float]] = []
    for i, shape in enumerate(shapes):
        shapes[i], changes = mended_ring(shape)
        rows += [(ids[i], words, area) for words, area in changes]
    barriers = np.array([], dtype=object)
    if features is not None and len(features):
        barriers = features.geometry[features["kind"].isin(BARRIERS)].to_numpy()
        barriers = shapely.make_valid(barriers[~(shapely.is_missing(barriers))])
    # by place, so that neither the order of the rows nor the names decide
    order = np.lexsort(shapely.bounds(shapes).T)
    together = shapes.copy()
    together[order] = drawn_together(shapes[order], barriers)
    rows += _edge_changes(ids, shapes, together)
    table = pd.DataFrame(rows, columns=columns("mended")).astype({"area_m2": float})
    new = gpd.GeoSeries(together, index=blocks.index, crs=blocks.crs)
    return blocks.set_geometry(new), table


def _edge_changes(ids: list[str], old: np.ndarray, new: np.ndarray) -> list[tuple[str, str, float]]:
    """Return what drawing edges together did to each block; it adds up to the block's change."""
    rows: list[tuple[str, str, float]] = []
    moved = [i for i in range(len(old)) if new[i] is not old[i]]
    old = areas_of(old)
    tree = shapely.STRtree(old)
    for i in moved:
        rest = float(new[i].area - old[i].area)
        near = tree.query(old[i], predicate="dwithin", distance=REACH_M)
        others = sorted(int(j) for j in near if j != i)
        for j in others:
            lost = float(shared(less(shared(old[i], old[j]), new[i]), new[j]).area)
            if lost > ROUNDING_M2:
                rows.append((ids[i], f"an overlap with block {ids[j]} was taken out", -lost))
                rest += lost
        gained = less(new[i], ground(old[near]))
        for j, area in _gaps_closed(gained, others, old).items():
            rows.append((ids[i], f"a gap to block {ids[j]} was closed", area))
            rest -= area
        own = [k for k, row in enumerate(rows) if row[0] == ids[i]]
        if own and abs(rest) < ROUNDING_M2:
            largest = max(own, key=lambda k: abs(rows[k][2]))
            rows[largest] = (*rows[largest][:2], rows[largest][2] + rest)
        elif rest:
            rows.append((ids[i], "its edge was drawn to its neighbors' corners", rest))
    return rows


def _gaps_closed(gained: shapely.Geometry, others: list[int], old: np.ndarray) -> dict[int, float]:
    """Return the open ground that a block took, by the other block on which it lay [m2]."""
    found: dict[int, float] = {}
    for part in shapely.get_parts(gained):
        away = shapely.distance(part, old[others])
        if part.area > ROUNDING_M2 and len(away) and away.min() < TOUCH_M:
            nearest = others[int(np.argmin(away))]
            found[nearest] = found.get(nearest, 0.0) + float(part.area)
    return found


def mended_notes(mended: pd.DataFrame, us: bool) -> list[str]:
    """Return a sentence for each change that an owner would want to know of.

    References
    ----------
    own reasoning
    """
    said = mended[mended["area_m2"].abs() > WORTH_SAYING_M2]
    return [
        f"block {row.block_id}: {row.change} "
        f"({'-' if row.area_m2 < 0 else '+'}{area_words(abs(row.area_m2), us)})"
        for row in said.itertuples()
    ]
