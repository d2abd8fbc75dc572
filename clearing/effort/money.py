"""Put prices on work: wages, product, machines, and time."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment import known_products

SAWN = ("cut_and_spray", "fell_dead", "haul_tops")


def present_value(amount: ArrayLike, year: ArrayLike, first_year: int, rate: float) -> np.ndarray:
    """Return an amount in the first year's dollars: amount / (1 + rate)^(year - first_year).

    References
    ----------
    own reasoning
    """
    years = np.asarray(year, dtype=float) - first_year
    return np.asarray(amount, dtype=float) / (1.0 + rate) ** years


def price_per_l(rates: Rates) -> dict[str, tuple[float, float, float]]:
    """Return each product's price [dollars/l]: cheapest container, its dearest as the high end.

    A product without a price takes the handbook's assumed one.

    References
    ----------
    own reasoning
    """
    prices = {}
    for known in known_products(rates):
        pairs = zip(known.product.price, known.product.container_l, strict=False)
        each = [price / size for price, size in pairs if size > 0]
        if each:
            prices[known.name] = (min(each), min(each), max(each))
        else:
            figure = rates.figure(known.key or known.name, "price_per_l")
            prices[known.name] = (figure.value, figure.low, figure.high)
    return prices


def with_cost(works: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the works with cash cost (low, high) and the owner's own hours.

    cost = hours x wage (none for family) + product x price + mower hours x rate + saw hours x fuel
    + seed.

    Parameters
    ----------
    works : DataFrame
        job, herbicide, hours, product_l (each with low and high), machine_hours, area_ha.
    rates : Rates
        Prices and figures.
    settings : Settings
        Crew and money.

    References
    ----------
    own reasoning
    """
    out = works.copy()
    family = settings.crew.who == "family"
    wage = settings.crew.wage_per_hour or rates.figure("any", "wage_per_hour").value
    out["own_hours"] = out["hours"] if family else 0.0
    prices = price_per_l(rates)
    mower = rates.figure("mow", "cost_per_h")
    saw, seed = rates.figure("saw", "cost_per_h"), rates.figure("seed", "cost_per_ha")
    sawn = out["job"].isin(SAWN).to_numpy(dtype=float)
    sown = (out["job"] == "seed").to_numpy(dtype=float) * out["area_ha"].to_numpy(dtype=float)
    for place, end in enumerate(("", "_low", "_high")):
        price = out["herbicide"].map({name: p[place] for name, p in prices.items()}).fillna(0.0)
        own_mower = settings.money.mower_per_hour
        by_hour = (
            own_mower if own_mower is not None else (mower.value, mower.low, mower.high)[place]
        )
        out[f"cost{end}"] = (
            out[f"hours{end}"] * (0.0 if family else wage)
            + out[f"product{end}_l"] * price
            + out["machine_hours"] * (out[f"hours{end}"] / out["hours"]) * by_hour
            + sawn * out[f"hours{end}"] * (saw.value, saw.low, saw.high)[place]
            + sown * (seed.value, seed.low, seed.high)[place]
        )
    return out
