"""Put the cautions beside the work they belong to, from what is true of it."""

import re
import string
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import pandas as pd

from clearing.allometry import genus_of
from clearing.rates import Rates
from clearing.units import KMH_PER_MPH, M_PER_FT

METRIC: dict[str, tuple[str, Callable[[float], float]]] = {
    "ft": ("m", lambda feet: feet * M_PER_FT),
    "mph": ("km/h", lambda mph: mph * KMH_PER_MPH),
    "degrees F": ("degrees C", lambda degrees: (degrees - 32.0) / 1.8),
}
_MEASURE = re.compile(r"(\d+(?:\.\d+)?)(?: to (\d+(?:\.\d+)?))? (ft|mph|degrees F)\b")
NOTHING_NEAR = pd.DataFrame(columns=["species", "kind"])
SPRAYED_LEAVES = ("foliar", "follow_up", "upkeep")


@dataclass(frozen=True)
class Surroundings:
    """What is true of a strip whatever is done on it.

    Attributes
    ----------
    flags : frozenset of str
        Flags of its zones.
    near : frozenset of str
        Kinds of things that lie near.
    graft : tuple of str
        Genera that are treated and stand among the trees that stay.
    poison : tuple of str
        Species to be treated whose leaves are said to poison animals.
    stand_years : float
        Years for which dead stems of its species may stand, the longest of them [years].
    """

    flags: frozenset[str] = frozenset()
    near: frozenset[str] = frozenset()
    graft: tuple[str, ...] = ()
    poison: tuple[str, ...] = ()
    stand_years: float = 0.0


def caution_ids(words: Iterable[str], rates: Rates) -> str:
    """Return the ids of the cautions that apply to any of the words, in the handbook's order.

    Parameters
    ----------
    words : iterable of str
        Such as ``job:foliar``, ``herbicide:any``, ``soil_active``, ``zone:dripline``, ``always``.
    rates : Rates
        Table ``cautions``.

    Returns
    -------
    str
        Space separated.

    References
    ----------
    own reasoning; each caution carries its own source
    """
    wanted = set(words)
    table = rates.cautions
    applies = [bool(wanted & set(cell.split())) for cell in table["applies_to"]]
    return " ".join(table[applies]["caution"])


def join_cautions(parts: Iterable[str]) -> str:
    """Return several space-separated lists as one, each id once, in order.

    References
    ----------
    own reasoning
    """
    return " ".join(dict.fromkeys(" ".join(parts).split()))


def surroundings(
    methods: pd.DataFrame, nearby: pd.DataFrame, rates: Rates
) -> dict[str, Surroundings]:
    """Return what is true of each strip: flags of its zones, what lies near, roots, poison.

    Parameters
    ----------
    methods : DataFrame
        As ``walk/methods``; the rows of not_now carry the zones' own cautions and the species.
    nearby : DataFrame
        As ``walk/nearby``.
    rates : Rates
        Names of genera, figures of species.

    References
    ----------
    ditomaso_kyser_2007 (roots), own reasoning
    """
    idle = methods[methods["method"] == "not_now"]
    grows = idle[idle["stems_high"] > 0].groupby("strip_id")["species"].agg(set)
    flags = idle.groupby("strip_id")["cautions"].agg(lambda cells: " ".join(set(cells)))
    out, things = {}, dict(list(nearby.groupby("strip_id"))) if len(nearby) else {}
    for strip_id, words in flags.items():
        species = sorted(grows.get(strip_id, set()))
        rows = things.get(strip_id, NOTHING_NEAR)
        trees = {genus_of(str(name), rates) for name in rows["species"] if name}
        own = {genus_of(name, rates) for name in species} - {""}
        stand = [rates.figure(name, "stand_years").value for name in species]
        out[str(strip_id)] = Surroundings(
            frozenset(str(words).split()),
            frozenset(rows["kind"]) - {"keep_tree"},
            tuple(sorted(trees & own)),
            tuple(s for s in species if rates.figure(s, "wilted_leaves_poison").value > 0),
            max(stand, default=0.0),
        )
    return out


def visit_words(
    job: str, product: tuple[str, bool], block: Mapping[str, object], around: Surroundings
) -> list[str]:
    """Return the words that pick the cautions of one visit.

    Parameters
    ----------
    job : str
        Job of the visit.
    product : (str, bool)
        Key of the herbicide in the handbook (blank = none), and whether it moves in the soil.
    block : mapping
        stock, hay, slope_pct, steep_pct (slope from which ground counts as steep), summer (whether
        the season is a hot one), standing (whether dead stems stand), paid (whether somebody is
        paid for it).
    around : Surroundings
        The strip's.

    References
    ----------
    own reasoning; each caution carries its own source
    """
    key, soil = product
    sprayed = bool(key)
    grazed = block["stock"] not in ("", "none")
    words = [f"job:{job}", "always"]
    if sprayed:
        words += ["herbicide:any", f"herbicide:{key}"]
        words += ["soil_active"] if soil else []
        words += ["graft"] if around.graft else []
        words += ["stock"] if grazed else []
        words += ["hay"] if block["hay"] in (True, "yes") else []
        words += ["paid"] if block["paid"] else []
        words += [f"near:{kind}" for kind in around.near & {"water", "well"}]
    if job in SPRAYED_LEAVES and not sprayed and job != "foliar":
        words.append("job:hand_work")
    words += ["season:summer"] if block["summer"] else []
    if job in SPRAYED_LEAVES and sprayed:
        words += ["spray:leaves", *(["spray:leaves_in_heat"] if block["summer"] else [])]
        words += [f"near:{kind}" for kind in around.near]
        words += [f"zone:{flag}" for flag in around.flags & {"water_edge", "dripline"}]
    if grazed and around.poison:
        words.append("poison")
    if float(str(block["slope_pct"])) >= float(str(block["steep_pct"])):
        words.append("slope")
    if block["standing"]:
        words.append("under_dead")
    return words


def caution_text(row: Mapping[str, str], facts: Mapping[str, str], us: bool = True) -> str:
    """Return a caution with the figures of the work in it, or its plain text where one is missing.

    Parameters
    ----------
    row : mapping
        text, with_figures.
    facts : mapping
        Words for the places in ``with_figures``; a blank one counts as missing.
    us : bool
        Whether the owner speaks feet and miles; else lengths, wind and heat of the text are told
        in metres, kilometres an hour and degrees Celsius.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> caution_text({"text": "Wait.", "with_figures": "Wait {rei} hours."}, {"rei": "4"})
    'Wait 4 hours.'
    >>> caution_text({"text": "Wait.", "with_figures": "Wait {rei} hours."}, {})
    'Wait.'
    """
    template = row.get("with_figures", "")
    names = [name for _, name, _, _ in string.Formatter().parse(template) if name]
    if not template or not all(facts.get(name) for name in names):
        return row["text"] if us else in_metric(row["text"])
    plain = template if us else in_metric(template)
    filled = plain.format_map(dict(facts))
    return filled[:1].upper() + filled[1:]


def in_metric(text: str) -> str:
    """Return a text with its feet, miles an hour and degrees Fahrenheit in metric, rounded.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> in_metric("at least 100 ft away, 2 to 10 mph, near 90 degrees F")
    'at least 30 m away, 3 to 16 km/h, near 32 degrees C'
    """

    def told(match: re.Match[str]) -> str:
        low, high, unit = match.groups()
        said, to_metric = METRIC[unit]
        numbers = [f"{to_metric(float(number)):.0f}" for number in (low, high) if number]
        return f"{' to '.join(numbers)} {said}"

    return _MEASURE.sub(told, text)
