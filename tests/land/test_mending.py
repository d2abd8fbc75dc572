"""Slips of the hand are mended, said and accounted for; what is well drawn does not move."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from clearing.land import mend_blocks
from clearing.land.edges import overlaps
from clearing.land.mending import mended_notes
from clearing.tables import columns

SIDE = 100.0


def drawn(*shapes) -> gpd.GeoDataFrame:
    """Return blocks 1, 2 ... as they were drawn."""
    ids = [str(i + 1) for i in range(len(shapes))]
    return gpd.GeoDataFrame({"block_id": ids}, geometry=list(shapes), crs="EPSG:32616")


def road(kind: str, *points) -> gpd.GeoDataFrame:
    """Return one feature along a line."""
    return gpd.GeoDataFrame({"kind": [kind]}, geometry=[shapely.LineString(points)],
                            crs="EPSG:32616")  # fmt: skip


def changes(blocks, mended) -> np.ndarray:
    """Return what the table says each block changed by [m2]."""
    return mended.groupby("block_id")["area_m2"].sum().reindex(blocks["block_id"]).fillna(0.0)


def same_corners(one, two) -> list[bool]:
    """Return which blocks have exactly the corners they had."""
    pairs = zip(one.geometry, two.geometry, strict=True)
    return [bool(shapely.equals_exact(a, b, 0)) for a, b in pairs]


def accounted(before, after, mended) -> None:
    """Assert that the table adds up to the change of each block and of all, and none is gone."""
    found = after.area.to_numpy() - before.area.to_numpy()
    assert changes(before, mended).to_numpy() == pytest.approx(found, abs=1e-6)
    assert mended["area_m2"].sum() == pytest.approx(after.area.sum() - before.area.sum(), abs=1e-6)
    assert mended.columns.tolist() == columns("mended")
    assert (after.area > 0).all()
    assert after.is_valid.all()


THREE = (  # overlaps and gaps of up to 0.8 m along one edge each, and a ragged corner of all three
    Polygon([(0, 0), (100, 0), (100.6, 50), (100, 100), (0, 100)]),
    Polygon([(99.7, -0.3), (200, 0), (200, 60), (99.2, 60.4)]),
    Polygon([(100.5, 60.8), (200.2, 60.2), (200, 120), (100.3, 120)]),
)


def test_three_badly_drawn_neighbours_become_one_coverage():
    """No overlap, no gap, the changes add up, and no side moved by more than a metre."""
    before = drawn(*THREE)
    after, mended = mend_blocks(before)
    shapes = after.geometry.to_numpy()
    assert overlaps(before.geometry.to_numpy())
    assert overlaps(shapes) == []
    assert shapely.coverage_is_valid(shapes, gap_width=2.5)
    assert after.geometry.union_all().geom_type == "Polygon"
    assert not after.geometry.union_all().interiors
    accounted(before, after, mended)
    moved = shapely.hausdorff_distance(before.geometry.to_numpy(), shapes)
    assert moved.max() < 1.5
    assert (np.abs(changes(before, mended)) < 0.02 * before.area.to_numpy()).all()


def test_well_drawn_blocks_keep_every_corner():
    """Shared edges, a corner on a neighbour's side, dense corners, a wedge: nothing moves."""
    t = np.linspace(0, SIDE, 401)
    creek = np.column_stack([SIDE + np.sin(t / 5) * 2, t])
    dense = drawn(
        Polygon([(0, 0), *creek, (0, SIDE)]), Polygon([(200, 0), (200, SIDE), *creek[::-1]])
    )
    side = drawn(box(0, 0, 100, 100), box(100, 0, 200, 50), box(100, 50, 200, 100))
    wedge = drawn(Polygon([(0, 0), (100, 5), (100, 50)]), Polygon([(0, 0), (100, -5), (100, -50)]))
    for blocks in (dense, side, wedge):
        after, mended = mend_blocks(blocks)
        assert same_corners(blocks, after) == [True] * len(blocks)
        assert len(mended) == 0


def test_the_sample_is_well_drawn(place):
    """The property that ships keeps every corner, whatever the order of its rows."""
    for seed in (None, 0, 1, 2):
        blocks = place.blocks if seed is None else place.blocks.sample(frac=1, random_state=seed)
        after, mended = mend_blocks(blocks, place.features)
        assert all(same_corners(blocks, after))
        assert len(mended) == 0


def test_a_slip_moves_its_own_blocks_only():
    """One bad edge in a row of blocks: the others keep their corners exactly."""
    row = [box(i * SIDE, 0, (i + 1) * SIDE, SIDE) for i in range(6)]
    row[2] = box(200, 0, 300.4, SIDE)
    before = drawn(*row)
    after, mended = mend_blocks(before)
    assert [i for i, same in enumerate(same_corners(before, after)) if not same] == [2]
    assert mended["area_m2"].tolist() == [pytest.approx(-40.0)]
    accounted(before, after, mended)


def test_an_overlap_and_a_gap_are_said_in_feet_and_metres():
    """Half a metre along a hundred: 50 m2 = 538 sq ft (1 ft = 0.3048 m), as the owner speaks."""
    _, over = mend_blocks(drawn(box(0, 0, 100, 100), box(99.5, 0, 200, 100)))
    _, gap = mend_blocks(drawn(box(0, 0, 100, 100), box(100.5, 0, 200, 100)))
    assert mended_notes(over, us=True) == [
        "block 2: an overlap with block 1 was taken out (-538 sq ft)"
    ]
    assert mended_notes(gap, us=True) == ["block 2: a gap to block 1 was closed (+538 sq ft)"]
    assert mended_notes(gap, us=False) == ["block 2: a gap to block 1 was closed (+50 m2)"]


def test_an_overlap_over_three_percent_is_left_to_the_owner():
    """2.9 % of the smaller block is mended; 3.1 % stays as it was drawn."""
    for over, mends in ((2.9, True), (3.1, False)):
        before = drawn(box(0, 0, 300, 100), box(300 - over, 0, 400 - over, 100))
        after, mended = mend_blocks(before)
        assert all(same_corners(before, after)) is not mends
        assert (overlaps(after.geometry.to_numpy()) == []) is mends
        accounted(before, after, mended)


def test_a_closed_gap_is_filled_unless_a_creek_runs_in_it():
    """2 m wide, shut at both ends: a slip without a creek, meant with one; under 1 m a slip."""
    for wide, kept_open in ((2.0, True), (0.8, False)):
        notched = box(100, 0, 200, 100).difference(box(99, 20, 100 + wide, 80))
        blocks = drawn(box(0, 0, 100, 100), notched)
        creek = road("water", (100 + wide / 2, -9), (100 + wide / 2, 109))
        fence = creek.assign(kind="fence")
        for features, filled in ((None, True), (fence, True), (creek, not kept_open)):
            after, mended = mend_blocks(blocks, features)
            assert bool(after.area.sum() == pytest.approx(2e4)) is filled
            accounted(blocks, after, mended)


def test_a_lane_between_blocks_stays_open():
    """Two metres open at both ends is no slip, with or without a road drawn in it."""
    blocks = drawn(box(0, 0, 100, 100), box(102, 0, 200, 100))
    for features in (None, road("farm_road", (101, 0), (101, 100))):
        after, mended = mend_blocks(blocks, features)
        assert all(same_corners(blocks, after))
        assert len(mended) == 0


OUTLINES = {
    "spike": (
        Polygon([(0, 0), (100, 0), (100, 50), (180, 50.1), (100, 50.2), (100, 100), (0, 100)]),
        1e4, "a spike was cut off",
    ),
    "out_and_back": (
        Polygon([(0, 0), (100, 0), (100, 100), (50, 100), (50, 140), (50, 100), (0, 100)]),
        1e4, "",
    ),
    "tiny_loop": (
        Polygon([(0, 0), (100, 0), (100, 100), (50, 100), (49, 102), (51, 102), (48, 100),
                 (0, 100)]),
        1e4, "crossed or touched itself and was set right",
    ),
    "repeats": (Polygon([(0, 0), (100, 0), (100, 0), (100, 100), (0, 100)]), 1e4, ""),
    "wrong_way": (Polygon([(0, 0), (0, 100), (100, 100), (100, 0)]), 1e4, ""),
    "hole_on_the_edge": (
        Polygon([(0, 0), (100, 0), (100, 100), (50, 100), (60, 60), (40, 60), (50, 100), (0, 100)]),
        1e4 - 400, "",
    ),
    "hole_outside": (
        Polygon([(0, 0), (100, 0), (100, 100), (0, 100)], [[(120, 20), (125, 20), (125, 25)]]),
        1e4, "a hole that lies outside its outline was left out",
    ),
    "crumb": (
        shapely.MultiPolygon([box(0, 0, 100, 100), box(150, 0, 152, 2)]), 1e4,
        "a part that is a slip of the hand was left out",
    ),
    "two_parts": (shapely.MultiPolygon([box(0, 0, 100, 100), box(150, 0, 200, 50)]), 12500, ""),
    "split": (shapely.MultiPolygon([box(0, 0, 50, 100), box(50, 0, 100, 100)]), 1e4, ""),
}  # fmt: skip


@pytest.mark.parametrize("name", OUTLINES)
def test_an_outline_is_set_right(name):
    """The area that was meant comes out, to a thousandth, and what was done is said."""
    shape, area, said = OUTLINES[name]
    before = drawn(shape)
    after, mended = mend_blocks(before)
    assert after.area.iloc[0] == pytest.approx(area, rel=1e-3)
    assert said in " / ".join(mended_notes(mended, us=True))
    accounted(before, after, mended)
    if not said:
        assert mended_notes(mended, us=True) == []
    if name == "split":
        assert after.geom_type.tolist() == ["Polygon"]


def test_a_bow_tie_is_left_to_the_owner():
    """Which half was meant is not ours to say; its neighbours are mended all the same."""
    tie = Polygon([(0, 0), (50, 50), (50, 0), (0, 50)])
    blocks = drawn(tie, box(60, 0, 160, 100), box(159.5, 0, 260, 100))
    after, mended = mend_blocks(blocks)
    assert same_corners(blocks, after)[0]
    assert not after.is_valid.iloc[0]
    assert set(mended["block_id"]) == {"3"}


def test_a_narrow_block_between_two_does_not_vanish():
    """A hedge of 1.5 m between fields, drawn half a metre over one: it is still there."""
    before = drawn(box(0, 0, 100, 100), box(99.98, 0, 101.5, 100), box(101.5, 0, 200, 100))
    after, mended = mend_blocks(before)
    accounted(before, after, mended)
    assert after.area.iloc[1] == pytest.approx(152.0, rel=0.05)


@st.composite
def jittered(draw) -> gpd.GeoDataFrame:
    """Return nine blocks whose shared corners were each clicked anew, up to half a metre off."""
    seed, most_cm = draw(st.integers(0, 10**6)), draw(st.integers(1, 50))
    off = np.random.default_rng(seed).integers(-most_cm, most_cm + 1, (3, 3, 4, 2)) / 100
    shapes = []
    for i in range(3):
        for j in range(3):
            corners = [(j, i), (j + 1, i), (j + 1, i + 1), (j, i + 1)]
            shapes.append(Polygon(np.array(corners) * SIDE + off[i, j]))
    return drawn(*shapes)


@given(jittered())
def test_corners_clicked_anew_become_one_coverage(before):
    """Nine blocks, each corner up to half a metre off: a coverage, every change accounted for."""
    after, mended = mend_blocks(before)
    shapes = after.geometry.to_numpy()
    assert shapely.coverage_is_valid(shapes)
    assert overlaps(shapes) == []
    accounted(before, after, mended)
    assert changes(before, mended).abs().max() < 0.04 * SIDE**2


@given(st.integers(0, 10**6))
def test_no_block_is_ever_lost(seed):
    """Whatever five blocks are thrown at each other: none vanishes, and the books balance."""
    draw = np.random.default_rng(seed)
    shapes = []
    for _ in range(5):
        angles = np.sort(draw.uniform(0, 2 * np.pi, int(draw.integers(3, 12))))
        far = draw.uniform(2, 60, len(angles))
        points = np.column_stack([np.cos(angles) * far, np.sin(angles) * far])
        shapes.append(Polygon(points + draw.uniform(0, 150, 2)))
    before = drawn(*shapes)
    after, mended = mend_blocks(before)
    found = after.area.to_numpy() - before.area.to_numpy()
    assert changes(before, mended).to_numpy() == pytest.approx(found, abs=1e-6)
    assert (after.area[before.area > 0] > 0).all()
    assert not after.is_empty.any()
