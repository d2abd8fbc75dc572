"""The sources page lists the figures behind this plan and no others."""

import io
from dataclasses import replace

import pandas as pd
import pytest

from clearing import report
from clearing.report.figures_used import seen_lines, source_list, used_figures
from clearing.sources import source_table


@pytest.fixture(scope="module")
def used(results):
    """Return the figures behind the sample's plan."""
    return used_figures(results)


def test_every_figure_names_its_source_and_how_it_was_seen(used):
    """No row without a citation that the list of sources explains."""
    assert (used["citation"] != "").all()
    assert set(used["source"]) <= set(source_table()["key"]) | {"owner"}
    assert set(used["seen"]) <= {"read", "derived", "common practice", "memory", "assumed", "owner"}


def test_species_and_products_that_the_plan_does_not_touch_are_left_out(used, results):
    """No tallow, no aminopyralid; the species to clear and the products used are there."""
    subjects = set(used["subject"])
    assert not subjects & {"tallow", "mimosa", "aminopyralid_2", "gulf_coast"}
    assert {"callery_pear", "tree_of_heaven"} <= subjects
    products = set(results.plan.visits["herbicide"]) - {""}
    assert products <= subjects


def test_each_recipe_of_the_plan_is_listed_with_its_kill(used, results):
    """The recipes of the visits stand with kill, low and high."""
    recipes = used[used["table"] == "recipes"].set_index("subject")
    for name in set(results.plan.visits["recipe_id"]) - {""}:
        row = recipes.loc[name]
        assert 0 <= row["low"] <= row["value"] <= row["high"] <= 1


def test_the_counts_of_the_sources_add_up_to_the_figures(used):
    """Every figure is counted once under its source."""
    counts = [one.counts for one in source_list(used)]
    numbers = sum(int(part.split()[0]) for text in counts for part in text.split(", "))
    assert numbers == (used["source"] != "owner").sum()


def test_the_first_line_says_how_much_was_read(used):
    """Read, derived, common practice, memory and assumed add up to all."""
    first, *others = seen_lines(used)
    assert f"Of {len(used)} figures" in first
    for kind in ("read in print", "common practice", "from memory", "assumed"):
        assert kind in first
    assert others[0].startswith("From memory, to be checked")


def test_figures_csv_is_the_same_list(written, used):
    """The file that goes out holds every row."""
    table = pd.read_csv(io.BytesIO(written["figures.csv"]))
    assert len(table) == len(used)
    assert table["locator"].notna().mean() > 0.95


def test_the_paper_has_the_page(results, sample_pages):
    """The last pages say where the figures come from, with how they were seen."""
    said = report.summarise(results)
    last = " ".join(" ".join(sample_pages[-2:]).split())
    assert "Where the figures come from" in last
    assert said.seen[0].split(",")[0] in last


def test_figures_that_the_log_drew_in_stand_once_and_add_up(results):
    """Of handbook and log the log's row stands, with its own source, and the sentence counts it."""
    rates, old = results.rates, results.rates.figure("follow_up", "base_s")
    names = rates.figures.columns
    row = ["follow_up", "base_s", 9.0, 8.0, 10.0, old.unit, "own_log", "records.csv", "log", ""]
    own = pd.DataFrame([row], columns=names[:10])
    figures = pd.concat([own, rates.figures], ignore_index=True)
    used = used_figures(replace(results, rates=replace(rates, figures=figures)))
    mine = used[(used["subject"] == "follow_up") & (used["item"] == "base_s")]
    assert mine["value"].tolist() == [9.0]
    assert mine["citation"].tolist() == ["your own log and the plots that you counted again."]
    numbers = [int(word) for word in seen_lines(used)[0].replace(",", "").split() if word.isdigit()]
    assert numbers[0] == sum(numbers[1:])
    assert "1 were drawn in by your own log and counts" in seen_lines(used)[0]
