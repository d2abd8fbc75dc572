"""From a folder to a plan: recomputed from the written files, without the planner.

Hours and windows are reckoned anew here from property.toml and the handbook's files.
"""

import csv
import json
import re
import subprocess
import sys
import tomllib
from collections import defaultdict
from pathlib import Path

import pytest

import clearing

HANDBOOK = Path(clearing.__file__).parent / "data" / "handbook"
LONGLEAF = Path(__file__).parent / "data" / "longleaf_stand"
FILES = {
    "map.html", "workplan.pdf", "blocks.csv", "visits.csv", "purchases.csv", "workbook.xlsx",
    "figures.csv", "plan.json", "plan.gpkg", "field.gpx", "field.kml", "calendar.ics", "run.log",
}  # fmt: skip
CENT = 0.005  # files are written to two decimals


def rows_of(path):
    """Return the rows of a CSV file."""
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Return the folder in which ``clearing demo`` put the sample and its plan."""
    folder = tmp_path_factory.mktemp("walk") / "place"
    command = [sys.executable, "-m", "clearing", "demo", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "map.html" in done.stdout
    return folder


@pytest.fixture(scope="module")
def visits(written):
    """Return the visits that were written."""
    return rows_of(written / "out" / "visits.csv")


@pytest.fixture(scope="module")
def settings(written):
    """Return the settings as the owner wrote them."""
    return tomllib.loads((written / "property.toml").read_text())


def season_table(settings):
    """Return months and hours of each season, reckoned from the files."""
    crew, table = settings["crew"], {}
    for row in rows_of(HANDBOOK / "seasons.csv"):
        months = [int(month) for month in row["months"].split()]
        days = len(months) * 30.4 * float(row["ground_share"]) * crew["days_per_week"] / 7
        table[row["season"]] = (months, days * crew["hours_per_day"] * crew["people"])
    return table


def test_demo_writes_every_file(written):
    """The demo leaves each file of the contract, none empty, and no half-written rest."""
    out = written / "out"
    assert {path.name for path in out.iterdir()} == FILES
    assert all(path.stat().st_size > 0 for path in out.iterdir())


def test_readme_names_every_file_that_comes_out(written):
    """What comes out is what README's section of that name lists, no file more and none less."""
    text = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    section = text.split("## What comes out\n")[1].split("\n## ")[0]
    endings = "|".join(sorted({name.split(".")[1] for name in FILES}))
    named = set(re.findall(rf"`(\w+\.(?:{endings}))`", section))
    assert named == {path.name for path in (written / "out").iterdir()}


def test_plan_carries_proof_limits_odds_and_sources(written):
    """plan.json says how good the plan is, what it uses, how sure it is, and from where."""
    plan = json.loads((written / "out" / "plan.json").read_text())
    assert plan["status"] == "best"
    assert plan["bound"] <= plan["cost"]
    assert plan["gap"] <= 0.005
    for key in ("limits", "odds", "sources", "to_confirm", "visits", "years"):
        assert plan[key], key


def test_no_visit_lies_outside_its_window(written):
    """At least half of the months of each visit's season lie in the window of its recipe."""
    visits = json.loads((written / "out" / "plan.json").read_text())["visits"]
    windows = {
        row["recipe_id"]: {int(month) for month in row["months"].split()}
        for row in rows_of(HANDBOOK / "recipes.csv")
    }
    months = {row["season"]: row["months"] for row in rows_of(HANDBOOK / "seasons.csv")}
    sprayed = [visit for visit in visits if visit["recipe_id"]]
    assert sprayed
    for visit in sprayed:
        own = {int(month) for month in months[visit["season"]].split()}
        assert len(own & windows[visit["recipe_id"]]) * 2 >= len(own), visit["visit_id"]


def test_no_season_goes_over_its_hours(visits, settings):
    """Hours of the visits of a season fit what the crew has, reckoned from the settings."""
    used = defaultdict(list)
    for visit in visits:
        used[visit["year"], visit["season"]].append(float(visit["hours"]))
    table = season_table(settings)
    for (year, season), hours in used.items():
        assert sum(hours) <= table[season][1] + CENT * len(hours), (year, season)


def test_no_year_goes_over_its_budget(visits, settings):
    """Money spent up to each year fits the budgets up to it (what is left is carried over)."""
    money, first = settings["money"], settings["property"]["first_year"]
    assert money["carry_over"] is True
    spent, count = 0.0, 0
    for i in range(settings["property"]["years"]):
        own = [float(v["cost"]) for v in visits if int(v["year"]) == first + i]
        spent, count = spent + sum(own), count + len(own)
        assert spent <= (i + 1) * money["budget_per_year"] + CENT * count, first + i


def test_each_strip_follows_one_method(visits):
    """No strip is treated by two methods in the same plan."""
    methods = defaultdict(set)
    for visit in visits:
        methods[visit["strip_id"]].add(visit["method"])
    assert all(len(own) == 1 for own in methods.values())


def test_no_follow_up_comes_before_its_first_treatment(visits):
    """In each strip the first treatment is the earliest spray of all."""
    first_jobs = {"hack_and_squirt", "cut_and_spray", "basal_bark", "foliar"}
    start = {}
    for visit in visits:
        if visit["job"] in first_jobs:
            start.setdefault(visit["strip_id"], int(visit["year"]))
    follow = [visit for visit in visits if visit["job"] == "follow_up"]
    assert follow
    for visit in follow:
        assert int(visit["year"]) > start[visit["strip_id"]], visit["visit_id"]


def test_same_input_gives_the_same_bytes(written, tmp_path):
    """Planning the same folder again, in another process order, writes the same files."""
    folder = clearing.copy_sample(tmp_path / "again")
    command = [sys.executable, "-m", "clearing", "plan", str(folder), "--gap", "0.005"]
    environment = {"PYTHONHASHSEED": "7", "PATH": "/usr/bin:/bin", "HOME": str(tmp_path)}
    subprocess.run(command, capture_output=True, check=True, env=environment)
    for name in sorted(FILES - {"run.log"}):
        old, new = (place / "out" / name for place in (written, folder))
        assert old.read_bytes() == new.read_bytes(), name


@pytest.fixture(scope="module")
def pines():
    """Return the stand of real trees, planned."""
    return clearing.run(clearing.read(LONGLEAF), gap=0.005)


def test_stand_of_real_trees_is_planned_end_to_end(pines, tmp_path):
    """584 mapped pines and a real photo, metric, GeoJSON in degrees: plan and map are written."""
    out = clearing.write(pines, tmp_path)
    assert {path.name for path in out.iterdir()} == FILES
    assert pines.plan.status == "best"
    stand = pines.blocks.set_index("block_id").loc["stand"]
    assert stand["area_ha"] == pytest.approx(4.0, rel=2e-3)


def test_real_stand_is_within_its_stated_interval(pines):
    """The count of stems under 10 cm in 584 mapped pines (154 on 4 ha) lies in the interval.

    Source: Platt, Evans and Rathbun 1988, American Naturalist 131:491-525, data file read.
    """
    row = pines.totals.set_index("block_id").loc["stand"]
    assert row["low"] <= 154 / 4.0 <= row["high"]
    assert row["basis"] == "plots"
