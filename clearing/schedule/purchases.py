"""What to buy each year, in the containers on sale, after what is on hand."""

import math
from dataclasses import dataclass

import pandas as pd

from clearing.effort.money import oil_l, oil_per_l
from clearing.property import OwnProduct, Settings
from clearing.rates import Rates
from clearing.schedule.containers import Lot, cheapest_mix, take, usable
from clearing.treatment.products import handbook_key
from clearing.units import L_PER_GAL, two_digits, volume_words

COLUMNS = [
    "year", "herbicide", "product_l", "product_high_l", "on_hand_l", "container_l", "containers",
    "containers_ready", "cost", "buy", "buy_ready", "expired_l", "left_l", "spoils",
]  # fmt: skip
SHELF, PRICE = "shelf_years", "price_per_l"
NOT_KNOWN = "containers not known"
SMALL_L = 1e-6
OIL = "oil"  # what stands in the herbicide's place in rows of oil for mixing


@dataclass(frozen=True)
class _Offer:
    """What is on sale: sizes [l] (none = not known), their prices, and about what a litre costs."""

    sizes: list[float]
    prices: list[float]
    about_per_l: float | None
    own_per_l: float = 0.0  # the owner's price of what is sold by the litre
    loose: bool = False  # sold by the litre


@dataclass(frozen=True)
class _Buy:
    """What is bought at once: counts of each size, or litres alone where sizes are not known."""

    counts: tuple[int, ...]
    litres: float
    cost: float

    @property
    def number(self) -> int:
        """Return the containers; a purchase without known containers is one."""
        return sum(self.counts) if self.counts else int(self.litres > 0)


def yearly_purchases(visits: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the containers to buy in each year: plan on, and be ready for; and oil for mixing.

    What is left of one year serves the next for as long as the product keeps; the mix of
    containers is the one that costs least for the year's need. Ready for is what is planned on and
    the cheapest that would have to be added. Where the owner names no container, the need itself is
    bought (one purchase of so many litres); where no price, the handbook's figure for a litre
    counts, and the words say about. What is on hand is not bought again here; the plan's own cost
    counts each litre that is sprayed at its price, also of what is on hand: stock counts at what
    it costs to replace. Oil is bought by the litre, each year what its mixes take.

    Parameters
    ----------
    visits : DataFrame
        Chosen visits inside the horizon.
    rates : Rates
        Products with container sizes, prices and what is on hand; the figures ``shelf_years`` and
        ``price_per_l``.
    settings : Settings
        Years and the owner's units.

    Returns
    -------
    DataFrame
        year, herbicide (oil in rows of it), product_l, product_high_l, on_hand_l (that still
        keeps), container_l (of one container; the mean where sizes are mixed; what is bought where
        sizes are not known), containers, containers_ready, cost, buy and
        buy_ready (in words, such as 2 x 2.5 gal + 1 x 1 gal; blank for none), expired_l (kept too
        long before this year), left_l (after this year), spoils (expired_l in words).

    References
    ----------
    own reasoning
    """
    if not len(visits):
        return pd.DataFrame(columns=COLUMNS)
    own = visits[~(visits["their_hours"] > 0)]  # a contractor brings his own
    need = pd.concat([own, _oil_of(own, rates)]).query("product_l > 0")
    need = need.groupby(["herbicide", "year"])[["product_l", "product_high_l"]].sum()
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
        loose = herbicide == OIL and product is None
        offer = _oil(rates, settings) if loose else _offer(str(herbicide), product, rates)
        rows += _years_of((str(herbicide), product, offer), years, keeps, settings)
    frame = pd.DataFrame(rows, columns=COLUMNS)
    return frame.sort_values(["year", "herbicide"], ignore_index=True)


def _oil_of(visits: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return the oil that visits take, as if it were a product."""
    ends = {f"product{end}_l": oil_l(visits, end, rates) for end in ("", "_high")}
    return visits[["year"]].assign(herbicide=OIL, **ends)


def _oil(rates: Rates, settings: Settings) -> _Offer:
    """Return what oil costs by the litre: the owner's price, else about the handbook's."""
    each, about = oil_per_l(rates, settings)[0], settings.money.oil_per_l is None
    return _Offer([], [], each if about else None, each, loose=True)


def shelf_years(herbicide: str, product: OwnProduct | None, rates: Rates) -> float:
    """Return how long a product keeps: by the owner, else by the handbook, else without end.

    References
    ----------
    own reasoning; the handbook's figure carries its own source
    """
    if product is not None and product.shelf_years is not None:
        return product.shelf_years
    try:
        return rates.figure(_key(herbicide, product, rates), SHELF).value
    except KeyError:
        return math.inf


def _years_of(
    bought: tuple[str, OwnProduct | None, _Offer],
    years: list[tuple[int, float, float]],
    keeps: float,
    settings: Settings,
) -> list[tuple[object, ...]]:
    """Return the rows of one herbicide; what is on hand counts as bought in the first year."""
    herbicide, product, offer = bought
    lots: list[Lot] = [(settings.first_year, product.on_hand_l)] if product else []
    rows: list[tuple[object, ...]] = []
    for year, wanted, ready in years:
        lots, expired = usable(lots, year, keeps)
        stock = sum(litres for _, litres in lots)
        plan = _buy(wanted - stock, offer)
        more = _buy(ready - stock - plan.litres, offer)
        both = _Buy(
            tuple(one + two for one, two in zip(plan.counts, more.counts, strict=True)),
            plan.litres + more.litres, plan.cost + more.cost,
        )  # fmt: skip
        number = plan.number + more.number
        lots = take([*lots, (year, plan.litres)], wanted)
        shown, count = (plan, plan.number) if plan.number else (both, number)
        rows.append((
            year, herbicide, wanted, ready, stock,
            shown.litres / count if count else min(offer.sizes, default=math.nan),
            plan.number, number, plan.cost, _words(plan, offer, settings.us),
            _words(both, offer, settings.us), expired, sum(litres for _, litres in lots),
            _spoils(expired, keeps, settings.us),
        ))  # fmt: skip
    return rows


def _offer(herbicide: str, product: OwnProduct | None, rates: Rates) -> _Offer:
    """Return what is on sale; by the handbook's price of a litre where the owner named none."""
    sizes = list(product.container_l) if product else []
    prices = list(product.price)[: len(sizes)] if product else []
    if prices:
        return _Offer(sizes[: len(prices)], prices, None)
    about = rates.figure(_key(herbicide, product, rates), PRICE).value
    return _Offer(sizes, [about * size for size in sizes], about)


def _buy(need_l: float, offer: _Offer) -> _Buy:
    """Return what covers a need: the cheapest containers, or the need itself."""
    if not offer.sizes:
        litres = max(need_l, 0.0) if need_l > SMALL_L else 0.0
        return _Buy((), litres, litres * (offer.about_per_l or offer.own_per_l))
    counts = cheapest_mix(need_l, offer.sizes, offer.prices)
    return _Buy(
        counts,
        sum(count * size for count, size in zip(counts, offer.sizes, strict=True)),
        sum(count * price for count, price in zip(counts, offer.prices, strict=True)),
    )


def _key(herbicide: str, product: OwnProduct | None, rates: Rates) -> str:
    """Return the handbook's product that a herbicide is, or its own name."""
    return (handbook_key(product, rates) if product else "") or herbicide


def _words(buy: _Buy, offer: _Offer, us: bool) -> str:
    """Return what to buy, such as 2 x 2.5 gal + 1 x 1 gal, the largest first; blank for none."""
    if not buy.number:
        return ""
    unit, litres = ("gal", L_PER_GAL) if us else ("L", 1.0)
    pairs = sorted(zip(offer.sizes, buy.counts, strict=bool(offer.sizes)), reverse=True)
    said = " + ".join(f"{count} x {size / litres:.3g} {unit}" for size, count in pairs if count)
    if not offer.sizes:
        said = volume_words(buy.litres, us) + ("" if offer.loose else f", {NOT_KNOWN}")
    if offer.about_per_l is None:
        return said
    each = offer.about_per_l * litres
    return f"{said}, about ${two_digits(each)} a {'gallon' if us else 'liter'}"


def _spoils(expired_l: float, keeps: float, us: bool) -> str:
    """Return what has been kept too long in words; blank for none."""
    if expired_l < SMALL_L:
        return ""
    return (
        f"{volume_words(expired_l, us)} kept longer than {keeps:g} years: buy less at a time, "
        "and ask your county or state where to bring it"
    )
