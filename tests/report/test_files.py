"""Every written file is opened by a reader that did not write it."""

import csv
import io
import json
import xml.etree.ElementTree as ET

import gpxpy
import pytest

from clearing import report
from clearing.tables import column_file
from tests.report.small_place import HOSTILE, small_results

VISITS = (
    "visit_id,strip_id,block_id,year,season,job,method,herbicide,hours,hours_low,hours_high,"
    "mix_gal,product_floz,cost,why"
)
KML = "{http://www.opengis.net/kml/2.2}"


@pytest.fixture(scope="module")
def files(small):
    """Return every file of the small place."""
    return report.outputs(small, ["a line"])


def rows(content: bytes) -> list[dict]:
    """Return the rows of a CSV file."""
    return list(csv.DictReader(io.StringIO(content.decode())))


def test_same_results_give_same_bytes(files):
    """Two walks over the same place write the same files, run.log aside."""
    again = report.outputs(small_results(), ["another line"])
    assert [name for name in files if files[name] != again[name]] == ["run.log"]


def test_visits_have_the_promised_columns_and_the_plan_s_hours(files, small):
    """visits.csv has the promised header, and its hours add up to the plan's."""
    assert files["visits.csv"].decode().splitlines()[0] == VISITS
    total = sum(float(row["hours"]) for row in rows(files["visits.csv"]))
    assert total == pytest.approx(small.plan.visits["hours"].sum())


def test_two_litres_are_about_half_a_gallon(files):
    """2 l of mix are 0.528 US gal, and 1 l of product 33.8 US fl oz (NIST HB 44, appendix C)."""
    first = rows(files["visits.csv"])[0]
    assert (first["mix_gal"], first["product_floz"]) == ("0.528", "33.8")


def test_a_metric_place_gets_metric_columns():
    """An owner who speaks hectares gets litres and millilitres and no gallons."""
    files = report.outputs(small_results(units="metric"))
    first = rows(files["visits.csv"])[0]
    assert (first["mix_l"], first["product_ml"]) == ("2", "1000")
    assert not [name for name in first if name.endswith(("_gal", "_floz"))]
    assert rows(files["blocks.csv"])[0]["area_ha"] == "4"


@pytest.mark.parametrize("name", ["blocks", "visits", "purchases"])
def test_headers_are_the_described_columns(files, name):
    """A header is the table's column file in its order, without the other system's units."""
    described = column_file(name, "out")
    kept = described.loc[~described["unit"].isin(["ha", "l", "ml"]), "column"].tolist()
    header = next(csv.reader(io.StringIO(files[f"{name}.csv"].decode())))
    assert header == kept


def test_blocks_hold_area_and_finish(files):
    """blocks.csv gives acres, and a blank where a block is not done in the plan's years."""
    first, second, third = rows(files["blocks.csv"])
    assert first["area_acres"] == "9.88"  # 4 ha; 1 ha = 2.471 acres (NIST HB 44, appendix C)
    assert (first["finish_year"], second["finish_year"], third["first_year"]) == ("", "2030", "")


def test_json_is_strict_and_complete(files):
    """plan.json has every promised part and no NaN."""
    plan = json.loads(files["plan.json"], parse_constant=pytest.fail)
    promised = "property status cost bound gap years visits limits odds to_confirm warnings sources"
    assert set(promised.split()) <= set(plan)
    assert plan["visits"][0]["hours"] == 10
    assert plan["blocks"][0]["finish_year"] is None


def test_json_has_each_strip_s_state_by_year(files, small):
    """plan.json says of each strip and year what the map shows: state, its age, work, words."""
    told = json.loads(files["plan.json"])["strips"]
    for strip, facts in zip(told, report.summarise(small).strips, strict=True):
        assert strip["strip_id"] == facts.strip_id
        shown = [(y["state"], y["years_in_state"], y["work"], y["words"]) for y in strip["years"]]
        assert shown == [(y.state, y.age, y.work, y.words) for y in facts.years]


def test_hostile_names_come_through_every_file_as_plain_text(hostile):
    """A name full of tags, quotes and braces is read back as it was given."""
    files = report.outputs(hostile)
    assert rows(files["blocks.csv"])[0]["name"] == HOSTILE
    assert gpxpy.parse(files["field.gpx"].decode()).tracks[0].name == HOSTILE
    marks = [mark.text for mark in ET.fromstring(files["field.kml"]).iter(f"{KML}name")]
    assert HOSTILE in marks
    assert json.loads(files["plan.json"])["blocks"][0]["name"] == HOSTILE
