"""Read the few rows of the handbook that a tank needs, without the weight of whole tables.

The planner's rooms read the same files through ``clearing.rates``; a person at the tank should not
wait for that.
"""

import csv
import difflib
import functools
import re
from collections.abc import Sequence
from importlib import resources

USES = {
    "hack": "hack_and_squirt",
    "stump": "cut_and_spray",
    "basal": "basal_bark",
    "leaves": "foliar",
}
USE_WORDS = {
    "hack": "cuts in the bark",
    "stump": "fresh stumps",
    "basal": "a band of bark",
    "leaves": "leaves",
}
EVEN = 0.02  # kills that differ by less count as even, as where the plan picks its recipes
NO_NAMES = frozenset({"lb", "lbs", "ae", "a", "per", "gal", "gallon"})  # words about strength
Row = dict[str, str]


@functools.cache
def book_rows(name: str) -> tuple[Row, ...]:
    """Return the rows of one table of the handbook as text.

    References
    ----------
    own reasoning
    """
    path = resources.files("clearing") / "data" / "handbook" / f"{name}.csv"
    with path.open(encoding="utf-8") as stream:
        return tuple(csv.DictReader(stream))


def book_figure(name: str, subject: str, item: str) -> Row | None:
    """Return one figure of a table, from the subject or from ``any``; None where there is none.

    References
    ----------
    own reasoning
    """
    for wanted in (subject, "any"):
        for row in book_rows(name):
            if row["subject"] == wanted and row["item"] == item:
                return row
    return None


def book_value(name: str, subject: str, item: str, end: str = "value") -> float | None:
    """Return the value of one figure, or its low or high end; None where there is none.

    References
    ----------
    own reasoning
    """
    row = book_figure(name, subject, item)
    return None if row is None else float(row[end] or row["value"])


def known_herbicide(name: str) -> str:
    """Return the handbook's key of a herbicide, from the key or from words such as 2,4-D amine.

    Raises
    ------
    ValueError
        The handbook does not know it, or the words fit several; the sentence lists them.

    References
    ----------
    own reasoning
    """
    keys = sorted(
        row["subject"] for row in book_rows("herbicides")
        if row["item"] == "ae_kg_per_l" and row["subject"] != "any"
    )  # fmt: skip
    wanted = re.sub(r"(?<![0-9])2_?4_?d(?![a-z])", "2_4_d", _key(name))
    if wanted in keys:
        return wanted
    words = set(wanted.split("_")) - NO_NAMES
    named = any(len(word) > 1 and word.isalpha() for word in words) or {"2", "4", "d"} <= words
    fitting = [key for key in keys if named and words <= set(key.split("_"))]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise ValueError(
            f"herbicide {name!r} is sold in several forms or strengths; write one of "
            f"{', '.join(fitting)}"
        )
    near = difflib.get_close_matches(wanted, keys, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    raise ValueError(f"herbicide {name!r} is not known; {hint}write one of {', '.join(keys)}")


def known_species(name: str) -> str:
    """Return the handbook's key of a species written with spaces, dashes or capitals.

    Raises
    ------
    ValueError
        The handbook does not know it; the sentence names what comes near and what has recipes.

    References
    ----------
    own reasoning
    """
    with_recipes = sorted({row["species"] for row in book_rows("recipes")})
    keys = {row["species"] for row in book_rows("names")} | set(with_recipes)
    wanted = _key(name)
    if wanted in keys:
        return wanted
    near = difflib.get_close_matches(wanted, sorted(keys), n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    raise ValueError(
        f"species {name!r} is not known; {hint}leave it out, or write one with recipes of its "
        f"own: {', '.join(each for each in with_recipes if each != 'any')}"
    )


def tank_recipes(use: str, herbicide: str, species: str = "any") -> list[Row]:
    """Return the recipes for a use and a herbicide, the one that the plan would take first.

    A species' own recipes stand before those of any; of kills that are even the weaker mix.

    References
    ----------
    own reasoning; each recipe carries its own source
    """
    rows = [
        row for row in book_rows("recipes")
        if row["method"] == USES[use] and row["herbicide"] == herbicide
    ]  # fmt: skip
    own = [row for row in rows if row["species"] == species]
    found = own or [row for row in rows if row["species"] == "any"]
    top = max((float(row["kill"]) for row in found), default=0.0)
    return sorted(
        found,
        key=lambda row: (
            float(row["kill"]) < top - EVEN, float(row["percent"]), row["recipe_id"],
        ),
    )  # fmt: skip


def strengths(use: str, herbicide: str | None = None) -> tuple[float, float, float] | None:
    """Return weakest, middle and strongest recipe for a use [percent]; None where there is none.

    Recipes below the least kill that the plan would offer do not count.

    References
    ----------
    own reasoning
    """
    least = book_value("work", "any", "least_kill") or 0.0
    found = sorted(
        float(row["percent"]) for row in book_rows("recipes")
        if row["method"] == USES[use] and herbicide in (None, row["herbicide"])
        and float(row["kill"]) >= least
    )  # fmt: skip
    return (found[0], found[len(found) // 2], found[-1]) if found else None


def book_carrier(use: str | None, herbicide: str | None, share: float) -> str | None:
    """Return what carries a mix: water, oil, none (undiluted); None where only the label says.

    A band of bark takes oil only, leaves take water; else the one that mixes with the product.

    References
    ----------
    pnw_handbook; own reasoning
    """
    if share > 100.0 - 1e-9:
        return "none"
    by_use = {"basal": "oil", "leaves": "water"}.get(use or "")
    if by_use or not herbicide:
        return by_use
    mixes = [
        carrier for carrier in ("water", "oil")
        if (book_value("herbicides", herbicide, f"carrier_{carrier}") or 0) > 0
    ]  # fmt: skip
    return mixes[0] if len(mixes) == 1 else None


def book_cautions(names: Sequence[str], herbicide: str | None) -> list[str]:
    """Return the texts of cautions by name, and those of one herbicide alone, in their order.

    References
    ----------
    own reasoning; each caution carries its own source
    """
    own = f"herbicide:{herbicide}"
    return [
        row["text"] for row in book_rows("cautions")
        if row["caution"] in names or own in row["applies_to"].split()
    ]  # fmt: skip


def _key(name: str) -> str:
    """Return a name as the handbook writes its keys."""
    return "_".join(name.lower().replace(",", " ").replace("-", " ").replace(".", " ").split())
