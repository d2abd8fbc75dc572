"""Hold the label's limits: the strictest wins, and the owner's confirmed label overrides."""

from dataclasses import dataclass

from clearing.property import OwnProduct, Settings
from clearing.rates import Rates
from clearing.treatment.products import handbook_key, known_products
from clearing.units import KG_HA_PER_LB_AC

OWN_LIMITS = {
    ("kg_ae_per_ha_year", "year"): 1.0,
    ("lb_ae_per_acre_year", "year"): KG_HA_PER_LB_AC,
    ("kg_ae_per_ha_application", "application"): 1.0,
    ("lb_ae_per_acre_application", "application"): KG_HA_PER_LB_AC,
}


@dataclass(frozen=True)
class Limit:
    """The most acid equivalent on a hectare [kg/ha], a year or an application, and who says so."""

    kg_ha: float
    per: str
    clause: str
    confirmed: bool


def label_limits(product: OwnProduct, goal: str, rates: Rates) -> list[Limit]:
    """Return the limits that hold on one kind of ground, the strictest of each kind.

    Own limits of a confirmed label replace the handbook's of the same kind; unconfirmed ones stand
    beside them.

    Parameters
    ----------
    product : OwnProduct
        The owner's product.
    goal : str
        pasture, silvopasture or woodland.
    rates : Rates
        Table ``limits``.

    References
    ----------
    own reasoning; each limit carries its own source
    """
    own = [
        Limit(
            product.limits[item] * factor,
            per,
            f"your label of {product.name}: {product.limits[item]:g} {item.replace('_', ' ')}",
            product.confirmed,
        )
        for (item, per), factor in OWN_LIMITS.items()
        if item in product.limits
    ]
    table = rates.limits[rates.limits["herbicide"] == handbook_key(product, rates)]
    held = []
    for per in ("year", "application"):
        rows = table[(table["per"] == per) & table["site"].isin([goal, "any"])]
        theirs = [
            Limit(
                row["value_kg_ha"],
                per,
                f"{product.name}: {row['clause']} {row['value']:g} {row['unit']} ({_told(row)})",
                False,
            )
            for row in rows.to_dict("records")
        ]
        mine = [limit for limit in own if limit.per == per]
        standing = mine if mine and product.confirmed else mine + theirs
        if standing:
            held.append(min(standing, key=lambda limit: limit.kg_ha))
    return held


def to_confirm(rates: Rates, settings: Settings) -> list[str]:
    """Return what the owner has to look up on a label, in sentences.

    Parameters
    ----------
    rates : Rates
        Table ``limits``.
    settings : Settings
        The owner's products.

    References
    ----------
    own reasoning
    """
    if not settings.herbicides:
        return [
            "no herbicide stands in the settings: products, strengths and prices are the "
            "handbook's; write down what you have, with its label's registration number and date"
        ]
    sentences = []
    for known in known_products(rates):
        product = known.product
        if not known.key:
            sentences.append(
                f"{product.name}: the handbook knows no product with the active ingredient "
                f"{product.active_ingredient!r}, so it has no recipe and is not planned with"
            )
            continue
        if product.confirmed and any(
            per == "year" and i in product.limits for i, per in OWN_LIMITS
        ):
            continue
        table = rates.limits[rates.limits["herbicide"] == known.key]
        clauses = "; ".join(
            f"{row['clause']} {row['value']:g} {row['unit']} on {row['site']} ground ({_told(row)})"
            for row in table.to_dict("records")
        )
        lead = "the label is confirmed without a yearly limit" if product.confirmed else (
            "the label is not confirmed, so no mixing table is printed"
        )  # fmt: skip
        sentences.append(
            f"{product.name.replace('_', ' ')}: {lead}; read registration number, date, sites, "
            "methods and the most acid equivalent an acre a year. "
            f"Until then the plan holds to: {clauses or 'nothing'}"
        )
    return sentences


def _told(row: dict) -> str:
    """Return where a limit comes from, in words."""
    if row["seen"] == "memory":
        return "from memory, confirm on your label"
    return f"{row['source']}, {row['locator']}"
