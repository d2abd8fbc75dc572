"""Draw few plain marks two ways: as an SVG element for page and paper, and as a figure."""

import bisect
import functools
import html
import io
import warnings
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Polygon
from matplotlib.textpath import text_to_path

from clearing.report import look
from clearing.report.drawing import FONT
from clearing.report.field_text import ELLIPSIS, xml_text
from clearing.report.profile import FONTS

UNITS_PER_INCH = 100.0  # 340 units are 340 pixels in the panel and 3.4 inches on paper
POINTS_PER_INCH = 72.0
HEAVY = 600
DASH = (4.0, 3.0)


@dataclass(frozen=True)
class Words:
    """Words at the foot of a line."""

    x: float
    y: float
    text: str
    size: float
    colour: str = look.INK
    anchor: str = "start"
    heavy: bool = False


@dataclass(frozen=True)
class Line:
    """A line through points."""

    points: tuple[tuple[float, float], ...]
    width: float = 1.0
    colour: str = look.INK
    dashed: bool = False


@dataclass(frozen=True)
class Area:
    """A filled shape, with an outline where its width is above nought."""

    points: tuple[tuple[float, float], ...]
    fill: str
    outline: str = look.INK
    width: float = 0.0


@dataclass(frozen=True)
class Ring:
    """A small circle: filled, or open where there is no fill."""

    x: float
    y: float
    radius: float
    fill: str
    outline: str = look.INK


Mark = Words | Line | Area | Ring


class Shown(Figure):
    """A figure that a notebook shows by itself, whatever drawing backend it has."""

    def _repr_png_(self) -> bytes:
        """Return the picture for the notebook."""
        out = io.BytesIO()
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", message="Glyph")
            FigureCanvasAgg(self).print_png(out)
        return out.getvalue()


def box(x: float, y: float, wide: float, high: float) -> tuple[tuple[float, float], ...]:
    """Return the corners of an upright box, from its upper left.

    References
    ----------
    own reasoning
    """
    return ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))


@functools.lru_cache(maxsize=4096)
def wide_of(text: str, size: float, heavy: bool = False) -> float:
    """Return how wide words are in the widest font that draws them.

    References
    ----------
    own reasoning
    """
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph")
        font = FontProperties(family=FONT, size=size, weight="bold" if heavy else "normal")
        wide, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(wide)


def cut(text: str, room: float, size: float, heavy: bool = False) -> str:
    """Return text that fits the room, with an ellipsis where some of it is left out.

    References
    ----------
    own reasoning
    """
    if wide_of(text, size, heavy) <= room:
        return text
    fits = bisect.bisect_right(
        range(1, len(text)), room, key=lambda kept: wide_of(text[:kept] + ELLIPSIS, size, heavy)
    )
    return text[:fits].rstrip() + ELLIPSIS


def wrapped(text: str, room: float, size: float, heavy: bool = False) -> list[str]:
    """Return text in lines that fit the room; a word that is too long is cut.

    References
    ----------
    own reasoning
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and wide_of(longer, size, heavy) <= room:
            lines[-1] = longer
        else:
            lines.append(cut(word, room, size, heavy))
    return lines


def svg_element(
    marks: Sequence[Mark], wide: float, high: float, title: str, description: str
) -> str:
    """Return marks as the text of one SVG element without ids, styles or scripts.

    Every word is escaped and stays text.

    References
    ----------
    own reasoning
    """
    drawn = "".join(_svg_mark(mark) for mark in marks)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {wide:g} {high:g}" '
        f'font-family="{FONTS}"><title>{_plain(title)}</title>'
        f"<desc>{_plain(description)}</desc>{drawn}</svg>"
    )


def figure_of(marks: Sequence[Mark], wide: float, high: float) -> Figure:
    """Return the same marks as a figure.

    References
    ----------
    own reasoning
    """
    inches = (wide / UNITS_PER_INCH, high / UNITS_PER_INCH)
    figure = Shown(figsize=inches, dpi=2 * UNITS_PER_INCH, facecolor=look.PAPER)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, wide), ylim=(high, 0))
    axes.axis("off")
    points = POINTS_PER_INCH / UNITS_PER_INCH
    for place, mark in enumerate(marks):
        if isinstance(mark, Words):
            axes.text(
                mark.x, mark.y, mark.text, fontsize=mark.size * points, color=mark.colour,
                ha={"start": "left", "middle": "center", "end": "right"}[mark.anchor],
                va="baseline", weight="bold" if mark.heavy else "normal", family=FONT,
                parse_math=False, zorder=place,
            )  # fmt: skip
        elif isinstance(mark, Line):
            style = (0, DASH) if mark.dashed else "solid"
            x, y = zip(*mark.points, strict=True)
            axes.add_line(Line2D(x, y, lw=mark.width * points, color=mark.colour, ls=style,
                                 zorder=place, clip_on=False))  # fmt: skip
        elif isinstance(mark, Area):
            axes.add_patch(Polygon(mark.points, fc=mark.fill, ec=mark.outline, zorder=place,
                                   lw=mark.width * points, clip_on=False))  # fmt: skip
        else:
            axes.add_patch(Circle((mark.x, mark.y), mark.radius, fc=mark.fill or "none",
                                  ec=mark.outline, lw=points, zorder=place))  # fmt: skip
    return figure


def _svg_mark(mark: Mark) -> str:
    """Return one mark as SVG."""
    if isinstance(mark, Words):
        anchor = "" if mark.anchor == "start" else f' text-anchor="{mark.anchor}"'
        heavy = f' font-weight="{HEAVY}"' if mark.heavy else ""
        place = f'x="{_short(mark.x)}" y="{_short(mark.y)}" font-size="{_short(mark.size)}"'
        return f'<text {place} fill="{mark.colour}"{anchor}{heavy}>{_plain(mark.text)}</text>'
    if isinstance(mark, Line):
        dashes = f' stroke-dasharray="{DASH[0]:g} {DASH[1]:g}"' if mark.dashed else ""
        return (
            f'<path d="{_path(mark.points)}" fill="none" stroke="{mark.colour}" '
            f'stroke-width="{_short(mark.width)}"{dashes}/>'
        )
    if isinstance(mark, Area):
        line = f' stroke="{mark.outline}" stroke-width="{_short(mark.width)}"'
        return f'<path d="{_path(mark.points)}Z" fill="{mark.fill}"{line if mark.width else ""}/>'
    return (
        f'<circle cx="{_short(mark.x)}" cy="{_short(mark.y)}" r="{_short(mark.radius)}" '
        f'fill="{mark.fill or "none"}" stroke="{mark.outline}"/>'
    )


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{_short(x)} {_short(y)}" for x, y in points)


def _short(number: float) -> str:
    """Return a number with a tenth of a unit and no idle zeros."""
    return f"{round(number, 1) + 0.0:g}"


def _plain(text: str) -> str:
    """Return escaped text without letters that XML may not hold."""
    return html.escape(xml_text(text))
