"""What every picture of ground shares: window, photo, scale bar, north arrow, packed pixels."""

import functools
import io
from dataclasses import dataclass

import geopandas as gpd
import matplotlib as mpl
import matplotlib.patheffects
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from clearing import units
from clearing.report import look
from clearing.report.picture import WEB_MAP, PhotoPicture

DPI = 150
FONT = "DejaVu Sans"
BAR_CHOICES_US = (25, 50, 100, 200, 300, 500, 1000)  # feet
BAR_CHOICES_METRIC = (10, 20, 50, 100, 200, 300)  # metres
ROOM = 1.16  # a window is this much wider than the ground in it
ABOVE_ALL = 9


@dataclass(frozen=True)
class Window:
    """The piece of the world that a picture shows, in the map's own metres."""

    west: float
    south: float
    east: float
    north: float

    @property
    def wide(self) -> float:
        """Return the width."""
        return self.east - self.west

    @property
    def high(self) -> float:
        """Return the height."""
        return self.north - self.south


def flat(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a layer in the projection of the pictures.

    References
    ----------
    own reasoning
    """
    return layer.to_crs(WEB_MAP)


def window_of(layer: gpd.GeoDataFrame, inches: tuple[float, float], room: float = ROOM) -> Window:
    """Return the window of a picture of this size, so many times as wide as the layer.

    References
    ----------
    own reasoning
    """
    west, south, east, north = flat(layer).total_bounds
    wide, high = (east - west) * room, (north - south) * room
    ratio = inches[0] / inches[1]
    wide, high = max(wide, high * ratio), max(high, wide / ratio)
    x, y = (west + east) / 2, (south + north) / 2
    return Window(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)


def blank_axes(inches: tuple[float, float], dpi: int = DPI) -> tuple[Figure, Axes]:
    """Return a figure of this size and axes that fill it.

    References
    ----------
    own reasoning
    """
    figure = Figure(figsize=inches, dpi=dpi)
    return figure, figure.add_axes((0, 0, 1, 1))


def look_through(axes: Axes, window: Window) -> None:
    """Return nothing; let the axes show the window and nothing around it.

    References
    ----------
    own reasoning
    """
    axes.set(xlim=(window.west, window.east), ylim=(window.south, window.north))
    axes.set_aspect("equal")
    axes.axis("off")


def draw_photo(
    axes: Axes, picture: PhotoPicture, strength: float, window: Window | None = None
) -> None:
    """Return nothing; draw the photo, paled so that ink shows on it.

    Parameters
    ----------
    axes : Axes
        Where to draw.
    picture : PhotoPicture
        The photo.
    strength : float
        1 as it is, 0 not at all.
    window : Window, optional
        Only the pixels in it (and one around) are drawn, which is quicker.

    References
    ----------
    own reasoning
    """
    corners = gpd.GeoSeries(
        gpd.points_from_xy([picture.west, picture.east], [picture.south, picture.north]),
        crs="EPSG:4326",
    ).to_crs(WEB_MAP)
    west, east, south, north = (
        corners.x.iloc[0], corners.x.iloc[1], corners.y.iloc[0], corners.y.iloc[1]
    )  # fmt: skip
    pixels = _pixels(picture.data)
    if window is not None:
        rows, columns = pixels.shape[:2]
        across, down = (east - west) / columns, (north - south) / rows
        left, right = _within((window.west - west) / across, (window.east - west) / across, columns)
        top, foot = _within((north - window.north) / down, (north - window.south) / down, rows)
        if left >= right or top >= foot:
            return
        pixels = pixels[top:foot, left:right]
        west, east = west + left * across, west + right * across
        north, south = north - top * down, north - foot * down
    axes.imshow(
        pixels, extent=(west, east, south, north), alpha=strength, interpolation="bilinear",
        zorder=0,
    )  # fmt: skip


@functools.lru_cache(maxsize=1)
def _pixels(data: bytes) -> np.ndarray:
    """Return the pixels of a photo; the pages of one plan share them."""
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB"))


def _within(low: float, high: float, most: int) -> tuple[int, int]:
    """Return the first and last pixel of a span, one more on either side where there is one."""
    return max(int(np.floor(low)) - 1, 0), min(int(np.ceil(high)) + 1, most)


def halo(width: float, colour: str = look.PAPER) -> list[mpl.patheffects.AbstractPathEffect]:
    """Return a rim of paper around letters and lines.

    References
    ----------
    own reasoning
    """
    return [mpl.patheffects.withStroke(linewidth=width, foreground=colour)]


def draw_scale_and_north(axes: Axes, window: Window, us: bool) -> None:
    """Return nothing; draw a scale bar and a north arrow.

    The map's metres are longer than true ones by 1 / cos(latitude).

    References
    ----------
    own reasoning
    """
    middle = gpd.GeoSeries(
        gpd.points_from_xy([window.west], [(window.south + window.north) / 2]), crs=WEB_MAP
    ).to_crs("EPSG:4326")
    stretch = 1.0 / np.cos(np.radians(middle.y.iloc[0]))
    unit = (units.M_PER_FT if us else 1.0) * stretch
    choices = BAR_CHOICES_US if us else BAR_CHOICES_METRIC
    number = max((n for n in choices if n * unit <= 0.3 * window.wide), default=choices[0])
    length = number * unit
    x, y = window.west + 0.03 * window.wide, window.south + 0.05 * window.high
    axes.plot([x, x + length], [y, y], color=look.INK, lw=3, path_effects=halo(6),
              zorder=ABOVE_ALL)  # fmt: skip
    axes.text(x + length / 2, y + 0.015 * window.high, f"{number} {'ft' if us else 'm'}",
              ha="center", va="bottom", path_effects=halo(3), zorder=ABOVE_ALL)  # fmt: skip
    up = window.east - 0.05 * window.wide
    axes.annotate("N", (up, window.north - 0.04 * window.high),
                  (up, window.north - 0.17 * window.high), ha="center", va="top", weight="bold",
                  path_effects=halo(3), zorder=ABOVE_ALL,
                  arrowprops={"arrowstyle": "-|>", "color": look.INK, "lw": 1.6})  # fmt: skip


def packed(figure: Figure, grey: bool = False) -> bytes:
    """Return a figure as JPEG, the same bytes each time.

    Parameters
    ----------
    figure : Figure
        What was drawn.
    grey : bool
        Whether to leave the colours out, for a printer that has none.

    References
    ----------
    own reasoning
    """
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    pixels = Image.fromarray(np.asarray(canvas.buffer_rgba())[..., :3].copy())
    out = io.BytesIO()
    (pixels.convert("L") if grey else pixels).save(out, "JPEG", quality=80, optimize=True)
    return out.getvalue()
