"""Work is typed on the drawing page: kept in records.csv once, shown, corrected."""

import csv
import shutil

import pytest

from clearing import files
from tests.app.page import drawing, here
from tests.app.talking import Talk
from tests.browser import TOMORROW

HOSTILE = '<img src=x onerror="window.hit=1">'
REFUSE = """
const real = window.fetch;
window.fetch = async function (path, options) {
  if (path !== "/log/add") return real(path, options);
  window.fetch = real;
  const said = JSON.stringify({problems: ["'hours' is 'many'; write a number"]});
  return new Response(said, {status: 422});
};
"""
LOSE_THE_ANSWER = """
const real = window.fetch;
window.fetch = async function (path, options) {
  const answer = await real(path, options);
  if (path !== "/log/add") return answer;
  window.fetch = real;
  throw new TypeError("lost");
};
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Return a copy of the sample property."""
    home = tmp_path_factory.mktemp("log") / "place"
    shutil.copytree(files.sample_folder(), home)
    return home


@pytest.fixture
def home(folder):
    """Return the sample with an empty log."""
    shutil.copyfile(files.sample_folder() / "records.csv", folder / "records.csv")
    return folder


@pytest.fixture
def page(home, desk):
    """Give the drawing page with its log open."""
    with drawing(home, desk) as page:
        page.press("#log-work")
        page.until(lambda: page.find("#log-strip_id"))
        yield page


def rows(home):
    """Return the rows of records.csv."""
    with (home / "records.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def type_in(page, **cells):
    """Fill in the form and send it."""
    for column, words in ({"strip_id": "2a", "job": "hack_and_squirt"} | cells).items():
        page.fill(f"#log-{column}", words)
    page.press("#log-keep")


def written(page, words):
    """Return when the list shows these words."""
    page.until(lambda: words in page.text("#log-rows"), words)


def test_what_is_typed_is_in_the_log_and_in_the_list(page, home):
    """A typed row lands in records.csv in the owner's units, and the list shows it."""
    type_in(page, hours="5", herbicide="glyphosate 4", product_floz="12")
    written(page, "5 hours; glyphosate 4; 12 fl oz")
    [row] = rows(home)
    assert (row["strip_id"], row["job"], row["hours"]) == ("2a", "hack_and_squirt", "5")
    assert row["product_floz"] == "12"
    assert row["entry"]


def test_a_refusal_stands_beside_its_field(page, home):
    """What the server says of a field stands beside it, the field is marked, nothing is kept."""
    page.driver.execute_script(REFUSE)
    type_in(page, hours="5")
    page.until(lambda: page.shown("#log-hours-wrong"))
    assert page.text("#log-hours-wrong") == "'hours' is 'many'; write a number."
    assert page.find("#log-hours").get_attribute("aria-invalid") == "true"
    assert rows(home) == []


def test_what_is_missing_is_told_beside_its_field(page, home):
    """No job, and hours that are none: each is said beside its field, and nothing is kept."""
    type_in(page, job="", hours="many")
    page.until(lambda: page.shown("#log-job-wrong"))
    assert "number from 0 to 2000" in page.text("#log-hours-wrong")
    assert "Not written yet: 2 fields" in page.text("#log-said")
    assert rows(home) == []


@pytest.mark.parametrize(("typed", "kept"), [("3,5", "3.5"), ("0,125", "0.125")])
def test_a_decimal_comma_is_a_point(page, home, typed, kept):
    """A comma that can mean nothing else than a decimal is kept as a point."""
    type_in(page, hours=typed)
    written(page, f"{kept} hours")
    assert [row["hours"] for row in rows(home)] == [kept]


def test_a_comma_of_two_meanings_is_asked_back(page, home):
    """1,500 may be 1500 or 1.5: both are named beside the field, and nothing is kept."""
    type_in(page, hours="1,500")
    page.until(lambda: page.shown("#log-hours-wrong"))
    assert "Write 1500 or 1.500" in page.text("#log-hours-wrong")
    assert rows(home) == []


@pytest.mark.parametrize("cells", [{"herbicide": "fosamine 4"}, {"product_floz": "12"}])
def test_a_herbicide_of_nobodys_is_asked_once_and_kept(page, home, cells):
    """None of the owner's, or an amount without one: one question, and it is kept as written."""
    type_in(page, **cells)
    page.until(lambda: page.shown("#log-doubt"))
    assert rows(home) == []
    page.press("#log-as-written")
    page.until(lambda: rows(home))
    [row] = rows(home)
    assert {name: row[name] for name in cells} == cells


def test_a_row_corrected_meanwhile_is_offered(page, home):
    """Another program corrected the row in hand: the one in force is offered and corrected."""
    type_in(page, hours="5")
    written(page, "5 hours")
    page.press("#log-rows [data-row] button")
    place, [old] = files.read(home), rows(home)
    other = {"date": old["date"], "strip_id": "2a", "job": "hack_and_squirt", "hours": "8"}
    files.add_records(home, place, [other | {"entry": "k", "replaces": old["record_id"]}])
    page.fill("#log-hours", "6")
    page.press("#log-keep")
    page.until(lambda: page.shown("#log-mine"))
    assert "8 hours" in page.text("#log-wrong")
    page.press("#log-later")
    assert page.find("#log-hours").get_attribute("value") == "8"
    page.fill("#log-hours", "9")
    page.press("#log-keep")
    written(page, "9 hours")
    assert [row["replaces"] for row in rows(home)] == ["", "1", "2"]


def test_past_midnight_the_day_is_todays(page):
    """A page left open over midnight starts the next entry on the new day, and says so."""
    day = page.driver.execute_script(TOMORROW)
    type_in(page, hours="5")
    written(page, "5 hours")
    assert page.find("#log-date").get_attribute("value") == day
    assert f"today's again, {day}" in page.text("#log-said")


def test_a_lost_answer_sent_again_is_one_row(page, home):
    """The answer of the first press is lost; pressing again leaves one row."""
    page.driver.execute_script(LOSE_THE_ANSWER)
    type_in(page, hours="5")
    page.until(lambda: "no answer" in page.text("#log-wrong"))
    page.press("#log-keep")
    written(page, "5 hours")
    assert [row["hours"] for row in rows(home)] == ["5"]


def test_an_unanswered_entry_outlives_the_page(page, home):
    """Sent, its answer lost, and the page opened anew: pressing again leaves one row."""
    page.driver.execute_script(LOSE_THE_ANSWER)
    type_in(page, hours="5")
    page.until(lambda: "no answer" in page.text("#log-wrong"))
    page.driver.refresh()
    page.press("#log-work")
    page.until(lambda: "not answered" in page.text("#log-said"))
    page.press("#log-keep")
    written(page, "5 hours")
    assert [row["hours"] for row in rows(home)] == ["5"]


def test_what_was_changed_after_a_lost_answer_is_a_correction(page, home):
    """Hours changed before the second press stand in force, and the first row stays."""
    page.driver.execute_script(LOSE_THE_ANSWER)
    type_in(page, hours="5")
    page.until(lambda: "no answer" in page.text("#log-wrong"))
    page.fill("#log-hours", "6")
    page.press("#log-keep")
    written(page, "6 hours")
    first, second = rows(home)
    assert (first["hours"], second["hours"], second["replaces"]) == ("5", "6", first["record_id"])


def test_a_correction_replaces_its_row(page, home):
    """Correct this entry fills the form with the row, and the new row names the old one."""
    type_in(page, hours="5", stems="40")
    written(page, "5 hours")
    page.press("#log-rows [data-row] button")
    assert page.find("#log-stems").get_attribute("value") == "40"
    page.fill("#log-hours", "7")
    page.press("#log-keep")
    written(page, "7 hours")
    assert len(page.all("#log-rows [data-row]")) == 1
    first, second = rows(home)
    assert (second["replaces"], second["hours"], second["stems"]) == (first["record_id"], "7", "40")


def test_hostile_words_stay_words(page):
    """Notes that mean harm are shown as they were typed, and run nowhere."""
    type_in(page, notes=HOSTILE)
    written(page, "hours not recorded")
    page.press("#log-rows [data-row] button")
    assert page.find("#log-notes").get_attribute("value") == HOSTILE
    assert page.driver.execute_script("return window.hit") is None


def test_damaged_rows_are_told(home, desk):
    """A row that cannot be read is named by its line, and the others are shown."""
    head = (home / "records.csv").read_text(encoding="utf-8").splitlines()[0]
    names = head.split(",")
    good = {"record_id": "1", "date": "2026-07-02", "strip_id": "2a", "job": "mow", "hours": "3"}
    lines = [good, good | {"record_id": "2", "hours": "x"}]
    body = "\n".join(",".join(line.get(name, "") for name in names) for line in lines)
    (home / "records.csv").write_text(f"{head}\n{body}\n", encoding="utf-8")
    with drawing(home, desk) as page:
        page.press("#log-work")
        page.until(lambda: page.find("#log-faults"))
        assert "line 3" in page.text("#log-faults")
        written(page, "Mow, strip 2a")


def test_half_a_line_outlives_a_look_at_another_card(page):
    """Words that were typed and not sent are there when the log is opened again."""
    page.fill("#log-hours", "4.5")
    page.press("#card .back")
    page.press("#log-work")
    page.until(lambda: page.shown("#log-hours"))
    assert page.find("#log-hours").get_attribute("value") == "4.5"


def test_a_blocks_card_logs_that_block(page):
    """The button on a block's card opens the form with the block chosen."""
    page.press("#card .back")
    page.press('[data-open^="blocks"]')
    page.press("#log-work")
    page.until(lambda: page.shown("#log-strip_id"))
    assert page.until(lambda: page.find("#log-strip_id").get_attribute("value")) == "1"


def test_a_place_without_blocks_says_what_is_missing(bare, desk):
    """The log of a place that cannot be read says why, and the page goes on."""
    with drawing(bare, desk) as page:
        page.go()
        page.press("#log-work")
        page.until(lambda: "cannot be opened yet" in page.text("#card"))
        assert page.text("#card .plain li")
        page.press("#card .back")
        page.until(lambda: page.shown("#log-work"))


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        ({"cells": {"hours": "5"}}, "a key of its own"),
        ({"entry": "k", "cells": "x"}, "a key of its own"),
        ({"entry": "k", "cells": {"record_id": "7"}}, "no field 'record_id'"),
        ({"entry": "k", "cells": {"notes": "x" * 2001}}, "too many letters"),
    ],
)
def test_what_is_no_entry_is_refused(home, ask, said):
    """An entry without a key, of odd fields or endless words is refused with a sentence."""
    with here(home) as address:
        status, _, content = Talk(address).ask("POST", "/log/add", ask)
    assert status == 422
    assert said in content.decode()
    assert rows(home) == []
