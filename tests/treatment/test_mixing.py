"""One tank of mix against published tables of percent."""

from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.treatment import mix_tank
from clearing.treatment.tank_book import USES, book_rows
from clearing.units import L_PER_FLOZ, L_PER_GAL

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "published" / "treatment.csv")
TABLE = PUBLISHED[PUBLISHED["quantity"].str.match("(floz|ml)_per_gal_")]
TANKS, PERCENTS = st.floats(0.05, 4000.0), st.floats(0.01, 90.0)
EACH_L = {"floz": L_PER_FLOZ, "ml": 0.001}


@pytest.mark.parametrize("row", TABLE.to_dict("records"), ids=lambda row: row["quantity"])
def test_percent_of_a_gallon_is_the_published_volume(row):
    """The percent table of extension pages comes out, in fluid ounces and in millilitres."""
    unit, percent = row["quantity"].partition("_")[0], float(row["quantity"].rpartition("_")[2])
    measure = mix_tank(L_PER_GAL, percent)["product_l"] / EACH_L[unit]
    assert abs(measure - row["expected"]) <= row["tolerance"]


@given(TANKS, PERCENTS, st.floats(0, 5), st.floats(0, 5))
def test_parts_of_any_tank_add_up(tank_l, percent, surfactant, dye):
    """Product, surfactant, dye and carrier are the tank, and none is below nought."""
    extras = surfactant / 100 * tank_l, dye / 100 * tank_l
    answer = mix_tank(tank_l, percent, extras_l=extras)
    parts = [answer[part] for part in ("product_l", "surfactant_l", "dye_l", "water_l")]
    assert sum(parts) == pytest.approx(tank_l)
    assert min(parts) >= 0


@given(TANKS, PERCENTS)
def test_percent_and_measure_say_the_same(tank_l, percent):
    """The product of a percent, poured as a measure, is that percent again."""
    by_percent = mix_tank(tank_l, percent, herbicide="imazapyr_2")
    by_measure = mix_tank(tank_l, percent, by_percent["product_l"], herbicide="imazapyr_2")
    assert by_measure["product_percent"] == pytest.approx(percent)
    assert by_measure["warnings"] == by_percent["warnings"]
    assert by_measure["ae_kg"] == pytest.approx(by_percent["ae_kg"])


@given(PERCENTS, st.floats(0.1, 5))
def test_a_cut_of_mix_carries_its_share_of_product(percent, ml_per_cut):
    """Cuts a tank x mL a cut is the tank; the weaker the mix, the fewer product in a cut."""
    answer = mix_tank(10.0, percent, ml_per_cut=ml_per_cut)
    product_ml = 1000 * answer["product_l"] / answer["cuts_a_tank"]
    assert product_ml == pytest.approx(ml_per_cut * percent / 100)


def test_half_a_percent_of_two_gallons_is_the_published_volume():
    """0.5 % of 256 fl oz are 1.28 fl oz (Univ. Illinois bulletin)."""
    assert mix_tank(2 * L_PER_GAL, 0.5)["product_l"] / L_PER_FLOZ == pytest.approx(1.28, abs=0.005)


def test_measured_product_is_told_in_percent():
    """4.5 fl oz in half a gallon are 7 %, not 2 %, and the tank says so."""
    answer = mix_tank(0.5 * L_PER_GAL, product_l=4.5 * L_PER_FLOZ)
    assert answer["product_percent"] == pytest.approx(7.03, abs=0.005)
    assert any("7.03 %, not 2 %" in line for line in answer["warnings"])


def test_percent_and_product_that_disagree_are_told():
    """A measure that is not the stated percent is named, and what would be right."""
    answer = mix_tank(0.5 * L_PER_GAL, 2, 4.5 * L_PER_FLOZ)
    assert any("2 % of it would be 1.28 fl oz" in line for line in answer["warnings"])


def test_a_thin_mix_says_what_a_cut_of_it_carries():
    """At 2 % one mL in a cut carries a fiftieth of undiluted product."""
    assert any("one part in 50" in line for line in mix_tank(2.0, 2)["warnings"])


@pytest.mark.parametrize(("use", "told"), [("hack", True), ("stump", True), ("leaves", False)])
def test_the_trap_is_told_where_it_bites(use, told):
    """A leaf mix in cuts or on stumps is told with numbers; on leaves it is what it should be."""
    lines = " ".join(mix_tank(2.0, 2, herbicide="glyphosate_4", use=use)["warnings"])
    assert ("0.02 mL of product instead of 1 mL" in lines) is told
    assert ("9.59 mg of acid, not 479 mg" in lines) is told  # 0.02 mL x 0.4793 g a mL


@pytest.mark.parametrize(
    "row",
    [row for row in book_rows("recipes")
     if row["method"] in ("hack_and_squirt", "cut_and_spray") and row["carrier"] != "none"
     and float(row["kill"]) >= 0.5],
    ids=lambda row: row["recipe_id"],
)  # fmt: skip
def test_no_recipe_of_the_handbook_is_called_a_strength_for_leaves(row):
    """In cuts and on stumps the herbicide's own recipes say what is thin, not one percent."""
    use = {job: name for name, job in USES.items()}[row["method"]]
    percent, key = float(row["percent"]), row["herbicide"]
    told = " ".join(mix_tank(4.0, percent, herbicide=key, use=use)["warnings"])
    assert "strength for leaves" not in told
    assert "this is thin" not in told


def test_a_mix_weaker_than_every_recipe_is_told_with_its_acid():
    """10 % of a 4 lb product is 40 lb of acid in 100 gal, the weakest recipe on stumps 80."""
    told = " ".join(mix_tank(4.0, 10, herbicide="glyphosate_4", use="stump")["warnings"])
    assert "this is thin for fresh stumps" in told
    assert "recipes of glyphosate_4 for fresh stumps run 20 to 50 %" in told
    assert "80 to 200 lb of acid in 100 gal, this tank 40" in told


@pytest.mark.parametrize(("gallons", "percent"), [(100, 0.25), (100, 2), (1, 0.4)])
def test_a_large_or_weak_tank_hears_nothing_of_cuts(gallons, percent):
    """Nobody fills cuts from 100 gal or with 0.4 %, as long as nothing says so."""
    product = gallons * L_PER_GAL * percent / 100
    told = " ".join(mix_tank(gallons * L_PER_GAL, product_l=product)["warnings"])
    assert "cut" not in told
    told = " ".join(mix_tank(gallons * L_PER_GAL, percent, use="hack")["warnings"])
    assert "mL of product instead of 1 mL" in told


@pytest.mark.parametrize(
    ("use", "herbicide", "carrier", "emulsion"),
    [("basal", None, "oil", False), ("basal", "triclopyr_ester_4", "oil", False),
     ("stump", "triclopyr_ester_4", None, True), ("leaves", "triclopyr_ester_4", "water", False),
     ("hack", "glyphosate_4", "water", False), ("stump", None, None, False)],
)  # fmt: skip
def test_what_carries_a_mix_goes_by_the_use_and_the_product(use, herbicide, carrier, emulsion):
    """Bark takes oil only (pnw_handbook), leaves water; an ester on stumps is the label's word."""
    answer = mix_tank(4.0, 20, herbicide=herbicide, use=use)
    assert answer["carrier"] == carrier
    assert ("half of the oil" in answer["order"]) is (carrier == "oil")
    told = " ".join(answer["warnings"])
    assert ("label decides whether oil or water" in told) is (carrier is None)
    assert ("emulsion" in told) is emulsion


def test_a_limit_of_the_mix_itself_is_held_against_the_tank():
    """8 lb ae in 100 gal are 2.1 % of a 3.8 lb product: at 2 % silent, at 3 % told, with clause."""
    weak, strong = (
        " ".join(mix_tank(10.0, percent, herbicide="amine_2_4_d_3_8", use="stump")["warnings"])
        for percent in (2, 3)
    )
    assert "lb ae per 100 gal" not in weak
    assert "11.4 lb ae per 100 gal is over 8 (strongest mix on stumps" in strong
    assert "confirm on your label" in strong


def test_a_limit_of_a_cut_is_held_against_the_cut():
    """1 mL of undiluted triclopyr amine in a cut passes the remembered half millilitre."""
    told = mix_tank(1.0, 100, herbicide="triclopyr_amine_3", use="hack", ml_per_cut=1.0)
    assert any("1 mL of product a cut is over 0.5" in line for line in told["warnings"])
    half = mix_tank(1.0, 100, herbicide="triclopyr_amine_3", use="hack", ml_per_cut=0.5)
    assert not any("mL of product a cut" in line for line in half["warnings"])


def test_product_weighs_by_its_density():
    """A litre of a product of 4 lb ae a gallon and 1.203 kg a litre."""
    answer = mix_tank(2.0, 50, herbicide="glyphosate_4")
    assert answer["product_kg"] == pytest.approx(1.203, abs=1e-3)


def test_a_tank_adds_up():
    """Product, extras and carrier fill the tank."""
    answer = mix_tank(10.0, 5, extras_l=(0.05, 0.1), herbicide="glyphosate_4")
    parts = ("product_l", "surfactant_l", "dye_l", "water_l")
    assert sum(answer[part] for part in parts) == pytest.approx(10.0)
    assert answer["ae_kg"] == pytest.approx(0.5 * 0.4793, abs=1e-4)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((1.0,), "percent of the tank"),
        ((1.0, 120), "up to 100"),
        ((1.0, None, 2.0), "do not go into"),
        ((0.0, 2), "over 0"),
        ((1.0, 2, None, (0.0, 0.0), "glyfosate"), "is not known"),
        ((1.0, -2), "over 0"),
        ((1.0, float("nan")), "over 0"),
        ((float("nan"), 2), "over 0"),
        ((float("inf"), 2), "over 0"),
        ((1.0, None, float("nan")), "over 0"),
        ((1.0, None, -0.1), "over 0"),
        ((1.0, 2, None, (float("nan"), 0.0)), "do not go into"),
        ((1.0, 2, None, (-0.1, 0.0)), "do not go into"),
        ((1.0, 2, None, (0.0, 0.0), None, "hack", 0.0), "mL a cut"),
    ],
)
def test_a_tank_that_cannot_be_is_refused(arguments, words):
    """What was given and what would be right is said."""
    with pytest.raises(ValueError, match=words):
        mix_tank(*arguments)
