"""The tally sheet says how to count and has a box for every plot, read back by another reader."""

import dataclasses
import json
import re

import numpy as np
import pypdfium2
import pytest
from affine import Affine
from shapely.geometry import Point

from clearing import report
from clearing.rates import handbook_table, load
from clearing.report import tally_words
from clearing.report.tally_sheet import sheet_data, size_columns, tally_sheet
from tests.report.small_place import HOSTILE, plots_in, small_results

SIX = "callery_pear tree_of_heaven chinese_privet tallow mimosa autumn_olive"
SIZES = handbook_table("size_classes")


def pdf_of(results, placed, picture=None):
    """Return the sheet of some plots."""
    return tally_sheet(placed, results.blocks, results.property.settings, load(), picture)


def pages_of(pdf):
    """Return the words of each page."""
    document = pypdfium2.PdfDocument(pdf)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


@pytest.fixture(scope="module")
def pages(small):
    """Return the words of a sheet of four nested plots in each of three blocks."""
    return pages_of(pdf_of(small, plots_in(small.blocks, 4)))


def test_every_plot_has_one_box_with_its_place(pages, small):
    """Twelve plots, twelve boxes, in walking order, each with the degrees of its own center."""
    placed = plots_in(small.blocks, 4)
    text = " ".join(pages)
    assert re.findall(r"Plot (\d-\d) stop", text) == placed["plot_id"].tolist()
    for point in placed.to_crs("EPSG:4326").geometry:
        assert text.count(f"{point.y:.6f}, {point.x:.6f}") == 1


def test_walking_order_is_the_given_one(small):
    """Boxes follow the order, not the rows of the table, and say the way from the stop before."""
    placed = plots_in(small.blocks.iloc[:1], 2).iloc[::-1]
    placed.geometry = [Point(100, 150), Point(100, 50)]
    text = " ".join(pages_of(pdf_of(small, placed)))
    assert re.findall(r"Plot (\d-\d) stop", text) == ["1-1", "1-2"]
    assert "330 ft N of stop 1" in text  # 100 m


def test_pages_are_counted(pages):
    """A page of how to, and for each block a map and two pages of boxes, three boxes a page."""
    assert len(pages) == 1 + 3 * (1 + 2)
    for number, text in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in text
        assert "Place of Road field" in text
        assert "printed on" in text
    assert "Block 2 Long pasture · page" in pages[4]


def test_lengths_are_those_of_a_cord_in_feet_and_inches(pages):
    """11.3497 m is 37 ft 3 in and 3.6 m is 11 ft 10 in (a foot is 0.3048 m), on page and box."""
    for text in (pages[0], pages[2]):
        assert "37 ft 3 in" in text
        assert "11 ft 10 in" in text
    assert " m " not in pages[2]


def test_first_page_says_how_to_count(pages):
    """Breast height, edge, zero, dead, trees that stay, words for sizes, and the way back."""
    promised = (
        "new_plots.gpx", "4.5 ft (1.37 m)", "its middle at breast height", "inside the block",
        "visited, none found", "keep = yes", "status = dead", "Stems under 1 in only inside",
        "wrist 1-3 in 3 to 9.5 in", "bigger 6-10 in", "tally.csv", "plot_id", "dbh_in or size",
        "callery_pear for Callery pear", "two tree lengths", "poison ivy",
    )  # fmt: skip
    assert [words for words in promised if words not in pages[0]] == []


def test_box_parts_small_and_whole_circle(pages):
    """Stems under an inch stand under the small circle, the others under the whole one."""
    small, whole = size_columns(SIZES, 2.54, us=True)
    assert [label for label, _ in small] == ["seedling", "under 1 in"]
    assert [label for label, _ in whole] == ["1-3 in", "3-6 in", "6-10 in", "over 10 in"]
    assert "small circle, 11 ft 10 in whole circle, 37 ft 3 in" in pages[2]
    assert "visited, none found" in pages[2]
    assert "tree that stays thickness count" in pages[2]


def test_break_inside_a_class_makes_two_columns():
    """A break at 4 in parts the class of 3 to 6 in, and both halves ask for a measure."""
    small, whole = size_columns(SIZES, 4 * 2.54, us=True)
    assert (small[-1], whole[0]) == (["3-4 in", "measure"], ["4-6 in", "measure"])
    assert len(small) + len(whole) == len(SIZES) + 1


def test_every_stem_has_a_column_whatever_the_break():
    """Without a small circle all classes stand under the whole one; above all, under the small."""
    assert [len(part) for part in size_columns(SIZES, None, us=True)] == [0, 6]
    assert [len(part) for part in size_columns(SIZES, 0.0, us=True)] == [0, 6]
    assert [len(part) for part in size_columns(SIZES, 500.0, us=False)] == [6, 0]


def test_one_circle_says_nothing_of_a_small_one(small):
    """Where no plot is nested neither the steps nor the box speak of two circles."""
    placed = plots_in(small.blocks, 1, nested=False)
    pages = pages_of(pdf_of(small, placed))
    assert "knot it at 37 ft 3 in from the stake" in pages[0]
    assert "small circle" not in " ".join(pages)


def test_lengths_that_differ_are_left_to_the_box(small):
    """With two radii the first page sends to the box, and each box has its own."""
    placed = plots_in(small.blocks.iloc[:1], 2, nested=False)
    placed["radius_m"] = [11.3497, 5.0]
    pages = pages_of(pdf_of(small, placed))
    assert "in the box of the plot" in pages[0]
    assert "whole circle, 37 ft 3 in" in pages[2]
    assert "whole circle, 16 ft 5 in" in pages[2]


def test_metric_owner_gets_metres_and_a4():
    """Lengths in metres, sizes in centimetres, and paper of 210 by 297 mm."""
    results = small_results(units="metric")
    pdf = pdf_of(results, plots_in(results.blocks, 1))
    text = " ".join(pages_of(pdf))
    assert "3.60 m (small circle) and at 11.35 m" in text
    assert "2.5-7.6 cm" in text
    assert "dbh_cm or size" in text
    wide, high = pypdfium2.PdfDocument(pdf)[0].get_size()
    assert (wide / 72 * 25.4, high / 72 * 25.4) == pytest.approx((210, 297), abs=0.5)


def test_letter_paper_for_acres(small):
    """Paper of 8.5 by 11 in."""
    page = pypdfium2.PdfDocument(pdf_of(small, plots_in(small.blocks, 1)))[0]
    assert page.get_size() == pytest.approx((8.5 * 72, 11 * 72), abs=0.5)


def test_tape_round_a_stem_is_pi_times_its_thickness():
    """3 in across is 9.42 in round, said 9.5; 2.54 cm is 7.98 cm, said 8."""
    assert tally_words.size_words(SIZES, us=True)[2] == ["wrist", "1-3 in", "3 to 9.5 in"]
    assert tally_words.size_words(SIZES, us=False)[1] == ["pencil", "under 2.5 cm", "under 8 cm"]


def test_cautions_are_the_handbooks_or_marked():
    """Each caution is a text of the handbook, a rule by its number, or said to be practice."""
    known = " ".join(load().cautions["text"])
    for text in tally_words.cautions(load()):
        words = text.removeprefix("Ground that was sprayed: k")
        assert words in known or "29 CFR" in text or "common practice" in text


def test_six_species_get_six_rows_and_two_boxes_a_page(small):
    """A block with its own six targets lists them in each box, with a free row besides."""
    blocks = small.blocks.iloc[:1].assign(targets=SIX)
    results = dataclasses.replace(small, blocks=blocks)
    pages = pages_of(pdf_of(results, plots_in(blocks, 3)))
    assert len(pages) == 1 + 1 + 2
    assert pages[2].count("Plot 1-") == 2
    for name in ("Callery pear", "Tree-of-heaven", "Chinese privet", "Autumn olive"):
        assert pages[3].count(name) == 1
    assert pages[3].count("other, or dead") == 1


@pytest.mark.parametrize("number", [1, 120])
def test_any_number_of_plots_has_its_boxes(small, number):
    """One plot or 120 in a block: a page of how to, a map, three boxes a page, each once."""
    block = small.blocks.iloc[:1]
    pdf = pdf_of(small, plots_in(block, number))
    text = pages_of(pdf)
    assert len(text) == 2 + -(-number // 3)
    ids = re.findall(r"Plot (1-\d+) stop", " ".join(text))
    assert ids == [f"1-{i}" for i in range(1, number + 1)]
    assert len(pdf) < 1_500_000


def test_block_without_a_plot_has_no_page(small):
    """Only blocks that somebody will walk into have a map."""
    text = " ".join(pages_of(pdf_of(small, plots_in(small.blocks.iloc[:1], 1))))
    assert "Block 1 Road field" in text
    assert "Fern woods" not in text


def test_names_of_the_owner_are_printed_as_they_are():
    """Script, quotes, braces and signs of the setter's language are words on paper."""
    name = f"{HOSTILE} #pagebreak() $x$ *b* @r \\ {'long' * 40}"
    results = small_results(name)
    pages = pages_of(pdf_of(results, plots_in(results.blocks, 2)))
    assert len(pages) == 1 + 3 * 2
    assert all(words in pages[1] for words in ("</script>", "{{7*7}}", "#pagebreak()", "$x$"))
    assert "page 2 of 7" in pages[1]


def test_same_plots_give_the_same_paper(small):
    """The PDF is the same to the byte."""
    placed = plots_in(small.blocks, 2)
    assert pdf_of(small, placed) == pdf_of(small, placed)


def test_map_has_ink_where_the_stops_are(small):
    """The page of the map shows outline, discs and way: much white, and some black."""
    document = pypdfium2.PdfDocument(pdf_of(small, plots_in(small.blocks, 3)))
    pixels = document[1].render(scale=1).to_numpy()[100:500, 60:550].mean(axis=2)
    assert (pixels > 250).mean() > 0.8
    assert 0.01 < (pixels < 110).mean() < 0.1


@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")  # rasterio 1.4
def test_photo_lies_pale_under_the_map(small):
    """A dark photo prints as light grey, and the lines over it stay black."""
    dark = np.full((500, 500, 3), 40, dtype=np.uint8)
    picture = report.photo_picture(dark, Affine(1, 0, -100, 0, -1, 450), small.grid)
    document = pypdfium2.PdfDocument(pdf_of(small, plots_in(small.blocks, 3), picture))
    pixels = document[1].render(scale=1).to_numpy()[100:500, 60:550].mean(axis=2)
    assert 170 < np.median(pixels) < 215
    assert (pixels < 110).mean() > 0.01


def test_words_of_the_sheet_hold_no_missing_value(small):
    """Every word is text; nothing reads nan or None."""
    placed = plots_in(small.blocks, 2, nested=False)
    data = sheet_data(placed, small.blocks, small.property.settings, load())
    text = json.dumps(data)
    assert "nan" not in text
    assert "None" not in text
    assert "null" not in text
