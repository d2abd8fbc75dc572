"""Draw the ground of the work plan: the whole place or one block, with what is done to it."""

from dataclasses import astuple, dataclass
from typing import Any

import geopandas as gpd
import matplotlib as mpl
import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.collections import EllipseCollection
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from shapely.geometry.base import BaseGeometry

from clearing.property import Results
from clearing.report import look
from clearing.report.drawing import (
    ABOVE_ALL,
    FONT,
    Window,
    blank_axes,
    draw_photo,
    draw_scale_and_north,
    flat,
    halo,
    look_through,
    packed,
    window_of,
)
from clearing.report.picture import PhotoPicture

HATCH = {"rising": "////", "dots": "..", "fading": "", "solid": "", "none": "", "rings": "oo"}
METHOD_SIGN = {
    "hack_and_leave": "standing_dead",
    "split": "standing_dead",
    "basal_bark": "standing_dead",
    "hack_then_fell": "standing_dead",
    "cut_and_spray": "cut",
    "foliar": "follow_up",
    "mow_then_spray": "follow_up",
    "not_now": "not_now",
}
PHOTO_STRENGTH = 0.5  # of the photo under ink; own choice
EDGE = 0.03  # of a picture, that marks at its edge keep away from it; own choice
LONGEST_ID = 14  # letters of an id in a picture; own choice
LINES = {
    "water": (look.WATER, 2.2, "-"),
    "public_road": (look.INK, 2.4, "-"),
    "farm_road": (look.INK, 1.2, "-"),
    "trail": (look.INK, 0.9, (0, (4, 3))),
    "fence": (look.INK, 0.7, (0, (1, 2))),
    "property_line": (look.INK, 1.0, (0, (8, 3, 1, 3))),
    "power_line": (look.KEEP_OUT, 1.2, (0, (6, 2))),
}


@dataclass(frozen=True)
class Frame:
    """How high a picture is [in], and the least and most of its width over its height."""

    high_in: float
    narrowest: float
    widest: float


@dataclass(frozen=True)
class Ground:
    """The layers of the pictures in their projection; keep trees as their crowns."""

    blocks: gpd.GeoDataFrame
    strips: gpd.GeoDataFrame
    zones: gpd.GeoDataFrame
    features: gpd.GeoDataFrame
    crowns: gpd.GeoDataFrame
    ways: gpd.GeoDataFrame


def ground_jpeg(
    results: Results,
    picture: PhotoPicture | None,
    block_id: str | None,
    frame: Frame,
    ground: Ground | None = None,
) -> bytes:
    """Return a picture of one block (or of all): photo, strips, zones, keep trees, scale, north.

    Parameters
    ----------
    results : Results
        What the walk gave.
    picture : PhotoPicture or None
        The photo; without it the ground is plain paper.
    block_id : str or None
        None draws the whole property.
    frame : Frame
        Height of the picture, and how far its width may follow the shape of the ground.
    ground : Ground, optional
        What `flat_ground` gives, where several pictures share it.

    References
    ----------
    own reasoning
    """
    ground = flat_ground(results) if ground is None else ground
    with mpl.rc_context({"font.family": FONT, "hatch.linewidth": 0.9, "font.size": 9}):
        blocks = ground.blocks
        shown = blocks if block_id is None else blocks[blocks["block_id"] == block_id]
        inches = shaped(shown, frame)
        figure, axes = blank_axes(inches)
        figure.set_facecolor(look.PAPER)
        window = window_of(shown, inches)
        if picture is not None:
            draw_photo(axes, picture, PHOTO_STRENGTH, window)
        _strips(axes, ground, block_id, results)
        if block_id is not None:
            _ruled_ground(axes, ground, block_id)
        _features(axes, ground.features, window)
        _trees(axes, ground.crowns, window, small=block_id is None)
        _names(axes, ground, block_id)
        if block_id is not None:
            _ways_in(axes, ground.ways, block_id, window)
        look_through(axes, window)
        draw_scale_and_north(axes, window, results.property.settings.us)
        return packed(figure)


def flat_ground(results: Results) -> Ground:
    """Return the layers of the pictures in their own projection, once for all pages.

    References
    ----------
    own reasoning
    """
    trees = results.keep_trees
    crowns = trees.set_geometry(trees.buffer(trees["crown_m"] / 2)) if len(trees) else trees
    return Ground(
        flat(results.blocks), flat(results.strips), flat(results.zones), flat(results.features),
        flat(crowns) if len(trees) else trees, flat(_ways(results)),
    )  # fmt: skip


def _ways(results: Results) -> gpd.GeoDataFrame:
    """Return the ways in of the strips as points, one a place with all strips that share it."""
    strips = results.strips
    table = gpd.GeoDataFrame(
        {"block_id": list(strips["block_id"]), "strip_id": list(strips["strip_id"])},
        geometry=gpd.points_from_xy(strips["way_in_x_m"], strips["way_in_y_m"]),
        crs=strips.crs if strips.crs is not None else results.grid,
    )  # fmt: skip
    table["place"] = table.geometry.to_wkt(rounding_precision=0)
    return table.groupby(["block_id", "place"], sort=False, as_index=False).agg(
        {"strip_id": ", ".join, "geometry": "first"}
    ).pipe(gpd.GeoDataFrame, crs=table.crs)  # fmt: skip


def shaped(layer: gpd.GeoDataFrame, frame: Frame) -> tuple[float, float]:
    """Return width and height of a picture that suits the shape of a layer [in].

    As wide for its height as the layer, within what the page has room for.

    References
    ----------
    own reasoning
    """
    west, south, east, north = layer.total_bounds
    ratio = (east - west) / max(north - south, 1e-9)
    return frame.high_in * min(max(ratio, frame.narrowest), frame.widest), frame.high_in


def _patch(shape: BaseGeometry, **style: Any) -> PathPatch:
    """Return polygons with their holes as one patch."""
    parts = shapely.get_parts(shapely.orient_polygons(shape))
    rings = [
        Path(shapely.get_coordinates(ring), closed=True)
        for part in parts if part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors)
    ]  # fmt: skip
    return PathPatch(Path.make_compound_path(*rings), **style)


def _strips(axes: Axes, ground: Ground, block_id: str | None, results: Results) -> None:
    """Draw the strips with the sign of what is first done to them."""
    strips = ground.strips
    if block_id is not None:
        strips = strips[strips["block_id"] == block_id]
    chosen = results.plan.options.set_index("strip_id")["method"]
    for row in strips.itertuples():
        sign = look.sign(METHOD_SIGN.get(chosen.get(row.strip_id, "not_now"), "untouched"))
        fill = (*mpl.colors.to_rgb(sign.colour), 0.32) if sign.colour else "none"
        edge = mpl.colors.to_rgb(sign.colour) if sign.colour else look.INK
        style = "--" if sign.outline == "dashed" else "-"
        axes.add_patch(_patch(row.geometry, facecolor=fill, edgecolor=edge,
                              hatch=HATCH[sign.pattern], lw=0, zorder=2))  # fmt: skip
        axes.add_patch(_patch(row.geometry, facecolor="none", edgecolor=look.INK, lw=1.1,
                              ls=style, zorder=4))  # fmt: skip


def _ruled_ground(axes: Axes, ground: Ground, block_id: str) -> None:
    """Draw fall reach, water edge and power line as keep-out hatching."""
    own = ground.strips.loc[ground.strips["block_id"] == block_id, "strip_id"]
    zones = ground.zones[ground.zones["strip_id"].isin(own)]
    zones = zones[zones["flags"].str.contains("fall_reach|water_edge|power_line")]
    if len(zones):
        shape = shapely.union_all(zones.geometry.to_numpy())
        axes.add_patch(_patch(shape, facecolor="none", edgecolor=look.KEEP_OUT, hatch="\\\\\\",
                              lw=0.7, zorder=3))  # fmt: skip


def _features(axes: Axes, layer: gpd.GeoDataFrame, window: Window) -> None:
    """Draw creek, roads, fences, lines and buildings."""
    features = layer[layer.intersects(shapely.box(*astuple(window)))] if len(layer) else layer
    for row in features.itertuples():
        colour, width, style = LINES.get(row.kind, (look.INK, 0.8, "-"))
        if row.geometry.geom_type.endswith("Polygon") and row.kind in ("building", "water"):
            fill = look.INK if row.kind == "building" else look.WATER
            axes.add_patch(_patch(row.geometry, facecolor=fill, edgecolor="none", zorder=5))
        elif row.geometry.geom_type.endswith("Point"):
            for point in shapely.get_coordinates(row.geometry):
                axes.plot(*point, color=look.INK, marker="s", markersize=3.7, zorder=6)
        else:
            outline = row.geometry.geom_type.endswith("Polygon")
            lines = row.geometry.boundary if outline else row.geometry
            for part in shapely.get_parts(lines):
                axes.plot(*part.xy, color=colour, lw=width, ls=style, zorder=5)


def _trees(axes: Axes, crowns: gpd.GeoDataFrame, window: Window, small: bool) -> None:
    """Draw keep trees as rings of their crowns with a dot for the stem."""
    seen = crowns[crowns.intersects(shapely.box(*astuple(window)))] if len(crowns) else crowns
    if not len(seen):
        return
    west, south, east, north = shapely.bounds(seen.geometry.to_numpy()).T
    middles = np.column_stack([(west + east) / 2, (south + north) / 2])
    axes.add_collection(EllipseCollection(
        east - west, north - south, np.zeros(len(seen)), units="xy", offsets=middles,
        offset_transform=axes.transData, facecolors=[(*mpl.colors.to_rgb(look.KEEP_TREE), 0.18)],
        edgecolors=look.KEEP_TREE, linewidths=0.4 if small else 0.9, zorder=6,
    ))  # fmt: skip
    if not small:
        axes.plot(*middles.T, ls="", marker="o", color=look.KEEP_TREE, markersize=1.8, zorder=7)


def _ways_in(axes: Axes, ways: gpd.GeoDataFrame, block_id: str, window: Window) -> None:
    """Draw a small square at each way in with its strips; one outside stands at the edge."""
    mx, my = EDGE * window.wide, EDGE * window.high
    for row in ways[ways["block_id"] == block_id].itertuples():
        x = min(max(row.geometry.x, window.west + mx), window.east - mx)
        y = min(max(row.geometry.y, window.south + my), window.north - my)
        axes.plot(x, y, marker="s", markersize=7, color=look.PAPER, mec=look.INK, mew=1.6,
                  zorder=ABOVE_ALL + 1)  # fmt: skip
        left = x < window.west + window.wide / 2
        named = str(row.strip_id)
        named = named if len(named) <= LONGEST_ID else f"{named[: LONGEST_ID - 1]}…"
        axes.annotate(
            named.replace("$", r"\$"),
            (x, y),
            (7 if left else -7, 0),
            textcoords="offset points",
            ha="left" if left else "right",
            va="center",
            fontsize=8,
            color=look.INK,
            path_effects=halo(2.0),
            zorder=ABOVE_ALL + 1,
        )


def _names(axes: Axes, ground: Ground, block_id: str | None) -> None:
    """Write the ids of strips (on the overview: of blocks) inside them."""
    layer, column = (ground.blocks, "block_id") if block_id is None else (ground.strips, "strip_id")
    rows = layer if block_id is None else layer[layer["block_id"] == block_id]
    for row in rows.to_dict("records"):
        point = shapely.maximum_inscribed_circle(row["geometry"], tolerance=1.0).coords[0]
        named = str(row[column])
        named = named if len(named) <= LONGEST_ID else f"{named[: LONGEST_ID - 1]}…"
        axes.text(
            point[0], point[1], named.replace("$", r"\$"), ha="center", va="center", fontsize=15,
            color=look.INK, weight="bold", path_effects=halo(2.5), zorder=ABOVE_ALL, clip_on=True,
        )  # fmt: skip
