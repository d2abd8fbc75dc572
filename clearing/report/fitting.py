"""Reckon how high a text stands on paper, from the widths of its letters."""

import functools
from pathlib import Path

import matplotlib
from PIL import ImageFont

FONT = "DejaVuSans.ttf"
DRAWN_AT = 200  # size at which letters are measured [pt]
CAP_HEIGHT = 0.729  # of this font, as a share of its size
LEADING = 0.45  # between the lines of a card, as a share of the size; own choice


@functools.lru_cache(maxsize=1)
def _font() -> ImageFont.FreeTypeFont:
    """Return the font of the work plan."""
    return ImageFont.truetype(
        str(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / FONT), DRAWN_AT
    )


@functools.lru_cache(maxsize=4096)
def _width(word: str) -> float:
    """Return the width of a word at a size of one point."""
    return float(_font().getlength(word)) / DRAWN_AT


def lines_of(text: str, wide_pt: float, size_pt: float) -> int:
    """Return how many lines a text takes, each filled as far as it goes.

    Parameters
    ----------
    text : str
        Words; a word wider than the line is broken anywhere.
    wide_pt : float
        Width of the column [pt].
    size_pt : float
        Size of the letters [pt].

    References
    ----------
    own reasoning

    Examples
    --------
    >>> lines_of("one two", 500, 11), lines_of("one two", 30, 11), lines_of("", 30, 11)
    (1, 2, 1)
    """
    room, used, lines = wide_pt / size_pt, 0.0, 1
    for word in text.split(" "):
        wide = _width(word)
        after = used + (_width(" ") if used else 0.0) + wide
        if after <= room:
            used = after
        else:
            broken = int(wide // room)
            lines += (1 if used else 0) + broken
            used = wide - broken * room
    return lines


def high_pt(text: str, wide_pt: float, size_pt: float) -> float:
    """Return the height of a text with the gap below it [pt].

    References
    ----------
    own reasoning
    """
    return lines_of(text, wide_pt, size_pt) * (CAP_HEIGHT + LEADING) * size_pt
