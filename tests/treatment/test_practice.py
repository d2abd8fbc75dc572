"""What common practice tells of tallow and of the work holds in the handbook."""

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from clearing.rates import load
from clearing.treatment import dose
from clearing.treatment.mixing import mix_tank
from clearing.units import CM_PER_IN, M_PER_FT, volume_l

PRACTICE = pd.read_csv(Path(__file__).parents[1] / "published" / "practice.csv")
PRACTICE = PRACTICE.set_index("quantity")
RECIPES = load().recipes.set_index("recipe_id")


def holds(quantity: str, value: float) -> bool:
    """Return whether a value lies where the account puts it."""
    row = PRACTICE.loc[quantity]
    return row["low"] - 1e-9 <= value <= row["high"] + 1e-9


def told(subject: str, item: str) -> float:
    return load().figure(subject, item).value


def test_the_account_is_marked_as_one():
    """Every row says that nobody published it, and its middle lies in its range."""
    assert (PRACTICE["seen"] == "common practice").all()
    assert (PRACTICE["source"] == "common_practice").all()
    assert PRACTICE["locator"].str.contains("no published source").all()
    assert (PRACTICE["low"] <= PRACTICE["expected"]).all()
    assert (PRACTICE["expected"] <= PRACTICE["high"]).all()


def test_two_percent_amine_on_tallow_stumps_kills_nine_in_ten_the_first_time():
    """The row is 2 percent in water with a surfactant, and its range reaches down to a half."""
    row, seen = RECIPES.loc["tallow:cut:2_4_d"], PRACTICE.loc["stump_2_4_d_kill_first_time"]
    assert holds("stump_2_4_d_percent", row["percent"])
    assert row["kill"] == seen["expected"]
    assert (row["kill_low"], row["kill_high"]) == (seen["low"], seen["high"])
    assert row["carrier"] == "water"
    assert row["surfactant_percent"] > 0
    assert row["seen"] == "common practice"


@pytest.mark.parametrize("job", ["cut", "hack"])
def test_the_measured_batch_is_a_recipe_of_its_own(job):
    """4 to 4.5 fl oz in half a gallon is 6 to 7 percent: its kill is assumed, lower and wide."""
    weak, strong = RECIPES.loc[f"tallow:{job}:2_4_d"], RECIPES.loc[f"tallow:{job}:2_4_d_strong"]
    measured = [PRACTICE.loc[f"half_gallon_{floz}_floz_percent", "expected"] for floz in (4, 4.5)]
    assert measured[0] <= strong["percent"] <= measured[1]
    assert strong["seen"] == "assumed"
    assert strong["kill_high"] - strong["kill_low"] > 0.5
    assert "which strength earned the kill is not known" in weak["note"]


@pytest.mark.parametrize("floz", ["4", "4.5"])
def test_a_measured_half_gallon_is_three_times_two_percent(floz):
    """The tank says 6.2 to 7.0 percent, and a person who meant 2 is told so."""
    tank = mix_tank(volume_l("0.5gal"), product_l=volume_l(f"{floz}floz"))
    assert holds(f"half_gallon_{floz}_floz_percent", tank["product_percent"])
    assert tank["product_percent"] > 3 * PRACTICE.loc["stump_2_4_d_percent", "expected"]


@pytest.mark.parametrize("inches", [6, 8])
def test_a_trunk_of_six_to_eight_inches_gets_two_or_three_cuts(inches):
    """Recipes with one cut in three inches do; those with one an inch are the other opinion."""
    hacks = load().recipes.query("method == 'hack_and_squirt' and species in ('tallow', 'any')")
    counts = {
        row.recipe_id: float(dose.cuts(inches * CM_PER_IN, row.cm_per_cut, row.min_cuts))
        for row in hacks.itertuples()
        if row.max_dbh_cm != row.max_dbh_cm
    }
    few = {name for name, cuts in counts.items() if holds(f"cuts_{inches}in", cuts)}
    wide = {"imazapyr_2", "imazapyr_4", "2_4_d", "2_4_d_strong", "triclopyr_amine_wide"}
    many = {"glyphosate", "triclopyr_amine", "triclopyr_ester", "imazapyr_4_thin",
            "2_4_d_undiluted"}  # fmt: skip
    assert {name.split(":")[2] for name in few} == wide
    assert {name.split(":")[2] for name in set(counts) - few} >= many
    assert all(counts[name] == inches for name in set(counts) - few)


def test_a_dozen_trees_then_the_sprayer():
    """A round is a dozen trees or 10 to 15 minutes, inside the limit of a water-carried mix."""
    assert holds("batch_trees", told("any", "batch_trees"))
    assert holds("batch_minutes", told("any", "batch_minutes"))
    assert told("any", "batch_minutes") <= told("amine_2_4_d_3_8", "stump_minutes")


@pytest.mark.parametrize(
    ("quantity", "item"),
    [("tallow_mow_after_years", "mow_after_years"), ("tallow_seasons_to_die", "seasons_to_die"),
     ("tallow_falls_after_years", "stand_years"), ("tallow_stump_rotten_years", "soften_years")],
)  # fmt: skip
def test_tallow_dies_falls_and_rots_as_told(quantity, item):
    """A season to die, two to three years to fall, two to mow, one to two for a stump to rot."""
    figure = load().figure("tallow", item)
    assert holds(quantity, figure.value)
    assert figure.seen == "common practice"


def test_sprouts_are_looked_for_to_forty_feet():
    """The ring of an unsprayed stump, and tallow's and tree-of-heaven's own rings reach it."""
    ring = PRACTICE.loc["unsprayed_sucker_ft", "expected"] * M_PER_FT
    assert told("any", "unsprayed_sucker_m") == pytest.approx(ring)
    assert load().figure("tallow", "sucker_m").high >= ring - 1e-9
    assert told("tree_of_heaven", "sucker_m") >= ring
    assert load().habits.set_index("species").loc["tallow", "sprouts_from"] == "both"


def test_the_gulf_coast_hacks_from_the_spring_flush_to_leaf_fall():
    """The flush ends before May; the tallow rows run from May into the month of leaf fall."""
    gulf = replace(load(), region="gulf_coast")
    first = gulf.figure("gulf_coast", "sap_rise_last_month").value + 1
    last = gulf.figure("gulf_coast", "leaf_fall_month").value
    assert holds("gulf_window_first_month", first)
    assert holds("gulf_window_last_month", last)
    months = gulf.window(RECIPES.loc["tallow:hack:2_4_d", "months"], "hack_and_squirt", "tallow")
    assert [int(month) for month in months.split()] == list(range(int(first), int(last) + 1))
    assert {"2", "3", "4"}.isdisjoint(gulf.window("", "hack_and_squirt").split())
