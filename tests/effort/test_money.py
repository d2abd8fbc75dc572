"""What work costs besides the hours: the oil that a mix is made in."""

from dataclasses import replace

import pandas as pd
import pytest

from clearing.effort.hours import ENDS, PARTS
from clearing.effort.money import oil_per_l, with_cost
from clearing.property import Money
from clearing.rates import load
from tests.small_ground import SETTINGS

RATES = load()


def priced(recipe: str, money: Money) -> pd.Series:
    """Return one visit of ten litres of mix, two of them product, at nobody's wage."""
    row = {"job": "basal_bark", "herbicide": "triclopyr_ester_4", "recipe_id": recipe, "stems": 9,
           "saw_hours": 0.0, "machine_hours": 0.0, "area_ha": 1.0, "treated_ha": 1.0, "people": 2,
           **dict.fromkeys(PARTS, 0.0)}  # fmt: skip
    for end, times in zip(ENDS, (1.0, 0.5, 2.0), strict=True):
        row |= {f"hours{end}": 4.0, f"mix{end}_l": 10.0 * times, f"product{end}_l": 2.0 * times}
    settings = replace(SETTINGS, money=money)
    return with_cost(pd.DataFrame([row]), RATES, settings).iloc[0]


@pytest.mark.parametrize(("end", "litres"), [("", 8.0), ("_low", 4.0), ("_high", 16.0)])
def test_a_mix_in_oil_costs_its_oil_too(end, litres):
    """Between a price of two dollars a litre and none lies what of the mix is no product."""
    recipe = "any:basal:triclopyr_ester"
    dear, free = (priced(recipe, Money(oil_per_l=price)) for price in (2.0, 0.0))
    assert dear[f"cost{end}"] - free[f"cost{end}"] == pytest.approx(2.0 * litres)


def test_a_mix_in_water_costs_no_oil():
    """The price of oil is nothing to a spray of leaves."""
    recipe = "any:foliar:triclopyr_ester"
    dear, free = (priced(recipe, Money(oil_per_l=price))["cost"] for price in (90.0, 0.0))
    assert dear == free


def test_oil_without_a_price_takes_the_handbook_s():
    """The owner's price stands for itself; without one the assumed one with its range."""
    assert oil_per_l(RATES, replace(SETTINGS, money=Money(oil_per_l=3.0))) == (3.0, 3.0, 3.0)
    low, high = oil_per_l(RATES, replace(SETTINGS, money=Money()))[1:]
    assert 0 < low < oil_per_l(RATES, replace(SETTINGS, money=Money()))[0] < high
