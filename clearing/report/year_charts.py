"""Draw the years: hours by season against what there is, cost, stems with range, ground in grass.

The title of each picture is the sentence it proves; numbers stand under the marks. Bars stand on
nought. Stems fall over orders of magnitude, so they stand on a scale by tens with its lines named.
"""

import math

from matplotlib.figure import Figure

from clearing.report import look, marks
from clearing.report.facts import Summary
from clearing.report.marks import Area, Line, Mark, Ring, Words
from clearing.report.year_pictures import Panel, YearPicture, year_picture

CHARTS = ("hours", "cost", "stems", "grass")

# own choices, in the picture's units: one to a pixel of the panel, a hundred to an inch of paper
WIDE, EDGE = 340.0, 2.0
TITLE, TEXT, SMALL = 14.5, 13.0, 12.0
LEADING = 1.3
HIGH, HIGH_ALONE = 66.0, 110.0  # of the highest bars; where there is one row alone
HIGH_SCALE = 72.0  # of a scale by tens
LOWEST_ROW = 14.0
WIDEST_SLOT, WIDEST_BAR = 64.0, 26.0
CAP = 6.0  # ends of a whisker
LEAST_DRAWN = 0.1
APART = 7.0  # between the numbers of two years
GRASS = look.sign("grass").colour
FILLS = {"grass": (GRASS, GRASS), "clear": (look.PAPER, GRASS)}  # key -> fill, outline


def chart_figure(name: str, summary: Summary) -> Figure | None:
    """Return one picture as a figure that a notebook shows, none where there is nothing to draw.

    Parameters
    ----------
    name : str
        One of `CHARTS`.
    summary : Summary
        What the report says.

    Raises
    ------
    KeyError
        There is no such picture.

    References
    ----------
    own reasoning
    """
    picture = year_picture(name, summary)
    return None if picture is None else marks.figure_of(*_drawn(picture))


def chart_svg(name: str, summary: Summary) -> str:
    """Return one picture as the text of an SVG element, blank where there is nothing to draw.

    It has a title and a description for whoever hears it read aloud, no ids, and text as text.

    Parameters
    ----------
    name : str
        One of `CHARTS`.
    summary : Summary
        What the report says.

    Raises
    ------
    KeyError
        There is no such picture.

    References
    ----------
    own reasoning
    """
    picture = year_picture(name, summary)
    if picture is None:
        return ""
    return marks.svg_element(*_drawn(picture), picture.title, picture.description)


def chart_words(name: str, summary: Summary) -> str:
    """Return the sentence that a picture proves, its title; blank where nothing is drawn.

    Parameters
    ----------
    name : str
        One of `CHARTS`.
    summary : Summary
        What the report says.

    Raises
    ------
    KeyError
        There is no such picture.

    References
    ----------
    own reasoning
    """
    picture = year_picture(name, summary)
    return "" if picture is None else picture.title


def _drawn(picture: YearPicture) -> tuple[list[Mark], float, float]:
    """Return the marks of a picture, its width and its height."""
    out: list[Mark] = []
    y = _lines(out, picture.title, 0.0, TITLE, heavy=True) + 4
    left = EDGE
    if picture.scale:
        left += max(marks.wide_of(text, SMALL) for text in picture.scale_words) + 8
    slot = min((WIDE - EDGE - left) / len(picture.years), WIDEST_SLOT)
    across = [left + (place + 0.5) * slot for place in range(len(picture.years))]
    shown = _shown(picture, slot)
    for panel in picture.panels:
        y = _head(out, panel, y)
        if picture.scale:
            y += 4
            _scale(out, picture, y, left)
            _band(out, panel, picture.scale, (across, y))
            y += HIGH_SCALE
        else:
            y = _bars(out, panel, _per_unit(picture), (across, slot, y))
        y += TEXT + 1
        for place in shown:
            out.append(_under(across[place], y, panel.amounts[place].number, look.INK))
        y += 8
    y += SMALL
    for place in shown:
        out.append(_under(across[place], y, str(picture.years[place]), look.QUIET))
    y = _lines(out, picture.note, y + 6, SMALL, look.QUIET)
    return out, WIDE, math.ceil(y + 5)


def _under(x: float, y: float, text: str, colour: str) -> Words:
    """Return words in the middle under a mark, drawn inward where they would leave the picture."""
    half = marks.wide_of(text, SMALL) / 2
    return Words(min(max(x, half), WIDE - half), y, text, SMALL, colour, "middle")


def _lines(
    out: list[Mark], text: str, y: float, size: float, colour: str = look.INK, heavy: bool = False
) -> float:
    """Write text in lines from y down; return where the last one stands."""
    for line in marks.wrapped(text, WIDE - 2 * EDGE, size, heavy):
        y += size * LEADING
        out.append(Words(EDGE, y, line, size, colour, heavy=heavy))
    return y


def _shown(picture: YearPicture, slot: float) -> range:
    """Return the years whose numbers are written: all, or every second, third ... that fits.

    The highest bar is among them; where stems are drawn, the first year is.
    """
    told = [one.number for panel in picture.panels for one in panel.amounts]
    widest = max(marks.wide_of(text, SMALL) for text in [*told, *map(str, picture.years)])
    step = max(math.ceil((widest + APART) / slot), 1)
    values = max(([one.value for one in panel.amounts] for panel in picture.panels), key=max)
    first = 0 if picture.scale else values.index(max(values)) % step
    return range(first, len(picture.years), step)


def _head(out: list[Mark], panel: Panel, y: float) -> float:
    """Write what a row shows and, at the right, what there is; return where the marks begin."""
    y += TEXT * LEADING + 4
    room = WIDE - 2 * EDGE
    if panel.limit_words:
        said = marks.cut(panel.limit_words, 0.66 * room, SMALL)
        long = marks.wide_of(said, SMALL)
        out.append(Words(WIDE - EDGE, y, said, SMALL, anchor="end"))
        end = WIDE - EDGE - long - 5
        out.append(Line(((end - 18, y - 4), (end, y - 4)), 1.2, dashed=True))
        room -= long + 30
    out.append(Words(EDGE, y, marks.cut(panel.heading, room, TEXT, heavy=True), TEXT, heavy=True))
    return y + 10


def _reach(panel: Panel) -> tuple[float, float]:
    """Return the lowest and the highest that a row of bars reaches; nought is in it."""
    limits = [one for one in panel.limits if one is not None]
    low = min([0.0, *(one.low for one in panel.amounts), *(one.value for one in panel.amounts)])
    return low, max([0.0, *(one.high for one in panel.amounts), *limits])


def _per_unit(picture: YearPicture) -> float:
    """Return the height of one hour, dollar or acre: one scale for all rows of a picture."""
    longest = max(high - low for low, high in map(_reach, picture.panels))
    return (HIGH_ALONE if len(picture.panels) == 1 else HIGH) / max(longest, 1e-9)


def _bars(
    out: list[Mark], panel: Panel, per_unit: float, own: tuple[list[float], float, float]
) -> float:
    """Draw a bar and a whisker a year, the line at nought, what there is; return the foot."""
    across, slot, top = own
    low, high = _reach(panel)
    foot = top + max((high - low) * per_unit, LOWEST_ROW)
    fill, outline = FILLS.get(panel.key, (look.LINE, look.INK))
    wide = min(0.6 * slot, WIDEST_BAR)

    def at(value: float) -> float:
        return foot - (value - low) * per_unit

    for x, amount in zip(across, panel.amounts, strict=True):
        up, down = sorted((at(amount.value), at(0.0)))
        if down - up > LEAST_DRAWN:
            out.append(Area(marks.box(x - wide / 2, up, wide, down - up), fill, outline, 0.8))
        if panel.key == "clear":
            _rings(out, x, up, down)
        if (amount.high - amount.low) * per_unit > LEAST_DRAWN:
            out.extend(_whisker(x, at(amount.low), at(amount.high), min(CAP, wide)))
    out.append(Line(((across[0] - slot / 2, at(0.0)), (across[-1] + slot / 2, at(0.0))), 1.0))
    for begin, end, limit in _steady(panel.limits):
        points = ((across[begin] - slot / 2, at(limit)), (across[end] + slot / 2, at(limit)))
        out.append(Line(points, 1.2, dashed=True))
    return foot


def _steady(limits: tuple[float | None, ...]) -> list[tuple[int, int, float]]:
    """Return first place, last place and limit of each run of years with the same limit."""
    out: list[tuple[int, int, float]] = []
    for place, limit in enumerate(limits):
        if limit is None:
            continue
        if out and out[-1][1] == place - 1 and math.isclose(out[-1][2], limit):
            out[-1] = (out[-1][0], place, limit)
        else:
            out.append((place, place, limit))
    return out


def _rings(out: list[Mark], x: float, up: float, down: float) -> None:
    """Draw the second sign of clear ground, rings, one above the other in its bar."""
    y = down - 6.0
    while y - 4.0 > up:
        out.append(Ring(x, y, 2.2, "", GRASS))
        y -= 9.0


def _whisker(x: float, low: float, high: float, cap: float) -> list[Mark]:
    """Return the range: an upright line with two ends."""
    half = cap / 2
    return [
        Line(((x - half, high), (x + half, high)), 1.2),
        Line(((x, high), (x, low)), 1.2),
        Line(((x - half, low), (x + half, low)), 1.2),
    ]


def _scale(out: list[Mark], picture: YearPicture, top: float, left: float) -> None:
    """Draw the lines of the scale by tens with their numbers."""
    room = HIGH_SCALE / (len(picture.scale) - 1)
    for place, text in enumerate(reversed(picture.scale_words)):
        y = top + place * room
        lowest = place == len(picture.scale) - 1
        out.append(Line(((left, y), (WIDE - EDGE, y)), 0.8, look.INK if lowest else look.LINE))
        out.append(Words(left - 5, y + 4, text, SMALL, look.QUIET, "end"))


def _band(
    out: list[Mark], panel: Panel, scale: tuple[float, ...], own: tuple[list[float], float]
) -> None:
    """Draw a line with a point a year through its range as a band, on the scale by tens."""
    across, top = own
    lowest, highest = math.log10(scale[0]), math.log10(scale[-1])

    def at(value: float) -> float:
        share = (math.log10(max(value, scale[0])) - lowest) / (highest - lowest)
        return top + (1.0 - share) * HIGH_SCALE

    upper = [(x, at(one.high)) for x, one in zip(across, panel.amounts, strict=True)]
    lower = [(x, at(one.low)) for x, one in zip(across, panel.amounts, strict=True)]
    out.append(Area((*upper, *reversed(lower)), look.LINE))
    middle = tuple((x, at(one.value)) for x, one in zip(across, panel.amounts, strict=True))
    out.append(Line(middle, 1.8))
    out.extend(Ring(x, y, 2.4, look.INK) for x, y in middle)
