"""Stems are counted at a plot by taps, on a phone held sideways, and stand in tally.csv."""

import csv

import pyogrio
import pytest

from clearing.app.asked import Refused
from clearing.app.session import Sitting
from clearing.errors import InputError
from clearing.files.versions import list_versions
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


WRIST = {"species": "callery_pear", "size": "wrist"}


def plot(sitting, number="1"):
    """Return a plot as the page has it."""
    return next(r for r in sitting.shown()["rows"] if r["own"].get("plot_id") == number)


@pytest.fixture
def sitting(bare):
    """Give a sitting with one plot."""
    sitting = Sitting(bare)
    sitting.put([{"layer": "plots", "shape": spot(-84.5, 38.0), "own": {}}])
    return sitting


def test_counts_are_taken_back_and_done_again_in_order(bare, sitting):
    """Back over two counts to the drawing of the plot and forth again, each named in words."""
    for by in (1, 3):
        sitting.tally("1", WRIST, by)
    before = (bare / "tally.csv").read_bytes()
    seen = []
    while sitting.strokes.done:
        seen.append(sitting.now()["undo"])
        sitting.undo()
    assert seen == ["3 wrist counted at plot 1", "1 wrist counted at plot 1", "plot 1 drawn"]
    assert rows(bare) == []
    assert len(pyogrio.read_dataframe(bare / "land.gpkg", layer="plots")) == 0
    while sitting.strokes.back:
        sitting.redo()
    assert (bare / "tally.csv").read_bytes() == before
    assert plot(sitting)["own"]["visited"] == "yes"


def test_taking_a_count_back_keeps_what_another_program_counted(bare, sitting):
    """Only the taps themselves are taken back; a count that another program raised stays raised."""
    sitting.tally("1", WRIST, 2)
    text = (bare / "tally.csv").read_text(encoding="utf-8")
    (bare / "tally.csv").write_text(text.replace(",wrist,2,", ",wrist,7,"), encoding="utf-8")
    told = sitting.undo()
    assert [row["count"] for row in told["tally"]] == ["5"]


def test_less_than_nought_is_no_stroke(sitting):
    """A tap that takes nothing off is nothing that could be taken back."""
    sitting.tally("1", WRIST, -1)
    assert sitting.now()["undo"] == "plot 1 drawn"


def test_a_count_stands_alone_where_the_land_cannot_be_saved(bare, sitting, monkeypatch):
    """The tap is answered as counted, once; that the plot was visited waits, and is said."""

    def held(*given):
        raise InputError(["land.gpkg is open in another program"])

    with monkeypatch.context() as patch:
        patch.setattr("clearing.app.session.save_land", held)
        told = sitting.tally("1", WRIST, 1)
    assert [row["count"] for row in rows(bare)] == ["1"]
    assert "land.gpkg is open in another program" in told["notes"][0]
    assert "visited" not in plot(sitting)["own"]
    sitting.tally("1", WRIST, 1)
    assert plot(sitting)["own"]["visited"] == "yes"
    for _ in range(2):
        sitting.undo()
    assert rows(bare) == []


def test_a_count_that_cannot_be_taken_back_whole_is_not_taken_back(bare, sitting, monkeypatch):
    """Where the land cannot be saved, land and counts both stay as they were."""
    sitting.tally("1", WRIST, 1)
    before = (bare / "tally.csv").read_bytes()

    def full(*given):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("clearing.app.session.save_land", full)
        with pytest.raises(OSError, match="No space"):
            sitting.undo()
    assert (bare / "tally.csv").read_bytes() == before
    assert sitting.now()["undo"] == "1 wrist counted at plot 1"


def test_no_plot_with_counts_ever_disappears(bare):
    """Not by deleting, taking its drawing back, a new number, or an earlier version."""
    sitting = Sitting(bare)
    sitting.put([{"layer": "features", "shape": spot(-84.5, 38.1), "own": {"kind": "well"}}])
    sitting.put([{"layer": "plots", "shape": spot(-84.5, 38.0), "own": {}}])
    sitting.tally("1", WRIST, 1)
    sitting.strokes.done.pop()  # as if another program had counted
    one = plot(sitting)
    for stroke in (
        lambda: sitting.remove([[one["uid"], one["v"]]]),
        lambda: sitting.undo(),
        lambda: sitting.put([{"uid": one["uid"], "v": one["v"], "own": {"plot_id": "A1"}}]),
        lambda: sitting.bring_back(list_versions(bare, "land")[0][0]),
    ):
        with pytest.raises(Refused, match=r"plot 1 has counts in tally\.csv"):
            stroke()
    assert pyogrio.read_dataframe(bare / "land.gpkg", layer="plots")["plot_id"].tolist() == ["1"]


def test_two_plots_do_not_swap_numbers_over_their_counts(sitting):
    """A number that has counts is not given to another plot in the same stroke."""
    sitting.put([{"layer": "plots", "shape": spot(-84.51, 38.0), "own": {}}])
    sitting.tally("1", WRIST, 1)
    one, two = plot(sitting, "1"), plot(sitting, "2")
    swap = [{"uid": one["uid"], "v": one["v"], "own": {"plot_id": "2"}},
            {"uid": two["uid"], "v": two["v"], "own": {"plot_id": "1"}}]  # fmt: skip
    with pytest.raises(Refused, match=r"plot 1 has counts in tally\.csv and keeps its number"):
        sitting.put(swap)


def test_a_plot_visited_again_is_counted_apart(page):
    """Dead stems of another day are a row with their status and day; live ones of today stay."""
    page.press('[data-more="wrist"]')
    page.until(lambda: page.text('[data-count="wrist"]') == "1")
    page.fill("#tally-status", "dead")
    page.driver.execute_script(
        "const day = document.getElementById('tally-date');"
        "day.value = '2025-06-01'; day.dispatchEvent(new Event('change'))"
    )
    page.until(lambda: page.text('[data-count="wrist"]') == "0")
    for shown in ("1", "2"):
        page.press('[data-more="wrist"]')
        page.until(lambda shown=shown: page.text('[data-count="wrist"]') == shown)
    live, dead = rows(page.folder)
    assert (live["status"], live["count"]) == ("", "1")
    assert (dead["status"], dead["date"], dead["count"]) == ("dead", "2025-06-01", "2")
    assert live["date"] in page.text("#tally-days")


def test_a_later_visit_that_finds_nothing_is_written_down(page):
    """Nothing found is a row of nought with species, status and day; it can be taken back."""
    page.press('[data-more="wrist"]')
    page.until(lambda: page.text('[data-count="wrist"]') == "1")
    page.driver.execute_script(
        "const day = document.getElementById('tally-date');"
        "day.value = '2035-06-01'; day.dispatchEvent(new Event('change'))"
    )
    page.press("#tally-nothing")
    page.until(lambda: "nothing was found on 2035-06-01" in page.text("#tally-nothing-says"))
    _, row = rows(page.folder)
    own = {"species": "callery_pear", "status": "live", "date": "2035-06-01", "count": "0"}
    assert {name: row[name] for name in own} == own
    page.press("#undo")
    page.until(lambda: len(rows(page.folder)) == 1)


def test_nothing_found_is_taken_back_and_done_again(bare, sitting):
    """The row of nought goes and comes with its stroke, and marks the plot as visited."""
    sitting.tally("1", {"species": "callery_pear", "status": "live", "date": "2027-06-01"}, 0)
    before = (bare / "tally.csv").read_bytes()
    assert plot(sitting)["own"]["visited"] == "yes"
    assert sitting.now()["undo"] == "nothing found at plot 1 on 2027-06-01"
    sitting.undo()
    assert rows(bare) == []
    sitting.redo()
    assert (bare / "tally.csv").read_bytes() == before


def test_a_status_or_day_that_is_none_is_refused(bare):
    """A count with an unknown status or a day that is none is refused before it is written."""
    with here(bare) as address:
        talk = Talk(address)
        talk.put(layer="plots", shape=spot(-84.5, 38.0), own={})
        for wrong in ({"status": "asleep"}, {"date": "yesterday"}):
            stem = {"species": "callery_pear", "size": "wrist"} | wrong
            status, answer = talk.stroke(do="tally", plot="1", stem=stem, by=1)
            assert status == 422
            assert next(iter(wrong)) in answer["problems"][0]
    assert rows(bare) == []
