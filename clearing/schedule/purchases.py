"""What to buy each year, in the containers on sale, after what is on hand."""

import math

import pandas as pd

from clearing.property import OwnProduct, Settings
from clearing.rates import Rates
from clearing.schedule.containers import Lot, cheapest_mix, take, usable
from clearing.treatment.products import handbook_key
from clearing.units import L_PER_GAL

COLUMNS = [
    "year", "herbicide", "product_l", "product_high_l", "on_hand_l", "container_l", "containers",
    "containers_ready", "cost", "buy", "buy_ready", "expired_l", "left_l", "spoils",
]  # fmt: skip
SHELF = "shelf_years"


def yearly_purchases(visits: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the containers to buy in each year: plan on, and be ready for.

    What is left of one year serves the next for as long as the product keeps; the mix of
    containers is the one that costs least for the year's need. Ready for is what is planned on and
    the cheapest that would have to be added.

    Parameters
    ----------
    visits : DataFrame
        Chosen visits inside the horizon.
    rates : Rates
        Products with container sizes, prices and what is on hand; the figure ``shelf_years``.
    settings : Settings
        Years and the owner's units.

    Returns
    -------
    DataFrame
        year, herbicide, product_l, product_high_l, on_hand_l (that still keeps), container_l (of
        one container; the mean where sizes are mixed), containers, containers_ready, cost, buy and
        buy_ready (in words, such as 2 x 2.5 gal + 1 x 1 gal; blank for none), expired_l (kept too
        long before this year), left_l (after this year), spoils (expired_l in words).

    References
    ----------
    own reasoning
    """
    if not len(visits):
        return pd.DataFrame(columns=COLUMNS)
    bought = (visits["product_l"] > 0) & ~(visits["their_hours"] > 0)  # a contractor brings his own
    need = visits[bought].groupby(["herbicide", "year"])[["product_l", "product_high_l"]].sum()
    products = {product.name: product for product in rates.products}
    rows: list[tuple[object, ...]] = []
    for herbicide in need.index.get_level_values("herbicide").unique():
        years = [
            (int(year), float(row["product_l"]), float(row["product_high_l"]))
            for year, row in need.loc[herbicide].sort_index().iterrows()
            if settings.first_year <= year < settings.first_year + settings.years
        ]
        product = products.get(herbicide)
        keeps = shelf_years(str(herbicide), product, rates)
        rows += _years_of(str(herbicide), product, years, keeps, settings)
    frame = pd.DataFrame(rows, columns=COLUMNS)
    return frame.sort_values(["year", "herbicide"], ignore_index=True)


def shelf_years(herbicide: str, product: OwnProduct | None, rates: Rates) -> float:
    """Return how long a product keeps: by the owner, else by the handbook, else without end.

    References
    ----------
    own reasoning; the handbook's figure carries its own source
    """
    if product is not None and product.shelf_years is not None:
        return product.shelf_years
    key = (handbook_key(product, rates) if product else "") or herbicide
    try:
        return rates.figure(key, SHELF).value
    except KeyError:
        return math.inf


def _years_of(
    herbicide: str,
    product: OwnProduct | None,
    years: list[tuple[int, float, float]],
    keeps: float,
    settings: Settings,
) -> list[tuple[object, ...]]:
    """Return the rows of one herbicide; what is on hand counts as bought in the first year."""
    sizes, prices = _offers(product)
    lots: list[Lot] = [(settings.first_year, product.on_hand_l)] if product else []
    rows: list[tuple[object, ...]] = []
    for year, wanted, ready in years:
        lots, expired = usable(lots, year, keeps)
        stock = sum(litres for _, litres in lots)
        plan = cheapest_mix(wanted - stock, sizes, prices)
        bought = _litres(plan, sizes)
        more = cheapest_mix(ready - stock - bought, sizes, prices)
        both = tuple(one + two for one, two in zip(plan, more, strict=True))
        lots = take([*lots, (year, bought)], wanted)
        shown = plan if bought else both
        rows.append((
            year, herbicide, wanted, ready, stock,
            _litres(shown, sizes) / sum(shown) if sum(shown) else min(sizes),
            sum(plan), sum(both), sum(n * price for n, price in zip(plan, prices, strict=True)),
            _words(plan, sizes, settings.us), _words(both, sizes, settings.us), expired,
            sum(litres for _, litres in lots), _spoils(expired, keeps, settings.us),
        ))  # fmt: skip
    return rows


def _offers(product: OwnProduct | None) -> tuple[list[float], list[float]]:
    """Return sizes [l] and prices on sale; a litre without a price where nobody named any."""
    if product is None or not product.container_l:
        return [1.0], [0.0]
    prices = product.price or (0.0,) * len(product.container_l)
    pairs = list(zip(product.container_l, prices, strict=False))
    return [size for size, _ in pairs], [price for _, price in pairs]


def _litres(counts: tuple[int, ...], sizes: list[float]) -> float:
    return sum(count * size for count, size in zip(counts, sizes, strict=True))


def _words(counts: tuple[int, ...], sizes: list[float], us: bool) -> str:
    """Return containers such as 2 x 2.5 gal + 1 x 1 gal, the largest first; blank for none."""
    unit, litres = ("gal", L_PER_GAL) if us else ("L", 1.0)
    pairs = sorted(zip(sizes, counts, strict=True), reverse=True)
    return " + ".join(f"{count} x {size / litres:.3g} {unit}" for size, count in pairs if count)


def _spoils(expired_l: float, keeps: float, us: bool) -> str:
    """Return what has been kept too long in words; blank for none."""
    if expired_l < 1e-6:
        return ""
    much = f"{expired_l / L_PER_GAL:.2g} gal" if us else f"{expired_l:.2g} L"
    return (
        f"{much} kept longer than {keeps:g} years: buy less at a time, and ask your county or "
        "state where to bring it"
    )
