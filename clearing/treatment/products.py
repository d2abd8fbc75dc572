"""Know the products: which the owner has, what they are in the handbook, where they may go."""

import re
from dataclasses import dataclass

from clearing.property import OwnProduct
from clearing.rates import Rates

WATER_SITES = frozenset(["water", "water_edge", "aquatic"])
SAME_STRENGTH = 0.02  # share by which two strengths may differ and still be one product


@dataclass(frozen=True)
class Known:
    """A product with its twin in the handbook (blank when the handbook has none)."""

    product: OwnProduct
    key: str
    soil_active: bool

    @property
    def name(self) -> str:
        """Return the owner's name of the product."""
        return self.product.name

    def by_water(self) -> bool:
        """Return whether the owner confirmed a label that names the water's edge."""
        return self.product.confirmed and bool(WATER_SITES & set(self.product.sites))

    def fits_site(self, goal: str) -> bool:
        """Return whether the owner's label names the kind of ground, or names none at all."""
        return not self.product.sites or goal in self.product.sites

    def fits_job(self, job: str) -> bool:
        """Return whether the owner's label names the job, or names none at all."""
        return not self.product.methods or job in self.product.methods


def known_products(rates: Rates) -> list[Known]:
    """Return the owner's products, or the handbook's when the owner named none.

    References
    ----------
    own reasoning
    """
    products = rates.products or tuple(_from_handbook(key, rates) for key in handbook_keys(rates))
    found = []
    for product in products:
        key = handbook_key(product, rates)
        soil = rates.figure(key or product.name, "soil_active").value > 0
        found.append(Known(product, key, soil))
    return sorted(found, key=lambda each: each.name)


def handbook_key(product: OwnProduct, rates: Rates) -> str:
    """Return the handbook's product that the owner's is, by name, else by active ingredient.

    Of several strengths the nearest is taken; blank when the handbook knows no such product.

    References
    ----------
    own reasoning
    """
    keys = handbook_keys(rates)
    if product.name in keys:
        return product.name
    words = set(re.findall(r"[a-z0-9]+", product.active_ingredient.lower()))
    fitting = [key for key in keys if _same_active(key, words)]
    gap = {key: abs(_strength(key, rates) - product.ae_kg_per_l) for key in fitting}
    return min(fitting, key=lambda key: gap[key], default="")


def handbook_keys(rates: Rates) -> list[str]:
    """Return the products that the handbook knows, sorted.

    References
    ----------
    own reasoning
    """
    figures = rates.figures
    return sorted(figures[figures["item"] == "ae_kg_per_l"]["subject"].unique())


def product_percent(percent: float, key: str, product: OwnProduct, rates: Rates) -> float:
    """Return the percent of the owner's product that carries the recipe's acid equivalent.

    percent x handbook strength / own strength, at most 100.

    References
    ----------
    own reasoning
    """
    handbook = _strength(key, rates)
    if abs(product.ae_kg_per_l - handbook) <= SAME_STRENGTH * handbook:
        return percent
    return min(100.0, percent * handbook / product.ae_kg_per_l)


def _strength(key: str, rates: Rates) -> float:
    return rates.figure(key, "ae_kg_per_l").value


def _from_handbook(key: str, rates: Rates) -> OwnProduct:
    """Return a product of the handbook as one that nobody has confirmed."""
    words = key.rsplit("_", 1)[0] if not key.startswith("amine") else "2,4-D amine"
    return OwnProduct(
        name=key, active_ingredient=words.replace("_", " "), ae_kg_per_l=_strength(key, rates)
    )


def _same_active(key: str, words: set[str]) -> bool:
    """Return whether words such as {'triclopyr', 'amine'} name the handbook's product."""
    if key.startswith("amine_2_4_d"):
        return {"2", "4"} <= words and "triclopyr" not in words
    parts = [part for part in key.split("_") if not part.isdigit()]
    return set(parts) <= words
