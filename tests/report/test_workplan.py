"""The printed work plan: pages, words and pictures, read back by another reader."""

import ctypes
import dataclasses

import pandas as pd
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import zxingcpp

from clearing.report import summarise
from clearing.report.pressed import pressed_in_parts
from clearing.report.printed import printed_facts
from clearing.report.workplan import page_counts, workplan_pdf
from tests.report.conftest import pages_of
from tests.report.small_place import small_results, visit

LONG = "W" * 200
RIGHT_TO_LEFT = "שדה הדרך الحقل الطويل " * 5
US_LETTER, A4 = (612, 792), (595, 842)


@pytest.fixture(scope="module")
def printed(results):
    """Return what the sample's work plan prints."""
    return printed_facts(results, summarise(results))


@pytest.fixture(scope="module")
def document(small):
    """Return the small place's work plan, opened by another reader."""
    return pypdfium2.PdfDocument(workplan_pdf(small, summarise(small), None))


def species(number):
    """Return the small place with so many species to clear."""
    small = small_results()
    tables = {
        name: pd.concat([table.assign(species=f"kind_{n}") for n in range(number)])
        for name, table in (("stocking", small.stocking), ("totals", small.totals))
    }
    return dataclasses.replace(small, **tables)


def idle():
    """Return the small place with nothing to do."""
    small = small_results()
    rows = small.plan.visits.iloc[:0]
    options = small.plan.options.assign(method="not_now", start_year=None, finish_year=None)
    return dataclasses.replace(
        small, plan=dataclasses.replace(small.plan, visits=rows, options=options)
    )


def forty_visits():
    """Return the small place with forty visits in one strip."""
    small, seasons = small_results(), ("late_winter", "summer", "fall")
    jobs = ("hack_and_squirt", "cut_and_spray", "foliar", "follow_up")
    products = ("glyphosate_4", "imazapyr_2")
    rows = pd.DataFrame([
        visit("1a", 2027 + n % 4, seasons[n % 3], jobs[n % 4], products[n % 2])
        | {"visit_id": str(n)} for n in range(40)
    ])  # fmt: skip
    return dataclasses.replace(small, plan=dataclasses.replace(small.plan, visits=rows))


def test_plan_has_no_page_more_than_it_says(sample_pages, printed):
    """The property, one a block, cards, practice sheet and sources: as many as are counted."""
    assert len(sample_pages) == sum(page_counts(printed).values())


def test_every_block_has_one_page_where_it_is_said_to_be(sample_pages, printed):
    """Each block's title heads the page with its number and no other page but the practice's."""
    for block in printed.blocks:
        head = " ".join(block.title.split())
        assert sample_pages[block.page - 1].startswith(head)
        assert sum(text.startswith(head) for text in sample_pages) == 1


@pytest.mark.parametrize(
    "make", [lambda: species(15), forty_visits, lambda: small_results(LONG),
             lambda: small_results(RIGHT_TO_LEFT)],
    ids=["fifteen species", "forty visits", "200 letters", "right to left"],
)  # fmt: skip
def test_a_full_block_still_has_one_page_with_lines_to_write_on(make):
    """However much there is, a block keeps to its page with its cautions and its log lines."""
    made = make()
    pages, counts = pages_of(made), page_counts(printed_facts(made, summarise(made)))
    assert len(pages) == sum(counts.values())
    blocks = pages[counts["property"] : counts["property"] + counts["blocks"]]
    assert "No resting under dead stems" in blocks[0]
    assert all("applied by" in page for page in blocks)


def letter_sizes(page) -> set[float]:
    """Return the sizes of the letters of a page in points, as they are printed."""
    text, sizes = page.get_textpage(), set()
    for place in range(text.count_chars()):
        if pdfium.FPDFText_IsGenerated(text, place):  # a space that the reader puts in
            continue
        matrix = pdfium.FS_MATRIX()
        pdfium.FPDFText_GetMatrix(text, place, ctypes.byref(matrix))
        sizes.add(pdfium.FPDFText_GetFontSize(text, place) * abs(matrix.d))
    return sizes


def test_nothing_but_sources_is_set_small(results, printed):
    """On every page of the sample but the last the least letter has 7.5 points (own choice)."""
    paper = workplan_pdf(results, summarise(results), None, printed)
    pages = list(pypdfium2.PdfDocument(paper))[:-1]
    assert min(min(letter_sizes(page)) for page in pages) >= 7.45


@pytest.mark.parametrize(
    "make", [lambda: species(15), forty_visits, lambda: small_results(LONG)],
    ids=["fifteen species", "forty visits", "200 letters"],
)  # fmt: skip
def test_a_full_page_is_not_set_smaller(make):
    """No page but that of sources has letters under 7.5 points, and no card any under 11."""
    made = make()
    summary = summarise(made)
    printed = printed_facts(made, summary)
    counts = page_counts(printed)
    pages = list(pypdfium2.PdfDocument(workplan_pdf(made, summary, None, printed)))
    assert min(min(letter_sizes(page)) for page in pages[:-1]) >= 7.45
    first = counts["property"] + counts["blocks"]
    for page in pages[first : first + counts["cards"]]:
        assert min(letter_sizes(page) - {7.5}) >= 10.95  # the line at the foot has 7.5


def test_a_plan_without_work_has_no_bare_tables():
    """Pages say that there is no work, and neither tables of it nor boxes to tick stand there."""
    made = idle()
    pages, counts = pages_of(made), page_counts(printed_facts(made, summarise(made)))
    assert len(pages) == sum(counts.values())
    blocks = pages[counts["property"] : counts["property"] + counts["blocks"]]
    assert all("No work in these years" in page for page in blocks)
    assert not any("Work, in order" in page or "Go or no-go" in page for page in blocks)
    assert "On every visit" not in pages[counts["property"] - 1]
    assert "No work in any season" in pages[1] or "Nothing is planned" in pages[1]


def test_purchases_without_containers_do_not_overprint(small):
    """Where containers are not known no two lines of text on the first page touch."""
    plan = small.plan
    unknown = plan.purchases.assign(
        buy="0.26 gal, containers not known, about $34 a gallon",
        buy_ready="1.6 gal, containers not known, about $34 a gallon",
    )
    made = dataclasses.replace(small, plan=dataclasses.replace(plan, purchases=unknown))
    page = pypdfium2.PdfDocument(workplan_pdf(made, summarise(made), None))[0]
    text = page.get_textpage()
    assert "containers not known" in " ".join(text.get_text_range().split())
    boxes = [text.get_rect(place) for place in range(text.count_rects())]
    for place, (left, bottom, right, top) in enumerate(boxes):
        for other in boxes[place + 1 :]:
            across = min(right, other[2]) - max(left, other[0])
            up = min(top, other[3]) - max(bottom, other[1])
            assert across < 1 or up < 1


def test_names_of_usual_length_are_copied_whole():
    """A word of 24 letters comes out of the PDF as it went in, without marks between letters."""
    word = "Brombeerhangwiesenwinkel"
    text = pages_of(small_results(word))
    assert any(word in page for page in text)
    assert not any("\u200b" in page for page in text)


def test_cautions_stand_on_the_page_of_their_work(sample_pages, printed):
    """Where a saw is used, the page of that block speaks of it; the page of all names the law."""
    for block in printed.blocks:
        if any(row.job == "cut-and-spray" for row in block.work):
            assert "Saw work" in sample_pages[block.page - 1]
    assert "label on the container" in sample_pages[printed.property_pages - 1]


def test_unconfirmed_product_gets_no_mixing_on_paper(small):
    """Imazapyr, whose label nobody confirmed, is named with what to do first and without a mix."""
    text = " ".join(pages_of(small))
    assert "confirm the label first" in text
    assert "Imazapyr 2: no go until the label is read and confirmed" in text
    assert "of imazapyr" not in text


def test_names_of_the_owner_are_printed_as_they_are(hostile):
    """Script, quotes and braces in names are words on paper and run nowhere."""
    assert any("</script>" in text for text in pages_of(hostile))


def test_same_results_give_the_same_paper(small):
    """The PDF is the same to the byte."""
    summary = summarise(small)
    assert workplan_pdf(small, summary, None) == workplan_pdf(small, summary, None)


@pytest.mark.parametrize(("units", "size"), [("us", US_LETTER), ("metric", A4)])
def test_paper_follows_the_units(units, size):
    """Letter for inches and A4 (ISO 216: 210 by 297 mm) for metres, every page alike."""
    made = small_results(units=units)
    pages = pypdfium2.PdfDocument(workplan_pdf(made, summarise(made), None))
    for page in pages:
        assert page.get_size() == pytest.approx(size, abs=0.5)


def test_paper_is_tagged(small):
    """A reader for the blind finds a structure in the PDF."""
    assert b"/MarkInfo" in workplan_pdf(small, summarise(small), None)


def test_code_on_a_block_s_page_leads_to_the_way_in(document, small):
    """Read back by another library, the printed code is the way-in point within 1e-5 degrees."""
    block = printed_facts(small, summarise(small)).blocks[0]
    picture = document[block.page - 1].render(scale=3).to_pil()
    codes = [one.text for one in zxingcpp.read_barcodes(picture)]
    assert len(codes) == 1
    kind, _, place = codes[0].partition(":")
    assert kind == "geo"
    latitude, longitude = map(float, place.split(","))
    assert latitude == pytest.approx(block.way_in.latitude, abs=1e-5)
    assert longitude == pytest.approx(block.way_in.longitude, abs=1e-5)


def test_a_large_plan_pressed_in_parts_reads_as_one(small, document, monkeypatch):
    """Page by page the words of the plan that is pressed in one go; the same bytes twice."""
    for name, most in (("MOST_AT_ONCE", 1), ("BLOCKS_A_PART", 2), ("CARDS_A_PART", 2)):
        monkeypatch.setattr(f"clearing.report.workplan.{name}", most)
    first, second = (workplan_pdf(small, summarise(small), None) for _ in range(2))
    assert first == second
    parts = pypdfium2.PdfDocument(first)
    assert len(parts) == len(document) > 6
    for one, other in zip(parts, document, strict=True):
        assert one.get_textpage().get_text_range() == other.get_textpage().get_text_range()
    assert parts.get_metadata_value("Title") == document.get_metadata_value("Title")


def test_a_part_takes_no_library_from_the_folder_one_stands_in(tmp_path, monkeypatch):
    """A file called as a library of ours lies there, and the part is pressed without it."""
    (tmp_path / "typst.py").write_text("raise SystemExit('taken')", "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("clearing.report.pressed._lay_out", _one_word)
    assert pressed_in_parts((), {}, [{}]).startswith(b"%PDF")


def _one_word(home, *_):
    """Lay out a page with a word on it."""
    (home / "page.typ").write_text("= Wren", "utf-8")
    (home / "main.txt").write_text("page.typ", "utf-8")


def test_a_press_that_stops_says_at_which_part():
    """A template that is none: the part and the words of the press."""
    with pytest.raises(RuntimeError, match=r"(?s)stopped at part 0: .*plan\.json"):
        pressed_in_parts(("workplan.typ", "pieces.typ"), {}, [{}, {}])
