"""Say numbers as a neighbour would; all rounding of the report stands here."""

import math
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from clearing import units

FIGURES = 2  # figures that a rough number is said with
LITRES = {"gal": units.L_PER_GAL, "fl oz": units.L_PER_FLOZ, "L": 1.0, "mL": 0.001}
NEARLY = 0.995  # of a gallon or litre is said as a whole one
POURED_US_L = units.L_PER_FLOZ / 2  # what can be measured into a tank: half an ounce; own choice
POURED_L = 0.005  # and 5 mL; own choice
POURED_FIGURES = 3  # or three figures, where that is finer; own choice
LEAST_TANK = 0.05  # of a tank; less is not told apart; own choice
TURNS = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
LEFTWARD = {"R", "AL"} | TURNS
MOST_NAME = 60  # letters of a name in a heading; the whole name stands on the map; own choice
AREA_FIGURES_FROM = 10  # areas above this are said without a decimal


@dataclass(frozen=True)
class Amount:
    """A number with its range in the owner's unit, and how it is said."""

    value: float = field(metadata={"description": "Plan on this much, in the owner's unit"})
    low: float = field(metadata={"description": "Lower end"})
    high: float = field(metadata={"description": "Upper end"})
    unit: str = field(metadata={"description": "hours, dollars, acres, ha, gal, fl oz, L or mL"})
    words: str = field(metadata={"description": "The number and its range, rounded, with unit"})
    short: str = field(metadata={"description": "The number without range, rounded, with unit"})
    number: str = field(metadata={"description": "The number alone, rounded, for a table"})


def rounded(value: float, figures: int = FIGURES) -> float:
    """Return the value rounded to so many significant figures.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> rounded(46.2173), rounded(1387), rounded(0.374)
    (46.0, 1400.0, 0.37)
    """
    if not math.isfinite(value) or value == 0:
        return 0.0
    return round(float(value), figures - 1 - math.floor(math.log10(abs(value))))


def said(value: float, figures: int = FIGURES) -> str:
    """Return a number as it is said: rounded, thousands set apart, no idle zeros.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> said(1387), said(3.04), said(0.374)
    ('1,400', '3', '0.37')
    """
    number = rounded(value, figures)
    if abs(number) >= 10 ** (figures - 1) or number == int(number):
        return f"{number:,.0f}"
    return f"{number:,.6f}".rstrip("0").rstrip(".")


def money(value: float) -> str:
    """Return dollars as they are said: two figures, and no cents.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> money(14238), money(-120.4), money(0.71)
    ('$14,000', '-$120', '$1')
    """
    whole = round(value) if math.isfinite(value) else 0
    return f"-${said(-whole)}" if whole < 0 else f"${said(whole)}"


def hours(value: float, low: float, high: float) -> Amount:
    """Return hours of people with their range.

    References
    ----------
    own reasoning
    """
    return _amount((value, low, high), "hours", f"{said(value)} {_plural(value, 'hour')}", said)


def beside(own: Amount, theirs: float) -> Amount:
    """Return hours with a contractor's set beside them in words; as they are without any.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> beside(hours(28, 20, 40), 903).words
    "about 28 hours (20 to 40) of the crew's and about 900 of a contractor's"
    >>> beside(hours(0, 0, 0), 903).words, beside(hours(0, 0, 0), 903).number
    ("about 900 hours of a contractor's", 'contractor 900')
    """
    if theirs <= 0:
        return own
    text = said(theirs)
    if own.number == "0":
        alone = f"{text} {_plural(theirs, 'hour')} of a contractor's"
        return replace(own, words=f"about {alone}", short=alone, number=f"contractor {text}")
    also = f"of the crew's and about {text} of a contractor's"
    return replace(
        own, words=f"{own.words} {also}", short=f"{own.short} {also}",
        number=f"{own.number} + contractor {text}",
    )  # fmt: skip


def cost(value: float, low: float, high: float) -> Amount:
    """Return dollars with their range.

    References
    ----------
    own reasoning
    """
    return _amount((value, low, high), "dollars", money(value), money)


def stems(value: float, low: float, high: float) -> Amount:
    """Return stems with their range, whole ones.

    References
    ----------
    own reasoning
    """
    whole = round(value) if math.isfinite(value) else 0
    short = f"{_whole(value)} {_plural(whole, 'stem')}"
    return _amount((value, low, high), "stems", short, _whole)


def volume(litres: tuple[float, float, float], us: bool) -> Amount:
    """Return a volume with its range, in gallons or fluid ounces, litres or millilitres.

    References
    ----------
    nist_hb44
    """
    if us:
        large = litres[0] >= NEARLY * units.L_PER_GAL
        unit, factor = ("gal", units.L_PER_GAL) if large else ("fl oz", units.L_PER_FLOZ)
    else:
        unit, factor = ("L", 1.0) if litres[0] >= NEARLY else ("mL", 0.001)
    value, low, high = (float(litre) / factor for litre in litres)
    return _amount((value, low, high), unit, f"{said(value)} {unit}", said)


def poured(litres: float, us: bool) -> str:
    """Return what is measured into a tank: to half a fluid ounce or 5 mL, or to three figures.

    References
    ----------
    nist_hb44; own choice

    Examples
    --------
    >>> poured(3.6501, True), poured(0.5, True), poured(0.02, True), poured(0.1234, False)
    ('123.4 fl oz', '16.9 fl oz', '0.676 fl oz', '123 mL')
    """
    if us:
        large = litres >= NEARLY * units.L_PER_GAL
        unit, factor = ("gal", units.L_PER_GAL) if large else ("fl oz", units.L_PER_FLOZ)
        step = POURED_US_L / factor
    else:
        unit, factor = ("L", 1.0) if litres >= NEARLY else ("mL", 0.001)
        step = POURED_L / factor
    value = litres / factor
    by_figures = POURED_FIGURES - 1 - math.floor(math.log10(value)) if value > 0 else 0
    places = max(by_figures, math.ceil(-math.log10(step)), 0)
    text = f"{value:,.{places}f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


def tanks(three: tuple[float, float, float]) -> Amount:
    """Return tanks with their range, to a twentieth of one.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> tanks((0.0012, 0.0, 0.4)).words, tanks((1, 1, 1)).words, tanks((13.4, 9, 20)).short
    ('under 0.05 tanks (up to 0.4)', 'about 1 tank', '13 tanks')
    """
    value = three[0]
    number = _tanks(value)
    short = f"{number} {_plural(value, 'tank')}"
    made = _amount(three, "tanks", short, _tanks)
    low = f"({_tanks(three[1])} to " if three[1] < LEAST_TANK else "("
    text = made.words.replace("about under", "under").replace(low, low if low == "(" else "(up to ")
    return replace(made, words=text)


def _tanks(value: float) -> str:
    """Return a number of tanks: nought, under a twentieth, or two figures and two decimals."""
    if 0 < value < LEAST_TANK:
        return f"under {LEAST_TANK:g}"
    return said(round(value, 2))


def counted(three: tuple[float, float, float], unit: str) -> Amount:
    """Return a rough number with its range in any unit that is said as it stands.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> counted((4.2, 3.1, 6.0), "tanks").words, counted((12, 12, 12), "%").words
    ('about 4.2 tanks (3.1 to 6)', 'about 12 %')
    """
    return _amount(three, unit, f"{said(three[0])} {unit}", said)


def percent(value: float) -> Amount:
    """Return a share in percent without a range; less than one is said as under one.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> percent(33.4).words, percent(0.002).words, percent(0).words
    ('about 33 %', 'under 1 %', '0 %')
    """
    number = said(value) if value >= 1 or value <= 0 else "under 1"
    text = f"{number} %"
    return Amount(value, value, value, "%", f"about {text}" if value >= 1 else text, text, number)


def area(hectares: float, us: bool) -> Amount:
    """Return an area in acres or hectares; areas are measured, so they carry no range.

    References
    ----------
    nist_hb44
    """
    value = float(hectares) / units.HA_PER_ACRE if us else float(hectares)
    number = f"{value:,.0f}" if value >= AREA_FIGURES_FROM else f"{value:.1f}"
    one = number in ("1.0", "1")
    unit = ("acre" if one else "acres") if us else "ha"
    text = f"{number.removesuffix('.0')} {unit}"
    return Amount(value, value, value, "acres" if us else "ha", text, text, number)


def length(metres: float, us: bool) -> str:
    """Return a distance in feet or metres as it is said.

    References
    ----------
    nist_hb44
    """
    return f"{said(metres / units.M_PER_FT)} ft" if us else f"{said(metres)} m"


def isolated(name: str) -> str:
    """Return a name as it may stand in a sentence: letters that run leftward shift nothing around.

    Such a name stands between the signs of a first strong isolate; signs that turn the run of
    letters over are taken out.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> isolated("Road field"), isolated("שדה") == "\u2068שדה\u2069"
    ('Road field', True)
    """
    kinds = {unicodedata.bidirectional(letter) for letter in name}
    if not kinds & LEFTWARD:
        return name
    plain = "".join(one for one in name if unicodedata.bidirectional(one) not in TURNS)
    return f"\u2068{plain}\u2069"


def cut(name: str, letters: int = MOST_NAME) -> str:
    """Return a name, cut with an ellipsis where it is too long for a heading.

    References
    ----------
    own reasoning
    """
    return name if len(name) <= letters else f"{name[: letters - 1]}…"


def listed(names: list[str]) -> str:
    """Return names joined with commas and a last and.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> listed(["pear", "privet", "tallow"])
    'pear, privet and tallow'
    """
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else "".join(names)


def sentence(text: str) -> str:
    """Return the text with a capital first letter.

    References
    ----------
    own reasoning
    """
    return text[:1].upper() + text[1:]


def _amount(
    three: tuple[float, float, float], unit: str, short: str, say: Callable[[float], str]
) -> Amount:
    """Return an amount with its words: about 46 hours (38 to 57)."""
    value, low, high = (float(number) for number in three)
    ends = (say(low), say(high))
    spread = f" ({ends[0]} to {ends[1]})" if ends[0] != ends[1] else ""
    return Amount(value, low, high, unit, f"about {short}{spread}", short, say(value))


def _whole(value: float) -> str:
    """Return a count as it is said: two figures and no part of one."""
    return said(round(value)) if math.isfinite(value) else "0"


def _plural(value: float, word: str) -> str:
    return word if said(value) == "1" else f"{word}s"
