"""What is wrong with the shapes an owner drew and cannot be mended, in the owner's words."""

import geopandas as gpd
import numpy as np
import shapely

from clearing.land.edges import OVERLAP_SHARE, heavy, overlaps
from clearing.land.far import (
    blocks_apart,
    blocks_off_photo,
    corner_places,
    layer_astray,
    middle_place,
)
from clearing.land.grid import local_grid, to_grid
from clearing.land.ground import NO_ENTRY
from clearing.land.mending import mend_blocks
from clearing.land.overlay import areas_of
from clearing.land.words import area_words, distance_words
from clearing.tables import finite, name_list

LARGEST_HA = 40_000.0  # more is no farm that two people clear; own choice
LEAST_M2 = 1.0  # less ground is no block; own choice
AREAS = ("Polygon", "MultiPolygon")


def shape_problems(
    layers: dict[str, gpd.GeoDataFrame], us: bool = True, photo: gpd.GeoSeries | None = None
) -> list[str]:
    """Return every problem of the shapes that mending leaves: crossing, overlapping, outside.

    Parameters
    ----------
    layers : dict of GeoDataFrame
        blocks, strips, keep_trees, features and plots as read; rows without a shape are passed
        over.
    us : bool
        Speak acres and miles (else hectares and kilometres).
    photo : GeoSeries
        The outline of the owner's photo, indexed by its file name.

    References
    ----------
    own reasoning
    """
    drawn = {name: _drawn(layer, name) for name, layer in layers.items()}
    problems = []
    for name, layer in drawn.items():
        if len(layer) and layer.crs is not None and layer.crs.is_geographic:
            problems += _out_of_degrees(name, layer)
    blocks = drawn["blocks"]
    if not len(blocks) or blocks.crs is None or any(p.startswith("blocks: ") for p in problems):
        return problems
    ids, places = blocks["block_id"].astype(str).tolist(), corner_places(blocks)
    world = np.isfinite(blocks.geometry.to_crs("EPSG:4326").total_bounds).all()
    if not world or not np.isfinite(places).all():
        lost = [
            i for i, shape in zip(ids, blocks.geometry, strict=True) if not _on_earth(shape, blocks)
        ]
        return [
            *problems,
            f"blocks: block {name_list(lost or ids)} reaches outside the world; check its corners "
            "and the coordinate system of blocks",
        ]
    problems += blocks_apart(ids, places, us)
    beyond = blocks_off_photo(ids, places, photo, us) if photo is not None else []
    problems += beyond
    home = places[middle_place(places)]
    off = [p.split(":")[0] for p in problems]
    for name in () if beyond else ("strips", "keep_trees", "features", "plots"):
        layer = drawn.get(name)
        if layer is not None and len(layer) and layer.crs is not None and name not in off:
            astray = layer_astray(name, layer, (home[0], home[1]), us)
            problems += astray
            off += [name] if astray else []
    strips = drawn["strips"]
    if len(strips):
        problems += _crossing(strips, strips, "strip", "strip_id")
    return problems + _ground_problems(drawn, off, us, len(blocks) == len(layers["blocks"]))


def _ground_problems(
    drawn: dict[str, gpd.GeoDataFrame], off: list[str], us: bool, whole: bool
) -> list[str]:
    """Return the problems of blocks and plots in the grid; layers that lie far off are left out.

    Plots are sought in blocks only where every block has a shape (``whole``).
    """
    blocks, features = drawn["blocks"], drawn.get("features")
    if "blocks" in off:
        return _crossing(blocks, blocks, "block", "block_id")
    grid = local_grid(blocks)
    if features is None or features.crs is None or "features" in off or not len(features):
        features = None
    else:
        features = to_grid(features, grid)
    mended, _ = mend_blocks(to_grid(blocks, grid), features)
    problems = _crossing(blocks, mended, "block", "block_id")
    big = mended[mended.area > LARGEST_HA * 1e4]
    if len(big):
        problems.append(f"blocks: block {name_list(big['block_id'])} is larger than a county farm; "
                        "check the coordinate system")  # fmt: skip
    bare = mended.loc[mended.is_valid & (mended.area < LEAST_M2), "block_id"]
    if len(bare):
        has = "has" if len(bare) == 1 else "have"
        problems.append(f"blocks: block {name_list(bare)} {has} less than "
                        f"{area_words(LEAST_M2, us)} of ground; draw its outline anew")  # fmt: skip
        whole = False
    problems += _overlaps(mended, us)
    problems += _no_ground_left(mended, features)
    strips = drawn["strips"]
    if len(strips) and strips.crs is not None and "strips" not in off:
        problems += _strips_outside(to_grid(strips, grid), mended)
    plots = drawn["plots"]
    if len(plots) and plots.crs is not None and "plots" not in off and "plot_id" in plots:
        problems += _plots_outside(to_grid(plots, grid), mended, us) if whole else []
        problems += _plots_off_ground(to_grid(plots, grid), features, us)
    return problems


def _no_ground_left(blocks: gpd.GeoDataFrame, features: gpd.GeoDataFrame | None) -> list[str]:
    """Return a sentence when blocks lie wholly in water, buildings, crops and public roads."""
    if features is None:
        return []
    kinds = features["kind"].isin(NO_ENTRY) & features.geom_type.isin(AREAS)
    taken = areas_of(features.geometry[kinds].to_numpy())
    if not len(taken):
        return []
    near = shapely.union_all(taken)
    left = shapely.area(shapely.difference(areas_of(blocks.geometry.to_numpy()), near))
    bare = blocks.loc[left < LEAST_M2, "block_id"]
    if not len(bare):
        return []
    kinds_said = ", ".join(NO_ENTRY).replace("_", " ")
    return [
        f"blocks: of block {name_list(bare)} no ground is left beside {kinds_said} drawn as areas; "
        "draw the block or those areas anew"
    ]


def _on_earth(shape: shapely.Geometry, layer: gpd.GeoDataFrame) -> bool:
    """Return whether all corners of a shape have a place in degrees."""
    return finite(gpd.GeoSeries([shape], crs=layer.crs).to_crs("EPSG:4326").iloc[0])


def _out_of_degrees(name: str, layer: gpd.GeoDataFrame) -> list[str]:
    """Return a sentence when a layer's corners are no degrees and its system says they are."""
    west, south, east, north = layer.total_bounds
    if -360 <= west <= east <= 360 and -90 <= south <= north <= 90:
        return []
    return [
        f"{name}: the coordinates are no degrees, and the coordinate system says they are; "
        "set the system in which they were drawn"
    ]


def _drawn(layer: gpd.GeoDataFrame, name: str) -> gpd.GeoDataFrame:
    """Return the rows whose shape is there and of a kind that can be looked at."""
    types = {"blocks": AREAS, "strips": AREAS, "plots": ("Point",), "keep_trees": ("Point",)}
    here = layer.geometry.map(
        lambda shape: shape is not None and shape.geom_type in types.get(name, (shape.geom_type,))
        and not shape.is_empty and finite(shape)
    ).astype(bool)  # fmt: skip
    return layer[here]


def _crossing(
    layer: gpd.GeoDataFrame, mended: gpd.GeoDataFrame, word: str, id_column: str
) -> list[str]:
    """Return a sentence for each polygon whose outline cannot be mended; places as drawn."""
    problems = []
    for index, name in mended.loc[~mended.is_valid, id_column].items():
        reason = shapely.is_valid_reason(layer.geometry[index])
        spot = reason[reason.find("[") + 1 : reason.find("]")] if "[" in reason else ""
        where = f" near {spot.replace(' ', ', ')}" if spot else ""
        if reason.startswith("Hole lies outside"):
            problems.append(f"{word}s: {word} {name} has a hole that lies outside its outline"
                            f"{where}; draw the hole inside, or leave it out")  # fmt: skip
            continue
        problems.append(
            f"{word}s: the outline of {word} {name} crosses itself{where}; "
            "move the corner so that no side crosses another"
        )
    return problems


def _overlaps(blocks: gpd.GeoDataFrame, us: bool) -> list[str]:
    """Return a sentence for each two blocks that lie over each other by more than a slip."""
    shapes = areas_of(blocks.geometry.to_numpy())
    ids = blocks["block_id"].tolist()
    problems = []
    for pair in overlaps(shapes):
        if not heavy(shapes, pair):
            continue
        one, two, over = pair
        small = one if shapes[one].area < shapes[two].area else two
        share = over / shapes[small].area
        problems.append(
            f"blocks: block {ids[one]} and block {ids[two]} lie over each other by "
            f"{area_words(over, us)} ({_percent(share)} of block {ids[small]}; up to "
            f"{_percent(OVERLAP_SHARE)} is mended): draw one up to the other's edge"
        )
    return problems


def _percent(share: float) -> str:
    """Return a share in percent, with a decimal where it is small."""
    words = f"{share * 100:.0f}" if share >= 0.1 else f"{share * 100:.1f}".removesuffix(".0")
    return f"{words} %"


def _strips_outside(strips: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame) -> list[str]:
    """Return a sentence for each strip that has no ground in the block it names."""
    homes = dict(zip(blocks["block_id"], areas_of(blocks.geometry.to_numpy()), strict=True))
    problems = []
    for row, shape in zip(strips.itertuples(), areas_of(strips.geometry.to_numpy()), strict=True):
        home = homes.get(row.block_id)
        if home is not None and shapely.area(shapely.intersection(shape, home)) < LEAST_M2:
            problems.append(
                f"strips: strip {row.strip_id} lies outside block {row.block_id}; draw it inside, "
                "or name the block it lies in"
            )
    return problems


def _plots_off_ground(
    plots: gpd.GeoDataFrame, features: gpd.GeoDataFrame | None, us: bool
) -> list[str]:
    """Return a sentence for each plot whose centre lies well inside water, a building or a crop."""
    if features is None:
        return []
    taken = features[features["kind"].isin(NO_ENTRY) & features.geom_type.isin(AREAS)]
    problems = []
    for kind, shape in zip(taken["kind"], areas_of(taken.geometry.to_numpy()), strict=True):
        inside = plots.geometry.within(shape) & (plots.distance(shape.boundary) > 1.0)
        problems += [
            f"plots: plot {name} lies on ground drawn as {kind.replace('_', ' ')}, "
            f"{distance_words(deep, us)} from its edge; move it or draw that anew"
            for name, deep in zip(
                plots["plot_id"][inside], plots.distance(shape.boundary)[inside], strict=True
            )
        ]
    return problems


def _plots_outside(plots: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, us: bool) -> list[str]:
    """Return a sentence for each plot whose centre lies in no block."""
    shapes = blocks.geometry.make_valid()
    ground = shapes.union_all()
    away = plots.distance(ground)
    problems = []
    for index in away[away > 1.0].index:
        near = blocks["block_id"].iloc[int(np.argmin(shapes.distance(plots.geometry[index])))]
        problems.append(
            f"plots: plot {plots['plot_id'][index]} lies outside every block, "
            f"{distance_words(away[index], us)} from block {near}; move it or draw the block "
            "around it"
        )
    return problems
