"""Find the product that a row of the log means, however the owner wrote its name."""

import pandas as pd

from clearing.actives import SAME_STRENGTH, active_of, folded, product_actives, strength_in
from clearing.rates import Rates
from clearing.records.jobs import SPRAYS, job_meant
from clearing.tables import cell_text, did_you_mean, name_list
from clearing.units import KG_L_PER_LB_GAL

KEPT = (
    "it is kept as written, and counts once the row is corrected or property.toml has a "
    "[herbicide.X] section for it"
)


def products_meant(words: str, rates: Rates) -> list[str]:
    """Return the products in use that the words of the log may mean: one when all is clear.

    The owner's name for it in any case and with blanks or hyphens, else the active ingredient,
    with the strength where it stands at the end. Where the owner named no product, the handbook's
    are in use.

    Parameters
    ----------
    words : str
        Such as Glyphosate 4, or triclopyr amine.
    rates : Rates
        Products, and the handbook's strengths.

    References
    ----------
    own reasoning
    """
    in_use = _in_use(rates)
    same = [name for name in in_use if folded(name) == folded(words)]
    if same:
        return same
    active, pounds = active_of(words), strength_in(words)
    fitting = []
    for name, (own, strength) in in_use.items():
        wanted = strength if pounds is None else pounds * KG_L_PER_LB_GAL
        if active and own == active and abs(strength - wanted) <= SAME_STRENGTH * strength:
            fitting.append(name)
    return fitting


def strength_meant(words: str, rates: Rates) -> tuple[str, float] | None:
    """Return active ingredient and strength [kg ae/l] of the product meant; none where unclear.

    Parameters
    ----------
    words : str
        The herbicide of a row.
    rates : Rates
        Products, and the handbook's strengths.

    References
    ----------
    own reasoning
    """
    meant = products_meant(words, rates)
    return _in_use(rates)[meant[0]] if len(meant) == 1 else None


def unknown_herbicides(records: pd.DataFrame, rates: Rates) -> list[str]:
    """Return a sentence for each row that put out what is none of the products in use.

    A row with an amount and no herbicide is told too.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``, rows in force.
    rates : Rates
        Products.

    References
    ----------
    own reasoning
    """
    amounts = records[["product_l", "mix_l"]].apply(pd.to_numeric, errors="coerce") > 0
    named = records["herbicide"].map(cell_text) != ""
    sprayed = named & records["job"].map(job_meant).isin(SPRAYS)
    put_out = records[amounts.any(axis=1) | sprayed]
    so = ", so it counts against no label"
    return [
        f"records.csv row {cell_text(number)}: {why}; {KEPT}"
        for number, words in zip(put_out["record_id"], put_out["herbicide"], strict=True)
        if (why := herbicide_problem(cell_text(words), rates, so))
    ]


def herbicide_problem(words: str, rates: Rates, so: str = "") -> str:
    """Return why nobody knows which product the words mean, and what would be right, or blank.

    Parameters
    ----------
    words : str
        The herbicide of a row.
    rates : Rates
        Products.
    so : str
        What follows from it, said before what would be right.

    References
    ----------
    own reasoning
    """
    meant, names = products_meant(words, rates), list(_in_use(rates))
    if len(meant) == 1:
        return ""
    right = f"{so}; write one of {name_list(meant or names)}"
    if not words:
        return f"an amount of product and no herbicide{right}"
    if meant:
        return f"{words!r} may be one or another of your products{right}"
    whose = "your" if rates.products else "the handbook's"
    return f"{words!r} is none of {whose} products{right}{did_you_mean(folded(words), names)}"


def _in_use(rates: Rates) -> dict[str, tuple[str, float]]:
    """Return active ingredient and strength [kg ae/l] of the products in use, by name."""
    if rates.products:
        return {
            product.name: (active_of(product.active_ingredient), product.ae_kg_per_l)
            for product in rates.products
        }
    return {
        key: (active, rates.figure(key, "ae_kg_per_l").value)
        for key, active in product_actives().items()
    }
