"""Cautions follow from what is true of the work, each with a source."""

import re

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing import treatment
from clearing.rates import load
from clearing.treatment.cautions import Surroundings, in_metric

PLACE = {
    "stock": "none", "hay": False, "slope_pct": 0.0, "steep_pct": 20.0, "summer": False,
    "standing": False, "paid": False,
}  # fmt: skip
JOBS = [
    "mark", "hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "hand_work", "fell_dead",
    "haul_tops", "burn_tops", "chip_tops", "follow_up", "upkeep", "mow", "mow_down", "seed",
]  # fmt: skip


def ids(job, product=("", False), around=None, **more):
    words = treatment.visit_words(job, product, PLACE | more, around or Surroundings())
    return treatment.caution_ids(words, load()).split()


@pytest.mark.parametrize(
    ("asked", "caution"),
    [
        ({"job": "foliar", "product": ("glyphosate_4", False)}, "protect_yourself"),
        ({"job": "foliar", "product": ("glyphosate_4", False)}, "reentry"),
        ({"job": "foliar", "product": ("glyphosate_4", False), "stock": "beef"}, "stock"),
        ({"job": "follow_up", "product": ("glyphosate_4", False)}, "wind"),
        ({"job": "follow_up"}, "axe"),
        ({"job": "basal_bark", "product": ("triclopyr_ester_4", True)}, "standing_dead"),
        ({"job": "mow", "summer": True}, "heat_people"),
        ({"job": "foliar", "product": ("triclopyr_ester_4", True), "summer": True}, "heat"),
        ({"job": "foliar", "product": ("glyphosate_4", False),
          "around": Surroundings(near=frozenset(["well"]))}, "near_water"),
        ({"job": "foliar", "product": ("glyphosate_4", False),
          "around": Surroundings(near=frozenset(["crop"]))}, "near_crop"),
        ({"job": "cut_and_spray", "stock": "horses",
          "around": Surroundings(poison=("black_locust",))}, "wilted"),
        ({"job": "hack_and_squirt"}, "alone"),
        ({"job": "hack_and_squirt", "product": ("imazapyr_2", True),
          "around": Surroundings(graft=("Pyrus",))}, "root_graft"),
        ({"job": "hack_and_squirt", "product": ("imazapyr_2", True)}, "soil_active"),
        ({"job": "mow", "standing": True}, "under_dead"),
        ({"job": "fell_dead"}, "two_lengths"),
        ({"job": "cut_and_spray"}, "saw"),
        ({"job": "hack_and_squirt"}, "axe"),
        ({"job": "basal_bark", "product": ("triclopyr_ester_4", True)}, "spill"),
        ({"job": "basal_bark", "product": ("triclopyr_ester_4", True)}, "rinse"),
        ({"job": "basal_bark", "product": ("triclopyr_ester_4", True)}, "record"),
        ({"job": "foliar", "product": ("amine_2_4_d_3_8", True)}, "eyes"),
        ({"job": "foliar", "product": ("amine_2_4_d_3_8", True), "paid": True}, "licence"),
        ({"job": "mow_down", "slope_pct": 30.0}, "steep"),
    ],
)  # fmt: skip
def test_each_danger_brings_its_caution(asked, caution):
    """What is true of a visit is told beside it."""
    assert caution in ids(**asked)


@pytest.mark.parametrize(
    ("asked", "caution"),
    [
        ({"job": "mow"}, "label_law"),
        ({"job": "hack_and_squirt", "product": ("glyphosate_4", False)}, "wind"),
        ({"job": "foliar", "product": ("glyphosate_4", False)}, "stock"),
        ({"job": "foliar", "product": ("glyphosate_4", False)}, "root_graft"),
        ({"job": "cut_and_spray", "around": Surroundings(poison=("black_locust",))}, "wilted"),
        ({"job": "mow"}, "under_dead"),
        ({"job": "follow_up"}, "rain"),
        ({"job": "hand_work"}, "cuts_first"),
        ({"job": "hack_and_squirt", "product": ("glyphosate_4", False), "summer": True}, "heat"),
        ({"job": "foliar", "product": ("glyphosate_4", False)}, "soil_active"),
        ({"job": "foliar", "product": ("glyphosate_4", False)}, "eyes"),
    ],
)
def test_cautions_that_are_not_true_of_a_visit_do_not_stand_there(asked, caution):
    """A list that warns of everything warns of nothing."""
    assert caution not in ids(**asked)


@given(st.sampled_from(JOBS), st.booleans(), st.booleans(), st.booleans())
def test_more_danger_never_means_fewer_cautions(job, summer, standing, grazed):
    """Adding stock, heat or dead trees only adds lines."""
    product = ("glyphosate_4", False)
    plain = set(ids(job, product))
    more = ids(job, product, summer=summer, standing=standing, stock="beef" if grazed else "none")
    assert plain <= set(more)


def test_figures_stand_in_the_text_or_the_plain_text_does():
    """A caution with a missing figure never shows an empty place."""
    for row in load().cautions.to_dict("records"):
        assert treatment.caution_text(row, {}) == row["text"] or "{" not in row["with_figures"]
        assert "{" not in treatment.caution_text(row, {})


def test_surroundings_name_the_genus_that_is_treated_and_stays():
    """An apple beside pears is no graft; a pear that stays is; each strip has its own species."""
    rows = [("a", "callery_pear", "dripline"), ("b", "black_locust", ""), ("b", "tallow", "")]
    methods = pd.DataFrame(rows, columns=["strip_id", "species", "cautions"])
    methods = methods.assign(method="not_now", stems_high=1.0)
    nearby = pd.DataFrame(
        [("a", "keep_tree", "callery_pear"), ("b", "keep_tree", "white_oak"), ("b", "well", "")],
        columns=["strip_id", "kind", "species"],
    )
    found = treatment.surroundings(methods, nearby, load())
    assert (found["a"].graft, found["b"].graft) == (("Pyrus",), ())
    assert (found["a"].near, found["b"].near) == (frozenset(), {"well"})
    assert found["a"].flags == {"dripline"}
    assert found["a"].poison == ()
    assert found["b"].poison == ("black_locust", "tallow")
    assert found["b"].stand_years == load().figure("black_locust", "stand_years").value


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        ("at least 100 ft away", "at least 30 m away"),
        ("2 to 10 mph", "3 to 16 km/h"),
        ("within 250 ft downwind", "within 76 m downwind"),
        ("near 90 degrees F", "near 32 degrees C"),
        ("three times", "three times"),
    ],
)
def test_a_metric_owner_reads_metres_and_celsius(text, metric):
    """Feet, miles an hour and Fahrenheit are told anew; exact factors, rounded."""
    assert treatment.caution_text({"text": text, "with_figures": ""}, {}, us=False) == metric


def test_no_caution_speaks_of_feet_to_a_metric_owner():
    """None of the handbook's texts keeps a unit of the other system."""
    for row in load().cautions.to_dict("records"):
        for key in ("text", "with_figures"):
            said = in_metric(row[key])
            assert not re.search(r"\d (ft|mph|degrees F)\b", said)
