"""A shape that another program left odd is said in words, never lost, and hinders no other one."""

import sqlite3

import geopandas as gpd
import pyogrio
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from clearing.app.asked import Refused
from clearing.app.session import Sitting
from tests.app.talking import spot, square

SOUND = box(-84.5, 38.0, -84.499, 38.001)
ODD = {
    "none": (None, "block 2 has no shape; draw its outline"),
    "empty": (Polygon(), "block 2 has no shape; draw its outline"),
    "point": (Point(-84.5, 38.0), "block 2 is drawn as a point; draw its outline"),
    "line": (LineString([(-84.5, 38.0), (-84.49, 38.0), (-84.49, 38.02)]), "drawn as a line"),
    "infinite": (Polygon([(-84.4, 38.0), (float("inf"), 38.0), (-84.4, 39.0)]), "is no number"),
    "metres": (box(5e5, 42e5, 500100, 4200100), "lies outside the globe"),
}


def written(folder, layer, shapes, crs=4326, **own):
    """Write a layer into the land file."""
    frame = gpd.GeoDataFrame(own, geometry=shapes, crs=crs)
    pyogrio.write_dataframe(frame, folder / "land.gpkg", layer=layer, geometry_type="Unknown")


def raw(folder, number):
    """Return the bytes of a block's shape in the file."""
    con = sqlite3.connect(folder / "land.gpkg")
    [(found,)] = con.execute(f"SELECT geom FROM blocks WHERE block_id = '{number}'")
    con.close()
    return found


def row(sitting, number, layer="blocks"):
    """Return a row as the page has it."""
    own = {"blocks": "block_id", "strips": "strip_id"}[layer]
    return next(r for r in sitting.shown()["rows"] if r["own"].get(own) == number)


@pytest.mark.parametrize("kind", ODD)
def test_an_odd_block_is_said_left_alone_and_mended_by_drawing_it(bare, kind):
    """No shape but a sentence; a stroke beside it changes no byte of it; its outline mends it."""
    shape, words = ODD[kind]
    written(bare, "blocks", [SOUND, shape], block_id=["1", "2"], name=["Hill", "Bench"])
    before = raw(bare, "2")
    sitting = Sitting(bare)
    odd = row(sitting, "2")
    assert odd["shape"] is None
    assert words in odd["wrong"]
    sitting.put([{"layer": "blocks", "shape": square(1, 0), "own": {}}])
    assert raw(bare, "2") == before
    mended = {"uid": odd["uid"], "v": odd["v"], "shape": square(5, 0)}
    sitting.put([mended])
    now = row(sitting, "2")
    assert (now["uid"], now["own"]["name"]) == (odd["uid"], "Bench")
    assert "wrong" not in now
    found = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks").set_index("block_id")
    assert found.geometry["2"].equals(shapely.geometry.shape(square(5, 0)))


@pytest.mark.parametrize("kind", ["none", "point", "infinite"])
def test_an_odd_block_is_not_split_or_joined(bare, kind):
    """The refusal says what is wrong with it."""
    shape, words = ODD[kind]
    written(bare, "blocks", [SOUND, shape], block_id=["1", "2"])
    sitting = Sitting(bare)
    one, odd = row(sitting, "1"), row(sitting, "2")
    line = {"type": "LineString", "coordinates": [[-84.4995, 37.0], [-84.4995, 39.0]]}
    with pytest.raises(Refused, match=words):
        sitting.split(odd["uid"], odd["v"], line)
    with pytest.raises(Refused, match=words):
        sitting.join([[one["uid"], one["v"]], [odd["uid"], odd["v"]]])


def test_an_odd_strip_does_not_hinder_splitting_its_block(bare):
    """Strips without a shape and as a point stay as they are."""
    written(bare, "blocks", [SOUND], block_id=["1"])
    written(bare, "strips", [None, Point(-84.4995, 38.0005)], strip_id=["1", "2"],
            block_id=["1", "1"])  # fmt: skip
    sitting = Sitting(bare)
    one = row(sitting, "1")
    line = {"type": "LineString", "coordinates": [[-84.4995, 37.0], [-84.4995, 39.0]]}
    sitting.split(one["uid"], one["v"], line)
    assert len(sitting.board.of("blocks")) == 2
    assert [row(sitting, n, "strips")["shape"] for n in ("1", "2")] == [None, None]


def test_places_that_are_none_do_not_stop_the_page(bare):
    """Two trees far outside their system's bounds are said, and a tree can be set beside them."""
    far = [Point(5e5, 42e5), Point(1e30, 1e30), Point(2e30, 1e30)]
    written(bare, "keep_trees", far, 32616, tree_id=["T1", "T2", "T3"], species=["white_oak"] * 3)
    sitting = Sitting(bare)
    assert ["wrong" in each for each in sitting.shown()["rows"]] == [False, True, True]
    item = {"layer": "keep_trees", "shape": spot(-87.0, 38.0), "own": {"species": "white_oak"}}
    assert sitting.put([item])["rows"][0]["own"]["tree_id"] == "T4"


def test_a_collection_of_several_kinds_is_said(bare):
    """A feature of an area and a point together goes to the page without a shape."""
    both = shapely.GeometryCollection([SOUND, Point(-84.5, 38.0)])
    written(bare, "features", [both], kind=["building"], name=["Barn"])
    [found] = Sitting(bare).shown()["rows"]
    assert found["shape"] is None
    assert found["wrong"] == "Barn is drawn as several kinds of shape at once; draw it anew"
