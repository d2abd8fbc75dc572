"""What the map says of trees that stay and of plots."""

from dataclasses import replace

import pandas as pd
import pytest

from clearing.report.plot_facts import plot_facts
from clearing.report.tree_facts import tree_facts
from tests.report.small_place import small_results


def kinds(results):
    """Return the kinds by species key."""
    return {one.species: one for one in tree_facts(results).kinds}


def test_a_tree_has_its_names_and_its_number(small):
    """Common and Latin name are the handbook's; trees are counted."""
    oak = kinds(small)["white_oak"]
    assert (oak.name, oak.latin, oak.count) == ("white oak", "Quercus alba", 1)


def test_sizes_are_in_the_owners_units():
    """50 cm are 20 in (2.54 cm each, exact); a crown of 12 m is 39 ft (0.3048 m each, exact)."""
    us, metric = (tree_facts(small_results(units=units)) for units in ("us", "metric"))
    assert set(us.thicknesses) == {"", "20 in thick"}
    assert "crown 39 ft across" in us.crowns
    assert set(metric.thicknesses) == {"", "50 cm thick"}
    assert "crown 12 m across" in metric.crowns


def test_where_a_crown_comes_from_is_said(small):
    """A crown that nobody measured says so."""
    assert "crown 20 ft across, assumed" in tree_facts(small).crowns


def test_ground_of_its_roots_has_the_zones_figures(small):
    """The distance is the one by which the plan made its zones."""
    reach = kinds(small)["white_oak"].mind[0]
    factor = small.rates.figure("zone", "dripline_factor").value
    least = small.rates.figure("zone", "dripline_min_m").value
    assert f"{factor:g} times its crown's radius" in reach
    assert f"{least / 0.3048:.0f} ft from the trunk" in reach


def test_products_that_move_in_the_soil_are_named_when_the_plan_uses_them(small):
    """Imazapyr moves in the soil (handbook: soil_active) and is sprayed here."""
    said = " ".join(kinds(small)["white_oak"].mind)
    assert "in this plan: imazapyr 2." in said
    without = small.plan.visits[small.plan.visits["herbicide"] != "imazapyr_2"]
    none = replace(small, plan=replace(small.plan, visits=without))
    assert "in this plan" not in " ".join(kinds(none)["white_oak"].mind)


def test_kin_of_what_is_treated_is_told_of_joined_roots(small):
    """A pear that stays is of the genus of Callery pear; an oak is not."""
    place = replace(small, keep_trees=small.keep_trees.assign(species="callery_pear"))
    said = " ".join(kinds(place)["callery_pear"].mind)
    assert "It is kin (Pyrus) of what is treated here: Callery pear." in said
    assert "joined roots can carry the herbicide" in said
    assert "joined roots" not in " ".join(kinds(small)["white_oak"].mind)


def test_every_kind_is_told_to_keep_its_bark_whole(small):
    """Bark and the ground under the crown are said for each species."""
    for kind in tree_facts(small).kinds:
        said = " ".join(kind.mind)
        assert "bark" in said
        assert "no product that moves in the soil" in said


def counted(rows, **given):
    """Return what the only plot says with these rows of the tally."""
    place = small_results(**given)
    columns = ["species", "dbh_cm", "size", "count", "keep", "status", "date"]
    tally = pd.DataFrame(rows, columns=columns).assign(plot_id="1-1")
    return plot_facts(replace(place, property=replace(place.property, tally=tally)))[0].counted


def test_stems_are_told_by_species_and_size():
    """Counts of one species and class are added; keep trees, dead ones and the day are told."""
    said = counted([
        ("callery_pear", 5.0, None, 2, False, "live", "2026-10-05"),
        ("callery_pear", 6.0, None, 3, False, "live", "2026-10-05"),
        ("callery_pear", None, "seedling", 4, False, "live", "2026-10-05"),
        ("callery_pear", 9.0, None, 1, False, "dead", "2026-10-05"),
        ("white_oak", 40.0, None, 1, True, "live", "2026-10-05"),
    ])  # fmt: skip
    assert said == (
        "Callery pear: 9 (4 seedlings, 5 of 1-3 in).",
        "Callery pear (dead): 1 (1 of 3-6 in).",
        "White oak, stays: 1 (1 over 10 in).",
        "Counted on 2026-10-05.",
    )


@pytest.mark.parametrize(
    ("visited", "words"), [(True, "Visited, none found."), (False, "Not counted yet.")]
)
def test_a_plot_without_stems_says_why(small, visited, words):
    """A nought is a count; a plot that nobody went to is none."""
    place = replace(small, plots=small.plots.assign(visited=visited))
    assert plot_facts(place)[0].counted == (words,)


def test_a_nought_in_the_tally_is_a_count():
    """A row with count 0 says that none was found."""
    said = counted([("callery_pear", None, "seedling", 0, False, "live", "2026-10-05")])
    assert said == ("Visited, none found.", "Counted on 2026-10-05.")
