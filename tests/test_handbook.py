"""The handbook holds together: sources, ranges, gaps, names, windows, fingerprints."""

import ast
import itertools
import re
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import clearing
from clearing.rates import FIGURE_TABLES, handbook_table, load
from clearing.settings import REGIONS
from clearing.sources import source_rows, source_table
from clearing.units import KG_L_PER_LB_GAL
from tests.data.make_fingerprints import fingerprint, table_names

PUBLISHED = Path(__file__).parent / "published"
MARKS = pd.read_csv(PUBLISHED / "handbook_fingerprints.csv", dtype=str)
LABELS = pd.read_csv(PUBLISHED / "label_values.csv")
TABLES = [name for name in table_names() if "seen" in handbook_table(name)]
SEEN = {"read", "memory", "common practice", "assumed", "derived"}
NAMES = handbook_table("names")
TARGETS = NAMES[NAMES["target"] == "yes"]["species"].tolist()
PRODUCTS = ["glyphosate_4", "triclopyr_amine_3", "triclopyr_ester_4", "imazapyr_2", "imazapyr_4",
            "amine_2_4_d_3_8", "aminopyralid_2"]  # fmt: skip
GAP = "no published figure found"
OF_EACH_SPECIES = [
    "sucker_m", "seed_bank_years", "first_seed_years", "growth_cm_year", "soften_years",
    "mow_after_years", "stand_years", "cut_resprout_share", "kernel_m", "seeds_per_tree",
    "wilted_leaves_poison",
]  # fmt: skip
OF_ANY_PRODUCT = [
    "carrier_water", "carrier_oil", "soil_active", "rei_hours", "hay_days", "dairy_days",
    "slaughter_days", "graze_days", "reseed_days", "wind_min_mph", "wind_max_mph", "max_temp_f",
    "rain_free_h", "storage_min_f", "by_water", "well_m", "shelf_years", "manure_days",
    "surfactant_percent", "stump_minutes",
]  # fmt: skip
OF_EACH_REGION = [
    ("leaf_out_month", "leaf_fall_month"), ("sap_rise_first_month", "sap_rise_last_month"),
    ("cool_grass_first_month", "cool_grass_last_month"),
    ("warm_grass_first_month", "warm_grass_last_month"),
]  # fmt: skip
MONTHS = st.lists(st.integers(1, 12), unique=True, max_size=12)


def own_rows(name: str) -> pd.DataFrame:
    """Return a table of figures by subject and item."""
    return handbook_table(name).set_index(["subject", "item"]).sort_index()


@pytest.mark.parametrize("name", TABLES)
def test_every_figure_names_a_known_source_and_how_it_was_seen(name):
    """No row without a source that the list of sources explains."""
    table = handbook_table(name)
    keys = {key for cell in table["source"] for key in cell.split()}
    assert keys <= set(source_table()["key"])
    assert (table["source"] != "").all()
    assert set(table["seen"]) <= SEEN


def test_sources_named_in_passing_are_known_too():
    """A key in brackets in a locator or a note is one of the list."""
    known, years = set(source_table()["key"]), re.compile(r"\b[a-z]+(?:_[a-z]+)*_[0-9]{2,4}\b")
    for name in [table for table in TABLES if table not in ("rules", "cautions")]:
        table = handbook_table(name)
        for column in {"locator", "note"} & set(table.columns):
            named = {word for cell in table[column] for word in years.findall(cell)}
            assert named <= known, (name, named - known)


@pytest.mark.parametrize("name", table_names())
def test_the_tables_are_the_ones_that_were_checked(name):
    """Rows, sums and words of each table are those of the last check against its sources.

    After a check: python tests/data/make_fingerprints.py TABLE.
    """
    ours = pd.DataFrame(fingerprint(name), columns=MARKS.columns).astype(str)
    assert ours.to_dict("records") == MARKS[MARKS["table"] == name].to_dict("records")


def test_no_fingerprint_is_of_a_table_that_is_gone():
    """The tables marked are the tables there."""
    assert set(MARKS["table"]) == set(table_names())


@pytest.mark.parametrize("name", FIGURE_TABLES)
def test_each_figure_lies_in_its_range(name):
    """Low <= value <= high."""
    table = handbook_table(name)
    assert (table["low"].fillna(table["value"]) <= table["value"]).all()
    assert (table["high"].fillna(table["value"]) >= table["value"]).all()


def test_each_figure_stands_once_in_all_tables():
    """No subject and item twice, not even in two files: the first would hide the second."""
    figures = load().figures
    assert figures[figures.duplicated(["subject", "item"], keep=False)].empty


def test_memory_and_guesses_are_marked_as_such():
    """What is from memory or an own choice is never marked read; practice only as itself."""
    for name in TABLES:
        table = handbook_table(name)
        for source in ("memory", "own_choice"):
            assert (table.loc[table["source"] == source, "seen"] != "read").all()
        practice = table.loc[table["source"] == "common_practice", "seen"]
        assert set(practice) <= {"common practice", "assumed"}


@pytest.mark.parametrize("species", TARGETS)
def test_every_target_has_own_figures_and_says_where_none_is_published(species):
    """Each item has a row; an assumed or remembered one starts by naming the gap."""
    rows = own_rows("species")
    for item in OF_EACH_SPECIES:
        row = rows.loc[(species, item)]
        guessed = row["seen"] in ("assumed", "memory")
        assert guessed == row["locator"].startswith(GAP), item


@pytest.mark.parametrize("species", TARGETS)
def test_a_gap_widens_the_range(species):
    """Where no figure is published, low and high are as far off as for a species unknown."""
    rows = own_rows("species")
    for item in OF_EACH_SPECIES:
        row, anyone = rows.loc[(species, item)], rows.loc[("any", item)]
        if not row["locator"].startswith(GAP):
            continue
        if item == "wilted_leaves_poison":
            assert (row["low"], row["high"]) == (0, 1)
            continue
        share = item.endswith("_share")
        wide = row["value"] * anyone["high"] / anyone["value"]
        assert row["low"] <= row["value"] * anyone["low"] / anyone["value"] * 1.001, item
        assert row["high"] >= min(wide, 1.0 if share else wide) * 0.999, item


def test_gaps_of_products_and_regions_are_ranges():
    """A figure that nobody published is never given as if it were sure."""
    for name in FIGURE_TABLES:
        table = handbook_table(name)
        gaps = table[table["locator"].str.startswith(GAP)]
        assert set(gaps["seen"]) <= {"assumed", "memory", "common practice"}
        assert (gaps["low"] < gaps["high"]).all()


def test_at_least_ten_targets_rest_on_three_figures_seen_in_print():
    """Figures, recipes, crowns and heights of its own that were read or follow from what was."""
    counts = dict.fromkeys(TARGETS, 0)
    for name, column in (("species", "subject"), ("recipes", "species"), ("crowns", "species"),
                         ("heights", "species")):  # fmt: skip
        table = handbook_table(name)
        for species in table.loc[table["seen"].isin(["read", "derived"]), column]:
            counts[species] = counts.get(species, 0) + 1
    assert len(TARGETS) >= 18
    assert sum(counts[species] >= 3 for species in TARGETS) >= 10


def test_each_target_has_its_habits_in_one_line():
    """Where it sprouts from, what carries its seed, one sentence."""
    habits = handbook_table("habits")
    assert habits["species"].tolist() == TARGETS
    assert set(habits["sprouts_from"]) <= {"stump", "roots", "both"}
    carriers = {word for cell in habits["seed_by"] for word in cell.split()}
    assert carriers <= {"wind", "birds", "water", "gravity", "animals"}
    assert habits["text"].str.fullmatch(r"[A-Z][^.]{20,118}\.").all()


@pytest.mark.parametrize(("product", "item"), list(itertools.product(PRODUCTS, OF_ANY_PRODUCT)))
def test_each_product_has_its_own_figures(product, item):
    """Strength apart, every item stands for each product and for one unknown."""
    rows = own_rows("herbicides")
    assert (product, item) in rows.index
    assert ("any", item) in rows.index
    assert rows.loc[(product, item), "value"] >= 0


@pytest.mark.parametrize(
    "row", list(LABELS.itertuples()), ids=lambda row: f"{row.subject}-{row.item}"
)
def test_figures_read_on_labels_are_the_labels(row):
    """Waits, storage, wind, re-entry and times as they were read."""
    figure = load().figure(row.subject, row.item)
    assert getattr(figure, row.end) == row.expected
    assert row.source in set(source_table()["key"])


@pytest.mark.parametrize("product", PRODUCTS)
def test_strength_in_pounds_and_kilograms_agree(product):
    """Acid a litre is acid a gallon by exact units, and less than the product weighs."""
    rates = load()
    metric = rates.figure(product, "ae_kg_per_l").value
    exact = rates.figure(product, "lb_ae_per_gal").value * KG_L_PER_LB_GAL
    assert metric == pytest.approx(exact, abs=6e-5)
    assert metric < rates.figure(product, "density_kg_l").value


@pytest.mark.parametrize("region", ["any", *REGIONS])
def test_each_region_has_its_months(region):
    """First and last are months in order, with ranges that are months too."""
    rows = own_rows("regions")
    for first, last in OF_EACH_REGION:
        months = rows.loc[[(region, first), (region, last)], ["low", "value", "high"]].to_numpy()
        assert ((months >= 1) & (months <= 12)).all()
        assert months[0][1] <= months[1][1]
    leaves, sap = rows.loc[(region, "leaf_out_month")], rows.loc[(region, "sap_rise_first_month")]
    assert sap["value"] < leaves["value"]


@given(MONTHS, st.sampled_from(["any", *REGIONS]), st.sampled_from(["any", *TARGETS]))
def test_a_window_only_takes_away_and_never_all(months, region, species):
    """Months of a leaf spray stay in order, a second cut changes nothing, some are left."""
    rates, words = replace(load(), region=region), " ".join(map(str, months))
    for job in ("foliar", "follow_up"):
        window = rates.window(words, job, species)
        kept = [int(month) for month in window.split()]
        assert kept
        assert kept == [month for month in months or range(1, 13) if month in kept]
        assert rates.window(window, job, species) == window
    for job in ("hack_and_squirt", "cut_and_spray", "basal_bark"):
        assert rates.window(words, job, species).startswith(words)


def test_an_evergreen_is_sprayed_in_winter_and_a_pear_is_not():
    """Privet keeps the months in which it was sprayed; a tree without leaves loses them."""
    rates = replace(load(), region="midwest")
    assert rates.window("3 4 10 11 12", "foliar", "chinese_privet") == "3 4 10 11 12"
    assert rates.window("3 4 10 11 12", "foliar", "callery_pear") == "10"
    assert rates.window("12 1", "foliar", "callery_pear") == "12 1"
    assert replace(rates, like={"hedge": "chinese_privet"}).window("1", "foliar", "hedge") == "1"


def test_recipes_lie_in_their_range_and_name_known_products():
    """kill_low <= kill <= kill_high, each product has its strength, ids stand once."""
    recipes = load().recipes
    assert (recipes["kill_low"] <= recipes["kill"]).all()
    assert (recipes["kill"] <= recipes["kill_high"]).all()
    assert recipes["recipe_id"].is_unique
    assert set(recipes["herbicide"]) == set(PRODUCTS)
    assert set(recipes["species"]) <= {"any", *TARGETS}


def test_recipes_are_whole():
    """Strength, season, dose of its own kind, and a carrier that the product goes into."""
    rates = load()
    needs = {"cuts": ["ml_per_cut", "cm_per_cut", "min_cuts"], "stump": ["ml_per_cm"],
             "band": ["ml_per_cm"], "cover": ["l_per_ha_cover"]}  # fmt: skip
    for row in rates.recipes.to_dict("records"):
        assert 0 < row["percent"] <= 100, row["recipe_id"]
        assert all(row[column] > 0 for column in needs[row["dose_kind"]]), row["recipe_id"]
        assert all(1 <= int(month) <= 12 for month in row["months"].split()), row["recipe_id"]
        assert (row["percent"] == 100) == (row["carrier"] == "none"), row["recipe_id"]
        if row["carrier"] != "none":
            assert rates.figure(row["herbicide"], f"carrier_{row['carrier']}").high > 0


def test_kills_that_nobody_published_are_wide():
    """An assumed kill has a range of at least 0.1; one of no trial for the species, 0.35."""
    recipes = load().recipes
    assumed = recipes[recipes["seen"] == "assumed"]
    assert (assumed["kill_high"] - assumed["kill_low"] >= 0.1 - 1e-9).all()
    nobodys = recipes[(recipes["species"] == "any") | recipes["locator"].str.contains("lent")]
    assert (nobodys["kill_high"] - nobodys["kill_low"] >= 0.35 - 1e-9).all()
    assert (nobodys["seen"] == "assumed").all()


@pytest.mark.parametrize("species", [*TARGETS, "never_heard_of"])
def test_every_species_can_be_followed_up_and_forecast(species):
    """A leaf spray and each figure of the forecast stand for every target, known or not."""
    rates = load()
    foliar = rates.recipes[rates.recipes["method"] == "foliar"]
    assert set(foliar["species"]) & {species, "any"}
    for item in OF_EACH_SPECIES:
        assert rates.figure(species, item).value >= 0


def test_stand_ins_of_names_exist():
    """Crown, height and stump group of every name have their rows."""
    rates = load()
    assert set(NAMES["crown_as"]) <= set(rates.crowns["species"])
    assert set(NAMES["height_as"]) <= set(rates.heights["species"])
    assert set(NAMES["stump_group"]) <= set(handbook_table("stumps")["group"])


def test_cautions_are_many_plain_and_promise_nothing():
    """At least twenty, each named once, and none says that something is safe or allowed."""
    cautions = load().cautions
    assert len(cautions) >= 20
    assert cautions["caution"].is_unique
    for table in [handbook_table(name) for name in table_names()]:
        for column in {"text", "note", "locator", "clause"} & set(table.columns):
            assert not table[column].str.contains(r"\bsafe\b|\b(?:is|are) allowed\b").any()


def test_sources_are_given_back_in_order_and_once():
    """Unknown keys are left out, known ones keep the order asked for."""
    rows = source_rows(["poole_2025", "nobody", "enloe_2018", "poole_2025"])
    assert rows["key"].tolist() == ["poole_2025", "enloe_2018"]


SENTINELS = {"NEVER", "WIDTH"}  # beyond the last size class; characters of a printed line


@pytest.mark.parametrize("room", ["treatment", "effort", "forecast"])
def test_numbers_that_stand_in_code_say_why(room):
    """A constant that is no place, tolerance or exact unit has its reason on its line."""
    for path in sorted((Path(clearing.__file__).parent / room).glob("*.py")):
        lines = path.read_text().splitlines()
        for node in ast.parse("\n".join(lines)).body:
            if not isinstance(node, ast.Assign) or not isinstance(node.value, ast.Constant):
                continue
            name, value = getattr(node.targets[0], "id", ""), node.value.value
            if isinstance(value, int | float) and value > 1e-6 and name not in SENTINELS:
                assert "  # " in lines[node.lineno - 1], f"{path.name}: {name}"
