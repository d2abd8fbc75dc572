"""Draw the map that people walk by: a block's plots in walking order and the way between them."""

import itertools

import geopandas as gpd
import matplotlib as mpl
import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.patches import Circle

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

DPI = 180
PHOTO_STRENGTH = 0.3
ROOM = 1.28  # scale bar and arrow stand clear of the ground
WHITE = "#ffffff"
LEAST_IN = 3.6  # a map of a long low block is at least this high
DISC_IN, SMALLEST_DISC_IN = 0.125, 0.07  # radius of a stop's disc
POINTS_PER_IN = 72
LONGEST_ID = 12  # letters of a plot's name that fit under its stop


def map_inches(block: gpd.GeoDataFrame, wide: float, highest: float) -> tuple[float, float]:
    """Return width and height of a block's map: as high as its ground asks, within limits.

    References
    ----------
    own reasoning
    """
    west, south, east, north = block.total_bounds
    asked = wide * (north - south) / max(east - west, 1e-6)
    return wide, float(np.clip(asked, LEAST_IN, highest))


def plot_map(
    block: gpd.GeoDataFrame,
    plots: gpd.GeoDataFrame,
    picture: PhotoPicture | None,
    us: bool,
    inches: tuple[float, float],
) -> bytes:
    """Return the map of one block as a grey JPEG.

    Parameters
    ----------
    block : GeoDataFrame
        One row: geometry, in the local grid.
    plots : GeoDataFrame
        plot_id, radius_m, small_radius_m, geometry in the local grid, in walking order.
    picture : PhotoPicture or None
        The photo, drawn pale under the lines.
    us : bool
        Whether the scale bar is in feet.
    inches : (width, height)
        Size of the map.

    References
    ----------
    own reasoning
    """
    with mpl.rc_context({"font.family": FONT, "font.size": 9}):
        figure, axes = blank_axes(inches, DPI)
        window = window_of(block, inches, ROOM)
        if picture is not None:
            draw_photo(axes, picture, PHOTO_STRENGTH)
        for part in shapely.get_parts(flat(block).geometry.boundary.to_numpy()):
            axes.plot(*part.xy, color=look.INK, lw=2, path_effects=halo(4, WHITE), zorder=3)
        _circles(axes, plots)
        _stops(axes, plots, window, inches)
        look_through(axes, window)
        draw_scale_and_north(axes, window, us)
        return packed(figure, grey=True)


def _circles(axes: Axes, plots: gpd.GeoDataFrame) -> None:
    """Draw the circles to scale, the small ones dotted."""
    for column, style in (("radius_m", "-"), ("small_radius_m", ":")):
        known = plots[plots[column].notna()]
        rings = flat(known.set_geometry(known.buffer(known[column].astype(float))))
        for ring in rings.geometry:
            axes.plot(*ring.exterior.xy, color=look.INK, lw=1.0, ls=style,
                      path_effects=halo(2.5, WHITE), zorder=4)  # fmt: skip


def _stops(
    axes: Axes, plots: gpd.GeoDataFrame, window: Window, inches: tuple[float, float]
) -> None:
    """Draw the way from stop to stop with its direction, numbered discs, and the plots' names."""
    points = np.column_stack([flat(plots).geometry.x, flat(plots).geometry.y])
    per_inch = window.wide / inches[0]
    disc = _disc_inches(points / per_inch) * per_inch
    size = disc / per_inch * POINTS_PER_IN
    for start, end in itertools.pairwise(points):
        far = float(np.hypot(*(end - start)))
        if far > 2.2 * disc:
            step = (end - start) / far * disc
            axes.annotate("", end - step, start + step, zorder=5, arrowprops={
                "arrowstyle": "-|>", "color": look.INK, "lw": 1.1, "ls": (0, (5, 3)),
                "mutation_scale": 1.4 * size, "shrinkA": 0, "shrinkB": 0})  # fmt: skip
    for number, (point, plot_id) in enumerate(zip(points, plots["plot_id"], strict=True), start=1):
        axes.add_patch(Circle(point, disc, facecolor=WHITE, edgecolor=look.INK, lw=1.4, zorder=7))
        axes.text(point[0], point[1], str(number), ha="center", va="center_baseline", weight="bold",
                  fontsize=size * (1.15 if number < 100 else 0.8), zorder=8)  # fmt: skip
        axes.text(point[0], point[1] - 1.35 * disc, _short(str(plot_id)), ha="center", va="top",
                  fontsize=max(size * 0.85, 5.5), color=look.INK, parse_math=False,
                  path_effects=halo(3, WHITE), zorder=ABOVE_ALL)  # fmt: skip


def _short(name: str) -> str:
    """Return a plot's name as it fits under its stop."""
    return name if len(name) <= LONGEST_ID else f"{name[: LONGEST_ID - 1]}…"


def _disc_inches(points: np.ndarray) -> float:
    """Return the radius of the discs: smaller where stops lie close together."""
    if len(points) < 2:
        return DISC_IN
    steps = shapely.STRtree(shapely.points(points))
    near = steps.query_nearest(shapely.points(points), exclusive=True, return_distance=True)[1]
    return float(np.clip(np.min(near) * 0.3, SMALLEST_DISC_IN, DISC_IN))
