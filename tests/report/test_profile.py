"""The picture of stems by size says what the stocking says, in print and read aloud."""

import io
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import matplotlib
import numpy as np
import pytest
import typst
from PIL import Image
from selenium.webdriver.common.by import By

from clearing.rates import handbook_table
from clearing.report import map_html, summarise
from clearing.report.block_facts import sizes_of
from clearing.report.profile import profile_svg
from tests.browser import DESKTOP, PHONE, open_browser, outside_requests, page_errors
from tests.report.small_place import HOSTILE, small_results, small_stocking

SVG = "{http://www.w3.org/2000/svg}"


def set_on_paper(drawn: str, inches: float) -> bytes:
    """Return a picture on white, so many inches wide, by the program that sets the work plan."""
    page = "#set page(width: %gin, height: auto, margin: 0pt)\n#image(bytes(sys.inputs.drawn))"
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    return bytes(
        typst.compile(
            (page % inches).encode(), format="png", ppi=300, font_paths=[str(fonts)],
            ignore_system_fonts=True, sys_inputs={"drawn": drawn},
        )
    )  # fmt: skip


@pytest.fixture(scope="module")
def sizes():
    """Return the stems of block 1, 4 ha, by size."""
    stocking = small_stocking()
    own = stocking[stocking["block_id"] == "1"]
    return sizes_of(own, 4.0, handbook_table("size_classes"), us=True)


def drawn(species):
    """Return the picture's root, its bars' widths, and its whiskers' left and right ends."""
    root = ET.fromstring(profile_svg("Stems", species))
    bars = [float(bar.get("width")) for bar in root.iter(f"{SVG}rect")]
    paths = [path.get("d") for path in root.iter(f"{SVG}path") if "H" in path.get("d")]
    ends = [re.match(r"M([\d.]+) .*H([\d.]+)M", path).groups() for path in paths]
    return root, bars, [(float(low), float(high)) for low, high in ends]


def test_stems_of_a_block_are_density_times_area(sizes):
    """On 4 ha 150 stems a hectare (100 to 220) are 600 (400 to 880); sizes go small to large."""
    rows = sizes[0].sizes
    assert [row.label for row in rows][:3] == ["seedling", "under 1 in", "1-3 in"]
    stems = rows[2].stems
    assert (stems.value, stems.low, stems.high) == (600.0, 400.0, 880.0)


def test_whiskers_end_at_the_ends_of_the_range(sizes):
    """Bars and whiskers lie on one scale from zero, to a tenth of a unit of the picture."""
    root, bars, ends = drawn(sizes)
    zero = next(float(path.get("d")[1:].split()[0]) for path in root.iter(f"{SVG}path")
                if "H" not in path.get("d"))  # fmt: skip
    rows = [row.stems for row in sizes[0].sizes]
    scale = (max(high for _, high in ends) - zero) / max(row.high for row in rows)
    wanted = [(zero + row.low * scale, zero + row.high * scale) for row in rows]
    np.testing.assert_allclose(ends, wanted, atol=0.1)
    np.testing.assert_allclose(bars, [row.value * scale for row in rows if row.value], atol=0.1)


def test_class_without_a_stem_shows_its_upper_whisker(sizes):
    """Nothing over 6 in was counted: four bars, six whiskers, and the last two begin at zero."""
    _, bars, ends = drawn(sizes)
    assert (len(bars), len(ends)) == (4, 6)
    assert ends[4][1] > ends[5][1] > ends[5][0] == ends[4][0]


def test_picture_is_read_aloud_with_its_numbers(sizes):
    """Title and description stand first in the picture and name size, stems and range."""
    root = drawn(sizes)[0]
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root.get("role") == "img"
    assert "1-3 in about 600 stems (400 to 880)" in root[1].text
    assert "6-10 in about 0 stems (0 to 200)" in root[1].text


def test_owner_in_metric_reads_centimetres():
    """The same classes carry their metric names."""
    sizes = sizes_of(small_stocking()[:6], 4.0, handbook_table("size_classes"), us=False)
    assert "2.5-7.6 cm about 600 stems" in profile_svg("Stems", sizes)


def test_nothing_reckoned_is_no_picture():
    """Without stems by size there is neither an empty drawing nor a broken one."""
    assert profile_svg("Stems", ()) == ""


def test_print_is_the_same_picture_in_grey(sizes):
    """As the work plan sets it: as wide as asked, no color but the ink's tint, the same twice."""
    data = set_on_paper(profile_svg("Stems", sizes), 2.0)
    pixels = np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)
    assert pixels.shape[1] == 600
    assert (pixels.max(axis=2) - pixels.min(axis=2)).max() < 30
    assert (pixels.mean(axis=2) < 60).sum() > 1000
    assert data == set_on_paper(profile_svg("Stems", sizes), 2.0)


def test_species_side_by_side_keep_their_scale(sizes):
    """Three species in a row of two: twice as wide, two rows high, each bar as long as alone."""
    alone, abreast = (ET.fromstring(profile_svg("Stems", sizes * 3, n)) for n in (1, 2))
    bars = [[bar.get("width") for bar in root.iter(f"{SVG}rect")] for root in (alone, abreast)]
    assert bars[0] == bars[1]
    (wide, high), (wider, lower) = ([float(n) for n in root.get("viewBox").split()[2:]]
                                    for root in (alone, abreast))  # fmt: skip
    assert 2 * wide < wider < 2.2 * wide
    assert lower < 0.7 * high


def test_hostile_words_are_escaped_in_the_picture(sizes):
    """A name with tags leaves the picture whole, with the name as its letters."""
    text = profile_svg(HOSTILE, sizes)
    assert "<img" not in text
    assert ET.fromstring(text)[0].text == HOSTILE


def test_every_block_of_the_sample_has_a_small_picture(results):
    """Two species and six classes take under 7 kB a block, and each picture is whole."""
    for block in summarise(results).blocks:
        text = profile_svg(block.name, block.sizes)
        assert len(list(ET.fromstring(text).iter(f"{SVG}text"))) > 12, block.name
        assert len(text) < 7000


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desk", "phone"])
def test_card_of_block_and_strip_shows_the_picture(size, tmp_path):
    """One picture a block: it stands in the block's card and moves into its strip's, in full."""
    path = tmp_path / "map.html"
    path.write_text(map_html(small_results()), encoding="utf-8")
    with open_browser(size) as driver:
        driver.get(path.as_uri())
        for opener, card in (("[data-open-block='1']", ".view[data-block='1']"),
                             ("[data-open-strip='1b']", ".view[data-strip='1b']")):  # fmt: skip
            driver.execute_script(f'document.querySelector("{opener}").click()')
            picture = driver.find_element(By.CSS_SELECTOR, f"{card} .profile svg")
            assert picture.is_displayed()
            assert 250 < picture.rect["width"] < size[0] - 20
            assert picture.rect["height"] > 130
        assert len(driver.find_elements(By.CSS_SELECTOR, ".profile")) == 3
        assert driver.execute_script("return document.documentElement.scrollWidth") <= size[0]
        assert outside_requests(driver) == []
        assert page_errors(driver) == []
