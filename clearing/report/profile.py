"""Draw the stems of a block by size class with their range: one picture for map and paper."""

import html
import math

from clearing.report import look
from clearing.report.facts import SizeStems, SpeciesSizes
from clearing.report.words import listed

WIDE = 340.0  # the picture's own units; on the panel about one to a pixel
HEAD, SPECIES, ROW, GAP = 16.0, 23.0, 20.0, 7.0
BETWEEN = 26.0  # from one species to the next beside it
BAR, CAP = 10.0, 7.0  # height of a bar and of a whisker's ends
TEXT, HEAD_TEXT = 13.5, 14.0
LETTER = 7.2  # width of a letter of the widest font that draws it
LONGEST_NAME = 40
FONTS = "system-ui, 'Segoe UI', Roboto, 'Liberation Sans', 'DejaVu Sans', sans-serif"
HOW_TO_READ = (
    "Bar: about how many. Line: the range. No bar: none was counted, and the line says how many "
    "there may still be."
)


def profile_svg(title: str, species: tuple[SpeciesSizes, ...], abreast: int = 1) -> str:
    """Return the picture as the text of an SVG element, blank where nothing was reckoned.

    A bar is the estimate, a whisker its range; a class in which nothing was counted has the
    whisker alone. Every word is escaped.

    Parameters
    ----------
    title : str
        What the picture shows, for whoever hears it read aloud.
    species : tuple of SpeciesSizes
        Stems by size, small to large; all species share one scale.
    abreast : int
        How many species stand side by side; the picture grows as wide.

    References
    ----------
    own reasoning
    """
    if not species:
        return ""
    columns = _columns(species)
    high = SPECIES + ROW * max(len(one.sizes) for one in species) + GAP
    across = min(abreast, len(species))
    marks = [_shifted(place * (WIDE + BETWEEN), 0, _heads(columns)) for place in range(across)]
    for place, one in enumerate(species):
        row, column = divmod(place, across)
        heading = _text(0, 15, _heading(one), look.INK, size=HEAD_TEXT, weight=600)
        own = [heading, *_rows(one, SPECIES, columns)]
        marks.append(_shifted(column * (WIDE + BETWEEN), HEAD + row * high, own))
    wide, rows = across * (WIDE + BETWEEN) - BETWEEN, math.ceil(len(species) / across)
    box = f"0 0 {wide:g} {HEAD + rows * high:g}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="{box}" '
        f'font-family="{FONTS}" font-size="{TEXT:g}"><title>{html.escape(title)}</title>'
        f"<desc>{html.escape(profile_words(species))}</desc>{''.join(marks)}</svg>"
    )


def _shifted(x: float, y: float, marks: list[str]) -> str:
    """Return marks moved to a place of their own."""
    return f'<g transform="translate({x:g} {y:g})">{"".join(marks)}</g>'


def _heads(columns: dict[str, float]) -> list[str]:
    """Return what stands over the numbers."""
    return [_text(columns[key], HEAD - 4, words, look.QUIET, anchor="end")
            for key, words in (("number", "stems"), ("range", "range"))]  # fmt: skip


def profile_words(species: tuple[SpeciesSizes, ...]) -> str:
    """Return what the picture shows in sentences, one a species.

    References
    ----------
    own reasoning
    """
    return " ".join(
        f"{one.name}: {'; '.join(f'{row.label} {row.stems.words}' for row in one.sizes)}."
        for one in species
    )


def _heading(one: SpeciesSizes) -> str:
    """Return the species and where most of its stems are, as the title of its bars."""
    name = one.name if len(one.name) <= LONGEST_NAME else f"{one.name[: LONGEST_NAME - 1]}…"
    name = name[:1].upper() + name[1:]
    most = max(row.stems.value for row in one.sizes)
    if most == 0:
        return f"{name}: none counted"
    often = [row.label for row in one.sizes if row.stems.value == most]
    return f"{name}: most often {listed(often)}" if len(often) < 3 else name


def _columns(species: tuple[SpeciesSizes, ...]) -> dict[str, float]:
    """Return where bars begin, how many units a stem takes, and the right ends of the numbers."""
    rows = [row for one in species for row in one.sizes]
    start = max(len(row.label) for row in rows) * LETTER + 6
    wide = max(len(_range(row)) for row in rows) * LETTER + 8
    number = WIDE - max(wide, 6 * LETTER)
    end = number - max(max(len(row.stems.number) for row in rows) * LETTER * 1.15, 5 * LETTER) - 8
    most = max([row.stems.high for row in rows] + [1.0])
    return {"start": start, "per_stem": (end - start) / most, "number": number, "range": WIDE}


def _range(row: SizeStems) -> str:
    """Return the range of a class as it stands beside its bar."""
    return row.stems.words.partition(" (")[2].removesuffix(")")


def _rows(one: SpeciesSizes, top: float, columns: dict[str, float]) -> list[str]:
    """Return label, bar, whisker and numbers of each size class, and the line at zero."""
    start, per_stem = columns["start"], columns["per_stem"]
    marks = []
    for place, row in enumerate(one.sizes):
        y = top + place * ROW + ROW / 2
        base = y + TEXT * 0.36
        wide = row.stems.value * per_stem
        low, high = (start + end * per_stem for end in (row.stems.low, row.stems.high))
        marks.append(_text(0, base, row.label, look.INK))
        if wide > 0:
            marks.append(
                f'<rect x="{start:.1f}" y="{y - BAR / 2:.1f}" width="{wide:.1f}" '
                f'height="{BAR:g}" fill="{look.LINE}" stroke="{look.INK}" stroke-width=".7"/>'
            )
        if high > low:
            up = f"M{low:.1f} {y - CAP / 2:.1f}v{CAP:g}"
            marks.append(
                f'<path d="{up}M{low:.1f} {y:.1f}H{high:.1f}M{high:.1f} {y - CAP / 2:.1f}v{CAP:g}" '
                f'fill="none" stroke="{look.INK}" stroke-width="1.3"/>'
            )
        marks.append(_text(columns["number"], base, row.stems.number, look.INK, anchor="end"))
        marks.append(_text(columns["range"], base, _range(row), look.QUIET, anchor="end"))
    high = len(one.sizes) * ROW
    marks.append(f'<path d="M{start:.1f} {top:.1f}v{high:g}" stroke="{look.INK}"/>')
    return marks


def _text(
    x: float, y: float, words: str, colour: str,
    anchor: str = "start", size: float = TEXT, weight: int = 400,
) -> str:  # fmt: skip
    """Return words at a place, escaped."""
    said_so = "" if anchor == "start" else f' text-anchor="{anchor}"'
    large = "" if size == TEXT else f' font-size="{size:g}"'
    heavy = "" if weight == 400 else f' font-weight="{weight}"'
    place = f'x="{x:.4g}" y="{y:.4g}" fill="{colour}"{said_so}{large}{heavy}'
    return f"<text {place}>{html.escape(words)}</text>" if words else ""
