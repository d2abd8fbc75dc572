"""What to buy: the cheapest containers, what is on hand first, what is left and what spoils."""

import itertools
import math
from dataclasses import replace

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.property import OwnProduct
from clearing.rates import for_settings
from clearing.schedule.containers import cheapest_mix, take, usable
from clearing.schedule.purchases import yearly_purchases
from clearing.settings import settings_from
from tests.small_ground import SETTINGS

JUGS = OwnProduct("glyphosate_4", "glyphosate", 0.4793, (40.0, 82.0), (4.0, 10.0), on_hand_l=3.0)
OFFERS = st.lists(
    st.tuples(st.sampled_from([0.5, 1.0, 2.5, 3.785, 4.0, 9.46, 10.0]), st.integers(1, 200)),
    min_size=1, max_size=3,
)  # fmt: skip


def bought(litres: dict[int, tuple[float, float]], **changes) -> pd.DataFrame:
    """Return the purchases when years need so many litres, and at the most so many."""
    settings = replace(
        SETTINGS, first_year=2027, years=8, herbicides=(replace(JUGS, **changes),), units="metric"
    )
    visits = pd.DataFrame(
        [("glyphosate_4", year, plan, ready) for year, (plan, ready) in litres.items()],
        columns=["herbicide", "year", "product_l", "product_high_l"],
    ).assign(their_hours=0.0, recipe_id="", mix_l=0.0, mix_high_l=0.0)
    return yearly_purchases(visits, for_settings(settings), settings).set_index("year")


def brute_cost(need_l: float, sizes: list[float], prices: list[float]) -> float:
    """Return the least money by trying every mix of containers."""
    most = [range(math.ceil(need_l / size) + 1) for size in sizes]
    return min(
        sum(n * price for n, price in zip(counts, prices, strict=True))
        for counts in itertools.product(*most)
        if sum(n * size for n, size in zip(counts, sizes, strict=True)) >= need_l - 1e-9
    )


@given(st.floats(0.0, 25.0), OFFERS)
def test_no_mix_of_containers_is_cheaper(need_l, offers):
    """Every other mix that covers the need costs as much or more (all of them are tried)."""
    sizes, prices = [size for size, _ in offers], [float(price) for _, price in offers]
    counts = cheapest_mix(need_l, sizes, prices)
    cost = sum(n * price for n, price in zip(counts, prices, strict=True))
    assert sum(n * size for n, size in zip(counts, sizes, strict=True)) >= need_l - 1e-6
    assert cost == pytest.approx(brute_cost(need_l, sizes, prices))


def test_a_mix_of_sizes_is_bought_where_it_is_cheapest():
    """13 litres: one of 10 and one of 4 for 122, not two of 10 (164) or four of 4 (160)."""
    row = bought({2027: (13.0, 13.0)}, on_hand_l=0.0).loc[2027]
    assert row["cost"] == 122.0
    assert row["buy"] == "1 x 10 L + 1 x 4 L"
    assert row["containers"] == 2
    assert row["containers"] * row["container_l"] == pytest.approx(14.0)
    assert row["left_l"] == pytest.approx(1.0)


def test_of_mixes_that_cost_the_same_the_least_product_is_bought():
    """Nothing priced: as little as covers the need."""
    assert cheapest_mix(5.0, [4.0, 10.0, 1.0], [0.0, 0.0, 0.0]) == (1, 0, 1)


def test_ready_for_is_added_to_what_is_planned_on():
    """5 litres planned, 12 at the most, 3 on hand: one of 4; the 5 more are two of 4 (80 < 82)."""
    row = bought({2027: (5.0, 12.0)}).loc[2027]
    assert row["buy"] == "1 x 4 L"
    assert row["buy_ready"] == "3 x 4 L"
    assert (row["containers"], row["containers_ready"]) == (1, 3)


def test_what_is_left_serves_the_next_year_until_it_is_too_old():
    """3 litres on hand keep 2 years: 1 used in 2027, 1 in 2029, the last is too old in 2031."""
    found = bought(dict.fromkeys((2027, 2029, 2031), (1.0, 1.0)), shelf_years=2.0)
    assert found["on_hand_l"].tolist() == pytest.approx([3.0, 2.0, 0.0])
    assert found["expired_l"].tolist() == pytest.approx([0.0, 0.0, 1.0])
    assert found["buy"].tolist() == ["", "", "1 x 4 L"]
    assert "1 L" in found.loc[2031, "spoils"]
    assert found.loc[2029, "spoils"] == ""


def test_the_owners_shelf_life_stands_before_the_handbooks():
    """The handbook lets glyphosate keep for years; an owner who says one year buys anew."""
    needs = dict.fromkeys((2027, 2029), (1.0, 1.0))
    assert bought(needs).loc[2029, "containers"] == 0
    assert bought(needs, shelf_years=1.0).loc[2029, "containers"] == 1


@given(
    st.dictionaries(st.integers(2027, 2034), st.floats(0.1, 30.0), min_size=1),
    st.floats(1.0, 2.0), st.sampled_from([0.0, 1.0, 3.0, 50.0]),
)  # fmt: skip
def test_every_litre_is_used_left_or_spoiled(litres, spread, shelf):
    """On hand and bought cover each year's need, and nothing appears or vanishes in between."""
    found = bought({y: (need, need * spread) for y, need in litres.items()}, shelf_years=shelf)
    there = found["on_hand_l"] + found["containers"] * found["container_l"]
    assert (there >= found["product_l"] - 1e-6).all()
    assert found["left_l"].to_numpy() == pytest.approx((there - found["product_l"]).to_numpy())
    for (_, before), (_, after) in itertools.pairwise(found.iterrows()):
        kept = before["left_l"] - after["expired_l"]
        assert after["on_hand_l"] == pytest.approx(kept, abs=1e-6)
    if shelf == 0.0:
        assert found["on_hand_l"].iloc[1:].eq(0).all()


def test_the_oldest_is_used_first():
    """2 litres out of lots of 2025 and 2026: the older is gone, the younger stays whole."""
    assert take([(2026, 1.0), (2025, 2.0)], 2.0) == [(2026, 1.0)]
    assert usable([(2025, 2.0), (2026, 1.0)], 2027, 1.0) == ([(2026, 1.0)], 2.0)


def test_gallons_are_bought_by_owners_who_speak_gallons():
    """10 quarts in the sizes of the trade, in words."""
    settings = replace(
        SETTINGS, first_year=2027, years=1, units="us",
        herbicides=(replace(JUGS, container_l=(3.785411784, 9.46352946), price=(38.0, 82.0),
                            on_hand_l=0.0),),
    )  # fmt: skip
    visits = pd.DataFrame([("glyphosate_4", 2027, 13.0, 13.0)],
                          columns=["herbicide", "year", "product_l", "product_high_l"])  # fmt: skip
    visits = visits.assign(their_hours=0.0, recipe_id="", mix_l=0.0, mix_high_l=0.0)
    found = yearly_purchases(visits, for_settings(settings), settings)
    assert found["buy"].tolist() == ["1 x 2.5 gal + 1 x 1 gal"]
    assert found["cost"].tolist() == [120.0]


@given(st.floats(50.0, 5000.0), st.integers(1, 99), st.integers(1, 300))
def test_many_containers_are_as_cheap_as_every_count_of_the_larger(need_l, small, large):
    """A jug and a jug of two and a half, thousands of litres: no count of the larger is cheaper."""
    jug, big = 3.785411784, 9.46352946
    one, two = cheapest_mix(need_l, [jug, big], [small, large])
    counts = range(math.ceil(need_l / big) + 1)
    least = min(n * large + max(math.ceil((need_l - n * big) / jug - 1e-9), 0) * small
                for n in counts)  # fmt: skip
    assert one * small + two * large == least
    assert one * jug + two * big >= need_l - 1e-6


def test_where_no_container_is_named_the_need_itself_is_bought():
    """31 litres: 8.2 gal in words, no count times a size, and about what the handbook says."""
    settings = replace(
        SETTINGS, first_year=2027, years=1, units="us",
        herbicides=(replace(JUGS, container_l=(), price=(), on_hand_l=0.0),),
    )  # fmt: skip
    visits = pd.DataFrame([("glyphosate_4", 2027, 31.0, 40.0, 0.0)],
                          columns=["herbicide", "year", "product_l", "product_high_l",
                                   "their_hours"])  # fmt: skip
    visits = visits.assign(recipe_id="", mix_l=0.0, mix_high_l=0.0)
    rates = for_settings(settings)
    row = yearly_purchases(visits, rates, settings).iloc[0]
    assert row["buy"] == "8.2 gal, containers not known, about $34 a gallon"
    assert row["buy_ready"].startswith("11 gal, containers not known")
    assert row["cost"] == pytest.approx(31.0 * rates.figure("glyphosate_4", "price_per_l").value)
    assert row["containers"] * row["container_l"] == pytest.approx(31.0)
    assert row["left_l"] == 0.0


def test_the_handbooks_price_of_a_litre_stands_in_and_is_told_as_about():
    """Sizes without a price: the mix of containers stays, the cost is that of their litres."""
    row = bought({2027: (13.0, 13.0)}, on_hand_l=0.0, price=()).loc[2027]
    price = for_settings(SETTINGS).figure("glyphosate_4", "price_per_l").value
    assert row["buy"] == "1 x 10 L + 1 x 4 L, about $9 a liter"
    assert row["cost"] == pytest.approx(14.0 * price)


def test_a_price_of_nought_is_a_price():
    """Given away: nothing is paid, and nothing is said of about."""
    row = bought({2027: (13.0, 13.0)}, on_hand_l=0.0, price=(0.0, 0.0)).loc[2027]
    assert row["cost"] == 0.0
    assert "about" not in row["buy"]


@pytest.mark.parametrize("sizes", [[], [0.0], [-1.0]])
def test_containers_that_hold_nothing_are_refused(sizes):
    """No size, or one that is not over nought."""
    with pytest.raises(ValueError, match="sizes over 0"):
        cheapest_mix(1.0, sizes, [1.0] * len(sizes))


def test_shelf_life_is_a_setting_of_a_product():
    """[herbicide.X] shelf_years is read, and refused below nought."""
    raw = {"property": {"name": "Home", "first_year": 2027}, "targets": {"species": ["tallow"]},
           "herbicide": {"mine": {"active_ingredient": "x", "kg_ae_per_l": 0.4}}}  # fmt: skip
    raw["herbicide"]["mine"]["shelf_years"] = 3
    settings, problems = settings_from(raw)
    assert problems == []
    assert settings.herbicides[0].shelf_years == 3.0
    raw["herbicide"]["mine"]["shelf_years"] = -1
    assert any("shelf_years" in line for line in settings_from(raw)[1])


@pytest.mark.parametrize(
    ("price", "cost", "words"),
    [(None, 32.0, "8 L, about $4 a liter"), (3.5, 28.0, "8 L")],
)
def test_the_oil_of_mixes_in_oil_is_bought_by_the_litre(price, cost, words):
    """Ten litres of mix with two of product take eight of oil; a mix in water takes none."""
    own = OwnProduct("triclopyr_ester_4", "triclopyr ester", 0.4793, (40.0,), (4.0,))
    settings = replace(SETTINGS, first_year=2027, years=8, herbicides=(own,), units="metric",
                       money=replace(SETTINGS.money, oil_per_l=price))  # fmt: skip
    visits = pd.DataFrame({
        "herbicide": "triclopyr_ester_4", "year": [2027, 2028], "their_hours": 0.0,
        "recipe_id": ["any:basal:triclopyr_ester", "any:foliar:triclopyr_ester"],
        "mix_l": 10.0, "mix_high_l": 20.0, "product_l": 2.0, "product_high_l": 4.0,
    })  # fmt: skip
    rates = for_settings(settings)
    assert set(visits["recipe_id"]) <= set(rates.recipes["recipe_id"])
    found = yearly_purchases(visits, rates, settings)
    [oil] = found[found["herbicide"] == "oil"].itertuples()
    assert (oil.year, oil.product_l, oil.product_high_l) == (2027, 8.0, 16.0)
    assert (oil.cost, oil.buy) == (pytest.approx(cost), words)
