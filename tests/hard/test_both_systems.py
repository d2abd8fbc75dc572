"""The same property told in US units and in metric gives the same plan."""

import csv
import tomllib

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest

import clearing
from clearing.files.writing import write_files
from clearing.report.summary import summarise
from clearing.report.tables import csv_bytes, plan_tables
from tests.hard.small import ACRE, FLOZ, GAL, in_metric, small_property
from tests.hard.strategies import write_place

CLOSE = 1e-6  # of figures that went through factors of seventeen digits
PRINTED = {"hours": 1.0, "cost": 1.0, "product_ml": FLOZ * 1000, "mix_l": GAL, "area_ha": ACRE}
US = {"product_ml": "product_floz", "mix_l": "mix_gal", "area_ha": "area_acres"}


def both(made, tmp_path, gap):
    """Return the results of a property and of the same in metric, and their folders."""
    told = {"us": made, "metric": in_metric(made)}
    homes = {units: write_place(tmp_path / units, each) for units, each in told.items()}
    return [(clearing.run(clearing.read(home), gap=gap), home) for home in homes.values()]


def check_same(us, metric):
    """Check that two plans are one: options, visits, dollars, limits."""
    assert us.plan.status == metric.plan.status == "best"
    assert list(us.plan.options["option_id"]) == list(metric.plan.options["option_id"])
    assert metric.plan.cost == pytest.approx(us.plan.cost, rel=CLOSE)
    for name in ("stocking", "strips", "methods", "futures", "options", "visits", "arrivals"):
        check_table(name, getattr(us, name), getattr(metric, name))
    for name in ("visits", "limits", "odds", "purchases", "reserve", "thumb"):
        check_table(name, getattr(us.plan, name), getattr(metric.plan, name))


def check_table(name, one, other):
    """Check that two tables have the same rows: words the same, figures close."""
    assert list(one.columns) == list(other.columns), name
    assert len(one) == len(other), name
    for column in one.columns:
        if pd.api.types.is_numeric_dtype(one[column]):
            a, b = (table[column].to_numpy(dtype=float) for table in (one, other))
            scale = np.nanmax(np.abs(a), initial=1.0)
            same = np.isclose(a, b, rtol=CLOSE, atol=1e-9 * scale, equal_nan=True)
            assert same.all(), (name, column, a[~same][:3], b[~same][:3])
        elif column not in ("geometry", "why", "removed", "buy", "buy_ready"):
            assert list(one[column].astype(str)) == list(other[column].astype(str)), (name, column)


def rows_of(path):
    """Return the rows of a CSV file."""
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """Return the small property with a log, planned in both systems."""
    return both(small_property(rows=True), tmp_path_factory.mktemp("small"), 1e-4)


def test_the_small_property_is_planned_alike_in_both_systems(small):
    """Options, visits, hours, dollars and product agree, and what the log taught."""
    (us, _), (metric, _) = small
    assert len(us.plan.visits)
    assert len(us.lessons)
    check_same(us, metric)
    check_table("lessons", us.lessons, metric.lessons)


def test_the_files_differ_in_their_units_alone(small):
    """Hours and dollars are printed alike, product, mix and ground in the other unit."""
    (_, home), (_, other) = small
    for each, at in small:
        write_files(outputs_without_pages(each), at)
    for name in ("visits", "blocks"):
        one, two = (rows_of(at / "out" / f"{name}.csv") for at in (home, other))
        assert len(one) == len(two) > 0
        for a, b in zip(one, two, strict=True):
            for column, factor in PRINTED.items():
                if b.get(column):
                    mine = a[US.get(column, column)]
                    step = 1.01 * (half_a_digit(b[column]) + factor * half_a_digit(mine))
                    said = pytest.approx(float(mine) * factor, abs=step)
                    assert float(b[column]) == said, (name, column)


def half_a_digit(text):
    """Return half of the last digit of a printed number; whole ones may be rounded to it."""
    return 0.5 * 10.0 ** -len(text.rstrip("0").partition(".")[2])


def outputs_without_pages(results):
    """Return the tables of a plan as files."""
    tables = plan_tables(results, summarise(results))
    return {f"{name}.csv": csv_bytes(tables[name]) for name in ("visits", "blocks")}


@pytest.fixture
def short_sample(tmp_path):
    """Return the sample for one year as tables, every row as its owner typed it."""
    home = clearing.sample_folder()
    settings = tomllib.loads((home / "property.toml").read_text(encoding="utf-8"))
    settings["property"]["years"] = 1
    settings["cost_share"][0]["finish_by"] = "2031-12-31"
    for product in settings["herbicide"].values():
        product["date"] = str(product["date"])
    made = {"settings": settings, "records": [], "tally": rows_of(home / "tally.csv")}
    for name, _ in pyogrio.list_layers(home / "land.gpkg"):
        layer = gpd.read_file(home / "land.gpkg", layer=name)
        made[name] = layer.astype(object).where(layer.notna(), None).to_dict("records")
        made["crs"] = layer.crs
    return made


def test_the_sample_is_planned_alike_in_both_systems(short_sample, tmp_path):
    """One year of the sample: the same options and visits at the same price."""
    crs = short_sample.pop("crs")
    results = []
    for units, each in (("us", short_sample), ("metric", in_metric(short_sample))):
        home = write_place(tmp_path / units, each, crs)
        results.append(clearing.run(clearing.read(home), gap=0.005))
    assert len(results[0].plan.options)
    check_same(*results)
