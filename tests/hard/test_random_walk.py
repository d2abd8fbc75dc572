"""Whatever property somebody brings, the walk gives a plan that holds, or words on the thing.

More examples at a desk: RANDOM_PROPERTIES=300, and RANDOM_PDF=1 for the work plan of each.
"""

import contextlib
import csv
import json
import math
import os
import tempfile
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, Phase, given, settings

import clearing
from clearing.learning import with_their_kills
from tests.hard.strategies import properties, write_place
from tests.small_ground import small_ground

EXAMPLES = int(os.environ.get("RANDOM_PROPERTIES", "5"))
PAGES = bool(os.environ.get("RANDOM_PDF"))
FILES = {
    "map.html", "workplan.pdf", "blocks.csv", "visits.csv", "purchases.csv", "workbook.xlsx",
    "figures.csv", "plan.json", "plan.gpkg", "field.gpx", "field.kml", "calendar.ics", "run.log",
}  # fmt: skip
HANDBOOK = Path(clearing.__file__).parent / "data" / "handbook" / "seasons.csv"
CENT = 0.005  # files are written to two decimals
CLOSE = 1e-6  # of areas, and of sums that the solver holds within its tolerance


def planned(made, folder):
    """Return the results of a property and its files, or the problem that was named."""
    write_place(folder, made)
    try:
        results = clearing.run(clearing.read(folder), gap=0.05, seconds=20)
    except clearing.InputError as found:
        return None, found
    if results.plan.status == "none":
        assert results.plan.reasons
        assert all(len(sentence) > 10 for sentence in results.plan.reasons)
        return None, None
    clearing.write(results, folder)
    return results, None


@contextlib.contextmanager
def without_pages():
    """Leave the work plan's pages away, which cost as much as all else, unless they are asked."""
    with pytest.MonkeyPatch.context() as patch:
        if not PAGES:
            patch.setattr("clearing.report.written.workplan_pdf", lambda *given: b"%PDF")
        yield


def ordered(row):
    """Check that each figure of a row lies between its low and its high."""
    for name, value in row.items():
        low, high = row.get(f"{name}_low"), row.get(f"{name}_high")
        if low not in (None, "") and high not in (None, "") and value not in (None, ""):
            slack = 2 * CENT + 1e-9 * abs(float(value))
            assert float(low) <= float(value) + slack, (name, row)
            assert float(value) <= float(high) + slack, (name, row)


def no_nan(word):
    """Return nothing; NaN and Infinity stand in no file."""
    raise AssertionError(f"{word} in plan.json")


def check_tables(out):
    """Check that the written tables hold numbers, in order."""
    assert {path.name for path in out.iterdir()} == FILES
    said = json.loads((out / "plan.json").read_text(encoding="utf-8"), parse_constant=no_nan)
    for name in ("blocks", "visits", "purchases"):
        with (out / f"{name}.csv").open(encoding="utf-8-sig", newline="") as stream:
            for row in csv.DictReader(stream):
                words = {str(cell).strip().lower() for cell in row.values()}
                assert not words & {"nan", "inf", "-inf", "none", "<na>", "nat"}, row
                ordered(row)
    for part in ("visits", "years", "blocks", "strips"):
        for row in said.get(part, ()):
            ordered({key: value for key, value in row.items() if not isinstance(value, list)})


def season_months(asked):
    """Return the months of each season: the owner's own, else the region's of the handbook."""
    if asked.seasons:
        return {season.name: season.months for season in asked.seasons}
    with HANDBOOK.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    rows = [row for row in rows if row["region"] == asked.region] or [
        row for row in rows if row["region"] == "any"
    ]
    return {row["season"]: [int(month) for month in row["months"].split()] for row in rows}


def check_areas(results):
    """Check that zones make up their strips, and strips no more than their blocks."""
    for strip, area in results.strips.set_index("strip_id")["area_ha"].items():
        parts = results.zones[results.zones["strip_id"] == strip]
        assert math.isclose(parts["area_ha"].sum(), area, rel_tol=1e-6, abs_tol=1e-6), strip
        assert math.isclose(
            parts.geometry.area.sum() / 1e4, area, rel_tol=1e-4, abs_tol=1e-4), strip  # fmt: skip
    ground = results.blocks.set_index("block_id")["area_ha"]
    for block, area in results.strips.groupby("block_id")["area_ha"].sum().items():
        assert area <= ground[block] * (1 + 1e-6) + 1e-6, block


def check_plan(results):
    """Check areas, seasons and limits of a plan, reckoned here from its tables."""
    check_areas(results)
    asked, plan = results.property.settings, results.plan
    months = season_months(asked)
    for visit in plan.visits.to_dict("records"):
        assert asked.first_year <= visit["year"] < asked.first_year + asked.years, visit
        assert set(months[visit["season"]]) - set(asked.closed_months), visit
        for name in ("hours", "cost"):
            low, mid, high = (visit[f"{name}{end}"] for end in ("_low", "", "_high"))
            assert low <= mid + 1e-9 * abs(mid), visit
            assert mid <= high + 1e-9 * abs(high), visit
            assert math.isfinite(high), visit
    if not len(plan.shortfall):
        over = plan.limits["used"] - plan.limits["limit"]
        slack = 1e-4 + CLOSE * plan.limits["limit"].abs()
        assert not (over > slack).any(), plan.limits[over > slack]


# nothing is made smaller: each try is a plan
@settings(max_examples=EXAMPLES, deadline=None, phases=[Phase.reuse, Phase.generate],
          print_blob=True,
          suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])  # fmt: skip
@given(properties())
def test_a_random_property_is_planned_or_its_problem_is_named(made):
    """The walk and its files hold, or an error or a plan without a way says why; no other end."""
    with tempfile.TemporaryDirectory() as home, without_pages():
        results, _ = planned(made, Path(home) / "place")
        assert (Path(home) / "place" / "out").exists() == (results is not None)
        if results is not None:
            check_tables(Path(home) / "place" / "out")
            check_plan(results)


def test_ways_without_a_recipe_keep_their_kills():
    """Where no way has a recipe of the book, what the log taught of kills changes nothing."""
    methods = pd.DataFrame({"species": ["callery_pear"], "recipe_id": [""], "kill": [0.25],
                            "kill_low": [0.2], "kill_high": [0.3]})  # fmt: skip
    assert with_their_kills(methods, small_ground().rates).equals(methods)
