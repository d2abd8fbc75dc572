"""Waits for stock and hay bind as the label has them."""

import pytest

from clearing import treatment
from clearing.property import OwnProduct
from clearing.rates import load
from clearing.treatment.waits import barred
from tests.small_ground import GLYPHOSATE, IMAZAPYR, replace, small_ground

AMINE = OwnProduct("amine_2_4_d_3_8", "2,4-D amine", 0.4553)
TRICLOPYR = OwnProduct("triclopyr_amine_3", "triclopyr amine", 0.3595)


def known(product, soil=False):
    return treatment.Known(product, product.name, soil)


def block(**more):
    return {"goal": "pasture", "stock": "none", "hay": False} | more


def test_hay_waits_thirty_days_after_2_4_d_as_the_handbook_page_says():
    """The regional handbook's 30 days stand before the master label's 7 (from memory)."""
    waits = treatment.waits_of(known(AMINE), block(hay=True), load())
    assert waits.hay.days == 30
    assert "pnw_handbook" in waits.hay.clause


def test_dairy_waits_seven_days_after_2_4_d():
    """Lactating dairy animals: 7 days, read."""
    assert treatment.waits_of(known(AMINE), block(stock="dairy"), load()).stock.days == 7


def test_where_nobody_grazes_and_no_hay_is_cut_nothing_waits():
    """No stock and no hay: nought."""
    waits = treatment.waits_of(known(AMINE), block(), load())
    assert (waits.stock.days, waits.hay.days) == (0, 0)


def test_the_confirmed_label_decides_and_an_unconfirmed_one_only_makes_it_longer():
    """A confirmed 5 days stand; 5 unconfirmed days do not shorten the handbook's 30, 60 do bind."""
    for days, confirmed, wanted in ((5, True, 5), (5, False, 30), (60, False, 60)):
        own = replace(AMINE, limits={"hay_days": float(days)}, confirmed=confirmed)
        assert treatment.waits_of(known(own), block(hay=True), load()).hay.days == wanted


def test_a_wait_of_a_season_keeps_the_product_off_ground_where_dairy_cows_graze():
    """Triclopyr: lactating dairy next season (remembered), so it is not offered there."""
    assert "dairy" in barred(known(TRICLOPYR), block(stock="dairy"), load())
    assert barred(known(TRICLOPYR), block(stock="beef"), load()) == ""


def test_the_site_on_the_label_is_told_when_it_keeps_a_product_off():
    """A label for woodland only is out on pasture, in the label's words."""
    own = replace(TRICLOPYR, sites=("woodland",))
    assert barred(known(own), block(), load()) == (
        "your label of triclopyr_amine_3 names woodland, not pasture"
    )


@pytest.mark.parametrize("stock", ["beef", "dairy"])
def test_methods_leave_out_what_the_use_of_the_block_bars(stock):
    """On dairy ground no method uses the product with the long wait, and the report says why."""
    slow = replace(IMAZAPYR, limits={"dairy_days": 300.0}, confirmed=True)
    ground = small_ground(herbicides=(GLYPHOSATE, slow))
    blocks = ground.blocks.assign(stock=stock)
    found = treatment.list_methods(
        blocks, ground.strips, ground.zones, ground.stocking, ground.rates, ground.settings
    )
    used = "imazapyr_2" in set(found["herbicide"])
    assert used == (stock == "beef")
    told = [line for line in found.attrs["not_offered"] if "dairy graze here" in line]
    assert bool(told) == (stock == "dairy")


def test_a_wait_says_whose_label_it_is():
    """An unconfirmed label's longer wait says so; days alike are told as the handbook's."""
    longer, alike = (replace(AMINE, limits={"hay_days": days}) for days in (60.0, 30.0))
    clause = treatment.waits_of(known(longer), block(hay=True), load()).hay.clause
    assert clause == "your label of amine_2_4_d_3_8, not yet confirmed: 60 days (hay)"
    clause = treatment.waits_of(known(alike), block(hay=True), load()).hay.clause
    assert "pnw_handbook" in clause


def test_a_wait_of_just_the_longest_keeps_the_product_off():
    """At the handbook's longest wait the product is out, a day less and it is in."""
    longest = load().figure("any", "longest_wait_days").value
    for days, out in ((longest, True), (longest - 1, False)):
        own = replace(AMINE, limits={"hay_days": days}, confirmed=True)
        assert bool(barred(known(own), block(hay="yes"), load())) is out


def test_a_product_that_the_handbook_does_not_know_is_held_to_its_sites_alone():
    """No figure of a wait is known of it, so nothing but the site bars it."""
    odd = treatment.Known(OwnProduct("garden_jug", "vinegar", 0.2), "", soil_active=False)
    assert barred(odd, block(stock="dairy", hay=True), load()) == ""
