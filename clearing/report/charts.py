"""Draw the ground of the work plan: the whole place or one block, with what is done to it."""

from dataclasses import astuple

import geopandas as gpd
import matplotlib as mpl
import shapely
from matplotlib.axes import Axes

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
PHOTO_STRENGTH = 0.72
LINES = {
    "water": (look.WATER, 2.2, "-"),
    "public_road": (look.INK, 2.4, "-"),
    "farm_road": (look.INK, 1.2, "-"),
    "trail": (look.INK, 0.9, (0, (4, 3))),
    "fence": (look.INK, 0.7, (0, (1, 2))),
    "property_line": (look.INK, 1.0, (0, (8, 3, 1, 3))),
    "power_line": (look.KEEP_OUT, 1.2, (0, (6, 2))),
}


def ground_jpeg(
    results: Results,
    picture: PhotoPicture | None,
    block_id: str | None,
    inches: tuple[float, float],
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
    inches : (width, height)
        Size of the picture.

    References
    ----------
    own reasoning
    """
    with mpl.rc_context({"font.family": FONT, "hatch.linewidth": 0.6, "font.size": 8}):
        figure, axes = blank_axes(inches)
        blocks = results.blocks
        shown = blocks if block_id is None else blocks[blocks["block_id"] == block_id]
        window = window_of(shown, inches)
        if picture is not None:
            draw_photo(axes, picture, PHOTO_STRENGTH)
        _strips(axes, results, block_id)
        if block_id is not None:
            _ruled_ground(axes, results, block_id)
        _features(axes, results, window)
        _trees(axes, results, window, small=block_id is None)
        _names(axes, results, block_id)
        look_through(axes, window)
        draw_scale_and_north(axes, window, results.property.settings.us)
        return packed(figure)


def _strips(axes: Axes, results: Results, block_id: str | None) -> None:
    """Draw the strips with the sign of what is first done to them."""
    strips = flat(results.strips)
    if block_id is not None:
        strips = strips[strips["block_id"] == block_id]
    chosen = results.plan.options.set_index("strip_id")["method"]
    for row in strips.itertuples():
        sign = look.sign(METHOD_SIGN.get(chosen.get(row.strip_id, "not_now"), "untouched"))
        fill = (*mpl.colors.to_rgb(sign.colour), 0.32) if sign.colour else "none"
        edge = mpl.colors.to_rgb(sign.colour) if sign.colour else look.INK
        gpd.GeoSeries([row.geometry]).plot(
            ax=axes, facecolor=fill, edgecolor=edge, hatch=HATCH[sign.pattern], lw=0, zorder=2
        )
        style = "--" if sign.outline == "dashed" else "-"
        gpd.GeoSeries([row.geometry.boundary]).plot(
            ax=axes, color=look.INK, lw=1.1, ls=style, zorder=4
        )


def _ruled_ground(axes: Axes, results: Results, block_id: str) -> None:
    """Draw fall reach, water edge and power line as keep-out hatching."""
    own = results.strips.loc[results.strips["block_id"] == block_id, "strip_id"]
    zones = results.zones[results.zones["strip_id"].isin(own)]
    zones = zones[zones["flags"].str.contains("fall_reach|water_edge|power_line")]
    if len(zones):
        ground = gpd.GeoSeries([shapely.union_all(flat(zones).geometry.to_numpy())])
        ground.plot(ax=axes, facecolor="none", edgecolor=look.KEEP_OUT, hatch="\\\\\\", lw=0.7,
                    zorder=3)  # fmt: skip


def _features(axes: Axes, results: Results, window: Window) -> None:
    """Draw creek, roads, fences, lines and buildings."""
    features = flat(results.features)
    features = features[features.intersects(shapely.box(*astuple(window)))]
    for row in features.itertuples():
        shape = gpd.GeoSeries([row.geometry])
        colour, width, style = LINES.get(row.kind, (look.INK, 0.8, "-"))
        if row.geometry.geom_type.endswith("Polygon") and row.kind in ("building", "water"):
            fill = look.INK if row.kind == "building" else look.WATER
            shape.plot(ax=axes, color=fill, zorder=5)
        elif row.geometry.geom_type.endswith("Point"):
            shape.plot(ax=axes, color=look.INK, marker="s", markersize=14, zorder=6)
        else:
            outline = row.geometry.geom_type.endswith("Polygon")
            lines = row.geometry.boundary if outline else row.geometry
            for part in shapely.get_parts(lines):
                axes.plot(*part.xy, color=colour, lw=width, ls=style, zorder=5)


def _trees(axes: Axes, results: Results, window: Window, small: bool) -> None:
    """Draw keep trees as rings of their crowns with a dot for the stem."""
    trees = results.keep_trees
    if not len(trees):
        return
    crowns = flat(trees.set_geometry(trees.buffer(trees["crown_m"] / 2)))
    seen = crowns[crowns.intersects(shapely.box(*astuple(window)))]
    if not len(seen):
        return
    seen.plot(ax=axes, facecolor=(*mpl.colors.to_rgb(look.KEEP_TREE), 0.18), zorder=6,
              edgecolor=look.KEEP_TREE, lw=0.4 if small else 0.9)  # fmt: skip
    if not small:
        seen.centroid.plot(ax=axes, color=look.KEEP_TREE, markersize=3, zorder=7)


def _names(axes: Axes, results: Results, block_id: str | None) -> None:
    """Write the ids of strips (on the overview: of blocks) inside them."""
    layer, column = (
        (results.blocks, "block_id") if block_id is None else (results.strips, "strip_id")
    )
    rows = flat(layer if block_id is None else layer[layer["block_id"] == block_id])
    for _, row in rows.iterrows():
        point = shapely.maximum_inscribed_circle(row.geometry, tolerance=1.0).coords[0]
        axes.text(
            point[0], point[1], str(row[column]), ha="center", va="center", fontsize=13,
            color=look.INK, weight="bold", path_effects=halo(2.5), zorder=ABOVE_ALL,
        )  # fmt: skip
