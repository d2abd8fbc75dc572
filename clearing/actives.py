"""Know an active ingredient by the words of its label; premixes and lookalikes are not known."""

import csv
import functools
import re
from importlib import resources

SAME_STRENGTH = 0.02  # share by which two strengths may differ and still be one product
LABEL_PERCENT = re.compile(r"\d+(?:\.\d+)?\s*(?:%|percent\b)")  # such as 53.8 %
STRENGTH = re.compile(r"(?<=[\s_])(\d+(?:[._]\d+)?)\s*(?:lbs?\b[a-z ./]*)?$")  # such as 4 lb ae/gal

Words = tuple[str, ...]


def folded(name: str) -> str:
    """Return a name in lower case with one underscore for blanks and hyphens.

    References
    ----------
    own reasoning
    """
    return re.sub(r"[\s_-]+", "_", name.strip().lower())


def active_of(text: str) -> str:
    """Return the handbook's active ingredient that the words of a label name, or blank.

    Every word has to belong to one active ingredient of the handbook, or to the salt or ester of
    it that the handbook's product holds, so the words of a premix name none. Percents, and a
    strength at the end such as 4 lb, are passed over; a key of the handbook names its own.

    References
    ----------
    own reasoning; the words are in actives.csv with their sources

    Examples
    --------
    >>> active_of("2,4-dichlorophenoxyacetic acid, dimethylamine salt")
    '2,4-D amine'
    >>> active_of("glyphosate + imazapyr")
    ''
    """
    own = product_actives().get(folded(text))
    if own is not None:
        return own
    _, whole = _named(text)
    return whole[0] if len(whole) == 1 else ""


def acids_in(text: str) -> frozenset[str]:
    """Return the active ingredients to which all words of a text belong, salt named or not.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> sorted(acids_in("triclopyr"))
    ['triclopyr amine', 'triclopyr ester']
    """
    own = product_actives().get(folded(text))
    return frozenset([own] if own is not None else _named(text)[0])


def strength_in(text: str) -> float | None:
    """Return the strength [lb ae/gal] that stands at the end of a product's words, if any.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> strength_in("2,4-D amine 3.8")
    3.8
    """
    found = STRENGTH.search(text.strip().lower())
    return float(found.group(1).replace("_", ".")) if found else None


@functools.cache
def product_actives() -> dict[str, str]:
    """Return the active ingredient of each product of the handbook, by the product's key.

    References
    ----------
    own reasoning
    """
    return {row["words"]: row["active"] for row in _rows() if row["part"] == "product"}


@functools.cache
def _named(text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the active ingredients that all words of a text belong to, and those named whole."""
    plain = LABEL_PERCENT.sub(" ", text.lower()).strip().replace("_", " ")
    words = _words(STRENGTH.sub("", plain))
    phrases, longest = _phrases()
    fitting: set[str] | None = None
    parts: dict[str, set[str]] = {}
    place = 0
    while place < len(words):
        lengths = range(min(longest, len(words) - place), 0, -1)
        size = next((n for n in lengths if words[place : place + n] in phrases), 0)
        if not size:
            return (), ()
        meant = phrases[words[place : place + size]]
        place += size
        if "any" in meant:
            continue
        fitting = set(meant) if fitting is None else fitting & set(meant)
        for active, part in meant.items():
            parts.setdefault(active, set()).add(part)
    acid = tuple(sorted(a for a in fitting or () if {"alone", "acid"} & parts[a]))
    whole = tuple(a for a in acid if "alone" in parts[a] or {"acid", "salt"} <= parts[a])
    return acid, whole


@functools.cache
def _phrases() -> tuple[dict[Words, dict[str, str]], int]:
    """Return what each phrase is a part of, by active ingredient, and the longest one's length."""
    phrases: dict[Words, dict[str, str]] = {}
    for row in _rows():
        if row["part"] != "product":
            phrases.setdefault(_words(row["words"]), {})[row["active"]] = row["part"]
    return phrases, max(len(phrase) for phrase in phrases)


def _words(text: str) -> Words:
    """Return runs of letters and runs of digits, so that 2,4-D and 2,4-DB are told apart."""
    return tuple(re.findall(r"[a-z]+|\d+", text.lower()))


@functools.cache
def _rows() -> list[dict[str, str]]:
    """Return the rows of the handbook's table of words."""
    path = resources.files("clearing") / "data" / "handbook" / "actives.csv"
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
