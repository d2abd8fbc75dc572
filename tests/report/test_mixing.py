"""The mixing table on paper against the tank's own reckoning and plain arithmetic."""

import dataclasses

import pytest

from clearing.report.mixing import mixing_of, mixing_table
from clearing.report.visit_facts import plain_rows
from clearing.treatment.tank import ask_tank
from clearing.units import L_PER_FLOZ
from tests.report.small_place import small_results, visit


@pytest.fixture(scope="module")
def small():
    """Return the small place."""
    return small_results()


def figure_set(results, job: str, item: str, value: float):
    """Return the results with one figure of the handbook at another value."""
    figures = results.rates.figures.copy()
    here = (figures["subject"] == job) & (figures["item"] == item)
    figures.loc[here, ["value", "low", "high"]] = value
    return dataclasses.replace(results, rates=dataclasses.replace(results.rates, figures=figures))


def test_a_tank_is_the_tank_of_clearing_mix(small):
    """Half a liter of product in the hand bottle of one, as the command says for 50 percent."""
    row = mixing_of(small, "1").rows[0]
    said = ask_tank({"tank": "1L", "percent": "50", "herbicide": "glyphosate_4", "use": "hack"})
    assert row.percent == said["product_percent"]
    assert row.product == f"{said['product_l'] / L_PER_FLOZ:.0f} fl oz"


def test_tanks_times_the_tank_are_the_mix_of_the_block(small):
    """Two liters of mix are four tanks of half a liter; 150 mL over 300 stems serve 75 a tank."""
    half = figure_set(small, "hack_and_squirt", "refill_l", 0.5)
    row = mixing_of(half, "1").rows[0]
    assert row.tanks.value == pytest.approx(4.0)
    assert (row.tanks.low, row.tanks.high) == pytest.approx((3.2, 5.2))
    assert row.stems_a_tank == "75 stems"


def test_an_unconfirmed_label_has_no_row(small):
    """Imazapyr's follow-up is not mixed; it is told what to confirm."""
    mixing = mixing_of(small, "1")
    assert {row.herbicide for row in mixing.rows} == {"glyphosate 4"}
    assert len(mixing.to_confirm) == 1
    assert mixing.to_confirm[0].startswith("Imazapyr 2: the label is not confirmed")


def test_visits_without_product_have_no_tank(small):
    """A block that is only mowed has neither rows nor an order of pouring."""
    mixing = mixing_of(small, "2")
    assert (mixing.rows, mixing.order, mixing.to_confirm) == ((), (), ())


def test_undiluted_product_leaves_no_room_for_more(small):
    """A tank of product as it is takes no water, no surfactant and no dye."""
    row = visit("1a", 2027, "summer", "hack_and_squirt", "glyphosate_4") | {"product_l": 2.0}
    made = mixing_table([row], small).rows[0]
    assert (made.strength, made.carrier, made.surfactant, made.dye) == (
        "undiluted", "none", "–", "–"
    )  # fmt: skip
    assert made.product == made.tank


def test_rows_are_told_by_product_and_strength(results):
    """On the sample no block names one job, product and strength twice."""
    for block in results.blocks["block_id"]:
        rows = mixing_of(results, block).rows
        named = [
            (row.use, row.herbicide, row.strength, row.carrier, row.surfactant) for row in rows
        ]
        assert len(named) == len(set(named))


def test_all_mix_of_confirmed_products_is_in_the_tanks(results):
    """Tanks times their size add up to the mix of the plan's visits, job by job."""
    visits = results.plan.visits
    for block in ("1", "9"):
        own = plain_rows(visits[(visits["block_id"] == block) & (visits["job"] == "cut_and_spray")])
        tank_l = results.rates.figure("cut_and_spray", "refill_l").value
        rows = mixing_table(own, results).rows
        told = sum(row.tanks.value for row in rows) * tank_l
        assert told == pytest.approx(sum(row["mix_l"] for row in own))


def test_where_strengths_differ_the_species_are_told(results):
    """Rows of one job and product with several strengths name whom each is for."""
    for block in results.blocks["block_id"]:
        rows = mixing_of(results, block).rows
        named = [(row.use, row.herbicide) for row in rows]
        for row, key in zip(rows, named, strict=True):
            assert bool(row.species) == (named.count(key) > 1)
