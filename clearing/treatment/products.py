"""Know the products: which the owner has, what they are in the handbook, where they may go."""

from dataclasses import dataclass

from clearing.actives import SAME_STRENGTH, acids_in, active_of, folded, product_actives
from clearing.property import OwnProduct
from clearing.rates import Rates

WATER_SITES = frozenset(["water", "water_edge", "aquatic"])


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
        """Return whether the handbook knows it, and the owner's label names the job or none."""
        return bool(self.key) and (not self.product.methods or job in self.product.methods)


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
        soil = rates.figure(key or "any", "soil_active").value > 0
        found.append(Known(product, key, soil))
    return sorted(found, key=lambda each: each.name)


def handbook_key(product: OwnProduct, rates: Rates) -> str:
    """Return the handbook's product that the owner's is, by the words of its active ingredient.

    Of several strengths the nearest is taken; blank when the handbook knows no such product. The
    owner's name for it decides only which salt it is, where the active ingredient leaves that out.

    References
    ----------
    own reasoning
    """
    active, actives = active_of(product.active_ingredient), product_actives()
    named = actives.get(folded(product.name), "")
    if not active and named in acids_in(product.active_ingredient):
        active = named
    fitting = [key for key in handbook_keys(rates) if active and actives.get(key) == active]
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

    percent x handbook strength / own strength; over 100 where the product is too weak to carry it.

    References
    ----------
    own reasoning
    """
    handbook = _strength(key, rates)
    if abs(product.ae_kg_per_l - handbook) <= SAME_STRENGTH * handbook:
        return percent
    return percent * handbook / product.ae_kg_per_l


def too_weak(percent: float, key: str, product: OwnProduct, rates: Rates) -> str:
    """Return what a recipe needs and the owner's product does not hold, or blank.

    Parameters
    ----------
    percent : float
        Percent of the handbook's product in the recipe.
    key : str
        The handbook's product.
    product : OwnProduct
        The owner's.
    rates : Rates
        The handbook's strengths.

    References
    ----------
    own reasoning
    """
    wanted = product_percent(percent, key, product, rates)
    if wanted <= 100.0:
        return ""
    return (
        f"the recipe needs {percent:g} % of a {_strength(key, rates):g} kg/l product; "
        f"yours would need {wanted:.0f} %"
    )


def _strength(key: str, rates: Rates) -> float:
    return rates.figure(key, "ae_kg_per_l").value


def _from_handbook(key: str, rates: Rates) -> OwnProduct:
    """Return a product of the handbook as one that nobody has confirmed."""
    return OwnProduct(
        name=key, active_ingredient=product_actives()[key], ae_kg_per_l=_strength(key, rates)
    )
