"""Turn the owner's units into metric and back; the only place that knows both.

Exact definitions: international foot 0.3048 m, acre 43,560 ft2, US gallon 231 in3, pound
0.45359237 kg (source key: nist_hb44).
"""

import re

M_PER_FT = 0.3048
CM_PER_IN = 2.54
HA_PER_ACRE = 43560 * M_PER_FT**2 / 10_000
L_PER_GAL = 231 * 0.0254**3 * 1000
L_PER_FLOZ = L_PER_GAL / 128
KG_PER_LB = 0.45359237
KG_HA_PER_LB_AC = KG_PER_LB / HA_PER_ACRE
KG_L_PER_LB_GAL = KG_PER_LB / L_PER_GAL
L_PER_QT = L_PER_GAL / 4
L_PER_PT = L_PER_GAL / 8
L_PER_TBSP = L_PER_FLOZ / 2
L_PER_TSP = L_PER_FLOZ / 6

# suffix of the owner's column -> (metric suffix, factor)
METRIC_TWIN = {
    "in": ("cm", CM_PER_IN),
    "ft": ("m", M_PER_FT),
    "acres": ("ha", HA_PER_ACRE),
    "gal": ("l", L_PER_GAL),
    "floz": ("l", L_PER_FLOZ),
}

VOLUME_L = {
    "gal": L_PER_GAL,
    "qt": L_PER_QT,
    "pt": L_PER_PT,
    "floz": L_PER_FLOZ,
    "tbsp": L_PER_TBSP,
    "tsp": L_PER_TSP,
    "l": 1.0,
    "ml": 0.001,
}

_VOLUME = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*([a-zA-Z]+)\s*")


def volume_l(text: str) -> float:
    """Return a volume written by a person, such as ``0.5gal`` or ``4.5 floz`` [l].

    Parameters
    ----------
    text : str
        A number and one of gal, qt, pt, floz, tbsp, tsp, L, mL.

    Raises
    ------
    ValueError
        The text is not a number with one of these units.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> round(volume_l("0.5gal"), 4)
    1.8927
    """
    match = _VOLUME.fullmatch(text)
    unit = match.group(2).lower() if match else ""
    if match is None or unit not in VOLUME_L:
        raise ValueError(
            f"{text!r} is not a volume; write a number and one of {', '.join(VOLUME_L)}, "
            "such as 0.5gal"
        )
    return float(match.group(1)) * VOLUME_L[unit]


def share_of_tank_l(text: str, tank_l: float) -> float:
    """Return a volume given as percent of the tank (a plain number) or with its unit [l].

    Raises
    ------
    ValueError
        The text is neither a number nor a volume.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> share_of_tank_l("0.25", 2.0)
    0.005
    """
    try:
        return float(text) / 100.0 * tank_l
    except ValueError:
        return volume_l(text)
