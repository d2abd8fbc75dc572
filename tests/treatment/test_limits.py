"""The strictest limit wins, and a confirmed label overrides."""

import pytest

from clearing import treatment
from clearing.rates import load
from clearing.units import KG_HA_PER_LB_AC
from tests.small_ground import GLYPHOSATE, IMAZAPYR, replace, small_ground


def yearly(product, goal):
    limits = treatment.label_limits(product, goal, load())
    return next(limit for limit in limits if limit.per == "year")


def test_the_strictest_of_the_handbook_s_clauses_holds():
    """On pasture the remembered 0.75 lb of imazapyr stands before the read 1.5 lb."""
    assert yearly(IMAZAPYR, "pasture").kg_ha == pytest.approx(0.75 * KG_HA_PER_LB_AC, abs=1e-3)
    assert yearly(IMAZAPYR, "woodland").kg_ha == pytest.approx(1.5 * KG_HA_PER_LB_AC, abs=1e-3)


def test_a_confirmed_label_replaces_the_handbook():
    """What the owner read on the label counts, even where it allows more."""
    limits = {"lb_ae_per_acre_year": 1.2}
    own = replace(IMAZAPYR, limits=limits, confirmed=True)
    assert yearly(own, "pasture").kg_ha == pytest.approx(1.2 * KG_HA_PER_LB_AC)
    loose = replace(IMAZAPYR, limits=limits, confirmed=False)
    assert yearly(loose, "pasture").kg_ha == pytest.approx(0.75 * KG_HA_PER_LB_AC, abs=1e-3)


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
