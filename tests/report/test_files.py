"""Every written file is opened by a reader that did not write it."""

import csv
import datetime as dt
import io
import json
import xml.etree.ElementTree as ET

import gpxpy
import icalendar
import openpyxl
import pyogrio
import pytest

from clearing import report
from clearing.report.calendar_file import season_days
from clearing.report.tables import csv_bytes, disarmed
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


@pytest.mark.parametrize("text", ["=cmd|' /C calc'!A0", "+1", "-1+1", "@SUM(A1)", "\t=1"])
def test_text_that_a_sheet_would_run_is_disarmed(text):
    """A name that begins like a formula is written with an apostrophe before it."""
    assert disarmed(text) == f"'{text}"


def test_numbers_below_zero_stay_numbers(small):
    """Only text is disarmed: a cost below zero is written as a number."""
    table = small.plan.visits[["cost"]].head(1) * -1
    assert csv_bytes(table).decode().splitlines()[1] == "-120"


def test_workbook_has_every_table_and_no_formula():
    """The workbook opens, holds the tables, and a name that begins with = stays text."""
    name = '=HYPERLINK("http://example.org")'
    content = report.outputs(small_results(name))["workbook.xlsx"]
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert " ".join(book.sheetnames) == "Plan Blocks Visits Purchases Years Limits Columns"
    cell = book["Blocks"]["B2"]
    assert (cell.value, cell.data_type) == (name, "s")
    cells = (cell for sheet in book for row in sheet.iter_rows() for cell in row)
    assert not [cell.coordinate for cell in cells if cell.data_type == "f"]
    assert book["Visits"].max_row == 1 + 5


def test_json_is_strict_and_complete(files):
    """plan.json has every promised part and no NaN."""
    plan = json.loads(files["plan.json"], parse_constant=pytest.fail)
    promised = "property status cost bound gap years visits limits odds to_confirm warnings sources"
    assert set(promised.split()) <= set(plan)
    assert plan["visits"][0]["hours"] == 10
    assert plan["blocks"][0]["finish_year"] is None


def test_geopackage_has_all_layers_with_their_rows(files, tmp_path):
    """plan.gpkg opens with its seven layers, in the property's grid."""
    path = tmp_path / "plan.gpkg"
    path.write_bytes(files["plan.gpkg"])
    names = [str(name) for name, _ in pyogrio.list_layers(path)]
    assert names == ["blocks", "strips", "zones", "keep_trees", "features", "plots", "visits"]
    strips = pyogrio.read_dataframe(path, layer="strips")
    assert strips.area.sum() == pytest.approx(80_000)
    assert strips.loc[0, "state_2027"] == "standing_dead"
    assert len(pyogrio.read_dataframe(path, layer="visits")) == 5


def test_json_has_each_strip_s_state_by_year(files, small):
    """plan.json says of each strip and year what the map shows: state, its age, work, words."""
    told = json.loads(files["plan.json"])["strips"]
    for strip, facts in zip(told, report.summarise(small).strips, strict=True):
        assert strip["strip_id"] == facts.strip_id
        shown = [(y["state"], y["years_in_state"], y["work"], y["words"]) for y in strip["years"]]
        assert shown == [(y.state, y.age, y.work, y.words) for y in facts.years]


def test_gpx_has_points_and_outlines(files):
    """field.gpx holds trees, ways in and plots as waypoints, blocks as closed tracks."""
    file = gpxpy.parse(files["field.gpx"].decode())
    assert [point.name for point in file.waypoints] == [
        "T1", "T2", "in 1a", "in 1b", "in 2", "in 3", "plot 1-1",
    ]  # fmt: skip
    assert [track.name for track in file.tracks] == ["Road field", "Long pasture", "Fern woods"]
    points = file.tracks[0].segments[0].points
    assert (points[0].latitude, points[0].longitude) == (points[-1].latitude, points[-1].longitude)
    assert points[0].latitude == pytest.approx(36.33, abs=0.005)


def test_kml_has_blocks_strips_and_points(files):
    """field.kml is XML with three areas, four strips, and points in degrees."""
    root = ET.fromstring(files["field.kml"])
    folders = {f.find(f"{KML}name").text: f for f in root.iter(f"{KML}Folder")}
    counts = {name: len(f.findall(f"{KML}Placemark")) for name, f in folders.items()}
    assert counts == {"Blocks": 3, "Strips": 4, "Keep trees": 2, "Ways in": 4, "Plots": 1}
    lon, lat = next(root.iter(f"{KML}Point")).find(f"{KML}coordinates").text.split(",")
    assert [float(lon), float(lat)] == pytest.approx([-85.75, 36.33], abs=0.01)


def test_calendar_has_an_entry_a_season_with_a_reminder(files):
    """calendar.ics holds the four working seasons, each with a reminder a week before."""
    events = icalendar.Calendar.from_ical(files["calendar.ics"]).walk("VEVENT")
    starts = [event.decoded("dtstart") for event in events]
    assert starts == [
        dt.date(2027, 6, 1), dt.date(2028, 6, 1), dt.date(2028, 9, 1), dt.date(2029, 1, 1),
    ]  # fmt: skip
    assert "Strip 1b: cut-and-spray" in str(events[1]["description"])
    alarms = [event.walk("VALARM")[0].decoded("trigger") for event in events]
    assert set(alarms) == {dt.timedelta(days=-7)}


def test_a_winter_season_ends_in_the_next_year():
    """A season belongs to the year it starts in."""
    assert season_days(2027, (12, 1, 2)) == (dt.date(2027, 12, 1), dt.date(2028, 3, 1))


def test_hostile_names_come_through_every_file_as_plain_text(hostile):
    """A name full of tags, quotes and braces is read back as it was given."""
    files = report.outputs(hostile)
    assert rows(files["blocks.csv"])[0]["name"] == HOSTILE
    assert gpxpy.parse(files["field.gpx"].decode()).tracks[0].name == HOSTILE
    marks = [mark.text for mark in ET.fromstring(files["field.kml"]).iter(f"{KML}name")]
    assert HOSTILE in marks
    assert json.loads(files["plan.json"])["blocks"][0]["name"] == HOSTILE
