"""No acknowledged stroke is ever lost: by a kill, by a second page, by another program."""

import concurrent.futures
import http.client
import sqlite3

import geopandas as gpd
import pyogrio
import pytest
import shapely

from clearing.app.desk import Desk
from clearing.errors import InputError
from clearing.files.kept import open_land
from tests.app.page import drawing, here, served
from tests.app.talking import Talk, ring, spot, square


def trees(folder):
    """Return the keep trees as they stand in the file, by number."""
    return pyogrio.read_dataframe(folder / "land.gpkg", layer="keep_trees").set_index("tree_id")


@pytest.mark.parametrize("after", [3, 17, 41])
def test_a_kill_in_the_middle_of_fifty_saves_loses_none_that_was_acknowledged(bare, after):
    """SIGKILL while saves run: each that was answered is in the file, and the file opens whole."""
    saved = {}
    with served(bare) as (address, process):
        talk = Talk(address)

        def save(number):
            place = (-84.5 + number * 1e-4, 38.0)
            try:
                row = talk.put(layer="keep_trees", shape=spot(*place), own={"species": "white oak"})
            except (OSError, http.client.HTTPException):
                return
            saved[row["own"]["tree_id"]] = place
            if len(saved) == after:
                process.kill()

        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            list(pool.map(save, range(50)))
    assert len(saved) >= after
    found = trees(bare)
    for name, place in saved.items():
        assert found.geometry[name].coords[0] == place
    with served(bare) as (address, _):
        assert {row["own"]["tree_id"] for row in Talk(address).get("/state")["rows"]} >= set(saved)


def test_a_stroke_asked_for_twice_is_done_once(bare):
    """A page that lost the answer asks again under the same name: same answer, one tree."""
    with here(bare) as address:
        talk = Talk(address)
        item = {"layer": "keep_trees", "shape": spot(-84.5, 38.0), "own": {"species": "white_oak"}}
        first = talk.stroke(op="one", do="put", items=[item])
        assert talk.stroke(op="one", do="put", items=[item]) == first
    assert len(trees(bare)) == 1


def test_two_pages_know_of_each_other_and_never_overwrite(bare):
    """The second page is told; a stroke on a shape that the other changed is refused with words."""
    with here(bare) as address:
        one = Talk(address)
        block = one.put(layer="blocks", shape=square(0, 0), own={"name": "Hill"})
        one.get("/news?page=one&revision=1")
        assert one.get("/news?page=two&revision=1")["pages"] == 2
        changed = {"uid": block["uid"], "v": block["v"], "own": {"name": "Hollow"}}
        assert one.stroke(do="put", items=[changed])[0] == 200
        late = {"uid": block["uid"], "v": block["v"], "own": {"name": "Bench"}}
        status, answer = one.stroke(do="put", items=[late])
        assert status == 409
        assert "was changed in another page or program" in answer["problems"][0]
        assert one.ask("POST", "/bye", {"page": "two"})[0] == 200
        assert one.get("/news?page=one&revision=1")["pages"] == 1
    layer = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")
    assert layer["name"].tolist() == ["Hollow"]


def test_another_programs_edit_is_kept_and_shown(bare):
    """A shape that another program moved stays moved; strokes on other shapes go on."""
    with here(bare) as address:
        talk = Talk(address)
        hill = talk.put(layer="blocks", shape=square(0, 0), own={"name": "Hill"})
        flat = talk.put(layer="blocks", shape=square(3, 0), own={"name": "Flat"})
        layer = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")
        layer.loc[layer["name"] == "Hill", "geometry"] = shapely.box(-84.6, 38.0, -84.599, 38.001)
        pyogrio.write_dataframe(layer, bare / "land.gpkg", layer="blocks")
        late = {"uid": hill["uid"], "v": hill["v"], "shape": square(1, 1)}
        status, answer = talk.stroke(do="put", items=[late])
        assert status == 409
        assert "changed in another page or program" in answer["problems"][0]
        told = talk.get("/news?page=one&revision=1")
        assert "Another program changed 1 shape" in told["outside"]
        assert told["undo"] == ""
        wet = {"uid": flat["uid"], "v": flat["v"], "own": {"wet": "wet"}}
        assert talk.stroke(do="put", items=[wet])[0] == 200
    found = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks").set_index("name")
    assert found.geometry["Hill"].bounds[0] == pytest.approx(-84.6)
    assert found["wet"]["Flat"] == "wet"


def test_the_page_takes_in_what_another_program_drew(bare, desk):
    """A block that appears in the file meanwhile appears on the page, with a notice."""
    with here(bare) as address:
        Talk(address).put(layer="blocks", shape=square(0, 0), own={"name": "Hill"})
    with drawing(bare, desk) as page:
        page.until(lambda: "in 1 block" in page.text("#card h1"))
        layer = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")
        ground, own = shapely.box(-84.498, 38.0, -84.497, 38.001), {"block_id": ["2"]}
        more = gpd.GeoDataFrame(own, geometry=[ground], crs=4326)
        pyogrio.write_dataframe(more, bare / "land.gpkg", layer="blocks", append=True)
        assert len(layer) == 1
        page.until(lambda: "in 2 blocks" in page.text("#card h1"))
        assert "Another program changed 1 shape" in page.text('.notice[data-key="outside"]')


def test_a_second_window_is_told(bare, desk):
    """A second window on the same folder says that there is another one."""
    with drawing(bare, desk) as page:
        page.driver.execute_script("window.open('/', '_blank')")
        page.until(lambda: page.find('.notice[data-key="pages"]').is_displayed())
        assert "open in another window" in page.text('.notice[data-key="pages"]')
        for handle in page.driver.window_handles[1:]:
            page.driver.switch_to.window(handle)
            page.driver.close()
        page.driver.switch_to.window(page.driver.window_handles[0])


def test_a_locked_file_is_said_and_nothing_is_half_written(bare):
    """While another program holds the file with unsaved changes, strokes are refused with words."""
    with served(bare) as (address, _):  # of its own: locks of one process are no locks
        talk = Talk(address)
        talk.put(layer="blocks", shape=square(0, 0), own={})
        other = sqlite3.connect(bare / "land.gpkg")
        other.execute("PRAGMA journal_mode=WAL")
        other.execute("CREATE TABLE something (a)")
        other.commit()
        item = {"layer": "blocks", "shape": square(2, 0), "own": {}}
        status, answer = talk.stroke(do="put", items=[item])
        assert status == 422, answer
        assert "open in another program" in answer["problems"][0]
        other.execute("PRAGMA journal_mode=DELETE")
        other.close()
        assert talk.stroke(do="put", items=[item])[0] == 200
    assert len(pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")) == 2


def test_corners_of_a_file_in_metres_stay_to_the_bit(sample):
    """In the sample (its own system is in metres) a changed name moves no corner at all."""
    before = pyogrio.read_dataframe(sample / "land.gpkg", layer="blocks")
    with here(sample) as address:
        talk = Talk(address)
        rows = [row for row in talk.get("/state")["rows"] if row["layer"] == "blocks"]
        again = {"uid": rows[0]["uid"], "v": 1, "shape": rows[0]["shape"], "own": {"name": "Anew"}}
        assert talk.stroke(do="put", items=[again])[0] == 200
    after = pyogrio.read_dataframe(sample / "land.gpkg", layer="blocks")
    assert after["name"][0] == "Anew"
    assert after.crs == before.crs
    assert shapely.equals_exact(after.geometry, before.geometry, tolerance=0.0).all()


def test_an_earlier_version_is_brought_back_and_taken_back(bare):
    """What was deleted comes back from an earlier version, as a stroke like any other."""
    with here(bare) as address:
        talk = Talk(address)
        block = talk.put(layer="blocks", shape=square(0, 0), own={"name": "Hill"})
        assert talk.stroke(do="remove", uids=[[block["uid"], block["v"]]])[0] == 200
        newest = talk.get("/earlier")["versions"][0][0]
        status, answer = talk.stroke(do="bring_back", version=newest)
        assert status == 200, answer
        assert [row["own"]["name"] for row in answer["rows"]] == ["Hill"]
        assert talk.stroke(do="undo")[0] == 200
    assert len(pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")) == 0


def test_strips_follow_their_block(bare):
    """Strips are cut to their block, follow its new number, and go with it when it is deleted."""
    with here(bare) as address:
        talk = Talk(address)
        block = talk.put(layer="blocks", shape=square(0, 0), own={})
        over = ring((-84.5005, 38.0), (-84.4995, 38.0), (-84.4995, 38.0005), (-84.5005, 38.0005))
        strip = talk.put(layer="strips", shape=over, own={})
        assert strip["own"]["block_id"] == "1"
        assert min(c[0] for c in strip["shape"]["coordinates"][0]) == -84.5
        number = {"uid": block["uid"], "v": block["v"], "own": {"block_id": "north"}}
        status, answer = talk.stroke(do="put", items=[number])
        assert status == 200
        assert {row["own"]["block_id"] for row in answer["rows"]} == {"north"}
        [block] = [row for row in answer["rows"] if row["layer"] == "blocks"]
        status, answer = talk.stroke(do="remove", uids=[[block["uid"], block["v"]]])
        assert sorted(answer["gone"]) == sorted([block["uid"], strip["uid"]])


def test_a_stroke_of_a_sitting_before_this_one_is_not_kept(bare):
    """A page that was left open over a new start is told so, and nothing is done."""
    with here(bare) as address:
        talk = Talk(address)
        item = {"layer": "blocks", "shape": square(0, 0), "own": {}}
        status, answer = talk.stroke(do="put", items=[item], sitting="0badcafe")
        assert status == 409
        assert answer["problems"] == [
            "the page was started anew since; this stroke was not kept"
        ]  # fmt: skip
        now = talk.get("/state")
        assert now["rows"] == []
        assert talk.get("/news")["sitting"] == now["sitting"]
        status, answer = talk.stroke(do="put", items=[item], sitting=now["sitting"])
        assert (status, answer["sitting"]) == (200, now["sitting"])


def test_a_damaged_file_is_said_once(sample):
    """One file that cannot be read is one sentence, however many layers lie in it."""
    (sample / "land.gpkg").write_bytes(b"rubbish" * 100)
    with pytest.raises(InputError) as said:
        open_land(sample)
    assert said.value.problems == ["land.gpkg cannot be read: it is no GPKG file"]


def test_what_another_program_left_beside_the_file_is_said_in_plain_words(sample):
    """A journal that cannot be put in order, as no copy of it can be kept: which file it is."""
    (sample / "earlier").write_text("no folder")
    (sample / "land.gpkg-journal").write_bytes(b"x" * 600)
    with pytest.raises(InputError) as said:
        open_land(sample)
    [words] = said.value.problems
    assert "land.gpkg-journal lies beside it" in words
    assert "sqlite" not in words


def test_settings_that_change_are_taken_in(bare):
    """property.toml in metres, with another name and another species, counts from the next look."""
    path = bare / "property.toml"
    desk = Desk(bare)
    try:
        before = desk.state()
        text = path.read_text(encoding="utf-8").replace('units = "us"', 'units = "metric"')
        path.write_text(text, encoding="utf-8")
        assert desk.news("one", before["revision"])["revision"] > before["revision"]
        after = desk.state()
        assert (before["us"], after["us"], desk.sitting.us) == (True, False, False)
        path.write_text("name = [[[", encoding="utf-8")
        assert "property.toml cannot be read" in desk.state()["slips"][0]
    finally:
        desk.close()
