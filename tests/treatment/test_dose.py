"""Doses against worked arithmetic, and as properties."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.allometry import crown_width_m, stump_diameter_cm
from clearing.rates import load
from clearing.treatment import dose
from clearing.units import CM_PER_IN, HA_PER_ACRE, KG_HA_PER_LB_AC, KG_PER_LB, L_PER_FLOZ, L_PER_GAL

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "published" / "treatment.csv")
PUBLISHED = PUBLISHED.set_index("quantity")
DBH = st.floats(0.5, 90.0)


def close(quantity: str, value: float) -> bool:
    row = PUBLISHED.loc[quantity]
    return abs(value - float(row["expected"])) <= float(row["tolerance"])


def strength(key: str) -> float:
    return load().figure(key, "ae_kg_per_l").value


def test_injection_of_159_stems_an_acre_comes_to_the_published_load():
    """1.5 mL an inch on 159 stems of 8 in, half of it product, is 1.01 lb of acid an acre."""
    mix = 159 * float(dose.band_dose_ml(8 * CM_PER_IN, 1.5 / CM_PER_IN))
    product = float(dose.product_ml(mix, 50)) / 1000
    acid = float(dose.acid_kg(product, strength("glyphosate_4"))) / KG_PER_LB
    assert close("injection_159_stems_ml_per_acre", mix)
    assert close("injection_159_stems_product_floz", product / L_PER_FLOZ)
    assert close("injection_159_stems_lb_ae", acid)


def test_imazapyr_injection_comes_to_the_published_load():
    """The same stems with 7.5 % of a 4 lb product take 0.151 lb of acid an acre."""
    product = float(dose.product_ml(1908.0, 7.5)) / 1000
    acid = float(dose.acid_kg(product, strength("imazapyr_4")))
    assert close("imazapyr_159_stems_lb_ae", acid / KG_PER_LB)


def test_undiluted_amine_on_200_stems_comes_to_the_worked_load():
    """One mL an inch on 200 stems of 6 in is 1.20 lb of acid an acre."""
    product = 200 * float(dose.cuts_dose_ml(6 * CM_PER_IN, 1.0, CM_PER_IN)) / 1000
    acid = float(dose.acid_kg(product, strength("amine_2_4_d_3_8")))
    assert close("amine_200_stems_lb_ae", acid / KG_PER_LB)


def test_the_break_even_diameter_sum_an_acre_is_1992_inches():
    """Two pounds of 2,4-D acid an acre are reached at 1,992 in of diameter."""
    cm_per_ha = dose.most_dbh_cm(
        2 * KG_HA_PER_LB_AC, strength("amine_2_4_d_3_8"), 1 / CM_PER_IN, 100
    )
    assert close("amine_break_even_in_per_acre", cm_per_ha * HA_PER_ACRE / CM_PER_IN)


def test_conventional_basal_spray_takes_the_manual_s_volume():
    """At 38 mL an inch a gallon treats about 50 trees of 2 in."""
    each = float(dose.band_dose_ml(2 * CM_PER_IN, 75.7 / 2 / CM_PER_IN))
    assert close("basal_2in_ml_per_stem", each)
    assert close("basal_300_trees_2in_gal", 300 * each / 1000 / L_PER_GAL)


@pytest.mark.parametrize(
    ("quantity", "key", "floz"),
    [
        ("aminopyralid_7_floz_lb_ae", "aminopyralid_2", 7),
        ("imazapyr_96_floz_lb_ae", "imazapyr_2", 96),
    ],
)  # fmt: skip
def test_label_caps_in_fluid_ounces_are_the_caps_in_pounds(quantity, key, floz):
    """The yearly cap in fluid ounces of product is the cap in pounds of acid."""
    acid = float(dose.acid_kg(floz * L_PER_FLOZ, strength(key)))
    assert close(quantity, acid / KG_PER_LB)


def test_strength_in_grams_a_litre_is_the_label_s():
    """Four pounds a gallon are 479 g a litre."""
    assert close("glyphosate_4_g_ae_per_l", 1000 * strength("glyphosate_4"))


@given(DBH, DBH)
def test_no_recipe_gives_a_thicker_stem_less(one, other):
    """Every recipe's dose grows with the diameter, or stays."""
    rates = load()
    thin, thick = sorted([one, other])
    for recipe in rates.recipes.groupby("dose_kind").head(1).to_dict("records"):
        doses = dose.recipe_dose_ml(recipe, "callery_pear", np.array([thin, thick]), rates)
        assert doses[0] <= doses[1] + 1e-9, recipe["recipe_id"]


@given(st.lists(DBH, min_size=1, max_size=20))
def test_the_dose_of_many_stems_is_the_sum_of_their_doses(stems):
    """Stems add up: nothing is shared between them."""
    together = dose.cuts_dose_ml(np.array(stems), 1.0, 2.54, 2.0).sum()
    assert together == pytest.approx(
        sum(float(dose.cuts_dose_ml(d, 1.0, 2.54, 2.0)) for d in stems)
    )


@given(st.lists(DBH, min_size=1, max_size=8), st.sampled_from(sorted(load().recipes["recipe_id"])))
def test_the_dose_of_many_stems_is_the_sum_of_each(stems, name):
    """Whatever the recipe, stems together take what they take one by one."""
    recipe = load().recipes.set_index("recipe_id").loc[name].to_dict() | {"recipe_id": name}
    together = dose.recipe_dose_ml(recipe, "callery_pear", np.array(stems), load()).sum()
    apart = sum(
        float(dose.recipe_dose_ml(recipe, "callery_pear", np.array([stem]), load())[0])
        for stem in stems
    )
    assert together == pytest.approx(apart)


@given(DBH, DBH, st.sampled_from(sorted(load().recipes["recipe_id"])))
def test_a_thicker_stem_never_takes_less(one, other, name):
    """Mix and product grow with the diameter for every recipe of the handbook."""
    recipe = load().recipes.set_index("recipe_id").loc[name].to_dict() | {"recipe_id": name}
    thin, thick = dose.recipe_dose_ml(recipe, "tallow", np.sort([one, other]), load())
    assert thin <= thick + 1e-9
    share = recipe["percent"]
    assert dose.product_ml(thin, share) <= dose.product_ml(thick, share) + 1e-9


def test_leaves_take_their_area_at_the_volume_of_a_hectare():
    """A crown of 2 m is pi m2; at 560 L a hectare (0.056 L a m2) 175.9 mL."""
    assert float(dose.cover_dose_ml(2.0, 560.0)) == pytest.approx(np.pi * 56.0)


def test_a_cut_serves_its_inch_and_a_thin_stem_has_one():
    """3 in are three cuts, a hair more is four, 0.2 in is one."""
    assert dose.cuts([0.5, 7.62, 7.63], 2.54).tolist() == [1, 3, 4]
    assert dose.cuts_dose_ml([0.5, 7.62], 0.5, 2.54).tolist() == [0.5, 1.5]


@pytest.mark.parametrize(
    ("kind", "figures", "wanted"),
    [
        ("cuts", {"ml_per_cut": 0.5, "cm_per_cut": 2.54, "min_cuts": 2.0}, 2.0),  # four cuts
        ("band", {"ml_per_cm": 3.0}, 30.48),
        ("stump", {"ml_per_cm": 3.0}, None),
        ("cover", {"l_per_ha_cover": 560.0}, None),
    ],
)
def test_a_recipe_takes_the_figures_of_its_kind(kind, figures, wanted):
    """A 4 in stem by hand: cuts, band; the stump and the crown by their own diameters."""
    recipe = dict.fromkeys(dose.NUMBERS, np.nan) | figures | {"dose_kind": kind}
    rates = load()
    if kind == "stump":
        height = rates.figure("any", "stump_height_cm").value
        wanted = 3.0 * float(stump_diameter_cm("callery_pear", 10.16, height, rates))
    if kind == "cover":
        spread = float(crown_width_m("callery_pear", 10.16, "stand", rates))
        wanted = np.pi / 4 * spread**2 * 56.0
    found = float(dose.recipe_dose_ml(recipe, "callery_pear", 10.16, rates))
    assert found == pytest.approx(wanted)


def test_a_seedling_has_at_least_the_handbook_s_spread():
    """At no diameter the crown is the seedling's of the handbook."""
    rates = load()
    recipe = dict.fromkeys(dose.NUMBERS, np.nan) | {"dose_kind": "cover", "l_per_ha_cover": 560}
    spread = rates.figure("any", "seedling_crown_m").value
    found = float(dose.recipe_dose_ml(recipe, "callery_pear", 0.0, rates))
    assert found == pytest.approx(np.pi / 4 * spread**2 * 56.0)
