"""The handbook holds together: sources, ranges, names, fingerprints."""

import pytest

from clearing.rates import FIGURE_TABLES, handbook_table, load
from clearing.sources import source_rows, source_table

TABLES = [
    "species", "herbicides", "work", "growth", "recipes", "limits", "crowns", "heights", "stumps",
    "cautions", "seasons", "size_classes",
]  # fmt: skip
SEEN = {"read", "memory", "common practice", "assumed", "derived"}
TARGETS = [
    "callery_pear", "tree_of_heaven", "tallow", "chinese_privet", "mimosa", "bush_honeysuckle",
    "autumn_olive", "russian_olive", "saltcedar", "common_buckthorn", "black_locust",
    "brazilian_peppertree",
]  # fmt: skip
# rows and the sum of the named column: a figure that changes by accident shows here
FINGERPRINTS = {
    "species": ("value", 81, 440391.05354),
    "herbicides": ("value", 108, 3256.4211),
    "work": ("value", 73, 576.124718),
    "growth": ("value", 26, 19062.98),
    "recipes": ("kill", 85, 66.61),
    "limits": ("value_kg_ha", 19, 56.1646),
    "crowns": ("b1", 81, 141.3457),
    "heights": ("upper_sd_ft", 36, 283.5),
    "stumps": ("b_out", 7, 0.80331),
}


@pytest.mark.parametrize("name", TABLES)
def test_every_figure_names_a_known_source_and_how_it_was_seen(name):
    """No row without a source that the list of sources explains."""
    table = handbook_table(name)
    assert set(table["source"]) <= set(source_table()["key"])
    assert set(table["seen"]) <= SEEN


@pytest.mark.parametrize("name", sorted(FINGERPRINTS))
def test_the_tables_are_the_ones_that_were_checked(name):
    """Rows and sum of each table are those of the last check against its sources."""
    column, rows, total = FINGERPRINTS[name]
    table = handbook_table(name)
    assert len(table) == rows
    assert table[column].sum() == pytest.approx(total, rel=1e-9)


@pytest.mark.parametrize("name", FIGURE_TABLES)
def test_each_figure_lies_in_its_range_and_stands_once(name):
    """Low <= value <= high, and no subject and item twice."""
    table = handbook_table(name)
    assert (table["low"].fillna(table["value"]) <= table["value"]).all()
    assert (table["high"].fillna(table["value"]) >= table["value"]).all()
    assert not table.duplicated(["subject", "item"]).any()


def test_memory_and_guesses_are_marked_as_such():
    """What the source list calls memory is marked memory; own choices are never marked read."""
    for name in TABLES:
        table = handbook_table(name)
        assert (table.loc[table["source"] == "memory", "seen"] != "read").all()
        assert (table.loc[table["source"] == "own_choice", "seen"] != "read").all()


def test_recipes_lie_in_their_range_and_name_known_products():
    """kill_low <= kill <= kill_high, each product has its strength, ids stand once."""
    recipes = load().recipes
    assert (recipes["kill_low"] <= recipes["kill"]).all()
    assert (recipes["kill"] <= recipes["kill_high"]).all()
    assert recipes["recipe_id"].is_unique
    for herbicide in recipes["herbicide"].unique():
        assert load().figure(herbicide, "ae_kg_per_l").value > 0


@pytest.mark.parametrize("species", [*TARGETS, "never_heard_of"])
def test_every_species_can_be_followed_up_and_forecast(species):
    """A leaf spray and each figure of the forecast stand for every target, known or not."""
    rates = load()
    foliar = rates.recipes[rates.recipes["method"] == "foliar"]
    assert set(foliar["species"]) & {species, "any"}
    for item in ("sucker_m", "seed_bank_years", "cut_resprout_share", "growth_cm_year", "kernel_m"):
        assert rates.figure(species, item).value >= 0


def test_stand_ins_of_names_exist():
    """Crown, height and stump group of every name have their rows."""
    names, rates = handbook_table("names"), load()
    assert set(names["crown_as"]) <= set(rates.crowns["species"])
    assert set(names["height_as"]) <= set(rates.heights["species"])
    assert set(names["stump_group"]) <= set(handbook_table("stumps")["group"])


def test_cautions_are_many_plain_and_promise_nothing():
    """At least twenty, each named once, and none says that something is safe or allowed."""
    cautions = load().cautions
    assert len(cautions) >= 20
    assert cautions["caution"].is_unique
    assert not cautions["text"].str.contains(r"\bsafe\b|\bis allowed\b|\bare allowed\b").any()


def test_sources_are_given_back_in_order_and_once():
    """Unknown keys are left out, known ones keep the order asked for."""
    rows = source_rows(["poole_2025", "nobody", "enloe_2018", "poole_2025"])
    assert rows["key"].tolist() == ["poole_2025", "enloe_2018"]
