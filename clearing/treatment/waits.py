"""Keep stock and hay off treated ground for as long as the label asks, and new grass out of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from clearing.rates import Rates
from clearing.treatment.limits import where_words
from clearing.treatment.products import Known
from clearing.treatment.recipes import Book

STOCK_ITEM = {"dairy": "dairy_days", "beef": "slaughter_days", "sheep_goats": "slaughter_days"}
NO_STOCK = ("", "none")


@dataclass(frozen=True)
class Wait:
    """Days that a label asks for after a treatment, and who says so."""

    days: float
    clause: str


@dataclass(frozen=True)
class Waits:
    """The waits of one product on one block: stock that grazes, hay, new grass [days]."""

    stock: Wait
    hay: Wait
    reseed: Wait


def label_wait(known: Known, item: str, rates: Rates) -> Wait:
    """Return one wait of a product: the confirmed label's, else the longer of both.

    Parameters
    ----------
    known : Known
        The owner's product.
    item : str
        One of `limits.WAIT_ITEMS`.
    rates : Rates
        Table ``figures``.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    product = known.product
    own = product.limits.get(item)
    words = item.removesuffix("_days")
    if own is not None and product.confirmed:
        return Wait(own, f"your label of {product.name}: {own:g} days ({words})")
    figure = rates.figure(known.key, item)
    where = where_words(figure.seen, figure.source, figure.locator)
    theirs = Wait(figure.value, f"{product.name}: {figure.value:g} days ({words}; {where})")
    if own is None or own <= theirs.days:
        return theirs
    return Wait(own, f"your label of {product.name}, not yet confirmed: {own:g} days ({words})")


def waits_of(known: Known, block: Mapping[str, Any], rates: Rates) -> Waits:
    """Return what a product asks for on a block; nought where no stock grazes or no hay is cut.

    Parameters
    ----------
    known : Known
        The owner's product, known to the handbook.
    block : mapping
        stock (none, beef, dairy, horses, sheep_goats) and hay (yes or no).
    rates : Rates
        Table ``figures``.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    none = Wait(0.0, "")
    stock, hay = none, none
    if block["stock"] not in NO_STOCK:
        items = ["graze_days", STOCK_ITEM.get(str(block["stock"]), "graze_days")]
        stock = max((label_wait(known, item, rates) for item in items), key=lambda w: w.days)
    if block["hay"] in (True, "yes"):
        hay = label_wait(known, "hay_days", rates)
    return Waits(stock, hay, label_wait(known, "reseed_days", rates))


def barred(known: Known, block: Mapping[str, Any], rates: Rates) -> str:
    """Return the clause that keeps a product off a block as it is used, or blank.

    The label's sites, and a wait for stock or hay that is longer than a season
    (``longest_wait_days``).

    References
    ----------
    own reasoning; the clause carries its own source
    """
    product, goal = known.product, str(block["goal"])
    if not known.fits_site(goal):
        sites = ", ".join(product.sites)
        return f"your label of {product.name} names {sites}, not {goal}"
    if not known.key:
        return ""
    longest = rates.figure("any", "longest_wait_days").value
    asked = waits_of(known, block, rates)
    for wait, what in (
        (asked.stock, f"{block['stock']} graze here"),
        (asked.hay, "hay is cut here"),
    ):
        if wait.days >= longest:
            return f"{what}, and the label asks for a wait: {wait.clause}"
    return ""


def book_for(book: Book, block: Mapping[str, Any], rates: Rates) -> tuple[Book, dict[str, str]]:
    """Return the recipes that a block's use leaves, and the clause for each product that is out.

    Parameters
    ----------
    book : dict
        Choices by species and job.
    block : mapping
        goal, stock, hay.
    rates : Rates
        Table ``figures``.

    References
    ----------
    own reasoning
    """
    products = {c.known.name: c.known for choices in book.values() for c in choices}
    out = {name: why for name, known in products.items() if (why := barred(known, block, rates))}
    kept = {
        key: [choice for choice in choices if choice.known.name not in out]
        for key, choices in book.items()
    }
    return kept, out
