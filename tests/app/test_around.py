"""Setbacks, neighbors' side and crowns are the walk's own; half-finished land is no error."""

import json
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import clearing
from clearing import land, survey
from clearing.app.around import SHOWN_M, around_the_land
from clearing.files.kept import open_land
from clearing.files.reading import read_settings
from clearing.rates import for_settings
from clearing.units import M_PER_FT
from clearing.zones import draw_zones
from tests.small_ground import SETTINGS
from tests.zones.farm import GRID, RATES, at, heights, walk_features, walk_trees, zones_of

ROUNDED_M = 0.06  # half of the last decimal of a degree that the page is given
BOX = shapely.box(0, 0, 400, 400)
KINDS = ["water", "well", "building", "public_road", "trail", "property_line", "power_line",
         "crop", "neighbour_tree", "", None, "nonsense", 7]  # fmt: skip
CELLS = [None, "", "30", "30 ft", -4, 12.5, float("nan"), "abc", float("inf"), "1e400"]


def layer(shapes: list, **cells) -> gpd.GeoDataFrame:
    """Return a drawn layer of shapes about the origin."""
    return gpd.GeoDataFrame(pd.DataFrame(cells), geometry=[at(s) for s in shapes], crs=GRID)


def in_metres(shape) -> shapely.Geometry:
    """Return a shape of the page in the farm's grid."""
    parts = [
        shapely.Polygon([(x, y) for y, x in rings[0]], [[(x, y) for y, x in r] for r in rings[1:]])
        for rings in shape
    ]
    return gpd.GeoSeries([shapely.union_all(parts)], crs="EPSG:4326").to_crs(GRID).iloc[0]


def rings(settings=None, **cells) -> list[dict]:
    """Return the rings around features given by their columns; shapes are about the origin."""
    return around_the_land({"features": layer(cells.pop("shapes"), **cells)}, settings)["setbacks"]


def reach_m(ring: dict, thing: shapely.Geometry) -> float:
    """Return how far a ring reaches from a thing drawn about the origin [m]."""
    return shapely.hausdorff_distance(in_metres(ring["shape"]).union(at(thing)), at(thing))


@pytest.mark.parametrize("thing", [shapely.Point(100, 100), shapely.LineString([(0, 0), (90, 60)]),
                                   shapely.box(50, 50, 90, 70)])  # fmt: skip
def test_an_owner_s_setback_from_water_is_drawn_to_the_foot(thing):
    """Thirty feet written are thirty feet on the ground, in words and in shape, up to the bank."""
    (ring,) = rings(shapes=[thing], kind=["water"], name=["the creek"], setback_ft=["30"])
    assert (ring["words"], ring["rule"]) == ("the creek: 30 ft", "as you wrote")
    assert reach_m(ring, thing) == pytest.approx(30 * M_PER_FT, abs=0.15)
    bank = in_metres(ring["shape"]).intersection(at(thing)).area
    assert bank <= ROUNDED_M * thing.length


def test_water_without_a_word_keeps_the_handbook_s_distance():
    """The figure of the zones, and the sentence that a label may ask for more."""
    (ring,) = rings(shapes=[shapely.LineString([(0, 0), (90, 0)])], kind=["water"])
    assert ring["distance_m"] == pytest.approx(RATES.figure("zone", "water_edge_m").value)
    assert "may ask for more" in ring["rule"]


def test_stems_fall_as_far_from_a_road_as_the_zones_say():
    """One and a half times the tallest stem of the targets; the owner's own where it is larger."""
    road = [shapely.LineString([(0, 0), (400, 0)])] * 2
    asked = replace(SETTINGS, targets=("callery_pear",))
    tall = survey.class_heights("callery_pear", for_settings(asked))["all"]
    own, larger = rings(asked, shapes=road, kind=["public_road"] * 2, setback_m=[None, 90.0])
    assert own["distance_m"] == pytest.approx(1.5 * tall, abs=0.01)
    assert (larger["distance_m"], larger["rule"]) == (90.0, "as you wrote")


def test_rings_are_the_ground_that_the_zones_take():
    """Water edge of the zones lies in the rings of creek and well, and the other way round."""
    creek, well = shapely.LineString([(-50, 90), (150, 200), (450, 120)]), shapely.Point(320, 330)
    zones = zones_of(walk_features(("water", creek, 12.0), ("well", well, 40.0)))
    wet = shapely.union_all(zones.geometry[zones["flags"].str.contains("water_edge")].to_numpy())
    found = rings(shapes=[creek, well], kind=["water", "well"], setback_m=[12.0, 40.0])
    drawn = shapely.union_all([in_metres(ring["shape"]) for ring in found]).intersection(at(BOX))
    assert drawn.symmetric_difference(at(wet)).area < 0.005 * wet.area


def test_things_that_ask_for_nothing_have_no_ring():
    """A trail, a fence, a crop without a word: nothing is kept off."""
    lines = [shapely.LineString([(0, y), (90, y)]) for y in range(3)]
    assert rings(SETTINGS, shapes=lines, kind=["trail", "fence", "crop"]) == []


def test_the_neighbors_side_is_what_lies_beyond_the_line():
    """A band of the shown width around a closed line; nothing of the owner's is in it."""
    line = layer([BOX.exterior], kind=["property_line"])
    blocks = layer([shapely.box(50, 50, 200, 300)], block_id=["1"])
    found = around_the_land({"features": line, "blocks": blocks})
    side = in_metres(found["neighbours_side"]["shape"])
    assert side.intersection(at(BOX)).area < ROUNDED_M * BOX.length
    band = shapely.buffer(at(BOX), SHOWN_M, quad_segs=64).difference(at(BOX))
    assert side.area == pytest.approx(band.area, rel=0.01)
    assert found["line_note"] == ""


def test_somebody_else_s_piece_inside_is_the_neighbor_s_side():
    """A line around a piece without blocks: the piece is theirs, not all the rest."""
    piece = shapely.box(100, 100, 150, 150)
    line = layer([piece], kind=["property_line"])
    blocks = layer([BOX.difference(piece)], block_id=["1"])
    found = around_the_land({"features": line, "blocks": blocks})
    assert in_metres(found["neighbours_side"]["shape"]).area == pytest.approx(2500, rel=1e-3)


def test_an_open_line_says_how_far_its_ends_lie_apart():
    """Ends four metres apart are thirteen feet; without a line there is a sentence, too."""
    corners = [(0, 4), (0, 400), (400, 400), (400, 0), (0, 0)]
    line = layer([shapely.LineString(corners)], kind=["property_line"])
    found = around_the_land({"features": line})
    assert found["neighbours_side"] is None
    assert "two of its ends lie 13 ft apart" in found["line_note"]
    assert "no property line is drawn" in around_the_land({})["line_note"]


def test_crowns_are_those_of_the_walk(place):
    """Each keep tree of the sample has half the crown that the land room gives it."""
    home = clearing.sample_folder()
    kept, (known, _) = open_land(home), read_settings(home)
    found = around_the_land(kept.layers, known)["crowns"]
    ground = land.lay_out(place, for_settings(place.settings))
    assert found == pytest.approx(ground.keep_trees["crown_m"].to_numpy(float) / 2, abs=0.006)


def test_a_tree_without_a_place_keeps_its_row():
    """The second of three has no shape: none for it, and the others are as they were."""
    trees = layer([shapely.Point(0, 0), shapely.Point(), shapely.Point(9, 9)],
                  species=["white_oak"] * 3, crown_ft=[40, 40, 20])  # fmt: skip
    found = around_the_land({"keep_trees": trees})["crowns"]
    assert found == [pytest.approx(20 * M_PER_FT, abs=0.01), None,
                     pytest.approx(10 * M_PER_FT, abs=0.01)]  # fmt: skip


def test_layers_may_lie_in_different_systems():
    """The same creek in degrees and in metres gives the same ring, to a hand's breadth."""
    shape = [shapely.LineString([(0, 0), (200, 80)])]
    metres = layer(shape, kind=["water"], setback_m=[20])
    blocks = layer([BOX], block_id=["1"])
    both = [
        around_the_land({"features": features, "blocks": blocks})["setbacks"][0]
        for features in (metres, metres.to_crs("EPSG:4326"))
    ]
    one, two = (in_metres(ring["shape"]) for ring in both)
    assert shapely.hausdorff_distance(one, two) < 0.3


def test_a_cell_that_is_no_number_is_passed_over_and_said():
    """The handbook's distance is drawn, and a note names the thing and the cell."""
    shape = [shapely.Point(0, 0)]
    found = around_the_land({"features": layer(shape, kind=["well"], setback_ft=["ten"])})
    default = RATES.figure("zone", "well_m").value
    assert found["setbacks"][0]["distance_m"] == pytest.approx(default)
    assert found["notes"] == ["well: distance to keep 'ten' is passed over; write a number of 0 "
                              "or more"]  # fmt: skip


def any_shape(draw: np.random.Generator) -> shapely.Geometry | None:
    """Return a shape such as a hand that is not done may leave."""
    points = draw.uniform(0, 300, (int(draw.integers(2, 7)), 2))
    ring = np.vstack([points, points[:1], points[:1]])
    return [
        None, shapely.Point(), shapely.Point(points[0]), shapely.Point(float("nan"), 3),
        shapely.Point(1e9, 1e9), shapely.LineString(points), shapely.LineString(points[[0, 0]]),
        shapely.LineString(np.column_stack([points, points[:, 0]])), shapely.Polygon(ring),
        shapely.MultiPoint(points), shapely.MultiPolygon([shapely.Polygon(ring)]),
        shapely.GeometryCollection([shapely.Point(1, 2), shapely.LineString(points)]),
    ][int(draw.integers(12))]  # fmt: skip


@settings(max_examples=40)
@given(st.integers(0, 10**6))
def test_half_finished_land_is_never_an_error(seed):
    """Whatever shapes, cells, columns and systems: an answer in plain JSON, a crown a row."""
    draw = np.random.default_rng(seed)
    columns = {"features": ["kind", "name", "setback_ft"], "blocks": ["brush", "targets"],
               "keep_trees": ["tree_id", "species", "dbh_in", "crown_m"]}  # fmt: skip
    layers = {}
    for name, held in columns.items():
        rows = int(draw.integers(0, 9))
        cells = {}
        for column in held:
            choices = KINDS if column == "kind" else CELLS
            if draw.random() < 0.7:
                cells[column] = [choices[int(draw.integers(len(choices)))] for _ in range(rows)]
        crs = [GRID, "EPSG:4326", "EPSG:2246", None][int(draw.integers(4))]
        shapes = [any_shape(draw) for _ in range(rows)]
        if crs == GRID:
            shapes = [None if shape is None else at(shape) for shape in shapes]
        table = pd.DataFrame(cells, index=range(rows))
        layers[name] = gpd.GeoDataFrame(table, geometry=shapes, crs=crs)
    found = around_the_land(layers, SETTINGS if seed % 2 else None)
    json.dumps(found, allow_nan=False)
    assert len(found["crowns"]) == len(layers["keep_trees"])


def test_zones_of_tall_stems_lie_in_the_ring_of_the_tallest():
    """No ground within reach of a road, class by class, lies outside the ring on the page."""
    road = shapely.LineString([(-50, 60), (450, 110)])
    tall = survey.class_heights("callery_pear", RATES)
    stock = heights(upper=[tall[size] for size in heights()["size_class"]])
    strip = gpd.GeoDataFrame({"strip_id": ["1"], "block_id": ["1"]}, geometry=[BOX], crs=GRID)
    zones = draw_zones(strip, walk_features(("public_road", road)), walk_trees(), stock, RATES)
    held = shapely.union_all(zones.geometry[zones["flags"] == "fall_reach"].to_numpy())
    asked = replace(SETTINGS, targets=("callery_pear",))
    (ring,) = rings(asked, shapes=[road], kind=["public_road"])
    outside = at(held).difference(shapely.buffer(in_metres(ring["shape"]), 0.2))
    assert outside.area < 1e-3
