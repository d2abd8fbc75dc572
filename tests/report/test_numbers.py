"""Every number on the map and in the work plan stands in plan.json, beside what it is said of."""

import json
import re

import pypdfium2
import pytest
from selenium.webdriver.common.by import By

from tests.browser import open_browser
from tests.report.numbers import numbers, of_block, of_strip, said

# every text of every card, folded ones among them
TEXTS = """
document.querySelectorAll('details').forEach(one => one.open = true);
return [...document.querySelectorAll('.view')].map(view => {
  const walk = document.createTreeWalker(view, NodeFilter.SHOW_TEXT), found = [];
  while (walk.nextNode()) found.push(walk.currentNode.textContent);
  return [view.dataset.strip || '', view.dataset.block || '', found.join('\\n')];
});
"""
COUNTED = re.compile(r"And \d+ more")  # how many lines a list hides, on the page alone
PAGE = re.compile(r"The label is the law · page \d+$")


@pytest.fixture(scope="module")
def plan(written):
    """Return the sample's plan.json."""
    return json.loads(written["plan.json"])


@pytest.fixture(scope="module")
def cards(written, tmp_path_factory):
    """Return strip, block and text of every card of the map, and what is said of each year."""
    path = tmp_path_factory.mktemp("numbers") / "map.html"
    path.write_bytes(written["map.html"])
    with open_browser() as driver:
        driver.get(path.as_uri())
        found = driver.execute_script(TEXTS)
        for year in range(len(driver.find_elements(By.CSS_SELECTOR, ".year"))):
            driver.execute_script(f"document.querySelectorAll('.year')[{year}].click()")
            found.append(["", "", driver.find_element(By.ID, "years").get_property("textContent")])
    return found


@pytest.fixture(scope="module")
def pages(written):
    """Return the words of each page of the work plan, without the line at its foot."""
    with pypdfium2.PdfDocument(written["workplan.pdf"]) as document:
        texts = [" ".join(one.get_textpage().get_text_range().split()) for one in document]
    return [PAGE.sub("", text) for text in texts]


def of_place(plan):
    """Return what plan.json says of the whole place."""
    told = plan["told"]
    parts = {key: told[key] for key in ("place", "years", "front", "pictures", "trees")}
    blocks = [[one["name"], one["area"], one["summary"]] for one in told["blocks"].values()]
    return [plan | {"told": parts}, blocks]


def test_every_number_of_a_strips_card_is_said_of_that_strip(plan, cards):
    """Hours, mix, cost, cautions and years of a card stand under its strip in plan.json."""
    told = plan["told"]
    strips = [(strip, text) for strip, _, text in cards if strip]
    assert {strip for strip, _ in strips} == set(told["strips"])
    for strip, text in strips:
        name = told["blocks"][told["strips"][strip]["block_id"]]["name"]
        missing = numbers(COUNTED.sub("", text)) - said(of_strip(plan, strip)) - numbers(name)
        assert not missing, strip


def test_every_number_of_a_blocks_card_is_said_of_that_block(plan, cards):
    """Stems, sizes, plots, hours and cost stand under its block or one of its strips."""
    blocks = [(block, text) for strip, block, text in cards if block and not strip]
    assert {block for block, _ in blocks} == set(plan["told"]["blocks"])
    for block, text in blocks:
        plots = [one for one in plan["told"]["plots"] if one["block_id"] == block]
        missing = numbers(COUNTED.sub("", text)) - said([of_block(plan, block), plots])
        assert not missing, block


def test_every_number_of_the_front_is_said_of_the_place(plan, cards):
    """The first card, the plots and the sentences of the years speak of the place's numbers."""
    whole = [text for strip, block, text in cards if not strip and not block]
    assert len(whole) > len(plan["told"]["years"])
    known = said([of_place(plan), plan["told"]["plots"]])
    for text in whole:
        assert not numbers(COUNTED.sub("", text)) - known


def test_every_number_of_a_blocks_page_is_said_of_that_block(plan, pages):
    """Work, mixing table, way in and cautions stand under the block or its page in plan.json."""
    paper = plan["told"]["paper"]
    assert [one["block_id"] for one in paper["blocks"]] == list(plan["told"]["blocks"])
    for page in paper["blocks"]:
        known = [of_block(plan, page["block_id"]), page, paper["poison_line"]]
        assert not numbers(pages[page["page"] - 1]) - said(known), page["block_id"]


def test_every_number_of_the_other_pages_is_in_the_plan(plan, pages):
    """Property pages, day cards, practice sheets and sources say nothing that plan.json lacks."""
    known = said([of_place(plan), plan["told"]["cautions"], plan["told"]["paper"]])
    own = {one["page"] - 1 for one in plan["told"]["paper"]["blocks"]}
    for place, text in enumerate(pages):
        if place not in own:
            assert not numbers(text) - known, place + 1


def amounts(value):
    """Yield every amount in a piece of JSON."""
    if isinstance(value, dict):
        if {"value", "low", "high", "unit", "words"} <= set(value):
            yield value
        for one in value.values():
            yield from amounts(one)
    elif isinstance(value, list):
        for one in value:
            yield from amounts(one)


def test_words_say_the_number_beside_them(plan):
    """Each amount's words begin with its value to two figures (areas and counts may have more)."""
    seen = 0
    for one in amounts(plan["told"]):
        found = numbers(one["number"].partition("+")[0])
        if len(found) != 1 or "contractor" in one["number"] or "under" in one["words"]:
            continue
        shown, exact = float(found.pop()), abs(one["value"])
        room = 0.051 * exact if one["unit"] not in ("acres", "ha") else 0.0
        assert abs(shown - exact) <= max(room, 0.51 if exact >= 10 or room else 0.051), one
        seen += 1
    assert seen > 1000


def test_strips_blocks_and_place_add_up(plan):
    """Hours and cash of the visits inside the years are those of their strip, block and place."""
    told = plan["told"]
    for key, whole in (("hours", plan["hours"]), ("cost", plan["cash"])):
        by_strip = {
            name: sum(told["visits"][visit][key]["value"] for visit in strip["visits"]
                      if not told["visits"][visit]["run_off"])
            for name, strip in told["strips"].items()
        }  # fmt: skip
        for name, strip in told["strips"].items():
            assert strip[key]["value"] == pytest.approx(by_strip[name])
        for name, block in told["blocks"].items():
            own = [by_strip[one] for one, strip in told["strips"].items()
                   if strip["block_id"] == name]  # fmt: skip
            assert block[key]["value"] == pytest.approx(sum(own))
        assert whole["value"] == pytest.approx(sum(by_strip.values()))


def test_visits_are_the_same_in_table_and_words(plan):
    """What visits.csv and plan.json's table say of a visit is what the map says of it."""
    told = plan["told"]["visits"]
    for row in plan["visits"]:
        own = told[row["visit_id"]]
        assert own["hours"]["value"] == pytest.approx(row["hours"], abs=0.0051)
        assert own["cost"]["value"] == pytest.approx(row["cost"], abs=0.0051)
        if own["mix"] is not None:
            gallons = own["mix"]["value"] / (1 if own["mix"]["unit"] == "gal" else 128)
            assert gallons == pytest.approx(row["mix_gal"], abs=0.00051)
