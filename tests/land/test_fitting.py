"""A drawn shape is fitted to its neighbours: same corners, no gap, no overlap, and it is said."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Polygon, box

from clearing.land.fitting import CORNER_M, PIECE_M2, fit_areas, fit_strip

SIDE = 100.0
LEFT = box(0, 0, SIDE, SIDE)


def star(random: np.random.Generator, size: float) -> Polygon:
    """Return a polygon drawn round a middle, with up to twenty corners."""
    angle = np.sort(random.random(random.integers(4, 20))) * 2 * np.pi
    reach = size * (0.3 + 0.7 * random.random(len(angle)))
    middle = random.random(2) * 300
    return Polygon(middle + reach[:, None] * np.column_stack([np.cos(angle), np.sin(angle)]))


def neighbours(random: np.random.Generator) -> dict[str, Polygon]:
    """Return some cells of a Voronoi map: blocks that share edges and corners."""
    points = shapely.MultiPoint(random.random((10, 2)) * 300)
    cells = shapely.get_parts(shapely.voronoi_polygons(points, extend_to=box(-50, -50, 350, 350)))
    return {str(i + 1): cell for i, cell in enumerate(cells) if random.random() < 0.7}


def fitted_at_random(seed: int):
    """Return a drawn shape, its neighbours before, and what came of it (examples that fit)."""
    random = np.random.default_rng(seed)
    drawn, others = star(random, random.choice([30, 80, 200])), neighbours(random)
    assume(drawn.is_valid and drawn.area > 100)
    try:
        return drawn, others, fit_areas({"new": drawn}, others)
    except ValueError as refused:
        assume("lies wholly" not in str(refused))
        raise


def same_shape(one, two) -> bool:
    """Return whether two shapes have the same corners to the bit."""
    return bool(shapely.equals_exact(shapely.normalize(one), shapely.normalize(two), 0.0))


seeds = given(st.integers(0, 10**9))


@seeds
def test_neighbours_keep_their_ground(seed):
    """The drawn shape yields: every other area is as large as it was, to a millionth of a m2."""
    _, others, fitted = fitted_at_random(seed)
    for name, shape in fitted.neighbours.items():
        assert shape.area == pytest.approx(others[name].area, abs=1e-6)
        assert shapely.symmetric_difference(shape, others[name]).area < 1e-6


@seeds
def test_a_shared_edge_has_the_same_corners_on_both_sides(seed):
    """The coverage check of GEOS finds no gap, overlap or missing corner between the two."""
    _, others, fitted = fitted_at_random(seed)
    new = fitted.shapes["new"]
    assert new.is_valid
    for other in (others | fitted.neighbours).values():
        assert shapely.coverage_is_valid([new, other])
        assert shapely.intersection(new, other).area < 1e-6


@seeds
def test_areas_add_up_to_the_ground_that_was_drawn_over(seed):
    """The union of all is the union of what was drawn, but for half a metre along its outline."""
    drawn, others, fitted = fitted_at_random(seed)
    before = shapely.union_all([drawn, *others.values()])
    after = shapely.union_all([fitted.shapes["new"], *(others | fitted.neighbours).values()])
    loose = shapely.get_parts(shapely.difference(drawn, shapely.union_all(list(others.values()))))
    slips = sum(part.area for part in loose if part.area < 2 * PIECE_M2 or _narrow(part))
    apart = shapely.symmetric_difference(before, after).area
    assert apart <= CORNER_M * drawn.length + slips


def _narrow(part: Polygon) -> bool:
    """Return whether a piece is narrower than corners may move."""
    return 2 * part.area <= 2 * CORNER_M * part.length


@seeds
def test_fitting_again_changes_nothing(seed):
    """What was fitted fits."""
    _, others, fitted = fitted_at_random(seed)
    again = fit_areas(fitted.shapes, others | fitted.neighbours)
    assert same_shape(again.shapes["new"], fitted.shapes["new"])
    assert (again.neighbours, again.changes) == ({}, ())


@seeds
def test_the_order_of_the_others_does_not_matter(seed):
    """The same bits whichever way the layer is sorted."""
    drawn, others, fitted = fitted_at_random(seed)
    turned = fit_areas({"new": drawn}, dict(reversed(others.items())))
    assert same_shape(turned.shapes["new"], fitted.shapes["new"])
    assert sorted(turned.neighbours) == sorted(fitted.neighbours)


@given(st.integers(0, 40), st.integers(-30, 30), st.integers(1, 60))
def test_blocks_on_whole_metres_are_cut_exactly(over, down, high):
    """Nothing is near enough to be drawn together: what is left is plain set difference."""
    drawn = box(SIDE - over, down, SIDE + 80, down + high + 20)
    fitted = fit_areas({"2": drawn}, {"1": LEFT})
    assert fitted.shapes["2"].equals(drawn.difference(LEFT))


@pytest.mark.parametrize("apart", [-0.4, -0.1, 0.0, 0.1, 0.4])
def test_an_edge_drawn_beside_anothers_becomes_its_edge(apart):
    """Up to half a metre off on either side, with corners of its own: no gap, no overlap."""
    drawn = box(SIDE + apart, 20, SIDE + 90, 80)
    fitted = fit_areas({"2": drawn}, {"1": LEFT})
    assert fitted.shapes["2"].equals(box(SIDE, 20, SIDE + 90, 80))
    assert fitted.neighbours["1"].equals(LEFT)
    assert {(100.0, 20.0), (100.0, 80.0)} <= set(fitted.neighbours["1"].exterior.coords)


def test_a_gap_wider_than_that_stays():
    """A lane between two blocks is meant."""
    drawn = box(SIDE + 0.6, 20, SIDE + 90, 80)
    fitted = fit_areas({"2": drawn}, {"1": LEFT})
    assert same_shape(fitted.shapes["2"], drawn)
    assert (fitted.neighbours, fitted.changes) == ({}, ())


def test_a_corner_between_two_neighbours_is_put_into_both():
    """A third block that touches the edge of two gets its corner into each of them."""
    two = box(0, SIDE, SIDE, 2 * SIDE)
    fitted = fit_areas({"3": box(SIDE, 60, 180, 140)}, {"1": LEFT, "2": two})
    assert (100.0, 60.0) in fitted.neighbours["1"].exterior.coords
    assert (100.0, 140.0) in fitted.neighbours["2"].exterior.coords
    assert (100.0, 100.0) in fitted.shapes["3"].exterior.coords
    assert shapely.coverage_is_valid([fitted.shapes["3"], *fitted.neighbours.values()])


def test_a_corner_dragged_for_two_blocks_stays_one_corner():
    """Both shapes of one stroke come back with the same place, and a third yields nothing."""
    moved = (104.0, 103.0)
    one = Polygon([(0, 0), (100, 0), moved, (0, 100)])
    two = Polygon([(100, 0), (200, 0), (200, 100), moved])
    top = Polygon([(0, 100), moved, (200, 100), (200, 200), (0, 200)])
    fitted = fit_areas({"1": one, "2": two, "3": top}, {})
    assert all(moved in shape.exterior.coords for shape in fitted.shapes.values())
    assert shapely.coverage_is_valid(list(fitted.shapes.values()))
    assert fitted.changes == ()


def test_a_shape_round_another_gets_a_hole():
    """The block inside keeps its ground, and that is said with its area."""
    fitted = fit_areas({"9": box(-20, -20, 120, 120)}, {"1": LEFT})
    [change] = fitted.changes
    assert fitted.shapes["9"].equals(box(-20, -20, 120, 120).difference(LEFT))
    assert (change.id, change.words) == ("9", "block 1 lies inside it and keeps its ground")
    assert change.area_m2 == pytest.approx(-10_000)


def test_a_shape_that_is_cut_in_two_keeps_both_parts():
    """A block drawn across another lies on both sides of it, and that is said."""
    fitted = fit_areas({"9": box(-50, 40, 150, 60)}, {"1": LEFT})
    words = [change.words for change in fitted.changes]
    assert fitted.shapes["9"].geom_type == "MultiPolygon"
    assert words == ["the part over block 1 was cut off", "it lies in 2 parts now"]


def test_loose_pieces_of_a_few_square_metres_are_left_out_and_said():
    """A finger that slipped 20 cm over the far side leaves no crumb there."""
    fitted = fit_areas({"9": box(-50, 40, 100.6, 44)}, {"1": LEFT})
    assert fitted.shapes["9"].equals(box(-50, 40, 0, 44))
    words = {change.words for change in fitted.changes}
    assert "the part over block 1 was cut off" in words


@seeds
def test_what_is_said_adds_up(seed):
    """The areas of the changes add up to the change of the shape, but for what is not worth it."""
    drawn, others, fitted = fitted_at_random(seed)
    said = sum(change.area_m2 for change in fitted.changes)
    change = fitted.shapes["new"].area - drawn.area
    assert said == pytest.approx(change, abs=1.0 * (len(others) + 6) + 0.1 * drawn.length)
    assert all(change.where.area == pytest.approx(abs(change.area_m2), rel=0.01, abs=0.1)
               for change in fitted.changes if change.area_m2)  # fmt: skip


@pytest.mark.parametrize(
    ("drawn", "words"),
    [
        (box(20, 20, 60, 60), "block 9 lies wholly inside block 1; to part block 1, split it"),
        (box(20, 20, 60, 160), "block 9 lies wholly on block 1 and block 2; split them"),
        (Polygon([(200, 0), (300, 100), (300, 0), (200, 100)]), "crosses itself, so that"),
        (Polygon([(200, 0), (300, 100), (200, 0)]), "has no ground inside; draw three corners"),
        (box(200, 0, 202, 2), "block 9 has hardly any ground inside; draw it larger"),
        (shapely.LineString([(0, 0), (1, 1)]), "has no ground inside; draw three corners"),
        (Polygon(), "has no ground inside; draw three corners"),
    ],
)
def test_what_nothing_can_be_made_of_is_refused_with_what_to_do(drawn, words):
    """Wholly on others, crossing itself, without ground: a sentence by the owner's names."""
    others = {"1": LEFT, "2": box(0, SIDE, SIDE, 2 * SIDE)}
    with pytest.raises(ValueError, match=words):
        fit_areas({"9": drawn}, others)


def test_a_strip_is_cut_to_its_block_and_to_the_other_strips():
    """It belongs to the block with most of it, and shares corners with the strip beside it."""
    strips, blocks = {"t": box(0, 39, 100, 60)}, {"1": LEFT, "2": box(100, 0, 200, 100)}
    block, fitted = fit_strip("s", box(-10, 20, 110, 40), strips, blocks)
    words = [change.words for change in fitted.changes]
    assert block == "1"
    assert fitted.shapes["s"].equals(box(0, 20, 100, 39))
    assert words == ["the part outside block 1 was cut off", "the part over strip t was cut off"]


def test_a_strip_on_no_block_is_refused():
    """There is nothing that it could be a part of."""
    with pytest.raises(ValueError, match="strip s lies on no block; draw it on the block"):
        fit_strip("s", box(300, 0, 400, 50), {}, {"1": LEFT})


@seeds
def test_strips_drawn_over_a_block_one_after_another_never_overlap(seed):
    """Each lies in its block and yields to those before it; together they stay a coverage."""
    random = np.random.default_rng(seed)
    block, strips = star(random, 150), {}
    assume(block.is_valid)
    for number in range(3):
        drawn = star(random, 90)
        assume(drawn.is_valid and drawn.area > 100)
        try:
            _, fitted = fit_strip(str(number), drawn, strips, {"1": block})
        except ValueError:
            continue
        strips |= fitted.neighbours | fitted.shapes
    for name, shape in strips.items():
        rest = [other for each, other in strips.items() if each != name]
        assert shapely.difference(shape, block).area < 1e-6
        assert shapely.intersection(shape, shapely.union_all(rest)).area < 1e-6
