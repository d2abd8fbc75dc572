"""What the map draws: layers, rules in their years, strips by year and by what is done there."""

import itertools
from dataclasses import replace

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.support.wait import WebDriverWait

from clearing import report
from clearing.report import look
from clearing.report.facts_ahead import Ahead
from tests.report.map_hand import click, key, open_map, seen, settle, text, write_map
from tests.report.years_ahead import FIRST, forecast

RULE = ".leaflet-ruled-pane path[d]:not([d='M0 0'])"
PIECE = ".leaflet-pieces-pane path[fill*='way-']"


@pytest.fixture(scope="module")
def foretold(small):
    """Return the summary with a forecast in which dead stems stand in strip 1a until 2029."""
    rows = tuple(forecast(FIRST + step, 8000 / 4**step) for step in range(5))
    none = forecast(2027, 0).dead.__class__(0, 0, 0, "stems", "no stems", "no stems", "0")
    rows = tuple(
        replace(row, words=f"Words of {row.year}.", dead=none if row.year > 2029 else row.dead)
        for row in rows
    )
    return replace(report.summarise(small), ahead=Ahead(place=rows, strips={"1a": rows}))


@pytest.fixture(scope="module")
def desk(small, foretold, tmp_path_factory):
    """Give a browser on a desk with the map open."""
    with open_map(write_map(tmp_path_factory.mktemp("map"), small, None, foretold)) as driver:
        yield driver


def year(driver, place: int) -> None:
    """Press a year of the year control."""
    driver.find_elements(By.CSS_SELECTOR, ".year")[place].click()


def test_fall_reach_is_drawn_while_dead_stems_stand(desk):
    """Dead stems stand in strip 1a at the end of 2028 and at the start of 2029, not in 2030."""
    drawn = []
    for place in range(4):
        year(desk, place)
        drawn.append(seen(desk, RULE))
    assert drawn == [True, True, True, False]


def test_fall_reach_without_forecast_is_drawn_in_the_year_of_work(small, tmp_path):
    """Where there is no forecast the state of the strip says when trees can fall."""
    with open_map(write_map(tmp_path, small)) as driver:
        drawn = []
        for place in range(3):
            year(driver, place)
            drawn.append(seen(driver, RULE))
    assert drawn == [True, False, False]


@pytest.mark.parametrize(
    ("part", "mark"),
    [
        ("strips", "path[data-strip]"), ("blocks", ".name.block"),
        ("trees", ".leaflet-trees-pane canvas"), ("fall_reach", RULE),
        ("things", ".leaflet-lines-pane path[stroke='#56B4E9']"),
    ],
)  # fmt: skip
def test_each_layer_goes_and_comes_by_its_box(desk, part, mark):
    """A tick box of the key hides its layer, and brings it back."""
    year(desk, 0)
    shown = [seen(desk, mark)]
    for _ in range(2):
        click(desk, f"[data-part={part}]")
        shown.append(seen(desk, mark))
    assert shown == [True, False, True]


def test_standing_dead_lies_over_what_is_done(desk, foretold):
    """In 2028 strip 1a is sprayed again under dead stems: hatch, key and name all say so."""
    ends = {row.year - 1: row.dead.value for row in foretold.ahead.strips["1a"]}
    strip = desk.find_element(By.CSS_SELECTOR, "path[data-strip='0']")
    drawn, told = [], []
    for place in range(4):
        year(desk, place)
        drawn.append(seen(desk, "path.dead"))
        told.append("dead trees stand here" in strip.get_attribute("aria-label"))
        assert seen(desk, ".foot [data-sign=standing_dead]") or place > 1
    stands = [ends[each] > 0.5 for each in range(2027, 2031)]
    assert stands == told == [True, True, False, False]
    assert drawn == [False, True, False, False]  # in 2027 the state itself is standing dead
    year(desk, 0)


def test_strips_that_come_back_are_still_buttons(desk):
    """A strip that was hidden and shown again has its name and opens by keyboard."""
    click(desk, "[data-part=strips]")
    click(desk, "[data-part=strips]")
    strip = desk.find_element(By.CSS_SELECTOR, "path[data-strip='2']")
    assert strip.get_attribute("aria-label").startswith("Strip 2, 2027")
    desk.execute_script("arguments[0].focus()", strip)
    key(desk, "\ue007")
    assert seen(desk, "[data-strip='2'].view")
    key(desk, "\ue00c")


def test_plots_are_drawn_when_they_are_asked_for(desk):
    """Plots are hidden until their box is ticked."""
    dashed = ".leaflet-lines-pane path[stroke-dasharray='2 2']"
    before = seen(desk, dashed)
    click(desk, "[data-part=plots]")
    after = seen(desk, dashed)
    click(desk, "[data-part=plots]")
    assert (before, after) == (False, True)


def test_way_switch_shows_the_ground_by_what_is_done(desk):
    """By what is done, pieces carry the signs of their jobs, and the key names these alone."""
    click(desk, ".tools [data-show=way]")
    fills = {
        one.get_attribute("fill") for one in desk.find_elements(By.CSS_SELECTOR, PIECE)
    }  # cut-and-spray is a plain colour
    lines = desk.find_elements(By.CSS_SELECTOR, ".signs li")
    words = {line.text for line in lines if line.is_displayed()}
    click(desk, ".tools [data-show=state]")
    assert fills == {"url(#way-hack_and_squirt)", "url(#way-mow_down)"}
    assert words == {
        "hack-and-squirt", "cut-and-spray", "mow the thicket down", "left alone",
        "not in these years", "Each piece shows the work that takes most of its wood.",
    }  # fmt: skip
    assert not seen(desk, PIECE)


def test_strips_say_what_they_show(desk):
    """By what is done a strip is read aloud with its method, by year with its state."""
    strip = desk.find_element(By.CSS_SELECTOR, "path[data-strip='1']")
    year(desk, 1)
    by_year = strip.get_attribute("aria-label")
    click(desk, ".tools [data-show=way]")
    by_way = strip.get_attribute("aria-label")
    click(desk, ".tools [data-show=state]")
    assert by_year == (
        "Strip 1b, 2028: hack-and-squirt, standing dead. Cut-and-spray in summer; "
        "dead trees stand here"
    )
    assert by_way == "Strip 1b: cut-and-spray, summer 2028"


def test_steps_and_arrow_keys_move_the_year(desk):
    """A year on, a year back by button; right and left by key, wherever the focus is."""
    year(desk, 0)
    said = []
    click(desk, "#later")
    said.append(text(desk, "#said")[:4])
    click(desk, "#earlier")
    said.append(text(desk, "#said")[:4])
    desk.execute_script("document.querySelector('h1').focus()")
    key(desk, "\ue014\ue014")
    said.append(text(desk, "#said")[:4])
    key(desk, "\ue012")
    said.append(text(desk, "#said")[:4])
    assert said == ["2028", "2027", "2029", "2028"]


def test_arrow_key_on_a_year_takes_the_focus_along(desk):
    """Who steps along the years by key stays on the year that is shown."""
    year(desk, 1)
    key(desk, "\ue014")
    assert desk.execute_script("return document.activeElement.textContent.trim()") == "2029"


def test_play_runs_to_the_last_year_and_stops(desk):
    """Play steps by itself and is ready to be played again at the end."""
    year(desk, 2)
    click(desk, "#play")
    playing = text(desk, "#play")
    WebDriverWait(desk, 20).until(lambda _: text(desk, "#play") == "Play")
    assert (playing, text(desk, "#said")[:4]) == ("Stop", "2030")


def test_play_pauses_when_nobody_looks(desk):
    """A hidden tab does not play on."""
    year(desk, 0)
    click(desk, "#play")
    desk.execute_script(
        "Object.defineProperty(document, 'hidden', {value: true, configurable: true});"
        "document.dispatchEvent(new Event('visibilitychange'));"
        "delete document.hidden"
    )
    assert text(desk, "#play") == "Play"


def test_year_says_what_stands(desk):
    """The sentence of the forecast follows the year, for the place and for the open strip."""
    year(desk, 2)
    assert text(desk, "#years [data-stands]") == "Words of 2029."
    click(desk, "[data-open-strip='1a']")
    year(desk, 1)
    assert text(desk, "[data-strip='1a'] [data-here]") == "Words of 2028."
    key(desk, "\ue00c")


def test_bars_are_the_stems_with_their_range(desk, foretold):
    """A bar is as high as its stems beside the highest upper end; its name says the number."""
    bar = desk.find_element(By.CSS_SELECTOR, ".year .bar")
    top = foretold.ahead.place[0].thick.high
    assert f"--plan:{8000 / top:g}" in bar.get_attribute("style").replace(" ", "")
    label = desk.find_element(By.CSS_SELECTOR, ".year").get_attribute("aria-label")
    assert label == "2027: about 8,000 stems (4,000 to 16,000) an inch and thicker"


def test_the_page_has_landmarks_and_headings_in_order(desk):
    """Landmarks are named, no heading skips a level, and the page has a language."""
    marks = desk.find_elements(By.CSS_SELECTOR, "main,nav,aside")
    assert all(one.get_attribute("aria-label") for one in marks)
    levels = desk.execute_script(
        "return [...document.querySelectorAll('.view')].map(view =>"
        " [...view.querySelectorAll('h1,h2,h3')].map(head => Number(head.tagName[1])))"
    )
    assert all(b <= a + 1 for view in levels for a, b in itertools.pairwise(view))
    assert desk.execute_script("return document.documentElement.lang") == "en"


def test_every_control_has_a_name(desk):
    """Buttons, boxes and slider have words or a label."""
    nameless = desk.execute_script(
        "return [...document.querySelectorAll('button,input,[role=button],summary')].filter(one =>"
        " !(one.getAttribute('aria-label') || one.textContent.trim() ||"
        " (one.labels && one.labels[0] && one.labels[0].textContent.trim()))).map(o => o.outerHTML)"
    )
    assert nameless == []


def test_strips_are_reached_in_the_order_of_the_list(desk):
    """Tab goes from strip to strip as the plan lists them."""
    order = desk.execute_script(
        "return [...document.querySelectorAll('path[data-strip]')].map(p => [p.dataset.strip,"
        " p.tabIndex])"
    )
    assert order == [[str(place), 0] for place in range(4)]


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours as WCAG 2.2 defines it (relative luminance)."""

    def light(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        lit = [
            part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
        ]
        return 0.2126 * lit[0] + 0.7152 * lit[1] + 0.0722 * lit[2]

    low, high = sorted((light(one), light(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colour", [look.INK, look.QUIET, look.ACCENT, look.KEEP_OUT])
def test_words_stand_out_from_the_paper(colour):
    """Every colour that words have is 4.5 to 1 or better on paper (WCAG 2.2, 1.4.3)."""
    assert contrast(colour, look.PAPER) >= 4.5


def test_who_wants_no_motion_gets_none(small, tmp_path):
    """With reduced motion the map is at its new place at once."""
    with open_map(write_map(tmp_path, small)) as driver:
        driver.execute_cdp_cmd(
            "Emulation.setEmulatedMedia",
            {"features": [{"name": "prefers-reduced-motion", "value": "reduce"}]},
        )
        at_once = driver.execute_script(
            "document.querySelector(\"[data-open-block='3']\").click();"
            "return [map_place.getZoom(), document.querySelector('.leaflet-zoom-anim') === null]"
        )
        settle(driver)
        assert at_once == [driver.execute_script("return map_place.getZoom()"), True]
