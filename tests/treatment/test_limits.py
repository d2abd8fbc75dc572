"""The strictest limit wins, and a confirmed label overrides."""

import pytest

from clearing import treatment
from clearing.property import OwnProduct
from clearing.rates import load
from clearing.treatment.limits import recipe_over
from clearing.units import HA_PER_ACRE, KG_HA_PER_LB_AC, KG_L_PER_LB_GAL
from tests.small_ground import GLYPHOSATE, IMAZAPYR, replace, small_ground


def yearly(product, goal):
    limits = treatment.label_limits(product, goal, load())
    return next(limit for limit in limits if limit.per == "year")


def test_the_strictest_of_the_handbook_s_clauses_holds():
    """On pasture the remembered 0.75 lb of imazapyr stands before the read 1.5 lb."""
    assert yearly(IMAZAPYR, "pasture").value == pytest.approx(0.75 * KG_HA_PER_LB_AC, abs=1e-3)
    assert yearly(IMAZAPYR, "woodland").value == pytest.approx(1.5 * KG_HA_PER_LB_AC, abs=1e-3)


def test_a_confirmed_label_replaces_the_handbook():
    """What the owner read on the label counts, even where it allows more."""
    limits = {"lb_ae_per_acre_year": 1.2}
    own = replace(IMAZAPYR, limits=limits, confirmed=True)
    assert yearly(own, "pasture").value == pytest.approx(1.2 * KG_HA_PER_LB_AC)
    loose = replace(IMAZAPYR, limits=limits, confirmed=False)
    assert yearly(loose, "pasture").value == pytest.approx(0.75 * KG_HA_PER_LB_AC, abs=1e-3)


def test_unconfirmed_products_stay_on_the_list():
    """Each product without a confirmed yearly limit has its sentence; a confirmed one has none."""
    ground = small_ground()
    lines = treatment.to_confirm(ground.rates, ground.settings)
    assert len(lines) == 1
    assert lines[0].startswith("imazapyr 2:")
    bare = replace(GLYPHOSATE, limits={})
    assert len(treatment.to_confirm(*both(small_ground(herbicides=(bare,))))) == 1


def both(ground):
    return ground.rates, ground.settings


def test_a_product_is_known_by_its_active_ingredient():
    """An owner's own name finds the handbook's product, and a weaker one takes more of it."""
    own = replace(GLYPHOSATE, name="blue_jug", ae_kg_per_l=0.3595)
    ground = small_ground(herbicides=(own,))
    known = treatment.known_products(ground.rates)[0]
    assert known.key == "glyphosate_4"
    found = treatment.list_methods(
        ground.blocks, ground.strips, ground.zones, ground.stocking, *both(ground)
    )
    cut = found[(found["recipe_id"] == "callery_pear:cut:glyphosate") & (found["dose_ml"] > 0)]
    share = (cut["product_ml"] / cut["dose_ml"]).iloc[0]
    assert share == pytest.approx(0.5 * 0.4793 / 0.3595, rel=1e-3)


AMINE = OwnProduct("amine_2_4_d_3_8", "2,4-D amine", 3.8 * KG_L_PER_LB_GAL)


def amine(**more):
    """Return the 2,4-D amine product, with what its label says."""
    return replace(AMINE, **more)


def kinds(product, goal="pasture"):
    return {limit.per: limit for limit in treatment.label_limits(product, goal, load())}


def test_the_strongest_mix_for_stumps_is_a_limit_of_its_own():
    """8 lb ae in 100 gal, remembered of the master label, is 2.1 percent of a 3.8 lb product."""
    limit = kinds(AMINE)["mix"]
    assert limit.value == pytest.approx(8 * KG_L_PER_LB_GAL / 100, abs=1e-6)
    assert limit.value / AMINE.ae_kg_per_l == pytest.approx(0.0211, abs=1e-4)
    assert limit.holds_for("cut_and_spray")
    assert not limit.holds_for("hack_and_squirt")
    assert "from memory" in limit.clause


def test_an_unconfirmed_limit_stands_beside_a_stricter_one_for_other_jobs():
    """20 lb in 100 gal, not yet confirmed, holds for cuts, where the handbook's 8 lb do not."""
    own = amine(limits={"lb_ae_per_100gal_mix": 20.0})
    known = treatment.Known(own, "amine_2_4_d_3_8", soil_active=True)
    hack = {"method": "hack_and_squirt", "dose_kind": "cuts", "ml_per_cut": 1.0}
    assert "20" in recipe_over(hack, known, 100.0, load())
    stump = {"method": "cut_and_spray", "dose_kind": "stump", "ml_per_cut": float("nan")}
    assert "strongest mix" in recipe_over(stump, known, 4.0, load())


def test_a_recipe_stronger_than_the_label_s_mix_is_out_with_the_clause():
    """Two percent on a stump passes, seven does not; a looser confirmed label lets it through."""
    known = treatment.Known(AMINE, "amine_2_4_d_3_8", soil_active=True)
    recipe = {"method": "cut_and_spray", "dose_kind": "stump", "ml_per_cut": float("nan")}
    assert recipe_over(recipe, known, 2.0, load()) == ""
    assert "strongest mix" in recipe_over(recipe, known, 7.0, load())
    loose = amine(limits={"lb_ae_per_100gal_mix": 40.0}, confirmed=True)
    own = treatment.Known(loose, "amine_2_4_d_3_8", soil_active=True)
    assert recipe_over(recipe, own, 7.0, load()) == ""


def test_a_cut_that_holds_more_than_the_label_lets_in_is_out():
    """0.5 mL of triclopyr amine a cut is remembered: 1 mL undiluted is not offered, half is."""
    product = OwnProduct("triclopyr_amine_3", "triclopyr amine", 0.3595)
    known = treatment.Known(product, "triclopyr_amine_3", soil_active=True)
    recipe = {"method": "hack_and_squirt", "dose_kind": "cuts", "ml_per_cut": 1.0}
    assert recipe_over(recipe, known, 50.0, load()) == ""
    assert "most product in one cut" in recipe_over(recipe, known, 100.0, load())


def test_the_owner_s_words_for_a_limit_are_metric_inside():
    """Percent of the ground, applications and pounds in 100 gallons come out as shares and kg."""
    limits = {"spot_percent": 10.0, "applications_year": 1.0, "lb_ae_per_100gal_mix": 4.0}
    own = kinds(amine(limits=limits, confirmed=True))
    assert own["spot"].value == pytest.approx(0.1)
    assert own["count"].value == 1.0
    assert own["mix"].value == pytest.approx(0.0047931, abs=1e-6)
    assert all(own[per].confirmed for per in ("spot", "count", "mix"))


def test_clauses_from_memory_stay_on_the_list_of_a_confirmed_label():
    """A label confirmed with its yearly sum still lists the spot clause that nobody has read."""
    own = replace(GLYPHOSATE, limits={"kg_ae_per_ha_year": 9.0})
    (line,) = treatment.to_confirm(*both(small_ground(herbicides=(own,))))
    assert "the label is confirmed" in line
    assert "10 percent of the ground" in line


def test_a_limit_that_the_plan_does_not_know_is_told_with_the_word_that_was_meant():
    """A misspelt limit binds nothing, and the list says so."""
    own = replace(GLYPHOSATE, limits=GLYPHOSATE.limits | {"spot_percnt": 5.0})
    (line,) = treatment.to_confirm(*both(small_ground(herbicides=(own,))))
    assert "spot_percnt" in line
    assert "spot_percent" in line


def test_a_label_confirmed_without_number_or_date_stays_on_the_list():
    """The number and the date are asked for by name."""
    own = replace(GLYPHOSATE, registration="", label_date="")
    (line,) = treatment.to_confirm(*both(small_ground(herbicides=(own,))))
    assert "without its registration number and date" in line


@pytest.mark.parametrize(
    ("key", "pounds", "per_gal", "ml"),
    [
        ("amine_2_4_d_3_8", 2.0, 3.8, 1992),
        ("triclopyr_amine_3", 2.0, 3.0, 2524),
        ("triclopyr_amine_3", 6.0, 3.0, 7571),
        ("triclopyr_ester_4", 2.0, 4.0, 1893),
        ("glyphosate_4", 8.0, 4.0, 7571),
        ("imazapyr_2", 1.5, 2.0, 2839),
        ("imazapyr_4", 1.5, 4.0, 1420),
        ("aminopyralid_2", 0.109375, 2.0, 207),
    ],
)
def test_limits_are_the_product_an_acre_worked_by_hand(key, pounds, per_gal, ml):
    """Product an acre [mL] is pounds / pounds a gallon x 3785.41, in the table too."""
    by_hand = pounds / per_gal * 3785.41
    assert by_hand == pytest.approx(ml, abs=1.0)
    strength = load().figure(key, "ae_kg_per_l").value
    rows = load().limits
    rows = rows[(rows["herbicide"] == key) & rows["per"].isin(["year", "application"])]
    litres = rows["value_metric"] * HA_PER_ACRE / strength
    assert (abs(1000 * litres - ml) < 0.005 * ml).any()
