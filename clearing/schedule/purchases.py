"""What to buy each year, in the containers on sale, after what is on hand."""

import math

import pandas as pd

from clearing.property import OwnProduct, Settings
from clearing.rates import Rates

COLUMNS = [
    "year", "herbicide", "product_l", "product_high_l", "on_hand_l", "container_l", "containers",
    "containers_ready", "cost",
]  # fmt: skip


def yearly_purchases(visits: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the containers to buy in each year: plan on, and be ready for.

    What is left of one year serves the next; the container is the size that costs least for the
    year's need.

    Parameters
    ----------
    visits : DataFrame
        Chosen visits inside the horizon.
    rates : Rates
        Products with container sizes, prices and what is on hand.
    settings : Settings
        Years.

    References
    ----------
    own reasoning
    """
    if not len(visits):
        return pd.DataFrame(columns=COLUMNS)
    need = (
        visits[visits["product_l"] > 0]
        .groupby(["herbicide", "year"])[["product_l", "product_high_l"]]
        .sum()
    )
    products = {product.name: product for product in rates.products}
    rows = []
    for herbicide in need.index.get_level_values("herbicide").unique():
        product = products.get(herbicide)
        stock = product.on_hand_l if product else 0.0
        for year in range(settings.first_year, settings.first_year + settings.years):
            if (herbicide, year) not in need.index:
                continue
            wanted, ready = need.loc[(herbicide, year)]
            size, price = _container(product, max(wanted - stock, 0.0))
            bought = math.ceil(max(wanted - stock, 0.0) / size - 1e-9)
            for_ready = math.ceil(max(ready - stock, 0.0) / size - 1e-9)
            rows.append((year, herbicide, wanted, ready, stock, size, bought, for_ready,
                         bought * price))  # fmt: skip
            stock = max(stock + bought * size - wanted, 0.0)
    frame = pd.DataFrame(rows, columns=COLUMNS)
    return frame.sort_values(["year", "herbicide"], ignore_index=True)


def _container(product: OwnProduct | None, need_l: float) -> tuple[float, float]:
    """Return size [l] and price of the container that costs least for a need."""
    if product is None or not product.container_l:
        return 1.0, 0.0
    prices = product.price or (0.0,) * len(product.container_l)
    sizes = list(zip(product.container_l, prices, strict=False))
    return min(sizes, key=lambda each: (math.ceil(max(need_l, 1e-9) / each[0]) * each[1], each[0]))
