"""Stems are counted at a plot by taps, on a phone held sideways, and stand in tally.csv."""

import csv

import pytest

from tests.app.page import drawing, here
from tests.app.talking import Talk, spot
from tests.browser import open_browser

SIDEWAYS = (844, 390)


def rows(folder):
    """Return the rows of tally.csv."""
    with (folder / "tally.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture(scope="module")
def sideways():
    """Give a browser of a phone held sideways."""
    with open_browser(SIDEWAYS) as driver:
        yield driver


@pytest.fixture
def page(bare, sideways):
    """Give the page with one plot, its tally open."""
    with drawing(bare, sideways) as page:
        Talk.of(page).put(layer="plots", shape=spot(-84.5, 38.0), own={})
        page.until(lambda: page.all("#card summary"))
        page.press("#card h2 + ul ~ details.close:not(:has(.tool)) summary")
        page.press('[data-open^="plots"]')
        page.press("#card .wide.strong")
        page.until(lambda: page.find('[data-more="wrist"]').is_displayed())
        yield page


def test_taps_count_stems_and_the_plot_is_visited(page):
    """Three wrists more and one less are two in the file; the plot counts as visited."""
    for mark, shown in (("more", "1"), ("more", "2"), ("more", "3"), ("less", "2")):
        page.press(f'[data-{mark}="wrist"]')
        page.until(lambda shown=shown: page.text('[data-count="wrist"]') == shown)
    [row] = rows(page.folder)
    assert (row["plot_id"], row["species"], row["size"]) == ("1", "callery_pear", "wrist")
    assert row["count"] == "2"
    assert page.layer("plots")["visited"].tolist() == ["yes"]


def test_a_tree_that_stays_is_counted_apart(page):
    """Another species, marked as staying, by tape: its own row with keep and diameter."""
    page.find("#other-species").send_keys("white oak")
    page.driver.execute_script("document.activeElement.blur()")
    page.until(
        lambda: page.find('[data-species="white_oak"]').get_attribute("aria-checked") == "true"
    )
    page.press(".check input")
    page.find("#tally-dbh").send_keys("14.5")
    page.press("#tally-dbh + button")
    page.until(lambda: rows(page.folder))
    [row] = rows(page.folder)
    assert (row["species"], row["dbh_in"], row["keep"], row["count"]) == (
        "white_oak",
        "14.5",
        "yes",
        "1",
    )


def test_the_buttons_are_large_and_all_sizes_fit_sideways(page):
    """The taps are 56 px high, and nothing spills over the edge of the window."""
    high = page.driver.execute_script(
        "return Array.from(document.querySelectorAll('.taps button')).map(b => b.offsetHeight)"
    )
    assert min(high) >= 56
    assert page.driver.execute_script("return document.documentElement.scrollWidth") <= SIDEWAYS[0]


def test_other_rows_and_columns_of_the_tally_stay_as_they_are(sample):
    """A count on the page changes one cell of the file; every other byte stays."""
    before = (sample / "tally.csv").read_bytes()
    with here(sample) as address:
        talk = Talk(address)
        first = talk.get("/tally?plot=P1-1")["tally"] or talk.get("/tally?plot=P2-1")["tally"]
        row = first[0]
        own = ("species", "size", "dbh_in", "dbh_cm", "keep", "status", "date")
        stem = {name: row[name] for name in own if row.get(name)}
        status, answer = talk.stroke(do="tally", plot=row["plot_id"], stem=stem, by=1)
        assert status == 200, answer
        assert talk.stroke(do="tally", plot=row["plot_id"], stem=stem, by=-1)[0] == 200
    assert (sample / "tally.csv").read_bytes() == before


def test_a_plot_with_counts_is_not_deleted(sample):
    """Its stems would belong to no plot: the stroke is refused with words."""
    with here(sample) as address:
        talk = Talk(address)
        counted = {row["plot_id"] for row in rows(sample)}
        plot = next(r for r in talk.get("/state")["rows"] if r["own"].get("plot_id") in counted)
        status, answer = talk.stroke(do="remove", uids=[[plot["uid"], plot["v"]]])
        assert status == 422
        assert "has counts in tally.csv" in answer["problems"][0]
