"""Every visit carries the cautions that are true of it, and the label's waits."""

import pandas as pd
import pytest

from clearing import effort
from clearing.property import OwnProduct
from tests.effort.conftest import priced
from tests.small_ground import GLYPHOSATE, replace, small_ground

NEAR_COLUMNS = ["strip_id", "kind", "name", "species", "distance_m"]
NEAR = [("a", "well", "the well", "", 40.0), ("b", "crop", "Ann's beans", "", 30.0),
        ("c", "keep_tree", "", "callery_pear", 0.0)]  # fmt: skip
LABEL = {"kg_ae_per_ha_year": 9.0, "spot_percent": 100.0, "graze_days": 14.0, "hay_days": 21.0}


@pytest.fixture(scope="module")
def warned():
    """Return the small place's visits with their cautions, one row each."""
    own = replace(GLYPHOSATE, limits=LABEL)
    walked = priced(small_ground(herbicides=(own,)))
    nearby = pd.DataFrame(NEAR, columns=NEAR_COLUMNS)
    ground = walked.ground
    visits = effort.with_cautions(
        walked.visits, walked.methods, nearby, ground.blocks, ground.rates, ground.settings
    )
    return visits.assign(told=visits["cautions"].str.split().map(set))


def all_have(rows: pd.DataFrame, caution: str) -> bool:
    return len(rows) > 0 and all(caution in told for told in rows["told"])


def none_has(rows: pd.DataFrame, caution: str) -> bool:
    return len(rows) > 0 and not any(caution in told for told in rows["told"])


def test_every_visit_with_product_says_that_the_label_is_the_law(warned):
    """And what to wear, how to rinse, what to write down."""
    sprayed = warned[warned["herbicide"] != ""]
    for caution in ("label_law", "protect_yourself", "reentry", "spill", "rinse", "record"):
        assert all_have(sprayed, caution), caution
    assert none_has(warned[warned["herbicide"] == ""], "label_law")


def test_spraying_leaves_near_a_crop_says_so_and_cutting_does_not(warned):
    """Strip b lies 30 m from beans, strip c near nothing."""
    leaves = warned["job"].isin(["foliar", "follow_up", "upkeep"]) & (warned["herbicide"] != "")
    assert all_have(warned[leaves & (warned["strip_id"] == "b")], "near_crop")
    assert none_has(warned[leaves & (warned["strip_id"] == "c")], "near_crop")
    assert none_has(warned[warned["job"] == "cut_and_spray"], "near_crop")


def test_water_and_wells_are_told_with_every_product(warned):
    """Strip a has a well near it: spraying and wetting stumps both say so."""
    sprayed = warned[warned["herbicide"] != ""]
    assert all_have(sprayed[sprayed["strip_id"] == "a"], "near_water")
    assert none_has(sprayed[sprayed["strip_id"] == "c"], "near_water")


def test_a_tree_of_the_same_kind_that_stays_warns_of_joined_roots(warned):
    """A pear that stays stands in strip c only."""
    sprayed = warned[warned["herbicide"] != ""]
    assert all_have(sprayed[sprayed["strip_id"] == "c"], "root_graft")
    assert none_has(sprayed[sprayed["strip_id"] == "b"], "root_graft")


def test_work_under_dead_trees_says_so_after_the_first_year_only(warned):
    """Follow-ups after hack and leave stand under dead stems; after cutting they do not."""
    later = warned["job"] == "follow_up"
    hacked = warned["method"] == "hack_and_leave"
    hacking = warned["option_id"].isin(warned[warned["job"] == "hack_and_squirt"]["option_id"])
    assert all_have(warned[later & hacked & hacking], "under_dead")
    assert none_has(warned[later & ~hacking], "under_dead")


def test_stock_waits_as_the_confirmed_label_asks(warned):
    """Beef graze and no hay is cut: 14 days and none, on sprayed ground alone."""
    sprayed = warned["herbicide"] != ""
    assert set(warned[sprayed]["stock_wait_days"]) == {14.0}
    assert set(warned[~sprayed]["stock_wait_days"]) == {0.0}
    assert set(warned["hay_wait_days"]) == {0.0}


def test_cautions_stand_in_the_handbook_s_order(warned):
    """What the law asks comes first wherever it stands."""
    own = warned["cautions"].str.split()
    table = small_ground().rates.cautions["caution"]
    order = {name: place for place, name in enumerate(table)}
    assert all([order[one] for one in cell] == sorted(order[one] for one in cell) for cell in own)


def test_a_paid_crew_is_asked_for_its_licence():
    """Hired people bring the line on licences; the family's own work does not."""
    for who, told in (("family", False), ("hired", True)):
        ground = small_ground(herbicides=(OwnProduct("glyphosate_4", "glyphosate", 0.4793),))
        crew = replace(ground.settings.crew, who=who)
        walked = priced(replace(ground, settings=replace(ground.settings, crew=crew)))
        near = pd.DataFrame(columns=["strip_id", "kind", "name", "species", "distance_m"])
        visits = effort.with_cautions(
            walked.visits, walked.methods, near, ground.blocks, ground.rates, walked.ground.settings
        )
        sprayed = visits[visits["herbicide"] != ""]
        assert sprayed["cautions"].str.contains("licence").all() == told


def test_dead_trees_of_work_begun_before_the_plan_are_warned_of():
    """Hacked in 2026, its follow-ups of 2027 walk under dead trees; cut, they do not."""
    walked = priced(small_ground())
    ground, near = walked.ground, pd.DataFrame(NEAR, columns=NEAR_COLUMNS)
    for method, told in (("hack_and_leave", True), ("cut_and_spray", False)):
        one = walked.options[walked.options["method"] == method].iloc[:1]
        own = walked.visits[walked.visits["option_id"] == one["option_id"].iloc[0]]
        later = own[own["job"].isin(["follow_up", "mow", "upkeep"])]
        begun = one.assign(start_year=2026, start_season="fall")
        known = (walked.methods, near, ground.blocks, ground.rates, ground.settings)
        warned = effort.with_cautions(later, *known, begun)
        first = warned[warned["year"] == warned["year"].min()]
        assert first["cautions"].str.contains("under_dead|standing_dead").all() == told
        plain = effort.with_cautions(later, *known)
        assert not plain["cautions"].str.contains("under_dead|standing_dead").any()
