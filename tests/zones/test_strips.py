"""Strips tile their block, are worth a season, and repeat themselves."""

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing import land
from clearing.rates import for_settings
from clearing.zones import cut_strips
from tests.zones.farm import at, blob, farm, owner_layer, walk_blocks, walk_features

SEEDS = st.integers(0, 100_000)
WISHES = st.floats(0.1, 2.0)
NOTHING = walk_features()
NO_STRIPS = owner_layer("strips", [])


def creek(seed: int) -> shapely.LineString:
    """Return a crooked line across the blocks of `blob`."""
    north = np.random.default_rng(seed).uniform(-120, 120, 9)
    return shapely.LineString(np.column_stack([np.linspace(-500, 500, 9), north]))


def off(shape: shapely.Geometry, strips) -> float:
    """Return the area that strips and block do not share, and what strips share, of the block."""
    union = strips.geometry.union_all()
    return (
        shape.symmetric_difference(union).area + abs(strips.area.sum() - union.area)
    ) / shape.area


@settings(max_examples=40, deadline=None)
@given(SEEDS, WISHES)
def test_strips_tile_their_block(seed, wish):
    """Cut across or along a creek, the strips are the block: no gap, no overlap."""
    shape = blob(seed)
    for features in (NOTHING, walk_features(("water", creek(seed)))):
        strips = cut_strips(walk_blocks(shape), features, NO_STRIPS, wish)
        assert off(shape, strips) < 1e-9
        assert strips["area_ha"].sum() == pytest.approx(shape.area / 1e4, rel=1e-9)
        assert shapely.coverage_is_valid(strips.geometry.to_numpy())


@settings(max_examples=40, deadline=None)
@given(SEEDS, WISHES)
def test_no_strip_is_a_sliver_or_in_two_places(seed, wish):
    """A strip of several holds a third of the wish at least, and a crew walks it in one piece."""
    for features in (NOTHING, walk_features(("trail", creek(seed)))):
        strips = cut_strips(walk_blocks(blob(seed)), features, NO_STRIPS, wish)
        assert set(strips.geom_type) == {"Polygon"}
        if len(strips) > 1:
            assert strips["area_ha"].min() >= 0.35 * wish


@settings(max_examples=20, deadline=None)
@given(SEEDS)
def test_a_block_smaller_than_the_wish_stays_whole(seed):
    """It keeps its own id, name and shape, whatever lines run through it."""
    shape = blob(seed)
    features = walk_features(("fence", creek(seed)))
    strips = cut_strips(walk_blocks(shape), features, NO_STRIPS, shape.area / 1e4)
    assert strips["strip_id"].tolist() == ["1"]
    assert strips.geometry[0].equals(shape)


@settings(max_examples=10, deadline=None)
@given(SEEDS, WISHES)
def test_cutting_twice_gives_the_same_strips(seed, wish):
    """Same block, same wish: the very same corners and ids."""
    asked = (walk_blocks(blob(seed)), walk_features(("water", creek(seed))), NO_STRIPS, wish)
    one, two = cut_strips(*asked), cut_strips(*asked)
    assert one.drop(columns="geometry").equals(two.drop(columns="geometry"))
    assert shapely.equals_identical(one.geometry.values, two.geometry.values).all()


def test_a_creek_is_an_edge_before_any_other_cut():
    """A block with a creek across its middle is cut at the creek."""
    features = walk_features(("water", shapely.LineString([(100, -10), (100, 110)])))
    strips = cut_strips(walk_blocks(shapely.box(0, 0, 210, 100)), features, NO_STRIPS, 1.0)
    assert sorted(strips.area) == pytest.approx([10_000, 11_000])


def test_the_first_strip_lies_at_the_gate():
    """Strips are lettered from the way in."""
    features = walk_features(("gate", shapely.Point(305, 50)))
    strips = cut_strips(walk_blocks(shapely.box(0, 0, 300, 100)), features, NO_STRIPS, 1.0)
    assert strips["strip_id"].tolist() == ["1a", "1b", "1c"]
    assert strips["way_in_m"].tolist() == pytest.approx([5, 105, 205])


def test_a_big_block_has_a_name_for_every_strip():
    """Two hundred strips of one block have two hundred ids."""
    strips = cut_strips(walk_blocks(shapely.box(0, 0, 2000, 100)), NOTHING, NO_STRIPS, 0.1)
    assert len(strips) == 200
    assert strips["strip_id"].is_unique


def test_a_block_named_like_a_strip_does_not_take_its_name():
    """Block 4 in two strips beside a block that the owner calls 4a: three ids."""
    blocks = walk_blocks(shapely.box(0, 0, 200, 100), shapely.box(300, 0, 400, 100))
    blocks["block_id"] = ["4", "4a"]
    strips = cut_strips(blocks, NOTHING, NO_STRIPS, 1.0)
    assert len(strips) == 3
    assert strips["strip_id"].is_unique
    assert strips.loc[strips["block_id"] == "4a", "strip_id"].tolist() == ["4a"]


def owner_cut(*shapes: shapely.Geometry, name: str | None = "by the barn"):
    """Return strips of a block of two hectares in which the owner drew some."""
    block = {"block_id": "1", "geometry": at(shapely.box(0, 0, 200, 100))}
    drawn = [{"strip_id": f"s{i}", "block_id": "1", "geometry": at(shape), "name": name}
             for i, shape in enumerate(shapes)]  # fmt: skip
    place = farm([block], strips=drawn)
    ground = land.lay_out(place, for_settings(place.settings))
    return cut_strips(ground.blocks, ground.features, ground.strips, 0.6), ground.blocks


def test_the_owners_own_strips_are_kept():
    """The owner's cut stands, however many acres were wished for; the rest is one more strip."""
    strips, blocks = owner_cut(shapely.box(0, 0, 50, 100), shapely.box(50, 0, 120, 100))
    assert strips["strip_id"].tolist() == ["s0", "s1", "1rest"]
    assert strips["area_ha"].tolist() == pytest.approx([0.5, 0.7, 0.8], rel=2e-3)
    assert strips["name"].tolist()[:2] == ["by the barn", "by the barn"]
    assert off(blocks.geometry[0], strips) < 1e-9


def test_the_owners_strip_without_a_name_goes_by_its_id():
    """A name is optional."""
    strips, _ = owner_cut(shapely.box(0, 0, 50, 100), name=None)
    assert strips["name"].tolist()[0] == "s0"


def test_the_owners_strips_over_each_other_and_over_the_edge_still_tile():
    """Ground drawn twice belongs to the first strip, ground outside the block to none."""
    strips, blocks = owner_cut(shapely.box(-9, -9, 90, 109), shapely.box(60, 0, 210, 105))
    assert strips["strip_id"].tolist() == ["s0", "s1"]
    assert off(blocks.geometry[0], strips) < 1e-6


def test_an_owners_strip_that_lies_wholly_in_an_earlier_one_has_no_ground():
    """It is no strip, and the others tile the block without it."""
    strips, blocks = owner_cut(
        shapely.box(0, 0, 90, 100), shapely.box(10, 10, 80, 90), shapely.box(90, 0, 200, 100)
    )
    assert strips["strip_id"].tolist() == ["s0", "s2"]
    assert off(blocks.geometry[0], strips) < 1e-9


def test_slips_between_the_owners_strips_lie_with_the_strip_beside_them():
    """A gap of a metre that nobody meant is no strip of its own."""
    strips, blocks = owner_cut(shapely.box(0, 0, 99, 100), shapely.box(100, 0, 200, 100))
    assert strips["strip_id"].tolist() == ["s0", "s1"]
    assert off(blocks.geometry[0], strips) < 1e-9


def test_what_the_owners_strips_leave_is_cut_like_a_block():
    """Of two hectares a fifth is drawn: the rest is cut near the wish, with names of its own."""
    strips, blocks = owner_cut(shapely.box(0, 0, 40, 100))
    assert strips["strip_id"].tolist() == ["s0", "1rest-a", "1rest-b", "1rest-c"]
    assert off(blocks.geometry[0], strips) < 1e-9


def cut(shape: shapely.Geometry, wish: float, *features: tuple):
    """Return the strips of one block."""
    return cut_strips(walk_blocks(shape), walk_features(*features), NO_STRIPS, wish)


def holds(strips, shape: shapely.Geometry, wish: float, least: float = 0.5) -> bool:
    """Return whether strips tile a block, each in one piece and between half and 1.5 the wish."""
    assert off(shape, strips) < 1e-9
    assert set(strips.geom_type) == {"Polygon"}
    share = strips["area_ha"] / wish
    return bool(share.between(least, 1.5).all())


SHAPES = {
    "L": shapely.Polygon([(0, 0), (400, 0), (400, 80), (80, 80), (80, 500), (0, 500)]),
    "U": shapely.Polygon(
        [(0, 0), (300, 0), (300, 400), (220, 400), (220, 90), (80, 90), (80, 400), (0, 400)]
    ),
    "comb": shapely.union_all(
        [shapely.box(0, 0, 600, 60), *(shapely.box(x, 60, x + 40, 300) for x in range(0, 600, 80))]
    ),
    "ring": shapely.Point(0, 0).buffer(200).difference(shapely.Point(0, 0).buffer(120)),
    "lane": shapely.box(0, 0, 3000, 12),
}


@pytest.mark.parametrize("wish", [0.4, 1.0, 2.5])
@pytest.mark.parametrize("name", SHAPES)
def test_crooked_blocks_are_cut_into_whole_pieces_near_the_wish(name, wish):
    """L, U, comb, ring and lane: each strip in one piece, half to one and a half times the wish."""
    assert holds(cut(SHAPES[name], wish, ("gate", shapely.Point(0, 500))), SHAPES[name], wish)


def star(seed: int) -> shapely.Polygon:
    """Return a star of many uneven points."""
    draw = np.random.default_rng(seed)
    turns = np.sort(draw.uniform(0, 2 * np.pi, int(draw.integers(6, 26))))
    far = draw.uniform(60, 320, len(turns))
    shape = shapely.Polygon(np.column_stack([np.cos(turns) * far, np.sin(turns) * far]))
    return max(shapely.get_parts(shapely.make_valid(shape)), key=lambda part: part.area)


@pytest.mark.parametrize("line", ["none", "creek"])
def test_nine_strips_in_ten_lie_between_half_and_one_and_a_half_wishes(line):
    """A hundred stars, with and without a creek through them, at a wish of 0.8 ha."""
    share = []
    for seed in range(100):
        features = [("water", creek(seed))] if line == "creek" else []
        strips = cut(star(seed), 0.8, *features)
        assert off(star(seed), strips) < 1e-9
        share += [*(strips["area_ha"] / 0.8)] if len(strips) > 1 else []
    share = np.array(share)
    assert len(share) > 900
    assert ((share >= 0.5) & (share <= 1.5)).mean() > 0.97
    assert share.min() >= 0.35


def test_a_pond_in_the_middle_is_in_no_strip():
    """A block with a hole: no strip reaches over it, none is lost."""
    shape = shapely.box(0, 0, 300, 300).difference(shapely.Point(150, 150).buffer(60))
    strips = cut(shape, 1.0)
    assert holds(strips, shape, 1.0)
    assert not strips.intersects(shapely.Point(150, 150).buffer(59)).any()


def test_an_island_in_the_pond_is_a_strip_or_lies_with_the_nearest():
    """An island block of 0.8 ha is one more strip; one of 0.03 ha is a scrap of its neighbour."""
    for radius, parts in ((50, 1), (10, 2)):
        island = shapely.Point(200, 200).buffer(radius)
        water = shapely.Point(200, 200).buffer(70)
        shape = shapely.box(0, 0, 400, 400).difference(water).union(island)
        strips = cut(shape, 1.0)
        assert off(shape, strips) < 1e-9
        home = strips[strips.intersects(shapely.Point(200, 200))].geometry.iloc[0]
        assert len(shapely.get_parts(home)) == parts


def test_a_block_in_two_big_parts_is_two_strips():
    """Two pieces of 0.6 ha across a creek drawn as an area: a crew does one and then the other."""
    creek_area = shapely.box(60, -10, 64, 110)
    strips = cut(shapely.box(0, 0, 124, 100).difference(creek_area), 1.0)
    assert strips["area_ha"].tolist() == pytest.approx([0.6, 0.6])


def test_a_line_that_ends_inside_a_block_cuts_nothing():
    """A fence to the middle of the block leaves the strips as they would be without it."""
    shape = shapely.box(0, 0, 300, 100)
    fence = shapely.LineString([(40, -10), (40, 60)])
    plain, dead_end = cut(shape, 1.0), cut(shape, 1.0, ("fence", fence))
    assert dead_end.area.tolist() == pytest.approx(plain.area.tolist())
    assert dead_end["area_ha"].tolist() == pytest.approx([1.0, 1.0, 1.0])


def test_a_fence_drawn_two_metres_short_of_the_edge_was_meant_to_meet_it():
    """A line that ends within 3 m of the edge cuts; one that ends 4 m off does not."""
    shape = shapely.box(0, 0, 210, 100)
    for short, areas in ((2.0, [1.0, 1.1]), (4.0, [1.05, 1.05])):
        fence = shapely.LineString([(100, short), (100, 100 - short)])
        strips = cut(shape, 1.0, ("fence", fence))
        assert sorted(strips["area_ha"]) == pytest.approx(areas)


def test_two_lines_that_cross_make_four_strips():
    """A creek and a fence across each other: each quarter is a strip."""
    lines = [shapely.LineString([(-10, 110), (250, 110)]),
             shapely.LineString([(95, -10), (95, 250)])]  # fmt: skip
    strips = cut(shapely.box(0, 0, 200, 200), 1.0, ("water", lines[0]), ("fence", lines[1]))
    quarters = [95 * 90, 95 * 110, 105 * 90, 105 * 110]
    assert sorted(strips.area) == pytest.approx(sorted(quarters))


@pytest.mark.parametrize("kind", ["farm_road", "public_road", "trail"])
def test_a_road_drawn_as_an_area_cuts_and_is_no_strip_itself(kind):
    """Ground of the road lies with one side."""
    road = shapely.box(-10, 96, 220, 100)
    strips = cut(shapely.box(0, 0, 200, 200), 2.0, (kind, road))
    assert sorted(strips.area) in (
        pytest.approx([200 * 96, 200 * 104]), pytest.approx([200 * 100, 200 * 100])
    )  # fmt: skip


def test_a_line_along_the_edge_leaves_no_sliver():
    """A fence a metre inside the block's edge, end to end: one strip all the same."""
    fence = shapely.LineString([(1, -5), (1, 105)])
    strips = cut(shapely.box(0, 0, 200, 100), 1.0, ("fence", fence))
    assert holds(strips, shapely.box(0, 0, 200, 100), 1.0)


@settings(max_examples=15, deadline=None)
@given(SEEDS, st.permutations(range(4)))
def test_the_order_of_blocks_never_matters(seed, order):
    """The same ids, names, shapes and ways in, whichever block stands first."""
    blocks = walk_blocks(*(shapely.affinity.translate(blob(seed + i), 400 * i) for i in range(4)))
    blocks["block_id"] = ["1", "1a", "b", "b-a"]
    features = walk_features(("gate", shapely.Point(500, 300)), ("water", creek(seed)))
    one = cut_strips(blocks, features, NO_STRIPS, 0.5).set_index("strip_id")
    turned = blocks.iloc[list(order)].reset_index(drop=True)
    two = cut_strips(turned, features, NO_STRIPS, 0.5).set_index("strip_id").loc[one.index]
    assert one.drop(columns="geometry").equals(two.drop(columns="geometry"))
    assert shapely.equals_identical(one.geometry.values, two.geometry.values).all()


def test_four_hundred_strips_of_one_block_tile_it_with_a_name_each():
    """A crooked block of about 20 ha at a twentieth of a hectare: no two alike in id."""
    shape = star(7)
    strips = cut(shape, shape.area / 1e4 / 400, ("trail", creek(7)))
    assert len(strips) > 350
    assert strips["strip_id"].is_unique
    assert off(shape, strips) < 1e-9
