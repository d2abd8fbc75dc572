"""The mixing table on paper against the tank's own reckoning and plain arithmetic."""

import dataclasses

import pytest

from clearing import treatment
from clearing.report.mixing import OTHERS, USES, mixing_of, mixing_table
from clearing.report.strength_parts import Part
from clearing.report.visit_facts import plain_rows
from clearing.treatment.tank import ask_tank
from clearing.units import L_PER_FLOZ, L_PER_GAL
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
    assert row.product == f"{said['product_l'] / L_PER_FLOZ:.1f} fl oz"


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


def litres_and_step(text: str) -> tuple[float, float]:
    """Return a printed volume and half a unit of its last digit [l]."""
    number, unit = text.split(" ", 1)
    factor = {"gal": L_PER_GAL, "fl oz": L_PER_FLOZ, "L": 1.0, "mL": 0.001}[unit]
    decimals = len(number.partition(".")[2])
    return float(number.replace(",", "")) * factor, 0.5 * 10**-decimals * factor


def test_table_and_command_agree_on_the_sample(results):
    """Product as printed is the tank's reckoning to half a unit of its last digit."""
    tanks = {job: results.rates.figure(job, "refill_l").value for job in USES}
    for block in results.blocks["block_id"]:
        for row in mixing_of(results, block).rows:
            job = "follow_up" if "follow-up" in row.use else {
                "hack-and-squirt": "hack_and_squirt", "cut-and-spray": "cut_and_spray",
                "leaf spray": "foliar", "basal bark": "basal_bark"}[row.use]  # fmt: skip
            vessels = [(tanks[job], row.product)]
            if row.poured:
                vessels.append((litres_and_step(row.poured[0])[0], row.poured[1]))
            for vessel, product in vessels:
                said, step = litres_and_step(product)
                exact = treatment.mix_tank(vessel, row.percent)["product_l"]
                assert abs(said - exact) <= step + 1e-5 * vessel


def test_each_species_of_a_follow_up_has_its_own_strength(results):
    """Follow-ups of pear and tree-of-heaven are mixed at 4 and 3 percent, as their leaf spray."""
    recipes = results.rates.recipes
    leaf = recipes[(recipes["method"] == "foliar") & (recipes["herbicide"] == "glyphosate_4")]
    known = set(leaf["percent"].astype(float))
    rows = [row for block in results.blocks["block_id"] for row in mixing_of(results, block).rows
            if row.use.startswith("follow-up") and row.herbicide == "glyphosate 4"]  # fmt: skip
    assert rows
    assert all(min(abs(row.percent - one) for one in known) < 0.01 for row in rows)


def test_less_than_a_tank_is_told_as_what_to_mix(small):
    """A tenth of 2 L in a bottle of one: 200 mL are 6.8 fl oz, half of it product."""
    row = visit("1a", 2027, "summer", "hack_and_squirt", "glyphosate_4")
    row |= {name: row[name] / 10 for name in row if name.endswith("_l")}
    made = mixing_table([row], small).rows[0]
    assert made.tanks.value == pytest.approx(0.2)
    assert made.poured[:2] == ("6.8 fl oz", "3.4 fl oz")
    assert made.part.startswith("mix 6.8 fl oz: 3.4 fl oz of product + ")


def test_without_dye_the_order_names_none(small):
    """Where the share of dye is nought no step of the pouring speaks of it."""
    plain = figure_set(small, "any", "dye_share", 0.0)
    assert "dye" in " ".join(mixing_of(small, "1").order)
    assert "dye" not in " ".join(mixing_of(plain, "1").order)


def test_products_to_confirm_go_by_their_name(small):
    """The key's blanks are no name: 2,4-D amine 3.8 it is."""
    row = visit("1a", 2027, "summer", "foliar", "amine_2_4_d_3_8")
    assert mixing_table([row], small).to_confirm[0].startswith("2,4-D amine 3.8: ")


def test_many_species_of_one_strength_are_the_others(small):
    """Of two strengths of a job, four species at one are told as all other kinds."""
    rows = [visit("1a", 2027, "summer", "foliar", "glyphosate_4") | {"visit_id": name}
            for name in ("few", "many")]  # fmt: skip
    rows[1] |= {"product_l": 0.5}
    kinds = ("callery_pear", "tallow", "mimosa", "tree_of_heaven")
    parts = {"few": (Part(("russian_olive",), 50.0, "water", 0.0, ""),),
             "many": (Part(kinds, 25.0, "water", 0.0, ""),)}  # fmt: skip
    made = mixing_table(rows, small, parts)
    assert {row.species for row in made.rows} == {"Russian olive", OTHERS}
