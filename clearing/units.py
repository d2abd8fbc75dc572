"""Turn the owner's units into metric and back; the only place that knows both.

Exact definitions: international foot 0.3048 m, acre 43,560 ft2, US gallon 231 in3, pound
0.45359237 kg (source key: nist_hb44).
"""

import math
import re
from collections.abc import Mapping

M_PER_FT = 0.3048
CM_PER_IN = 2.54
HA_PER_ACRE = 43560 * M_PER_FT**2 / 10_000
L_PER_GAL = 231 * 0.0254**3 * 1000
L_PER_FLOZ = L_PER_GAL / 128
KG_PER_LB = 0.45359237
DAYS_A_MONTH = 30.4  # 365 / 12, rounded
KMH_PER_MPH = 5280 * M_PER_FT / 1000
C_PER_F = 5 / 9
F_AT_0_C = 32.0
KG_HA_PER_LB_AC = KG_PER_LB / HA_PER_ACRE
KG_L_PER_LB_GAL = KG_PER_LB / L_PER_GAL
L_PER_QT = L_PER_GAL / 4
L_PER_PT = L_PER_GAL / 8
L_PER_CUP = L_PER_GAL / 16
L_PER_TBSP = L_PER_FLOZ / 2
L_PER_TSP = L_PER_FLOZ / 6

# suffix of the owner's column -> (metric suffix, factor)
METRIC_TWIN = {
    "in": ("cm", CM_PER_IN),
    "ft": ("m", M_PER_FT),
    "acres": ("ha", HA_PER_ACRE),
    "gal": ("l", L_PER_GAL),
    "floz": ("l", L_PER_FLOZ),
    "mph": ("kmh", KMH_PER_MPH),
    "f": ("c", C_PER_F),
}
NOUGHT = {"f": F_AT_0_C}  # what is taken off first, where the two scales begin apart

VOLUME_L = {
    "gal": L_PER_GAL,
    "qt": L_PER_QT,
    "pt": L_PER_PT,
    "cup": L_PER_CUP,
    "floz": L_PER_FLOZ,
    "tbsp": L_PER_TBSP,
    "tsp": L_PER_TSP,
    "l": 1.0,
    "ml": 0.001,
}
_SAID = {
    "gallon": "gal", "quart": "qt", "pint": "pt", "fluidounce": "floz", "flounce": "floz",
    "tablespoon": "tbsp", "tbs": "tbsp", "teaspoon": "tsp", "liter": "l", "litre": "l",
    "milliliter": "ml", "millilitre": "ml", "cc": "ml",
}  # fmt: skip
_HECTARES = ("ha", "hectare", "hectares")
_UNITS = "gal, qt, pt, cup, floz, tbsp, tsp, L, mL"
_SIGNS = {
    "¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3",
    "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
}  # fmt: skip
_NUMBER = (
    r"[0-9]+[ -]+[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]*)?"
    r"|[0-9]+\.?[0-9]*|\.[0-9]+"
)
_VOLUME = re.compile(rf"({_NUMBER})\s*([a-zA-Z][a-zA-Z. ]*)")
_SHARE = re.compile(rf"({_NUMBER})\s*(?:%|percent)?", re.IGNORECASE)
_GROUND = re.compile(
    r"(.+?)(?:\s*/\s*|\s+per\s+|\s+an?\s+)(acres?|ac|hectares?|ha)\.?", re.IGNORECASE
)


def volume_l(text: str) -> float:
    """Return a volume as people write it, such as ``4.5 fl oz`` or ``1 1/2 qt`` [l].

    Parameters
    ----------
    text : str
        A number or a fraction and one of gal, qt, pt, cup, floz, tbsp, tsp, L, mL, in full or
        short, in any case, singular or plural.

    Raises
    ------
    ValueError
        The text is not a number with one of these units.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> round(volume_l("1/2 gallon"), 4)
    1.8927
    """
    match = _VOLUME.fullmatch(_plain(text))
    unit = _unit(match.group(2)) if match else ""
    if match is None or unit not in VOLUME_L:
        hint = "oz alone may be a weight: write floz for the volume" if unit == "oz" else (
            f"write a number and one of {_UNITS}, such as 0.5gal or 4.5 fl oz{_comma(text)}"
        )  # fmt: skip
        raise ValueError(f"{text!r} is not a volume; {hint}")
    return _number(match.group(1), text) * VOLUME_L[unit]


def volume_words(litres: float, us: bool) -> str:
    """Return a volume in the unit that suits its size, with two digits that count.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> volume_words(10.0, us=True), volume_words(0.5, us=True), volume_words(0.25, us=False)
    ('2.6 gal', '17 fl oz', '250 mL')
    """
    if us:
        small = litres < L_PER_GAL / 4
        unit, one = ("fl oz", L_PER_FLOZ) if small else ("gal", L_PER_GAL)
    else:
        unit, one = ("mL", 0.001) if litres < 1 else ("L", 1.0)
    return f"{two_digits(litres / one)} {unit}"


def two_digits(value: float) -> str:
    """Return a number with two digits that count.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> two_digits(1234.5), two_digits(0.456)
    ('1,200', '0.46')
    """
    return f"{float(f'{value:.2g}'):,g}"


def percent_from(text: str) -> float:
    """Return a percent written as ``2``, ``2 %``, ``1/2`` or ``.5 percent`` [%].

    Raises
    ------
    ValueError
        The text is not a number from 0 to 100, with or without a percent sign.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> percent_from("2 %")
    2.0
    """
    match = _SHARE.fullmatch(_plain(text))
    percent = _number(match.group(1), text) if match else -1.0
    if not 0.0 <= percent <= 100.0:
        raise ValueError(f"{text!r} is not a percent; write a number from 0 to 100, such as 2")
    return percent


def rate_l_ha(text: str, us: bool = True) -> tuple[float, bool]:
    """Return product on a hectare [l/ha], and whether it was said an acre.

    Parameters
    ----------
    text : str
        A volume with or without its ground: ``1qt``, ``1 qt/ac``, ``3L/ha``, ``3 L an acre``.
    us : bool
        A bare volume is an acre's; else a hectare's.

    Raises
    ------
    ValueError
        The text is not a volume, with or without /ac or /ha.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> rate_l_ha("3L/ha"), rate_l_ha("3L", us=False)
    ((3.0, False), (3.0, False))
    """
    match = _GROUND.fullmatch(_plain(text))
    volume, acre = (match.group(1), match.group(2).lower()[0] == "a") if match else (text, us)
    try:
        litres = volume_l(volume)
    except ValueError as wrong:
        right = "write a volume an acre or a hectare, such as 1qt/ac or 3L/ha"
        raise ValueError(f"{text!r} is not a rate; {right}") from wrong
    return (litres / HA_PER_ACRE if acre else litres), acre


def ground_ha(text: str, us: bool = True) -> float:
    """Return an area as people write it, such as ``2 acres``, ``0.8ha`` or ``1 1/2`` [ha].

    Parameters
    ----------
    text : str
        A number or a fraction, alone or with acres or ha.
    us : bool
        A bare number is acres; else hectares.

    Raises
    ------
    ValueError
        The text is no such area.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> round(ground_ha("2 acres"), 4), ground_ha("0.8", us=False)
    (0.8094, 0.8)
    """
    value, unit = _measured(text, "an area", {"acres": ("acres", "acre", "ac"), "ha": _HECTARES})
    acres = unit == "acres" or (not unit and us)
    return value * HA_PER_ACRE if acres else value


def wind_kmh(text: str, us: bool = True) -> float:
    """Return a wind speed as people write it, such as ``6 mph``, ``10km/h`` or ``6`` [km/h].

    Parameters
    ----------
    text : str
        A number, alone or with mph or km/h.
    us : bool
        A bare number is miles an hour; else kilometres an hour.

    Raises
    ------
    ValueError
        The text is no such speed.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> wind_kmh("10 mph"), wind_kmh("10", us=False)
    (16.09344, 10.0)
    """
    kinds = {"mph": ("mph",), "km/h": ("kmh", "km/h", "kph")}
    value, unit = _measured(text, "a wind speed", kinds)
    miles = unit == "mph" or (not unit and us)
    return value * KMH_PER_MPH if miles else value


def heat_c(text: str, us: bool = True) -> float:
    """Return an air temperature as people write it, such as ``75F``, ``24 C`` or ``75`` [deg C].

    Parameters
    ----------
    text : str
        A number, below nought with a minus, alone or with F or C.
    us : bool
        A bare number is degrees Fahrenheit; else Celsius.

    Raises
    ------
    ValueError
        The text is no such temperature.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> heat_c("75.2F"), heat_c("-5", us=False)
    (24.0, -5.0)
    """
    plain = _plain(text)
    below = plain.startswith(("-", "\u2212"))
    kinds = {"F": ("f", "°f"), "C": ("c", "°c")}
    value, unit = _measured(plain[1:] if below else plain, "a temperature", kinds)
    value = -value if below else value
    warm = unit == "F" or (not unit and us)
    return round((value - F_AT_0_C) * C_PER_F, 9) if warm else value


def _measured(text: str, what: str, kinds: Mapping[str, tuple[str, ...]]) -> tuple[float, str]:
    """Return a number and which of the units stands behind it; blank for a bare number."""
    found = re.fullmatch(rf"({_NUMBER})\s*([a-zA-Z°/.]*)", _plain(text))
    word = found.group(2).lower().rstrip(".") if found else "?"
    unit = next((kind for kind, words in kinds.items() if word in words), "" if not word else None)
    if found is None or unit is None:
        raise ValueError(
            f"{text!r} is not {what}; write a number, alone or with {' or '.join(kinds)}"
        )
    return _number(found.group(1), text), unit


def share_of_tank_l(text: str, tank_l: float) -> float:
    """Return a volume given as percent of the tank (a plain number) or with its unit [l].

    Raises
    ------
    ValueError
        The text is neither a percent nor a volume.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> share_of_tank_l("0.25", 2.0)
    0.005
    """
    if _SHARE.fullmatch(_plain(text)):
        return percent_from(text) / 100.0 * tank_l
    return volume_l(text)


def _comma(text: str) -> str:
    """Return how a comma is read, for a text that has one."""
    return " (a comma stands only before three digits, as in 1,000)" if "," in text else ""


def _plain(text: str) -> str:
    """Return a text with the one-letter fractions written out."""
    for sign, written in _SIGNS.items():
        text = text.replace(sign, written)
    return text.strip()


def _unit(word: str) -> str:
    """Return the short name of a unit as somebody wrote it; the word itself when unknown."""
    short = re.sub(r"[. ]", "", word).lower()
    for name in (short, short.removesuffix("s")):
        found = _SAID.get(name, name)
        if found in VOLUME_L:
            return found
    return short


def _number(written: str, text: str) -> float:
    """Return a decimal number or a fraction such as 1 1/2."""
    whole, _, part = re.sub(r"[ -]+", " ", written.replace(",", "")).rpartition(" ")
    above, _, below = part.partition("/")
    if below and not float(below):
        raise ValueError(f"{text!r} divides by nought; write a number such as 0.5 or 1/2")
    try:
        value = float(whole or 0) + (float(above) / float(below) if below else float(part))
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise ValueError(f"{text!r} is too large a number")
    return value
