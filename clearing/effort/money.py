"""Put prices on work: wages, product, machines, and time."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from clearing.effort.contract import asked, given_away
from clearing.effort.hours import ENDS, ITEMS, PARTS
from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment import known_products


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


def oil_per_l(rates: Rates, settings: Settings) -> tuple[float, float, float]:
    """Return the price of oil for mixing [dollars/l], its low and high: the owner's, else assumed.

    References
    ----------
    own reasoning; the handbook's figure carries its own source
    """
    own = settings.money.oil_per_l
    if own is not None:
        return own, own, own
    figure = rates.figure("oil", "price_per_l")
    return figure.value, figure.low, figure.high


def oil_l(works: pd.DataFrame, end: str, rates: Rates) -> pd.Series:
    """Return the oil of each work [l]: mix less product where the recipe is mixed in oil.

    Parameters
    ----------
    works : DataFrame
        recipe_id, mix_l, product_l; each with low and high.
    end : str
        "", "_low" or "_high".
    rates : Rates
        Recipes.

    References
    ----------
    own reasoning
    """
    recipes = rates.recipes
    oily = works["recipe_id"].isin(recipes.loc[recipes["carrier"] == "oil", "recipe_id"])
    return (works[f"mix{end}_l"] - works[f"product{end}_l"]).clip(lower=0.0).where(oily, 0.0)


def with_cost(works: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the works with cash cost (low, high), its parts, and the owner's own hours.

    cost = wages (hours x wage, none for family) + product x price + oil x price (of what is mixed
    in oil) + machine (mower hours x rate + saw hours x fuel) + other (seed). A job given away costs
    what the contractor asks, under other, and takes none of the crew's hours: ``their_hours`` keeps
    what it would have taken. Where his price says nothing of a job (a price by the stem for mowing)
    the job stays the crew's.

    Parameters
    ----------
    works : DataFrame
        job, herbicide, recipe_id, hours, mix_l, product_l (each with low and high), the parts of
        the hours, saw_hours, machine_hours, area_ha, treated_ha, stems.
    rates : Rates
        Prices and figures.
    settings : Settings
        Crew, contractor and money.

    References
    ----------
    own reasoning
    """
    out = works.assign(saw_hours=works["saw_hours"].fillna(0.0))
    out[list(PARTS)] = out[list(PARTS)].fillna(0.0)
    ask = asked(out, settings)
    theirs = out["job"].isin(given_away(settings)) & ask["asked"].notna()
    for end in ("_low", "_high", ""):
        crew = _crew_costs(out, end, rates, settings)
        crew = {name: amount.where(~theirs, 0.0) for name, amount in crew.items()}
        crew["other_cost"] += ask[f"asked{end}"].where(theirs, 0.0)
        out[f"cost{end}"] = sum(crew.values())
        if not end:
            out = out.assign(**crew)
    out["their_hours"] = out["hours"].where(theirs, 0.0)
    for name in (*PARTS, *(f"hours{end}" for end in ENDS), "machine_hours", "people"):
        out[name] = out[name].where(~theirs, 0.0)
    family = settings.crew.who == "family"
    return out.assign(own_hours=out["hours"] if family else 0.0)


def _crew_costs(
    works: pd.DataFrame, end: str, rates: Rates, settings: Settings
) -> dict[str, pd.Series]:
    """Return the parts of the cost at one end, as if the crew did all of it."""
    item, hours = ITEMS[end], works[f"hours{end}"]
    spread = (hours / works["hours"].where(works["hours"] > 0)).fillna(1.0)
    family = settings.crew.who == "family"
    wage = settings.crew.wage_per_hour or rates.figure("any", "wage_per_hour").value
    prices = {name: price[list(ITEMS).index(end)] for name, price in price_per_l(rates).items()}
    mower, saw, seed = (
        float(getattr(rates.figure(subject, name), item))
        for subject, name in (("mow", "cost_per_h"), ("saw", "cost_per_h"), ("seed", "cost_per_ha"))
    )
    own_mower = settings.money.mower_per_hour
    by_hour = mower if own_mower is None else own_mower
    sown = works["area_ha"].where(works["job"] == "seed", 0.0)
    chipped = hours.where(works["job"] == "chip_tops", 0.0)
    chipper = float(getattr(rates.figure("chip_tops", "cost_per_h"), item))
    return {
        "wages": hours * (0.0 if family else wage),
        "product_cost": works[f"product{end}_l"] * works["herbicide"].map(prices).fillna(0.0)
        + oil_l(works, end, rates) * oil_per_l(rates, settings)[list(ITEMS).index(end)],
        "machine_cost": (works["machine_hours"] * by_hour + works["saw_hours"] * saw) * spread,
        "other_cost": sown * seed + chipped / works["people"].clip(lower=1.0) * chipper,
    }
