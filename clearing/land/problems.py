"""What is wrong with the shapes an owner drew, in the owner's words."""

import geopandas as gpd
import numpy as np
import shapely

from clearing.land.grid import local_grid, to_grid
from clearing.tables import finite, name_list
from clearing.units import HA_PER_ACRE

OVERLAP_SHARE = 0.002  # overlap that is taken for a slip of the hand; own choice
LARGEST_HA = 40_000.0  # more is no farm that two people clear; own choice


def shape_problems(layers: dict[str, gpd.GeoDataFrame], us: bool = True) -> list[str]:
    """Return every problem of the shapes: crossing, overlapping, outside.

    Parameters
    ----------
    layers : dict of GeoDataFrame
        blocks, strips and plots as read; rows without a shape are passed over.
    us : bool
        Speak acres (else hectares).

    References
    ----------
    own reasoning
    """
    blocks = _drawn(layers["blocks"], "Polygon", "MultiPolygon")
    if not len(blocks) or blocks.crs is None:
        return []
    if blocks.crs.is_geographic and not _in_degrees(blocks):
        return ["blocks: the coordinates are no degrees, and the coordinate system says they are; "
                "set the system in which they were drawn"]  # fmt: skip
    problems = _crossing(blocks, "block", "block_id")
    grid = local_grid(blocks)
    blocks = to_grid(blocks, grid)
    if not np.isfinite(blocks.total_bounds).all():
        return [
            *problems,
            "blocks: the shapes lie outside the world; check their coordinate system",
        ]
    big = blocks[blocks.area > LARGEST_HA * 1e4]
    if len(big):
        problems.append(f"blocks: block {name_list(big['block_id'])} is larger than a county farm; "
                        "check the coordinate system")  # fmt: skip
    problems += _overlaps(blocks, us)
    plots = _drawn(layers["plots"], "Point")
    if len(plots) and plots.crs is not None and "plot_id" in plots:
        problems += _plots_outside(to_grid(plots, grid), blocks, us)
    strips = _drawn(layers["strips"], "Polygon", "MultiPolygon")
    if len(strips) and strips.crs is not None:
        problems += _crossing(strips, "strip", "strip_id")
    return problems


def _in_degrees(layer: gpd.GeoDataFrame) -> bool:
    """Return whether all corners lie on the globe in degrees."""
    west, south, east, north = layer.total_bounds
    return bool(-180 <= west <= east <= 180 and -90 <= south <= north <= 90)


def _drawn(layer: gpd.GeoDataFrame, *types: str) -> gpd.GeoDataFrame:
    """Return the rows whose shape is there and of a kind that can be looked at."""
    shapes = layer.geometry
    here = shapes.map(
        lambda shape: shape is not None and shape.geom_type in types
        and not shape.is_empty and finite(shape)
    ).astype(bool)  # fmt: skip
    return layer[here]


def _crossing(layer: gpd.GeoDataFrame, word: str, id_column: str) -> list[str]:
    """Return a sentence for each polygon whose outline crosses itself."""
    problems = []
    for row in layer[~layer.is_valid].itertuples():
        reason = shapely.is_valid_reason(row.geometry)
        spot = reason[reason.find("[") + 1 : reason.find("]")] if "[" in reason else ""
        where = f" near {spot.replace(' ', ', ')}" if spot else ""
        problems.append(
            f"{word}s: the outline of {word} {getattr(row, id_column)} crosses itself{where}; "
            "move the corner so that no side crosses another"
        )
    return problems


def _overlaps(blocks: gpd.GeoDataFrame, us: bool) -> list[str]:
    """Return a sentence for each two blocks that lie over each other by more than a slip."""
    shapes = blocks.geometry.make_valid()
    left, right = shapes.sindex.query(shapes, predicate="intersects")
    pairs = left < right
    problems = []
    for i, j in zip(left[pairs], right[pairs], strict=True):
        over = shapes.iloc[i].intersection(shapes.iloc[j]).area
        smaller = min(shapes.iloc[i].area, shapes.iloc[j].area)
        if over > OVERLAP_SHARE * smaller:
            one, two = blocks["block_id"].iloc[i], blocks["block_id"].iloc[j]
            problems.append(
                f"blocks: block {one} and block {two} lie over each other by "
                f"{area_words(over, us)}; draw one up to the other's edge"
            )
    return problems


def _plots_outside(plots: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, us: bool) -> list[str]:
    """Return a sentence for each plot whose centre lies in no block."""
    shapes = blocks.geometry.make_valid()
    ground = shapes.union_all()
    away = plots.distance(ground)
    problems = []
    for index in away[away > 1.0].index:
        near = blocks["block_id"].iloc[int(np.argmin(shapes.distance(plots.geometry[index])))]
        far = f"{away[index] / 0.3048:,.0f} ft" if us else f"{away[index]:,.0f} m"
        problems.append(
            f"plots: plot {plots['plot_id'][index]} lies outside every block, {far} from block "
            f"{near}; move it or draw the block around it"
        )
    return problems


def area_words(area_m2: float, us: bool) -> str:
    """Return an area as the owner would say it.

    References
    ----------
    nist_hb44
    """
    if us:
        return f"{area_m2 / 1e4 / HA_PER_ACRE:.2f} acres"
    return f"{area_m2 / 1e4:.2f} ha"
