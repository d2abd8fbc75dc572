"""Strips tile their block, are worth a season, and repeat themselves."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing import land
from clearing.rates import for_settings
from clearing.zones import cut_strips, strip_neighbours
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
    return cut_strips(ground.blocks, ground.features, ground.strips, 0.5), ground.blocks


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


def test_neighbours_are_told_both_ways_with_their_shared_edge():
    """Two squares side by side share 100 m; one 160 m away is no neighbour."""
    strips = walk_blocks(*(shapely.box(x, 0, x + 100, 100) for x in (0, 100, 360)))
    pairs = strip_neighbours(strips.rename(columns={"block_id": "strip_id"}))
    found = pairs.set_index(["strip_id", "neighbour_id"])
    assert set(found.index) == {("1", "2"), ("2", "1")}
    assert found["shared_m"].tolist() == pytest.approx([100, 100], abs=0.2)
    assert found["distance_m"].tolist() == pytest.approx([0, 0])
