"""What a label's limit covers, and who is said to have said it."""

from dataclasses import replace

import pandas as pd
import pytest

from clearing import treatment
from clearing.property import OwnProduct
from clearing.rates import for_settings, load
from clearing.treatment.limits import acid_of, recipe_over
from tests.small_ground import SETTINGS

AMINE = OwnProduct("amine_2_4_d_3_8", "2,4-D amine", 0.4553)


def limits_of(product: OwnProduct, rates=None):
    return treatment.label_limits(product, "pasture", rates or load())


@pytest.mark.parametrize(
    ("word", "per"),
    [
        ("kg_ae_per_ha_year", "year"), ("kg_ae_per_ha_application", "application"),
        ("applications_year", "count"), ("kg_ae_per_l_mix", "mix"), ("ml_product_per_cut", "cut"),
    ],
)  # fmt: skip
def test_metric_words_of_a_label_are_taken_as_they_are(word, per):
    """3 in the owner's metric word is 3, of its kind, and his confirmed label's."""
    own = replace(AMINE, limits={word: 3.0}, confirmed=True)
    (limit,) = [limit for limit in limits_of(own) if limit.per == per]
    assert limit.value == 3.0
    assert limit.confirmed


def test_a_handbook_s_limit_is_nobody_s_confirmed_label():
    """Without limits of the owner's own, nothing counts as confirmed."""
    assert not any(limit.confirmed for limit in limits_of(AMINE))


def standing(*rows: tuple[float, str]) -> list[float]:
    """Return which of some limits of a year stand, each with the jobs that it holds for."""
    rates = load()
    like = rates.limits[rates.limits["herbicide"] == AMINE.name].iloc[0].to_dict()
    table = pd.DataFrame([
        like | {"site": "any", "per": "year", "value_metric": value, "jobs": jobs}
        for value, jobs in rows
    ])  # fmt: skip
    return [limit.value for limit in limits_of(AMINE, replace(rates, limits=table))]


def test_a_stricter_limit_covers_those_whose_jobs_are_among_its_own():
    """For two jobs, 1 covers 2 and 3 for the same or fewer; another job's and all jobs' stand."""
    two = "cut_and_spray hack_and_squirt"
    assert standing((1.0, two), (2.0, "cut_and_spray"), (3.0, two)) == [1.0]
    assert standing((1.0, two), (2.0, "foliar"), (3.0, "")) == [1.0, 2.0, 3.0]
    assert standing((1.0, "cut_and_spray"), (2.0, two)) == [1.0, 2.0]
    assert standing((1.0, ""), (2.0, two), (3.0, "")) == [1.0]


def test_of_limits_alike_the_one_for_all_jobs_stands():
    """The same figure for one job and for all is told once."""
    assert standing((1.0, "foliar"), (1.0, "")) == [1.0]


def test_salts_and_esters_are_one_acid():
    """Two products of triclopyr share the acid; 2,4-D keeps its numbers."""
    assert acid_of("triclopyr_ester_4") == acid_of("triclopyr_amine_3") == "triclopyr"
    assert acid_of("amine_2_4_d_3_8") == "2_4_d"


def test_a_cut_holds_its_share_of_the_mix():
    """Half of 2 mL is 1 mL of product: over 0.9, not over 1; a stump has no cut at all."""
    recipe = {"method": "hack_and_squirt", "dose_kind": "cuts", "ml_per_cut": 2.0}
    for limit, over in ((0.9, True), (1.0, False)):
        own = replace(AMINE, limits={"ml_product_per_cut": limit}, confirmed=True)
        known = treatment.Known(own, AMINE.name, soil_active=True)
        assert bool(recipe_over(recipe, known, 50.0, load())) is over
        stump = {"method": "basal_bark", "dose_kind": "band", "ml_per_cut": float("nan")}
        assert recipe_over(stump, known, 0.5, load()) == ""


def test_the_owner_s_clause_says_whether_and_where_it_was_read():
    """Number and date stand with a confirmed label only; without them there are no brackets."""
    said = {"limits": {"kg_ae_per_ha_year": 0.1}, "registration": "training", "label_date": "2026"}
    clause = limits_of(replace(AMINE, **said, confirmed=True))[0].clause
    assert clause == "your label of amine_2_4_d_3_8 (training, 2026): 0.1 kg ae a hectare a year"
    clause = limits_of(replace(AMINE, **said))[0].clause
    assert clause.startswith("your label, not yet confirmed, of amine_2_4_d_3_8: 0.1 kg")
    clause = limits_of(replace(AMINE, limits=said["limits"], confirmed=True))[0].clause
    assert clause.startswith("your label of amine_2_4_d_3_8: 0.1 kg")


def test_without_products_the_owner_is_asked_to_write_them_down():
    """One sentence asks for what he has."""
    bare = replace(SETTINGS, herbicides=())
    (line,) = treatment.to_confirm(for_settings(bare), bare)
    assert line.startswith("no herbicide stands in the settings")


def test_a_product_that_the_handbook_does_not_know_is_told_as_such():
    """It has no recipe, and the owner is asked for its salt or ester."""
    odd = OwnProduct("garden_jug", "vinegar", 0.2)
    asked = replace(SETTINGS, herbicides=(odd,))
    (line,) = treatment.to_confirm(for_settings(asked), asked)
    assert line.startswith("garden_jug: the handbook knows no product")
    assert "'vinegar'" in line
