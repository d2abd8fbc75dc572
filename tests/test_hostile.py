"""A property in which every text field means harm is planned, shown, printed and handed on."""

import csv
import io
import json
import time

import icalendar
import openpyxl
import pyogrio
import pypdfium2
import pytest
from selenium.webdriver.common.by import By

import clearing
from tests.browser import DESKTOP, PHONE, open_browser, outside_requests, page_errors
from tests.hostile_place import NAMES, SCRIPT, hostile_place

CSVS = ("blocks.csv", "visits.csv", "purchases.csv", "figures.csv")
RUNS = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20")
OPEN_ALL = "document.querySelectorAll('details').forEach(one => one.open = true)"


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    """Return the folder with every file of the plan of such a place."""
    folder = hostile_place(tmp_path_factory.mktemp("hostile") / "place")
    results = clearing.run(clearing.read(folder), gap=0.02)
    assert results.plan.status == "best"
    assert len(results.plan.visits) > 20
    return clearing.write(results, folder)


@pytest.fixture(scope="module", params=[DESKTOP, PHONE], ids=["desk", "phone"])
def page(out, request):
    """Give a browser with the map of that place, in which everything was opened once."""
    with open_browser(request.param) as driver:
        driver.get((out / "map.html").as_uri())
        for mark in ("[data-open-block]", "[data-open-strip]", ".year", "[data-back]"):
            for number in range(len(driver.find_elements(By.CSS_SELECTOR, mark))):
                driver.execute_script(f"document.querySelectorAll({mark!r})[{number}].click()")
                driver.execute_script(OPEN_ALL)
        time.sleep(0.3)
        yield driver


def test_nothing_of_it_runs_on_the_map(page):
    """No script of a name has run, no picture was asked for, no error was said."""
    assert page.execute_script("return window.hit") is None
    assert page.find_elements(By.CSS_SELECTOR, "img[src='x'], svg[onload], img[onerror]") == []
    assert outside_requests(page) == []
    assert page_errors(page) == []


def test_every_name_stands_on_the_map_as_it_was_typed(page):
    """Tags, formulas, Hebrew and 200 letters are letters in the list of blocks."""
    texts = [one.get_property("textContent") for one in
             page.find_elements(By.CSS_SELECTOR, "[data-open-block]")]  # fmt: skip
    for name in NAMES[:6]:
        assert any(name in text for text in texts), name


def test_nothing_runs_over_the_edge_of_the_page(page):
    """However long a name is, the page has no sideways scroll, nor has its panel."""
    wide = page.execute_script(
        "const p = document.getElementById('scroll');"
        "return [document.documentElement.scrollWidth - window.innerWidth,"
        " p.scrollWidth - p.clientWidth]"
    )
    assert max(wide) <= 0


def test_every_block_has_its_one_page_of_the_right_size(out):
    """What means harm to the typesetter is printed; no page is another size, none is missing."""
    with pypdfium2.PdfDocument(out / "workplan.pdf") as document:
        sizes = {tuple(round(side) for side in page.get_size()) for page in document}
        texts = ["".join(page.get_textpage().get_text_range().split()) for page in document]
    assert sizes == {(612, 792)}
    for place, name in enumerate(NAMES[:6]):
        head = "".join(f"{place}{name[:20]}".split())
        if not head.isascii():
            continue  # right-to-left letters come out of a PDF in the order they are drawn
        found = [text for text in texts if text.startswith(head)]
        assert len(found) == 1, name


@pytest.mark.parametrize("name", CSVS)
def test_no_cell_of_a_table_is_a_formula(out, name):
    """No text of any table starts as a formula does; numbers below nought are numbers."""
    rows = list(csv.reader(io.StringIO((out / name).read_text(encoding="utf-8-sig"))))
    assert len({len(row) for row in rows}) == 1
    for cell in (cell for row in rows for cell in row if cell.lstrip(" \n").startswith(RUNS)):
        float(cell)


def test_no_cell_of_the_workbook_is_a_formula(out):
    """Text stays text in every sheet."""
    book = openpyxl.load_workbook(out / "workbook.xlsx")
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "f" not in kinds
    assert NAMES[2] in {cell.value for cell in book["Blocks"]["B"]}


def test_the_calendar_holds_its_entries_and_no_other(out):
    """An entry a season with one reminder; a name that ends an entry ends none."""
    content = (out / "calendar.ics").read_bytes()
    events = icalendar.Calendar.from_ical(content).walk("VEVENT")
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert len(events) == len({(row["year"], row["season"]) for row in plan["visits"]})
    for event in events:
        assert [one.name for one in event.subcomponents] == ["VALARM"]
        assert SCRIPT in str(event["summary"])
    assert max(len(line) for line in content.split(b"\r\n")) <= 75


@pytest.mark.parametrize(
    ("file", "layer", "column", "end"),
    [
        ("plan.gpkg", "blocks", "name", ""),
        ("plan.gpkg", "keep_trees", "tree_id", "T"),
        ("field.kml", "Blocks", "Name", ""),
        ("field.gpx", "tracks", "name", ""),
    ],
)
def test_a_gis_reads_the_names_whole(out, file, layer, column, end):
    """Each name comes out of the file as it went in."""
    found = set(pyogrio.read_dataframe(out / file, layer=layer)[column])
    for place, name in enumerate(NAMES[:6]):
        said = f"{end}{place}{name}" if end else name
        assert said in found, name


def test_the_plan_says_every_name_as_it_was_typed(out):
    """plan.json is JSON with the names as they are."""
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert [block["name"] for block in plan["blocks"]] == list(NAMES[:6])
    assert plan["property"]["name"] == SCRIPT
