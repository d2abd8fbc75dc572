"""Areas are split along a line and joined again; corners are shared and nothing is lost."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Polygon, box

from clearing.land.parting import join_areas, join_in_layer, split_area, split_in_layer

BLOCK = box(0, 0, 100, 60)


def same_shape(one, two) -> bool:
    """Return whether two shapes have the same corners to the bit."""
    return bool(shapely.equals_exact(shapely.normalize(one), shapely.normalize(two), 0.0))


def at_random(seed: int) -> tuple[Polygon, LineString]:
    """Return a polygon and a line of three legs across it."""
    random = np.random.default_rng(seed)
    angle = np.sort(random.random(12)) * 2 * np.pi
    reach = 60 + 40 * random.random(12)
    ring = reach[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    turn = random.random() * np.pi
    way = np.array([np.cos(turn), np.sin(turn)])
    legs = np.array([-150, -30, 30, 150])[:, None] * way + random.normal(0, 10, (4, 2))
    return Polygon(ring), LineString(legs)


@given(st.integers(0, 10**9))
def test_pieces_are_the_whole_and_share_corners(seed):
    """Areas add up, the union is the area that was, and GEOS finds a valid coverage."""
    shape, line = at_random(seed)
    assume(shape.is_valid)
    try:
        pieces = split_area(shape, line)
    except ValueError as refused:
        assume("sliver" not in str(refused) and "does not cross" not in str(refused))
        raise
    assert sum(piece.area for piece in pieces) == pytest.approx(shape.area, rel=1e-12)
    assert shapely.coverage_is_valid(pieces)
    assert shapely.symmetric_difference(shapely.coverage_union_all(pieces), shape).area < 1e-6
    assert [piece.area for piece in pieces] == sorted((p.area for p in pieces), reverse=True)


@given(st.integers(0, 10**9))
def test_joining_what_was_split_gives_back_the_area(seed):
    """Split and joined: the ground and the corners that were."""
    shape, line = at_random(seed)
    assume(shape.is_valid)
    try:
        pieces = split_area(shape, line)
    except ValueError:
        assume(False)
    assume(len(pieces) == 2)
    assert shapely.equals_exact(
        shapely.normalize(join_areas(*pieces)), shapely.normalize(shape), 1e-6
    )


def test_neighbours_on_the_edge_get_the_new_corner():
    """A line that ends on a shared edge puts its corner into the block on the other side."""
    layer = {"1": BLOCK, "2": box(0, -50, 100, 0), "3": box(300, 0, 400, 50)}
    pieces, given_to = split_in_layer("1", LineString([(40, -5), (50, 65)]), layer)
    assert list(given_to) == ["2"]
    assert given_to["2"].equals(layer["2"])
    assert shapely.coverage_is_valid([*pieces, given_to["2"]])


def test_a_line_that_stops_short_is_drawn_on():
    """Ends within fifteen metres of the edge reach it along their last leg."""
    pieces = split_area(BLOCK, LineString([(40, 8), (40, 50)]))
    assert [piece.area for piece in pieces] == pytest.approx([3600, 2400])


def test_a_line_near_a_corner_goes_through_it():
    """Forty centimetres beside a corner leave no sliver there."""
    pieces = split_area(BLOCK, LineString([(0.3, -4), (0.3, 0.2), (100, 60.2)]))
    assert [piece.area for piece in pieces] == pytest.approx([3000, 3000], rel=0.01)
    assert all((0.0, 0.0) in piece.exterior.coords for piece in pieces)


def test_a_part_that_the_line_does_not_touch_stays_with_the_largest():
    """A block in two parts, one of them split: nothing of it goes astray."""
    far = box(200, 0, 220, 20)
    pieces = split_area(shapely.MultiPolygon([BLOCK, far]), LineString([(30, -5), (30, 65)]))
    assert [piece.area for piece in pieces] == pytest.approx([4200 + 400, 1800])


def test_a_hole_stays_a_hole():
    """A line through a block with a pond left out leaves the pond out of both pieces."""
    ring = BLOCK.difference(box(40, 20, 60, 40))
    pieces = split_area(ring, LineString([(50, -5), (50, 65)]))
    assert shapely.union_all(pieces).equals(ring)
    assert len(pieces) == 2


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ([(40, 10), (40, 30)], "ends inside block 1; draw it on to the edge"),
        ([(200, 0), (200, 60)], "does not cross block 1; draw it from edge to edge"),
        ([(0, -1), (100, -1)], "does not cross block 1"),
        ([(-1, 4), (4, -1)], "cuts off a sliver of block 1"),
        ([(5, 5), (5, 5)], "has no length"),
    ],
)
def test_a_line_that_splits_nothing_is_refused_with_what_to_do(line, words):
    """Inside, beside, along the edge, over a corner, or a mere dot."""
    with pytest.raises(ValueError, match=words):
        split_area(BLOCK, LineString(line), "1")


@pytest.mark.parametrize("gap", [0.0, 0.4, 1.9])
def test_areas_side_by_side_become_one(gap):
    """Up to two metres apart: the ground between goes with them, and no hole is left."""
    whole = join_areas(BLOCK, box(100 + gap, 0, 180, 60))
    assert whole.equals(box(0, 0, 180, 60))


def test_a_gap_between_edges_of_unlike_length_is_filled_where_they_face_each_other():
    """Of a short block beside a long one only the ground between the two is taken."""
    whole = join_areas(BLOCK, box(101, 10, 180, 50))
    between = whole.difference(shapely.union_all([BLOCK, box(101, 10, 180, 50)]))
    assert whole.geom_type == "Polygon"
    assert 40.0 - 1e-9 <= between.area <= 41.0


def test_corners_that_a_neighbour_has_stay_and_others_go():
    """The end of the old border is needed where a third block has it, and nowhere else."""
    layer = {
        "1": BLOCK, "2": box(100, 0, 200, 60),
        "3": Polygon([(0, 60), (100, 60), (200, 60), (200, 90), (0, 90)]),
    }  # fmt: skip
    whole, given_to = join_in_layer("1", "2", layer)
    assert same_shape(whole, Polygon([(0, 0), (200, 0), (200, 60), (100, 60), (0, 60)]))
    assert given_to == {}


@pytest.mark.parametrize(
    "other", [box(103, 0, 180, 60), box(100, 60, 180, 90), box(500, 500, 600, 600)]
)
def test_areas_apart_are_not_joined(other):
    """Three metres off, or meeting in a corner alone, they do not lie side by side."""
    words = "block 2 and block 5 do not touch; only blocks that lie side by side can be joined"
    with pytest.raises(ValueError, match=words):
        join_in_layer("2", "5", {"2": BLOCK, "5": other})


def test_the_ground_of_a_third_is_not_taken_by_joining():
    """A strip of somebody else in the gap between keeps its ground."""
    lane = box(100, 0, 101, 30)
    whole, _ = join_in_layer("1", "2", {"1": BLOCK, "2": box(101, 0, 180, 60), "3": lane})
    assert shapely.intersection(whole, lane).area < 1e-9
    assert whole.area == pytest.approx(60 * 180 - 30)
