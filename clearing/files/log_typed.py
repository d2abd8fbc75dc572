"""Read amounts as people type them into columns of the log, in the unit that was typed."""

import re
from collections.abc import Callable
from typing import Any

from clearing import units
from clearing.tables import cell_text
from clearing.units import METRIC_TWIN, NOUGHT

DIGITS = 9  # decimals that a number keeps on its way back from metric; own choice
ALIKE = 0.01  # share by which a number in two units may differ by rounding; own choice
# what is typed -> column of the log without its unit, the US suffix, the metric one, words of each
TYPED = {
    "area": ("area", "acres", "ha", r"acres?|ac", r"ha|hectares?"),
    "wind": ("wind", "mph", "kmh", r"mph", r"km/?h|kph"),
    "heat": ("temperature", "f", "c", r"°?f", r"°?c"),
    "product": ("product", "floz", "l", "", r"(m|milli)?l|(milli)?lit(er|re)s?|cc"),
    "mix": ("mix", "gal", "l", "", r"(m|milli)?l|(milli)?lit(er|re)s?|cc"),
}
_DECIMAL = re.compile(r"(?<![0-9.,])(?:([0-9]+),([0-9]{1,2}|[0-9]{4,})|(0),([0-9]{3}))(?![0-9.,])")


def with_point(text: str) -> str:
    """Return a text with a point for each comma that can only be a decimal one.

    Three figures after a comma may be thousands, so that comma stays, but after a lone nought.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> with_point("3,5 acres"), with_point("1,500"), with_point("0,125"), with_point("1,2,3")
    ('3.5 acres', '1,500', '0.125', '1,2,3')
    """
    return _DECIMAL.sub(lambda found: ".".join(part for part in found.groups() if part), text)


def typed_amounts(given: dict[str, Any], us: bool) -> tuple[dict[str, Any], list[str]]:
    """Return a row with its typed amounts as columns of the log, and what is wrong with them.

    Parameters
    ----------
    given : dict
        Columns of the log, and area, wind, heat, product and mix with their unit; the first three
        may stand alone.
    us : bool
        A number alone is in acres, miles an hour and degrees Fahrenheit.

    References
    ----------
    nist_hb44
    """
    row = {key: value for key, value in given.items() if key not in TYPED}
    wrong = []
    for name, (stem, own, metric, own_words, metric_words) in TYPED.items():
        text = with_point(cell_text(given.get(name)))
        if not text:
            if name in given:  # a blank that was typed clears both
                row |= {f"{stem}_{own}": "", f"{stem}_{metric}": ""}
            continue
        try:
            value = _reader(name)(text, us)
        except ValueError as problem:
            wrong.append(str(problem))
            continue
        unit = re.sub(r"^[-−0-9.,/ ¼½¾⅓⅔⅛⅜⅝⅞]+", "", text).strip(" .").lower()
        in_metric = bool(re.fullmatch(metric_words, unit))
        if not in_metric and not (own_words and re.fullmatch(own_words, unit)):
            in_metric = not us
        column, spare = (metric, own) if in_metric else (own, metric)
        factor = METRIC_TWIN[own][1]
        value = value if in_metric else value / factor + NOUGHT.get(own, 0.0)
        row |= {f"{stem}_{column}": f"{round(value, DIGITS):.{DIGITS}f}".rstrip("0").rstrip("."),
                f"{stem}_{spare}": ""}  # fmt: skip
    return row, wrong


def unlike_twins(row: dict[str, Any]) -> list[str]:
    """Return a sentence for each amount of a row that stands in two units and is not the same.

    Parameters
    ----------
    row : dict
        Column of the log -> text.

    References
    ----------
    own reasoning
    """
    said = []
    for stem, own, metric, _, _ in TYPED.values():
        here, there = f"{stem}_{own}", f"{stem}_{metric}"
        try:
            one = (float(row[here]) - NOUGHT.get(own, 0.0)) * METRIC_TWIN[own][1]
            other = float(row[there])
        except (KeyError, ValueError):
            continue
        if abs(one - other) > max(ALIKE * max(abs(one), abs(other)), ALIKE):
            said.append(f"{here!r} is {row[here]} and {there!r} is {row[there]}, which is not "
                        "the same; write one of them")  # fmt: skip
    return said


def _reader(name: str) -> Callable[[str, bool], float]:
    """Return what reads a typed amount."""
    if name == "area":
        return units.ground_ha
    if name == "wind":
        return units.wind_kmh
    if name == "heat":
        return units.heat_c
    return lambda text, us: units.volume_l(text)
