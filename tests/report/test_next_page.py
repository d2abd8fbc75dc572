"""The next day on paper and on the phone: one sheet, large type, hostile names, no network."""

from dataclasses import replace

import pypdfium2
import pytest

from clearing.report.facts_next import Measure, NextDay
from clearing.report.facts_printed import GoLine
from clearing.report.next_card import next_day_pdf
from clearing.report.next_page import next_day_html
from tests.browser import PHONE, open_browser, outside_requests, page_errors
from tests.report.next_place import day_of
from tests.report.small_place import HOSTILE, small_results

PAPER = {"us": (612, 792), "metric": (595, 842)}  # letter; A4 (ISO 216) [pt]
LEAST_PT = 10.9  # 11 points, but for rounding


def pages_of(day: NextDay) -> pypdfium2.PdfDocument:
    """Return the card."""
    return pypdfium2.PdfDocument(next_day_pdf(day))


def words_of(day: NextDay) -> str:
    """Return the words of the card."""
    pages = [page.get_textpage().get_text_range() for page in pages_of(day)]
    return " ".join(" ".join(pages).split())


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_day_is_one_sheet_of_the_owner_s_paper(units):
    """Front and back of letter or A4, with the job, the tank, the poison line and the log."""
    day = day_of(small_results(units=units))
    card = pages_of(day)
    assert len(card) <= 2
    assert tuple(round(side) for side in card[0].get_size()) == PAPER[units]
    said = words_of(day)
    for wanted in ("Hack-and-squirt", "Into one tank", "Poison help", "wind from", "applied by"):
        assert wanted in said


def test_nothing_on_the_card_is_smaller_than_11_points(small):
    """The size of every letter as the page sets it, in height."""
    for page in pages_of(day_of(small)):
        text = page.get_textpage()
        sizes = {round(pypdfium2.raw.FPDFText_GetFontSize(text.raw, at), 1)
                 for at in range(text.count_chars())
                 if text.get_text_range(at, 1).strip()}  # fmt: skip
        assert min(sizes) >= LEAST_PT


def test_nothing_to_mind_is_left_out_for_want_of_room(small):
    """With sixty cautions more and twenty go lines all stand on the card, on as many pages."""
    day = day_of(small)
    much = replace(
        day, mind=tuple(f"caution {at}: {'mind this well ' * 12}" for at in range(60)),
        go=tuple(Measure(GoLine(f"look {at}:", "it", "known", True), "") for at in range(20)),
    )  # fmt: skip
    said = words_of(much)
    assert all(f"caution {at}:" in said for at in range(60))
    assert all(f"look {at}:" in said for at in range(20))
    assert "Poison help" in said


def test_late_work_is_two_lines_of_the_card_and_whole_on_the_page(small):
    """A hundred late visits are two lines of paper; the page for the phone has each of them."""
    day = replace(
        day_of(small), overdue=tuple(f"late job {at}." for at in range(100)),
        late=("Strips 1a and 2: 70 jobs; plan again.", "Strip 3: 30 jobs; plan again."),
    )  # fmt: skip
    said = words_of(day)
    assert "70 jobs" in said
    assert "30 jobs" in said
    assert "late job" not in said
    assert len(pages_of(day)) <= 2
    assert "late job 99." in next_day_html(day)


def test_the_log_by_hand_has_a_set_of_blanks_a_job(small):
    """Three jobs are three sets, each with herbicide, registration, target and site."""
    day = day_of(small)
    three = replace(day, jobs=day.jobs * 3)
    log = words_of(three).partition("The log, by hand")[2]
    for word in ("herbicide", "registration", "target", "site"):
        assert log.count(f"{word} ") == 3


def test_ground_to_keep_out_of_is_on_paper_and_page_of_a_day_without_work(small):
    """Where nobody works the sentence stands there all the same."""
    day = replace(day_of(small), jobs=(), keep_out=("Strip 1a: keep out.",), left=("Saw: two.",))
    for said in (words_of(day), next_day_html(day)):
        assert "Strip 1a: keep out." in said
        assert "Saw: two." in said


def test_the_same_day_is_the_same_bytes(small):
    """Card and page, made twice."""
    for made in (next_day_pdf, next_day_html):
        assert made(day_of(small)) == made(day_of(small))


def test_a_hostile_name_is_words_on_paper_and_page():
    """Its signs stand there as letters, and no tag of it is in the page."""
    day = day_of(small_results(HOSTILE))
    assert '<imgsrc=xonerror="window.hit=1">' in "".join(words_of(day).split())
    assert "<img" not in next_day_html(day)


def test_a_name_that_turns_letters_over_turns_nothing_around_it():
    """With an override and Hebrew in the name, the day beside it is read as it is."""
    day = day_of(small_results("שדה \u202e field"))
    assert f"{day.day}: {day.crew}" in words_of(day)
    assert "\u202e" not in next_day_html(day)


def test_the_page_on_a_phone_asks_for_nothing_and_runs_nothing(tmp_path):
    """At 390 pixels: nothing over the edge, large ticks, no request, no script, no error."""
    path = tmp_path / "next_day.html"
    path.write_text(next_day_html(day_of(small_results(HOSTILE))), encoding="utf-8")
    with open_browser(PHONE) as browser:
        browser.get(path.as_uri())
        assert browser.execute_script("return document.documentElement.scrollWidth") <= PHONE[0]
        assert browser.execute_script("return window.hit") is None
        assert browser.execute_script("return document.scripts.length") == 0
        sides = browser.execute_script(
            "return [...document.querySelectorAll('.ticks label')]"
            ".map(one => one.getBoundingClientRect().height)"
        )
        assert min(sides) >= 44
        size = browser.execute_script("return getComputedStyle(document.body).fontSize")
        assert float(size.removesuffix("px")) >= 18
        assert (outside_requests(browser), page_errors(browser)) == ([], [])


def test_a_tick_is_kept_by_the_open_page_alone(small, tmp_path):
    """It can be set, and is gone when the page is opened again."""
    path = tmp_path / "next_day.html"
    path.write_text(next_day_html(day_of(small)), encoding="utf-8")
    asked = "return document.querySelectorAll('input:checked').length"
    with open_browser(PHONE) as browser:
        browser.get(path.as_uri())
        browser.execute_script("document.querySelector('input').click()")
        assert browser.execute_script(asked) == 1
        browser.get("about:blank")
        browser.get(path.as_uri())
        assert browser.execute_script(asked) == 0


def test_a_finished_plan_is_one_page_with_one_sentence(small):
    """Nothing to load and no log to write."""
    empty = dict.fromkeys(
        ("jobs", "mind", "load", "tanks", "order", "go", "gear", "away", "ways"), ()
    )
    day = replace(day_of(small), **empty, rest="", nothing="Nothing of the plan is left to do.")
    assert len(pages_of(day)) == 1
    assert "Nothing of the plan is left to do." in words_of(day)
    assert "Load" not in next_day_html(day)
