"""Work is logged inside the map: kept in the browser, saved as one small file, taken once."""

import csv
import shutil
import time

import pytest
from selenium.webdriver.common.by import By

from clearing import files
from clearing.files.log_rows import take_log_file
from tests.browser import PHONE, TOMORROW, open_browser, outside_requests, page_errors
from tests.report.map_hand import click, degrees, seen, tap_ground, text, write_map
from tests.report.small_place import HOSTILE

PATIENCE_S = 10.0
FILL = """
for (const [column, words] of Object.entries(arguments[0])) {
  const field = document.getElementById("log-" + column);
  field.value = words;
  field.dispatchEvent(new Event("change"));
}
"""
LEAVE = """
const leave = new Event("beforeunload", {cancelable: true});
window.dispatchEvent(leave);
return leave.defaultPrevented;
"""
WORK = {"date": "2027-07-02", "strip_id": "1a", "job": "hack_and_squirt", "hours": "5.5"}


@pytest.fixture(scope="module")
def phone(tmp_path_factory, small):
    """Give a phone with the small place's map, and the address of that map."""
    address = write_map(tmp_path_factory.mktemp("log"), small)
    with open_browser(PHONE) as driver:
        driver.get(address)
        yield driver
        assert outside_requests(driver) == []
        # a page that is left half written asks first, which a browser without a hand refuses
        assert [one for one in page_errors(driver) if "beforeunload" not in one] == []


@pytest.fixture
def page(phone):
    """Give the map with nothing kept and the log open."""
    phone.execute_script("localStorage.clear()")
    reload(phone)
    return phone


def reload(driver):
    """Open the map again, and its log."""
    driver.get(driver.current_url)
    click(driver, "#whole [data-log-open]")


def keep(driver, **cells):
    """Type an entry and keep it."""
    driver.execute_script(FILL, WORK | cells)
    click(driver, "#log-keep")


def listed(driver):
    """Return the words of the entries."""
    script = "return [...document.querySelectorAll('#log-list li')].map(one => one.innerText)"
    return driver.execute_script(script)


def wait_for(holds):
    """Return once something holds."""
    end = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.05)


def press(driver, words):
    """Press the first button of the list that says this."""
    script = """
    [...document.querySelectorAll("#log-list button")]
      .find(one => one.textContent === arguments[0]).click()"""
    driver.execute_script(script, words)


def saved(driver, folder):
    """Return the small file that a press of Save file puts among the downloads."""
    folder = folder / f"downloads {len(list(folder.iterdir()))}"
    folder.mkdir()
    driver.execute_cdp_cmd(
        "Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(folder)}
    )
    button = driver.find_element(By.ID, "log-save")  # a true press: downloads want one
    driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", button)
    button.click()
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        # a browser first reserves the name with an empty file, then puts the whole one there
        names = list(folder.iterdir())
        whole = [path for path in names if path.suffix == ".csv" and path.stat().st_size]
        if whole and len(names) == 1:
            return whole[0]
        time.sleep(0.05)
    raise AssertionError("no file was saved")


def rows(path):
    """Return the rows of a small file."""
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_an_entry_outlives_the_page(page):
    """What was kept stands in the list after the map is opened again, and is told as unsaved."""
    keep(page)
    reload(page)
    [words] = listed(page)
    assert "Hack-and-squirt, Strip 1a" in words
    assert "2027-07-02; 5.5 hours; herbicide not recorded; product not recorded" in words
    assert "Not saved in a file yet." in words


def test_the_saved_file_is_taken_once(results, tmp_path):
    """Saved twice and taken twice, two entries of the sample are two rows of records.csv."""
    home = tmp_path / "home"
    shutil.copytree(files.sample_folder(), home)
    with open_browser(PHONE) as driver:
        driver.get(write_map(tmp_path, results))
        click(driver, "#whole [data-log-open]")
        keep(driver, strip_id="1", notes='one, "two"\n=1+1')
        keep(driver, strip_id="2a", herbicide="glyphosate 4", product_floz="12")
        first, second = saved(driver, tmp_path), saved(driver, tmp_path)
        assert page_errors(driver) == []
    assert first.name.startswith("log_20")
    done = take_log_file(home, files.read(home), first.read_bytes(), first.name)
    again = take_log_file(home, files.read(home), second.read_bytes(), second.name)
    assert (len(done.added), done.known, done.refused) == (2, (), ())
    assert (again.added, len(again.known)) == ((), 2)
    kept = files.read(home).records
    assert kept["strip_id"].tolist() == ["1", "2a"]
    assert kept["product_l"].iloc[1] == pytest.approx(12 * 0.0295735295625)  # nist_hb44
    assert kept["notes"].iloc[0] == 'one, "two" / =1+1'


def test_hostile_words_stay_words(page, tmp_path):
    """What somebody types stands in the list and in the file as it was typed, and runs nowhere."""
    keep(page, herbicide=HOSTILE, notes="=HYPERLINK(1)")
    click(page, "#log-as-written")
    assert HOSTILE in listed(page)[0]
    assert page.execute_script("return window.hit") is None
    [row] = rows(saved(page, tmp_path))
    assert (row["herbicide"], row["notes"]) == (HOSTILE, "=HYPERLINK(1)")


def test_a_hostile_place_stays_words(tmp_path, hostile):
    """Names of strips that mean harm are choices of the form and nothing more."""
    with open_browser() as driver:
        driver.get(write_map(tmp_path, hostile))
        click(driver, "#whole [data-log-open]")
        keep(driver, strip_id="1")
        assert "onerror" in text(driver, "#log-list")
        assert driver.execute_script("return window.hit") is None
        assert page_errors(driver) == []


def test_a_browser_that_keeps_nothing_is_told(phone, page, tmp_path):
    """Refused storage is said, the entry can be saved all the same, and leaving asks first."""
    refuse = "Storage.prototype.setItem = function () { throw new DOMException('no', 'Quota'); };"
    added = phone.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": refuse})
    try:
        reload(phone)
        assert "entries live only until the page is closed" in text(phone, "#log-loose")
        keep(phone)
        assert phone.execute_script(LEAVE)
        assert len(rows(saved(phone, tmp_path))) == 1
        assert not phone.execute_script(LEAVE)
    finally:
        phone.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)


def test_a_change_before_saving_and_a_correction_after(page, tmp_path):
    """An unsaved entry is changed in place; a saved one gets a new entry that replaces its key."""
    keep(page)
    press(page, "Change")
    page.execute_script(FILL, {"hours": "6"})
    click(page, "#log-keep")
    [row] = rows(saved(page, tmp_path))
    assert (row["hours"], row["replaces"]) == ("6", "")
    press(page, "Correct")
    page.execute_script(FILL, {"hours": "7"})
    click(page, "#log-keep")
    assert len(listed(page)) == 1
    old, new = rows(saved(page, tmp_path))
    assert (old["entry"], old["hours"]) == (row["entry"], "6")
    assert (new["replaces"], new["hours"]) == (row["entry"], "7")
    assert new["entry"] not in ("", row["entry"])


def test_a_deleted_entry_can_be_taken_back(page):
    """Deleting takes an unsaved entry off the list; one press brings it back."""
    keep(page)
    keep(page, strip_id="2", job="mow")
    press(page, "Delete")
    assert "1 entry" in text(page, "#log-kept")
    click(page, "#log-back")
    assert "2 entries" in text(page, "#log-kept")


def test_half_an_entry_outlives_the_page(page):
    """What was typed and not kept is in the form again, and is said not to be kept yet."""
    page.execute_script(FILL, {"strip_id": "2", "hours": "3"})
    reload(page)
    assert page.execute_script("return document.getElementById('log-hours').value") == "3"
    assert "not kept yet" in text(page, "#log-said")
    keep(page)
    reload(page)
    assert page.execute_script("return document.getElementById('log-hours').value") == ""


def test_a_shared_file_counts_as_saved(page):
    """Where the browser can share, the file is handed on with the entries, and they are marked."""
    page.execute_script(
        "navigator.canShare = () => true;"
        "navigator.share = async (what) => { window.given = what.files[0]; };"
    )
    keep(page)
    click(page, "#log-share")
    assert page.execute_script("return window.given.name").startswith("log_20")
    assert "hack_and_squirt" in page.execute_script("return window.given.text()")
    assert "Saved in a file on" in listed(page)[0]


def test_entries_of_an_older_map_are_taken_over(page):
    """Entries kept for the same place under another key are offered, and come over once."""
    keep(page)
    move = """
    const name = Object.keys(localStorage).find(one => one.startsWith("clearing-log:"));
    localStorage.setItem("clearing-log:0123456789ab", localStorage.getItem(name));
    localStorage.removeItem(name);"""
    page.execute_script(move)
    reload(page)
    assert listed(page) == []
    click(page, "#log-older-take")
    assert len(listed(page)) == 1
    assert not seen(page, "#log-older")


def test_what_cannot_be_kept_is_told_beside_its_field(page):
    """A number that is none and a missing place stand beside their fields, and nothing is kept."""
    keep(page, strip_id="", hours="many")
    assert "number from 0 to 2000" in text(page, "#log-hours-wrong")
    assert text(page, "#log-strip_id-wrong")
    assert listed(page) == []


def test_the_strip_is_tapped_on_the_map(page):
    """The sheet makes room, a tap on a strip chooses it, and the form is back."""
    click(page, "#log-tap")
    assert page.execute_script("return document.getElementById('panel').dataset.stop") == "third"
    tap_ground(page, 150, 120, "touch")
    assert seen(page, "#log-keep")
    chosen = page.execute_script("return document.getElementById('log-strip_id').value")
    assert chosen == page.execute_script(
        "const d = JSON.parse(document.getElementById('plan-data').textContent);"
        "unpackShapes(d);"
        "return d.strips[stripAt(d, L.latLng(arguments[0], arguments[1]))].id",
        *degrees(150, 120),
    )


@pytest.mark.parametrize(("accuracy", "chosen"), [(5, True), (5000, False)])
def test_the_strip_is_chosen_by_a_sure_position_alone(page, accuracy, chosen):
    """A position surer than the strip is large chooses it; a rough one chooses nothing."""
    page.execute_script(
        "const at = L.latLng(arguments[0], arguments[1]), accuracy = arguments[2];"
        "const bounds = at.toBounds(10);"
        "map_place.locate = () => map_place.fire('locationfound',"
        " {latlng: at, accuracy: accuracy, bounds: bounds})",
        *degrees(150, 120), accuracy,
    )  # fmt: skip
    click(page, "#log-here")
    assert bool(page.execute_script("return document.getElementById('log-strip_id').value")) == (
        chosen
    )


def test_the_caution_stands_by_a_job_with_product(page):
    """A spray shows whose word counts; mowing shows neither the line nor fields of product."""
    page.execute_script(FILL, {"job": "foliar"})
    assert text(page, "#log-caution").startswith("The label in your hand is the law")
    assert seen(page, "#log-herbicide")
    page.execute_script(FILL, {"job": "mow"})
    assert not seen(page, "#log-caution")
    assert not seen(page, "#log-herbicide")


def test_a_strips_card_logs_that_strip(page):
    """The button on a strip's card opens the form with this strip chosen."""
    page.execute_script("document.querySelector('#log [data-back]').click()")
    tap_ground(page, 150, 120, "touch")
    name = page.execute_script(
        "return document.querySelector('[data-strip].view:not([hidden])').dataset.strip"
    )
    click(page, "[data-strip].view:not([hidden]) [data-log-open]")
    assert page.execute_script("return document.getElementById('log-strip_id').value") == name


def test_kept_words_that_cannot_be_read_are_put_aside(page):
    """Damaged storage is not written over: its text lies under another name, and the log works."""
    keep(page)
    damage = """
    const name = Object.keys(localStorage).find(one => one.startsWith("clearing-log:"));
    localStorage.setItem(name, "{broken");"""
    page.execute_script(damage)
    reload(page)
    keep(page)
    assert len(listed(page)) == 1
    assert "{broken" in page.execute_script("return Object.values(localStorage)")


def test_a_herbicide_of_nobodys_is_asked_once(page):
    """One question the first time, none the second, and both entries are as they were written."""
    keep(page, herbicide="fosamine 4")
    assert "none of your products: keep it as written?" in text(page, "#log-doubt")
    assert listed(page) == []
    click(page, "#log-as-written")
    keep(page, herbicide="Fosamine-4")
    assert ["osamine" in words for words in listed(page)] == [True, True]


def test_the_places_own_herbicides_are_not_asked_about(page):
    """Each herbicide that the form offers is kept without a question, by any case."""
    offered = page.execute_script(
        "return [...document.querySelectorAll('#log-herbicides option')].map(one => one.value)"
    )
    for words in filter(None, offered):
        keep(page, herbicide=words.upper())
    assert len(listed(page)) == len(list(filter(None, offered))) > 0


def test_a_decimal_comma_is_a_point(page, tmp_path):
    """3,5 hours are kept as 3.5; 1,500 may be two numbers and is asked back."""
    keep(page, hours="3,5")
    keep(page, hours="1,500")
    assert "Write 1500 or 1.500" in text(page, "#log-hours-wrong")
    [row] = rows(saved(page, tmp_path))
    assert row["hours"] == "3.5"


def test_the_way_back_closes_the_form(page):
    """The browser's way back closes the form, with its half entry kept; the map stays open."""
    address = page.current_url
    page.execute_script(FILL, {"hours": "3"})
    page.back()
    wait_for(lambda: not seen(page, "#log"))
    assert page.current_url == address
    click(page, "#whole [data-log-open]")
    assert page.execute_script("return document.getElementById('log-hours').value") == "3"
    length = page.execute_script("return history.length")
    page.execute_script("document.querySelector('#log [data-back]').click()")
    wait_for(lambda: not page.execute_script("return history.state && history.state.log"))
    assert page.execute_script("return history.length") == length


def test_past_midnight_the_day_is_todays(page):
    """After Keep on a page left open over midnight the date is the new day's, and it is said."""
    day = page.execute_script(TOMORROW)
    keep(page)
    assert page.execute_script("return document.getElementById('log-date').value") == day
    assert f"today's again, {day}" in text(page, "#log-said")
    keep(page)
    assert page.execute_script("return document.getElementById('log-date').value") == WORK["date"]


def test_saved_entries_are_hidden_and_cleared_when_asked_twice(page, tmp_path):
    """Hidden ones stay in the file; cleared after two questions they go, and unsaved ones stay."""
    keep(page)
    saved(page, tmp_path)
    keep(page, strip_id="2", job="mow")
    click(page, "#log-hide")
    reload(page)
    assert ["Mow" in words for words in listed(page)] == [True]
    assert "1 saved entry is out of sight" in text(page, "#log-hidden")
    assert len(rows(saved(page, tmp_path))) == 2
    keep(page, strip_id="2", job="seed")
    for said in ("forgets 2 saved entries", "Has the file reached the computer"):
        click(page, "#log-clear")
        assert said in text(page, "#log-hidden")
    click(page, "#log-clear")
    assert [row["job"] for row in rows(saved(page, tmp_path))] == ["seed"]


def test_every_field_has_its_label_and_can_be_reached(page):
    """Each control of the form has a label or a name, and none is out of the keyboard's way."""
    nameless = page.execute_script(
        "return [...document.querySelectorAll('#log :is(input, select, textarea, button)')]"
        ".filter(one => !one.hidden && !(one.labels && one.labels.length)"
        " && !one.textContent.trim() && !one.getAttribute('aria-label') || one.tabIndex < 0)"
        ".map(one => one.outerHTML)"
    )
    assert nameless == []
