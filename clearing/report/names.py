"""Give the words for keys: species, methods, jobs, goals, herbicides, seasons."""

import calendar
import functools
import re
from collections.abc import Iterable

from clearing.rates import handbook_table

# first words of common names that are proper names and keep their capital
PROPER = frozenset(
    {
        "american", "amur", "bradford", "callery", "canada", "carolina", "chinese", "english",
        "european", "himalayan", "japanese", "kentucky", "norway", "russian", "siberian",
        "virginia",
    }
)  # fmt: skip

GOALS = {
    "pasture": "pasture",
    "silvopasture": "pasture under trees",
    "woodland": "woodland",
}

# method key -> (words, what it is)
METHODS = {
    "hack_and_leave": (
        "hack-and-squirt, left standing",
        "Downward cuts through the bark into living wood, herbicide squirted into each cut; the "
        "tree is left standing to die.",
    ),
    "hack_then_fell": (
        "hack-and-squirt, felled later",
        "Downward cuts through the bark into living wood, herbicide squirted into each cut; the "
        "dead tree is felled after the wait and before it turns brittle.",
    ),
    "cut_and_spray": (
        "cut-and-spray",
        "Felled flush with the ground, and the stump's rim wetted with herbicide at once.",
    ),
    "split": (
        "large stems hacked, small ones cut",
        "Stems over a diameter get hack-and-squirt, the thinner ones cut-and-spray.",
    ),
    "basal_bark": (
        "basal bark",
        "Herbicide in oil sprayed on the lower bark of uncut stems.",
    ),
    "foliar": ("leaf spray", "Herbicide sprayed on the leaves of low growth."),
    "mow_then_spray": (
        "mow, then spray the regrowth",
        "The thicket is mowed, and what comes back is sprayed while it is low.",
    ),
    "not_now": ("not in these years", "Nothing is done here within the years of the plan."),
}

JOBS = {  # in the order of work: whoever sees to the wires comes before all else
    "call_utility": "call the utility or a line-clearance crew",
    "mark": "mark the trees",
    "hack_and_squirt": "hack-and-squirt",
    "fell_dead": "fell the dead stems",
    "cut_and_spray": "cut-and-spray",
    "basal_bark": "basal bark",
    "foliar": "leaf spray",
    "mow_down": "mow the thicket down",
    "hand_work": "pull or cut by hand",
    "haul_tops": "haul the tops away",
    "burn_tops": "pile and burn the tops",
    "chip_tops": "chip the tops",
    "follow_up": "follow-up spray",
    "mow": "mow",
    "seed": "seed",
    "upkeep": "upkeep",
    "left": "left alone",
}

ZONES = {
    "fall_reach": "fall reach",
    "water_edge": "water edge",
    "dripline": "dripline",
    "power_line": "power line",
}

FEATURES = {
    "water": "water",
    "well": "well",
    "building": "building",
    "public_road": "public road",
    "farm_road": "farm road",
    "trail": "trail",
    "fence": "fence",
    "property_line": "property line",
    "power_line": "power line",
    "crop": "crop",
    "gate": "gate",
    "neighbour_tree": "neighbor's tree",
}


def species_name(key: str) -> str:
    """Return the common name of a species key: the handbook's, else the key in words.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> species_name("callery_pear"), species_name("tree_of_heaven"), species_name("norway_maple")
    ('Callery pear', 'tree-of-heaven', 'Norway maple')
    """
    common = _handbook_names("common").get(key, "")
    if common:
        return common
    words = key.replace("_", " ")
    return words[:1].upper() + words[1:] if words.split(" ")[0] in PROPER else words


def latin_name(key: str) -> str:
    """Return the Latin name of a species key, blank when the handbook has none.

    References
    ----------
    own reasoning
    """
    return _handbook_names("latin").get(key, "")


@functools.cache
def _handbook_names(column: str) -> dict[str, str]:
    """Return one kind of name by species key."""
    table = handbook_table("names")
    return dict(zip(table["species"].astype(str), table[column].astype(str), strict=True))


def herbicide_name(key: str) -> str:
    """Return active ingredient and strength of a herbicide key, in pounds a gallon.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> herbicide_name("triclopyr_amine_3"), herbicide_name("amine_2_4_d_3_8")
    ('triclopyr amine 3', '2,4-D amine 3.8')
    """
    if not key:
        return ""
    if key == "oil":  # that some recipes are mixed in
        return "oil that the label names"
    text = key.replace("amine_2_4_d", "2,4-D amine").replace("ester_2_4_d", "2,4-D ester")
    parts = text.split("_")
    numbers = [part for part in parts if part.isdigit()]
    names = [part for part in parts if not part.isdigit()]
    return " ".join([*names, ".".join(numbers)]).strip()


def in_words(sentence: str) -> str:
    """Return a sentence with its keys of products, methods, jobs and species in words.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> in_words("hack_and_squirt with imazapyr_2 on callery_pear is not offered")
    'hack-and-squirt with imazapyr 2 on Callery pear is not offered'
    """

    def word(match: re.Match[str]) -> str:
        key = match.group(0)
        if key in JOBS:
            return JOBS[key]
        if key in METHODS:
            return METHODS[key][0]
        if key in _handbook_names("common"):
            return species_name(key)
        return herbicide_name(key)

    return re.sub(r"[a-z]+(?:_[a-z0-9]+)+", word, sentence)


def month_words(months: Iterable[int]) -> str:
    """Return months as a span in words.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> month_words([6, 7, 8]), month_words([1])
    ('June to August', 'January')
    """
    names = [calendar.month_name[month] for month in months]
    return names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}" if names else ""


def plain(words: dict[str, str], key: str) -> str:
    """Return the words for a key, or the key itself with spaces.

    References
    ----------
    own reasoning
    """
    return words.get(key, key.replace("_", " "))
