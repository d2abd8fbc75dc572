"""Hold one strength of a visit's mix: for whom, what carries it, what share of it is whose."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from clearing.report import names
from clearing.report.visit_facts import blank
from clearing.report.words import listed

LATER = ("follow_up", "upkeep")


@dataclass(frozen=True)
class Part:
    """One strength in a visit: for whom, what carries it, its share of the mix and the stems."""

    species: tuple[str, ...]
    percent: float
    carrier: str
    surfactant_percent: float
    recipe_id: str
    mix_share: float = 1.0
    stem_share: float = 1.0

    @property
    def whose(self) -> str:
        """Return the species in words."""
        return listed(sorted(names.species_name(one) for one in self.species))


Parts = Mapping[str, tuple[Part, ...]]


def one_part(row: Mapping[str, Any], recipes: Mapping[str, Mapping[str, Any]]) -> Part:
    """Return the whole of a visit's mix as one strength, as its own row and recipe have it.

    References
    ----------
    own reasoning
    """
    recipe = recipes.get(blank(row["recipe_id"]), {})
    percent = min(100.0 * float(row["product_l"]) / float(row["mix_l"]), 100.0)
    return Part((), round(percent, 2), str(recipe.get("carrier", "water")),
                float(recipe.get("surfactant_percent", 0.0)), blank(row["recipe_id"]))  # fmt: skip
