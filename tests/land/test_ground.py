"""The owner's layers meet in one grid, with net areas, crowns and what counts of each plot."""

import math
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import clearing
from clearing import land
from clearing.allometry import crown_width_m
from clearing.rates import for_settings, load
from tests.zones.farm import at, farm

SQUARE = shapely.box(0, 0, 200, 100)
LAYERS = ("blocks", "keep_trees", "features", "plots")


def block(name: str = "1", shape=SQUARE, **more) -> dict:
    """Return one block as the owner draws it."""
    return {"block_id": name, "geometry": at(shape), **more}


def laid(place):
    """Return a property in its grid."""
    return land.lay_out(place, for_settings(place.settings))


def drawn_scale(ground) -> float:
    """Return grid area over drawn area: the farm is drawn in a map grid that shrinks a little."""
    return float(ground.blocks["gross_ha"].sum()) / 2.0


def test_net_ground_leaves_out_house_and_pond():
    """Building, pond, crop and road drawn as areas are not the crew's ground; the outline is."""
    shapes = {
        "building": (10, 10, 30, 30),
        "water": (50, 50, 70, 90),
        "farm_road": (100, 0, 110, 9),
    }
    features = [{"kind": k, "geometry": at(shapely.box(*b))} for k, b in shapes.items()]
    ground = laid(farm([block()], features=features))
    row = ground.blocks.iloc[0]
    assert row["gross_ha"] == pytest.approx(2.0, rel=1e-3)
    assert row["area_ha"] == pytest.approx(row["gross_ha"] - 0.12 * drawn_scale(ground), rel=1e-6)


def test_ground_drawn_twice_counts_once():
    """The slip of two blocks over each other belongs to the smaller, and is said."""
    second = block("2", shapely.box(199, 0, 300, 100))
    ground = laid(farm([block(), second]))
    assert ground.blocks.geometry[0].intersection(ground.blocks.geometry[1]).area < 1e-6
    assert ground.blocks["area_ha"].sum() == pytest.approx(3.0, rel=1e-3)
    assert ground.blocks["gross_ha"].sum() == pytest.approx(3.0, rel=1e-3)
    assert ground.mended["area_m2"].sum() == pytest.approx(-100, rel=1e-3)
    assert "block 1: an overlap with block 2 was taken out (-1,077 sq ft)" in ground.notes


def test_blocks_that_are_not_mended_count_ground_once():
    """More than a slip, where nobody asked the reader: the first block has the ground."""
    second = block("2", shapely.box(180, 0, 300, 100))
    ground = laid(farm([block(), second]))
    assert ground.blocks["area_ha"].sum() == pytest.approx(3.0, rel=1e-3)
    assert ground.blocks["gross_ha"].sum() == pytest.approx(3.2, rel=1e-3)


@pytest.mark.parametrize("moved", [*LAYERS, "all"])
def test_layers_in_degrees_and_in_metres_meet_in_one_grid(place, moved):
    """Any layer, or all, in EPSG:4326 instead of EPSG:32616: areas to a millionth, same places."""
    assert place.blocks.crs.to_epsg() == 32616
    names = LAYERS if moved == "all" else (moved,)
    other = replace(place, **{name: getattr(place, name).to_crs("EPSG:4326") for name in names})
    one, two = laid(place), laid(other)
    assert two.grid == one.grid
    for column in ("gross_ha", "area_ha"):
        assert two.blocks[column].tolist() == pytest.approx(one.blocks[column].tolist(), rel=1e-6)
    for name in ("keep_trees", "plots"):
        assert getattr(one, name).distance(getattr(two, name)).max() < 1e-3
        assert getattr(one, name)["block_id"].equals(getattr(two, name)["block_id"])


def test_a_folder_of_geojson_in_degrees_gives_the_same_areas(place, sample):
    """The sample saved as one GeoJSON file a layer, read anew: the same areas to a millionth."""
    for name in LAYERS:
        layer = gpd.read_file(sample / "land.gpkg", layer=name).to_crs("EPSG:4326")
        layer.to_file(sample / f"{name}.geojson", driver="GeoJSON", COORDINATE_PRECISION=12)
    (sample / "land.gpkg").unlink()
    again = clearing.read(sample)
    assert again.blocks.crs.to_epsg() == 4326
    one, two = laid(place).blocks, laid(again).blocks
    assert two["area_ha"].tolist() == pytest.approx(one["area_ha"].tolist(), rel=1e-6)


def test_a_crown_that_was_measured_wins_over_the_diameter():
    """Measured, from diameter, or assumed: each crown says which."""
    trees = [
        {"tree_id": "a", "species": "white_oak", "dbh_in": 20, "crown_ft": 50},
        {"tree_id": "b", "species": "white_oak", "dbh_in": 20},
        {"tree_id": "c", "species": "white_oak"},
    ]
    trees = [tree | {"geometry": at(shapely.Point(50, 50))} for tree in trees]
    found = laid(farm([block(brush="open")], keep_trees=trees)).keep_trees
    by_dbh = float(crown_width_m("white_oak", [50.8], "open", load())[0])
    assert found["crown_m"].tolist() == pytest.approx([15.24, by_dbh, 6.0])
    assert found["crown_from"].tolist() == ["measured", "diameter", "assumed"]
    assert abs(by_dbh - 15.24) > 0.5


@settings(max_examples=25, deadline=None)
@given(st.floats(-15.0, 15.0), st.floats(3.0, 15.0))
def test_a_plot_over_the_edge_counts_the_part_inside(off, radius):
    """The part of the circle inside a straight edge is that of the circle segment's formula.

    Segment area = r^2 acos(d / r) - d sqrt(r^2 - d^2), d from centre to edge (plane geometry).
    """
    centre = at(shapely.Point(100, max(off, 0.0)))
    ground = laid(farm([block()], [{"plot_id": "p", "geometry": centre, "radius_m": radius}]))
    plot = ground.plots.iloc[0]
    d = min(plot.geometry.distance(ground.blocks.geometry[0].boundary), radius)
    outside = radius**2 * math.acos(d / radius) - d * math.sqrt(radius**2 - d**2)
    assert plot["inside_ha"] == pytest.approx((math.pi * radius**2 - outside) / 1e4, rel=1e-3)


def test_a_plot_counted_by_walkthrough_counts_whole():
    """Stems near the edge were counted twice instead (ducey_2004): the whole circle's ground."""
    spot = {"geometry": at(shapely.Point(100, 1)), "radius_m": 10.0}
    plots = [{"plot_id": edge, "edge": edge, **spot} for edge in ("inside", "walkthrough")]
    found = laid(farm([block()], plots)).plots.set_index("plot_id")["inside_ha"]
    assert found["walkthrough"] == pytest.approx(math.pi * 100 / 1e4, rel=1e-9)
    assert found["inside"] < 0.6 * found["walkthrough"]


def test_a_plot_in_the_house_or_outside_every_block_is_no_plot():
    """Nobody counts stems under a roof, nor in the neighbour's field."""
    house = {"kind": "building", "geometry": at(shapely.box(10, 10, 30, 30))}
    spots = {"roof": (20, 20), "away": (300, 50), "good": (100, 50)}
    plots = [{"plot_id": n, "geometry": at(shapely.Point(*xy))} for n, xy in spots.items()]
    assert laid(farm([block()], plots, features=[house])).plots["plot_id"].tolist() == ["good"]


def test_a_plot_with_stems_was_visited_when_nobody_says():
    """A blank in visited: counted stems say somebody stood there, none say nothing."""
    plots = [{"plot_id": n, "visited": v, "geometry": at(shapely.Point(50, 50))}
             for n, v in (("counted", None), ("blank", None), ("zero", "yes"))]  # fmt: skip
    tally = [{"plot_id": "counted", "species": "callery_pear", "dbh_in": 2, "count": 3}]
    found = laid(farm([block()], plots, tally)).plots.set_index("plot_id")["visited"]
    assert found.to_dict() == {"counted": True, "blank": False, "zero": True}


def test_what_was_taken_for_granted_is_said():
    """Goal, brush and the rest come with a note that names the blocks; what was given does not."""
    ground = laid(farm([block("north", goal="woodland"), block("south", at_east(SQUARE))]))
    notes = " / ".join(ground.notes)
    assert "goal was not given for block south: taken as pasture" in notes
    assert "brush was not given for block north, south: taken as brushy" in notes
    assert ground.blocks["ready_year"].tolist() == [2027, 2027]
    assert ground.blocks["goal"].tolist() == ["woodland", "pasture"]


def at_east(shape):
    """Return a shape 500 m further east."""
    return shapely.transform(shape, lambda points: points + np.array([500.0, 0.0]))


def test_order_of_rows_does_not_move_anything(place):
    """Blocks, trees and features shuffled: the same areas, crowns and blocks by name."""
    mixed = {
        name: getattr(place, name).sample(frac=1, random_state=3) for name in (*LAYERS, "tally")
    }
    one, two = laid(place), laid(replace(place, **mixed))
    for name, key in (("blocks", "block_id"), ("keep_trees", "tree_id"), ("plots", "plot_id")):
        left, right = (getattr(g, name).set_index(key).sort_index() for g in (one, two))
        plain = left.drop(columns="geometry")
        pd.testing.assert_frame_equal(plain, right.drop(columns="geometry"), rtol=1e-9)


def test_a_block_that_lies_wholly_in_a_pond_is_refused():
    """No ground is left to work on: said by the block's name, before anything is computed."""
    pond = {"kind": "water", "geometry": at(SQUARE.buffer(5))}
    place = farm([block("lower_field"), block("2", at_east(SQUARE))], features=[pond])
    layers = {name: getattr(place, name) for name in (*LAYERS, "strips")}
    said = land.shape_problems(layers)
    assert len(said) == 1
    assert "of block lower_field no ground is left beside building, water" in said[0]
