"""The pictures of the years are well-formed, small, the same each time, and nothing is cut off."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
import typst

from clearing.report import look, words
from clearing.report.facts_ahead import Ahead
from clearing.report.year_charts import CHARTS, chart_figure, chart_svg, chart_words
from clearing.report.year_pictures import year_picture
from tests.browser import open_browser
from tests.hostile_place import NAMES
from tests.report.years_ahead import many_years, season

SVG = "{http://www.w3.org/2000/svg}"
LARGEST = 16_000  # bytes of a picture of eight years; own choice
CASES = {"one": many_years(1), "eight": many_years(8, "metric"), "twenty": many_years(20)}
# how far each text reaches over the edge of its picture, in the picture's own units
OVER_THE_EDGE = """
return [...document.querySelectorAll('svg')].flatMap(svg => {
  const wide = svg.viewBox.baseVal.width, high = svg.viewBox.baseVal.height;
  return [...svg.querySelectorAll('text')].map(one => {
    const box = one.getBBox();
    return Math.max(-box.x, -box.y, box.x + box.width - wide, box.y + box.height - high);
  });
});
"""
OVERLAPS = """
return [...document.querySelectorAll('svg')].flatMap(svg => {
  const texts = [...svg.querySelectorAll('text')].map(one => [one.textContent, one.getBBox()]);
  return texts.flatMap(([a, p], i) => texts.slice(i + 1).filter(([b, q]) =>
    p.x + 1 < q.x + q.width && q.x + 1 < p.x + p.width &&
    p.y + 4 < q.y + q.height && q.y + 4 < p.y + p.height).map(([b]) => a + ' / ' + b));
});
"""


def texts(svg: str) -> list[str]:
    """Return the words of a picture in order."""
    return [one.text for one in ET.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("name", CHARTS)
@pytest.mark.parametrize("case", CASES)
def test_a_picture_is_one_svg_element_that_can_be_read_aloud(name, case):
    """It has a role, a viewBox, a title that is its sentence, a description, and no id or style."""
    root = ET.fromstring(chart_svg(name, CASES[case]))
    assert (root.tag, root.get("role"), root.get("viewBox")[:8]) == (f"{SVG}svg", "img", "0 0 340 ")
    assert [one.tag for one in root[:2]] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text == chart_words(name, CASES[case])
    assert not [one for one in root.iter() if set(one.attrib) & {"id", "style", "class", "href"}]


@pytest.mark.parametrize("name", CHARTS)
def test_a_picture_is_small_and_the_same_each_time(name):
    """Eight years take few bytes, and the same facts give the same ones."""
    drawn = chart_svg(name, CASES["eight"])
    assert len(drawn.encode()) < LARGEST
    assert drawn == chart_svg(name, many_years(8, "metric"))


@pytest.mark.parametrize("name", CHARTS)
@pytest.mark.parametrize("case", CASES)
def test_every_word_of_a_picture_is_in_its_facts(name, case):
    """No number is made while drawing: each text is a number, year or word of the facts."""
    picture = year_picture(name, CASES[case])
    known = [picture.title, picture.note, *map(str, picture.years), *picture.scale_words]
    for panel in picture.panels:
        known += [panel.heading, panel.limit_words, *(one.number for one in panel.amounts)]
    assert [text for text in texts(chart_svg(name, CASES[case]))
            if not any(text in one for one in known)] == []  # fmt: skip


def test_bars_stand_as_high_as_their_numbers():
    """A year of twice the hours has a bar of twice the height."""
    rows = tuple(
        season(2027 + place, "summer", hours, None) for place, hours in enumerate([40, 80])
    )
    svg = ET.fromstring(chart_svg("hours", replace(many_years(2), ahead=Ahead(seasons=rows))))
    bars = [one.get("d") for one in svg.iter(f"{SVG}path") if one.get("fill") == look.LINE]
    high = []
    for path in bars:
        corners = [float(pair.split()[1]) for pair in path.strip("MZ").split("L")]
        high.append(max(corners) - min(corners))
    assert high[1] == pytest.approx(2 * high[0], abs=0.2)  # written to a tenth


def test_the_highest_bar_has_its_number():
    """Where not every year's number fits, the year of the most cash is among those that do."""
    summary = CASES["twenty"]
    rows = tuple(
        replace(row, cost=words.cost(4321.0 if row.year == 2030 else 100.0, 50.0, 5000.0))
        for row in summary.year_rows
    )
    shown = texts(chart_svg("cost", replace(summary, year_rows=rows)))
    assert "2029" not in shown
    assert {"2030", "$4,300"} <= set(shown)


def test_states_of_the_ground_differ_without_color():
    """Ground in grass is a full bar, clear ground one with rings: told apart on a grey printer."""
    svg = ET.fromstring(chart_svg("grass", CASES["eight"]))
    grass = look.sign("grass").colour
    fills = {one.get("fill") for one in svg.iter(f"{SVG}path") if one.get("stroke") == grass}
    assert fills == {grass, look.PAPER}
    assert len(list(svg.iter(f"{SVG}circle"))) > 8


@pytest.mark.parametrize("label", NAMES)
def test_a_hostile_season_is_words(label):
    """A season's name full of tags is text in the picture, and whole in its description."""
    rows = (season(2027, label, 40, 120.0),)
    svg = ET.fromstring(chart_svg("hours", replace(many_years(1), ahead=Ahead(seasons=rows))))
    assert {one.tag.removeprefix(SVG) for one in svg.iter()} == {
        "svg", "title", "desc", "path", "text",
    }  # fmt: skip
    assert label[1:] in svg[1].text


def test_nothing_is_cut_off_or_written_over_in_a_browser(tmp_path):
    """With 1, 8 and 20 years no text leaves its picture, and none lies on another."""
    drawn = [chart_svg(name, case) for case in CASES.values() for name in CHARTS]
    rows = (season(2027, "w" * 200, 40, 123_456_789.0),)
    drawn.append(chart_svg("hours", replace(many_years(1), ahead=Ahead(seasons=rows))))
    page = tmp_path / "charts.html"
    boxes = "".join(f'<div style="width:340px">{one}</div>' for one in drawn)
    page.write_text(f"<!doctype html><meta charset=utf-8><body>{boxes}", encoding="utf-8")
    with open_browser() as driver:
        driver.get(page.as_uri())
        assert max(driver.execute_script(OVER_THE_EDGE)) <= 0.5
        assert driver.execute_script(OVERLAPS) == []


@pytest.mark.parametrize("name", CHARTS)
def test_the_pdf_s_setter_takes_the_picture(name, tmp_path):
    """The program that sets the work plan reads each picture."""
    (tmp_path / "one.svg").write_text(chart_svg(name, CASES["eight"]), encoding="utf-8")
    (tmp_path / "one.typ").write_text('#image("one.svg", width: 3.4in)', encoding="utf-8")
    assert typst.compile(str(tmp_path / "one.typ"), root=str(tmp_path))[:5] == b"%PDF-"


def test_a_notebook_shows_the_figure_by_itself():
    """The figure answers a notebook's question for a picture with a PNG of its own shape."""
    figure = chart_figure("hours", CASES["eight"])
    assert figure._repr_png_()[:8] == b"\x89PNG\r\n\x1a\n"
    wide, high = ET.fromstring(chart_svg("hours", CASES["eight"])).get("viewBox").split()[2:]
    assert figure.get_size_inches().tolist() == [float(wide) / 100, float(high) / 100]


def test_where_there_is_nothing_to_draw_the_picture_is_blank():
    """A place without a forecast has no picture of stems: no element, no figure, no words."""
    summary = replace(CASES["one"], ahead=Ahead())
    assert chart_svg("stems", summary) == chart_words("stems", summary) == ""
    assert chart_figure("stems", summary) is None


def test_an_unknown_picture_is_an_error():
    """There are four pictures and no other."""
    with pytest.raises(KeyError, match="acres"):
        chart_svg("acres", CASES["one"])
