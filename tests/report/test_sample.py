"""The report of the sample property holds together from the plan to the page."""

import csv
import io
import json

import pytest

from clearing import files, report
from tests.browser import DESKTOP, PHONE, open_browser, outside_requests, page_errors


def test_every_promised_file_is_there(written):
    """The files of a plan have the names that people and scripts look for."""
    names = {
        "map.html", "workplan.pdf", "blocks.csv", "visits.csv", "purchases.csv", "figures.csv",
        "workbook.xlsx", "plan.json", "plan.gpkg", "field.gpx", "field.kml", "calendar.ics",
        "run.log",
    }  # fmt: skip
    assert set(written) == names
    assert all(content for name, content in written.items() if name != "run.log")


def test_visits_add_up_to_the_years(written):
    """Hours in visits.csv and the years in plan.json agree, to the rounding of each visit."""
    visits = list(csv.DictReader(io.StringIO(written["visits.csv"].decode())))
    years = json.loads(written["plan.json"])["years"]
    total = sum(float(row["hours"]) for row in visits)
    assert total == pytest.approx(sum(row["hours"] for row in years), abs=0.05 * len(visits) + 1)


def test_unconfirmed_products_tell_no_mix(results):
    """No visit with a product whose label is not confirmed tells how to mix it."""
    held = {one.name for one in results.rates.products if not one.confirmed}
    visits = [v for strip in report.summarise(results).strips for v in strip.visits]
    told = [v.visit_id for v in visits if v.herbicide_key in held and (v.mix or v.product)]
    assert held
    assert told == []


def test_every_treated_strip_has_a_reason_and_every_spray_a_caution(results):
    """A strip says why, and no herbicide is told without what to mind."""
    strips = report.summarise(results).strips
    assert [strip.strip_id for strip in strips if strip.visits and not strip.why] == []
    sprays = [v for strip in strips for v in strip.visits if v.herbicide]
    assert sprays
    assert [v.visit_id for v in sprays if not v.cautions] == []


@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")  # rasterio 1.4
@pytest.mark.parametrize("size", [DESKTOP, PHONE])
def test_map_with_photo_opens_from_disk(results, tmp_path, size):
    """The sample's map with its photo opens without a request and without an error."""
    picture = report.photo_picture(*files.open_photo(results.property.photo))
    path = tmp_path / "map.html"
    path.write_text(report.map_html(results, picture), encoding="utf-8")
    with open_browser(size) as driver:
        driver.get(path.as_uri())
        drawn = driver.execute_script("return document.querySelectorAll('path[data-strip]').length")
        wide = driver.execute_script("return document.documentElement.scrollWidth")
        assert outside_requests(driver) == []
        assert page_errors(driver) == []
    assert drawn == len(results.strips)
    assert wide <= size[0]
