"""The table, sentence and picture of plans under other budgets or hours."""

import io
import re

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from PIL import Image

from clearing import report
from clearing.report.budget_words import budget_sentence, folded


def row(share: float, clear: float = 64.0, grass: float = 31.0, by: str = "money", **more) -> dict:
    """Return one solved plan of a place with 4,000 dollars and 700 hours a year."""
    return {
        "by": by, "share": share, "budget": 4000.0 * (share if by == "money" else 1.0),
        "crew_hours": 700.0 * (share if by == "hours" else 1.0), "status": "best",
        "cost": 10_000.0, "objective": 12_000.0, "bound": 11_990.0, "gap": 0.0008, "hours": 1_000.0,
        "finish_year": 2033, "cleared_acres": clear, "grass_acres": grass, "cleared_ha": clear / 2,
        "grass_ha": grass / 2, "waiting": 0,
    } | more  # fmt: skip


def none(share: float) -> dict:
    """Return a share at which no plan fits."""
    return {"by": "money", "share": share, "budget": 4000.0 * share, "crew_hours": 700.0,
            "status": "none"}  # fmt: skip


ROWS = [none(0.25), row(0.5, 38.2, 25.0, finish_year=None), row(1.0),
        row(2.0, finish_year=2032, status="stopped")]  # fmt: skip


def test_the_table_fits_eighty_letters_and_says_where_no_plan_fits():
    """One line a plan; that without one has the words instead of figures."""
    lines = report.budget_lines(ROWS, us=True)
    assert max(len(line) for line in lines) <= 80
    assert lines[0].split()[:3] == ["share", "a", "year"]
    assert lines[1].split() == ["25", "%", "$1,000", "no", "plan", "fits"]
    assert lines[2].split()[2:] == ["$2,000", "$10,000", "1,000", "not", "all", "38", "25",
                                    "0.08", "%"]  # fmt: skip
    assert lines[4].endswith("0.08 %*")
    assert any("stopped" in line for line in lines)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (ROWS, "Below $2,000 a year no plan fits. From $2,000 to $4,000 a year 38 clear acres "
               "become 64, and 25 in grass become 31. With $8,000 a year it is clear by 2032 "
               "instead of by 2033."),
        (ROWS[2:], "From $4,000 to $8,000 a year the ground is clear by 2032 instead of by 2033."),
        ([row(1.0), row(2.0)], "From $4,000 a year on, the same ground is cleared by the same "
                               "year: not money but hours, seasons or wishes decide."),
        ([row(0.5, 64, 20, "hours"), row(1.0, by="hours")],
         "From 350 hours to 700 hours a year 20 acres in grass become 31. More than 700 hours a "
         "year clears no more, and no sooner."),
        ([none(0.5)], "No plan fits at any of these."),
        ([none(0.5) | {"status": "not_found"}], "No plan was found in time."),
        ([row(1.0)], "$4,000 a year clears 64 acres."),
    ],
)  # fmt: skip
def test_the_sentence_says_what_the_plans_show(rows, words):
    """Ground first, then the year by which it is clear, and whether more of it would do more."""
    assert budget_sentence(rows, us=True) == words


def test_hectares_are_told_to_who_measures_in_them():
    """Half the number here, and no acre anywhere."""
    said = " ".join(report.budget_lines(ROWS, us=False))
    assert "19 clear ha become 32" in said
    assert "acre" not in said


def test_a_text_is_folded_between_words():
    """No line is longer than asked, and no word is lost."""
    lines = folded("one two three four five six", 9)
    assert lines == ["one two", "three", "four five", "six"]


def test_the_picture_is_the_same_each_time_and_asks_nothing_of_a_network():
    """Two drawings are one file; its addresses are those of the format alone, and no date is in."""
    svg = report.budget_svg(ROWS, us=True)
    assert svg == report.budget_svg(ROWS, us=True)
    text = svg.decode()
    assert not re.search(r"(?:href|src)=\"(?!#)", text)
    assert "<dc:date>" not in text


@pytest.mark.parametrize("rows", [ROWS, [none(0.5)], [row(1.0)]])
def test_the_picture_is_drawn_wherever_plans_fit_or_not(rows):
    """Many plans, none, one: something dark stands on the paper, of the size that was asked."""
    figure = report.budget_figure(rows, us=True, inches=(6.0, 4.0))
    out = io.BytesIO()
    FigureCanvasAgg(figure).print_png(out)
    picture = Image.open(out).convert("L")
    assert picture.size == (600, 400)
    assert min(picture.get_flattened_data()) < 60


def test_the_picture_tells_the_years_and_what_the_owner_has():
    """Each plan's year stands over its point, and the owner's own amount is marked."""
    figure = report.budget_figure(ROWS, us=True)
    words = [text.get_text() for axes in figure.axes for text in axes.texts]
    assert "clear by\n2033" in words
    assert "clear by\n2032" in words
    assert "no plan\nfits" in words
    ticks = [label.get_text() for label in figure.axes[1].get_xticklabels()]
    assert ticks == ["$1,000", "$2,000", "$4,000\nas you have", "$8,000"]


def test_two_amounts_of_dollars_in_the_title_are_words():
    """A title with two dollar signs is drawn as it is written, not as a formula between them."""
    title = report.budget_figure(ROWS, us=True).texts[0]
    assert title.get_text().count("$") > 1
    assert not title.get_parse_math()
