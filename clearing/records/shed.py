"""Say what is left of the products on hand after what the log says was used."""

from dataclasses import replace

import pandas as pd

from clearing.property import OwnProduct
from clearing.rates import Rates
from clearing.records.log import put_out
from clearing.units import volume_words


def left_on_hand(rates: Rates, log: pd.DataFrame, us: bool) -> tuple[Rates, tuple[str, ...]]:
    """Return the rates with what is left on hand, and a sentence for each product that was used.

    What was counted on a day that the owner names is less by what the log has of later days, never
    below nought. Where no day is named nothing is taken off, and the day is asked for.

    Parameters
    ----------
    rates : Rates
        Products with what is on hand [l].
    log : DataFrame
        As ``owner/records``.
    us : bool
        Whether the owner speaks gallons.

    References
    ----------
    own reasoning
    """
    used, products, notes = put_out(log, rates), [], []
    for product in rates.products:
        own = used[used["herbicide"] == product.name]
        if product.on_hand_l > 0 and len(own):
            product, note = _less(product, own, us)
            notes += [note] if note else []
        products.append(product)
    return replace(rates, products=tuple(products)), tuple(notes)


def _less(product: OwnProduct, used: pd.DataFrame, us: bool) -> tuple[OwnProduct, str]:
    """Return a product less what was used since it was counted, and what to say of it."""
    counted, had = product.on_hand_counted, product.on_hand_l
    where = f"property.toml: [herbicide.{product.name}] on_hand_{'gal' if us else 'l'}"
    if counted is None:
        total = volume_words(float(used["product_l"].sum()), us)
        return product, (
            f"{where} is taken for what is there now ({volume_words(had, us)}), though the log has "
            f"{total} of it used; write the day of the count as on_hand_counted, and the plan "
            "takes off what was used after it"
        )
    since = float(used.loc[used["day"].dt.date > counted, "product_l"].sum())
    if not since:
        return product, ""
    left = max(had - since, 0.0)
    said = (
        f"{where}: of {volume_words(had, us)} counted on {counted} the log has used "
        f"{volume_words(since, us)}; "
    )
    more = (
        "more than was there: count it again"
        if since > had
        else f"{volume_words(left, us)} are left"
    )
    return replace(product, on_hand_l=left), said + more
