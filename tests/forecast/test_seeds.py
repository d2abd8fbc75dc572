"""Seed between strips: shares, kernels, creeks, what arrives, and one plan followed through."""

import itertools
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from clearing import forecast
from clearing.forecast.creeks import along_water
from clearing.forecast.kernels import kernel_of, on_squares
from clearing.forecast.squares import leaving_shares
from clearing.rates import load
from clearing.treatment import list_methods
from tests.small_ground import SETTINGS, small_ground

RATES = load()
SPECIES = ["callery_pear", "tree_of_heaven", "black_locust"]
NOTHING = gpd.GeoDataFrame({"kind": [], "geometry": []}, geometry="geometry")
CREEK = gpd.GeoDataFrame(
    {"kind": ["water"], "geometry": [shapely.LineString([(-1000, -2), (2000, -2)])]}
)
KEYS = ["strip_id", "method_id", "start_year", "year", "species", "stage"]


def squares(*corners: tuple[float, float], side: float = 100.0) -> gpd.GeoDataFrame:
    """Return strips that are squares, named a, b, c ... by their corners [m]."""
    shapes = [shapely.box(x, y, x + side, y + side) for x, y in corners]
    names = [chr(ord("a") + i) for i in range(len(shapes))]
    return gpd.GeoDataFrame({"strip_id": names, "area_ha": side**2 / 1e4, "geometry": shapes})


def reach_of(strips: gpd.GeoDataFrame, species: str, features: gpd.GeoDataFrame = NOTHING):
    """Return the reach of one species."""
    return forecast.seed_reach(strips, features, RATES, replace(SETTINGS, targets=(species,)))


def share(reach: pd.DataFrame, to: str, come: str) -> float:
    """Return the share from one strip to another, all ways together."""
    own = reach[(reach["strip_id"] == to) & (reach["from_id"] == come)]
    return float(own["share"].sum())


def walked(**wishes: object):
    """Return the small place on ground of its own, its methods, and the reach between strips."""
    ground = small_ground(**wishes)
    places = squares((0, 0), (100, 0), (200, 0))
    strips = ground.strips.assign(geometry=places.geometry.to_numpy())
    ground = replace(ground, strips=strips)
    methods = list_methods(
        ground.blocks, strips, ground.zones, ground.stocking, ground.rates, ground.settings
    )
    reach = forecast.seed_reach(strips, NOTHING, ground.rates, ground.settings)
    return ground, methods, reach


@pytest.fixture(scope="module")
def place():
    """Return ground, methods, reach, and a plan: a treated now, b in two years, c never."""
    ground, methods, reach = walked()
    plan = [("a", "cut_and_spray", 2027.0), ("b", "cut_and_spray", 2029.0), ("c", "not_now", None)]
    rows = [
        (strip, methods.loc[(methods["strip_id"] == strip) & (methods["method"] == kind),
                            "method_id"].iloc[0], year)
        for strip, kind, year in plan
    ]  # fmt: skip
    chosen = pd.DataFrame(rows, columns=["strip_id", "method_id", "start_year"])
    return ground, methods, reach, chosen.astype({"start_year": float})


def followed(place, reach: pd.DataFrame | None) -> pd.DataFrame:
    """Return the plan followed through."""
    ground, methods, _, chosen = place
    return forecast.follow_through(
        chosen, methods, ground.strips, ground.blocks, reach, ground.rates, ground.settings
    )


@pytest.mark.parametrize("species", SPECIES)
@pytest.mark.parametrize("gap_m", [0.0, 20.0, 110.0])
def test_share_is_the_plain_integral_over_two_squares(species, gap_m):
    """Against a quadrature over the offsets of two points in two squares of a hectare."""
    kernel, side, off = kernel_of(species, RATES), 100.0, 100.0 + gap_m

    def met(dy: float, dx: float) -> float:
        both = (side - abs(dx - off)) * (side - abs(dy))
        return 2.0 * both * float(kernel.density(np.array(np.hypot(dx, dy))))

    def column(dx: float) -> float:
        edge = _edge(kernel.flat_m, dx, side)
        return integrate.quad(met, 0, side, args=(dx,), limit=400, epsabs=1e-6, points=edge)[0]

    ends = [off - side, off, off + side]
    if ends[0] < kernel.flat_m < ends[2]:
        ends.append(kernel.flat_m)
    ends = sorted(set(ends))
    whole = sum(
        integrate.fixed_quad(np.vectorize(column), left, right, n=40)[0]
        for left, right in itertools.pairwise(ends)
    )
    strips = squares((0, 0), (off, 0))
    assert share(reach_of(strips, species), "b", "a") == pytest.approx(whole / side**2, rel=0.02)


def _edge(flat_m: float, dx: float, side: float) -> list[float] | None:
    """Return where the flat part of a kernel ends along a column of offsets, if it does."""
    far = flat_m**2 - dx**2
    return [float(np.sqrt(far))] if 0 < far < side**2 else None


@settings(max_examples=20, deadline=None)
@given(
    st.sampled_from(SPECIES),
    st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=2, max_size=8, unique=True),
)
def test_shares_are_the_same_both_ways_and_never_more_than_all(species, corners):
    """Between strips of one area a share goes both ways; all shares of a strip are 1 at most."""
    reach = reach_of(squares(*[(120.0 * x, 120.0 * y) for x, y in corners]), species)
    back = {(r.from_id, r.strip_id): r.share for r in reach.itertuples()}
    for row in reach.itertuples():
        assert row.share == pytest.approx(back.get((row.strip_id, row.from_id), 0.0), rel=1e-4,
                                          abs=1e-6)  # fmt: skip
    assert (reach.groupby("from_id")["share"].sum() <= 1).all()


@pytest.mark.parametrize("species", SPECIES)
def test_a_wall_of_strips_takes_all_but_what_stays_or_leaves(species):
    """In the middle of nine strips that touch, most of what flies out lands on the others."""
    reach = reach_of(
        squares(*[(100.0 * x, 100.0 * y) for x in range(3) for y in range(3)]), species
    )
    middle = reach.loc[reach["from_id"] == "e", "share"].sum()
    corner = reach.loc[reach["from_id"] == "a", "share"].sum()
    assert corner < middle < 1


@settings(max_examples=15, deadline=None)
@given(st.sampled_from(SPECIES), st.floats(0, 300), st.floats(1, 200))
def test_farther_strips_get_less(species, gap_m, more_m):
    """The share falls with the distance between two strips, or is nought at both."""
    near, far = (
        share(reach_of(squares((0, 0), (100 + gap, 0)), species), "b", "a")
        for gap in (gap_m, gap_m + more_m)
    )
    assert far <= near * (1 + 0.02)


@pytest.mark.parametrize("species", SPECIES)
def test_a_kernel_is_a_distribution(species):
    """All seed falls somewhere: shares over a wide field of squares add up to 1, not more."""
    table = on_squares(kernel_of(species, RATES), 5.0, 200, 200)
    both = np.where(np.arange(200) > 0, 2.0, 1.0)
    total = (table * both[:, None] * both[None, :]).sum()
    assert 0.99 < total <= 1 + 1e-12


def test_bird_sown_seed_falls_half_within_thirty_metres():
    """Of a pear's seed, as the handbook's note says, about half within 30 m."""
    kernel = kernel_of("callery_pear", RATES)
    inside, _ = integrate.quad(
        lambda r: 2 * np.pi * r * float(kernel.density(np.array(r))), 0, 30
    )  # fmt: skip
    assert inside == pytest.approx(0.5, abs=0.05)


def test_water_carries_seed_along_a_creek_only():
    """Of three strips two lie on a creek: tallow goes by water between these, both ways alike."""
    strips = squares((0, 0), (700, 0), (0, 700))
    reach = reach_of(strips, "tallow", CREEK)
    wet = reach[reach["way"] == "water"]
    assert set(zip(wet["strip_id"], wet["from_id"], strict=True)) == {("a", "b"), ("b", "a")}
    assert wet["share"].iloc[0] == pytest.approx(wet["share"].iloc[1])
    assert wet["share"].max() < RATES.figure("any", "water_share").value
    assert not (reach_of(strips, "callery_pear", CREEK)["way"] == "water").any()
    assert not (reach_of(strips, "tallow")["way"] == "water").any()


def test_share_along_a_creek_is_the_line_integral():
    """Two strips of 100 m of bank 400 m apart: against the closed integral of the exponential."""
    strips, mean = squares((300, 0), (800, 0)), 200.0
    found = along_water(strips, CREEK, 3.0, mean)[1, 0]
    length = 100.0 + 2 * np.sqrt(3.0**2 - 2.0**2)  # the bank within 3 m of a side 2 m away
    near, far = 500.0 - length, 500.0
    area = (np.exp(-near / mean) - 2 * np.exp(-far / mean)
            + np.exp(-(far + length) / mean)) * mean**2  # fmt: skip
    assert found == pytest.approx(area / (2 * mean * length), rel=0.1)


def creeks(*lines: list[tuple[float, float]]) -> gpd.GeoDataFrame:
    """Return creeks drawn as lines."""
    shapes = [shapely.LineString(line) for line in lines]
    return gpd.GeoDataFrame({"kind": "water", "geometry": shapes}, geometry="geometry")


MAIN = [(-1000.0, -2.0), (650.0, -2.0)], [(650.0, -2.0), (2000.0, -2.0)]


def along(features: gpd.GeoDataFrame, *corners: tuple[float, float]) -> np.ndarray:
    """Return the shares along creeks between squares of 100 m."""
    return along_water(squares(*corners), features, 3.0, 200.0)


def test_a_tributary_stops_no_seed_on_the_main_stem():
    """The main stem in two lines, alone and with a tributary at the join: as one line."""
    ends = (300, 0), (800, 0)
    whole = along(CREEK, *ends)[1, 0]
    assert whole > 0.02
    assert along(creeks(*MAIN), *ends)[1, 0] == pytest.approx(whole, rel=0.01)
    side = [(650.0, -2.0), (650.0, -900.0)]
    assert along(creeks(*MAIN, side), *ends)[1, 0] == pytest.approx(whole, rel=0.01)


def test_seed_goes_up_a_tributary_as_far_as_along_the_main_stem():
    """Drawn to the join or on to the side of an unbroken line: by the distance along the water."""
    up = [(650.0, -2.0), (650.0, -1000.0)]
    ends = (300, 0), (652, -255)  # the second begins as far up as a strip at 803 on the main stem
    straight = along(CREEK, (300, 0), (803, 0))[1, 0]
    for features in (creeks(*MAIN, up), pd.concat([CREEK, creeks(up)]),
                     pd.concat([CREEK, creeks([(650.0, -3.0), (650.0, -1000.0)])])):  # fmt: skip
        assert along(features, *ends)[1, 0] == pytest.approx(straight, rel=0.05)


def test_a_small_gap_in_the_drawing_changes_nothing():
    """20 cm between two lines of one creek: the same shares; 20 m: none."""
    ends = (300, 0), (800, 0)
    whole = along(CREEK, *ends)
    for gap, share_of in ((0.2, 1.0), (20.0, 0.0)):
        cut = creeks([(-1000, -2), (650, -2)], [(650 + gap, -2), (2000, -2)])
        assert along(cut, *ends) == pytest.approx(whole * share_of, rel=0.01)


def test_many_branches_share_out_no_more_than_there_is():
    """Five creeks from one place, strips all along them: columns add up to 1 at the most."""
    turns = np.linspace(0.0, 2.0 * np.pi, 6)[:-1]
    lines = [[(0.0, 0.0), (900 * np.cos(at), 900 * np.sin(at))] for at in turns]
    rings = shapely.buffer(shapely.Point(0, 0), [100.0, 250.0, 500.0, 800.0], quad_segs=32)
    shapes = [rings[0], *(shapely.difference(rings[i + 1], rings[i]) for i in range(3))]
    strips = gpd.GeoDataFrame({"strip_id": list("abcd"), "geometry": shapes}, geometry="geometry")
    found = along_water(strips, creeks(*lines), 3.0, 200.0)
    assert (found.sum(axis=0) <= 1 + 1e-9).all()
    assert found[1, 0] > 0.3


@settings(max_examples=20, deadline=None)
@given(
    st.sampled_from([*SPECIES, "tallow"]), st.sampled_from([20.0, 100.0, 250.0]),
    st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=2, max_size=12, unique=True),
)  # fmt: skip
def test_no_more_lands_in_others_than_leaves(species, side, corners):
    """Strips that touch, on a creek or not: of_seed_out of a strip adds up to 1 at the most."""
    strips = squares(*[(side * x, side * y) for x, y in corners], side=side)
    reach = reach_of(strips, species, CREEK)
    assert (reach.groupby("from_id")["of_seed_out"].sum() <= 1 + 1e-9).all()
    leaving = leaving_shares(strips, [species], RATES)[species]
    got = reach["share"] / reach["from_id"].map(leaving)
    assert reach["of_seed_out"].to_numpy() == pytest.approx(got.to_numpy())


@pytest.mark.parametrize("species", SPECIES)
def test_what_stays_is_the_plain_integral_over_a_square(species):
    """Against a draw of seeds from random places of a square of a hectare [own simulation]."""
    kernel, far = kernel_of(species, RATES), np.linspace(0.05, 3000.0, 60_000)
    weight = 2 * np.pi * far * kernel.density(far)
    draw = np.random.default_rng(5)
    r = np.interp(draw.random(200_000) * weight.sum(), np.cumsum(weight), far)
    turn, start = draw.random(200_000) * 2 * np.pi, draw.random((2, 200_000)) * 100.0
    x, y = start[0] + r * np.cos(turn), start[1] + r * np.sin(turn)
    stays = ((x > 0) & (x < 100) & (y > 0) & (y < 100)).mean()
    found = 1 - leaving_shares(squares((0, 0), (300, 0)), [species], RATES)[species]["a"]
    assert found == pytest.approx(stays, abs=0.01)


def test_order_and_names_of_strips_change_no_share():
    """Strips shuffled: the same share from each to each."""
    strips = squares((0, 0), (100, 0), (0, 130), (250, 90))
    one = reach_of(strips, "callery_pear")
    two = reach_of(strips.iloc[::-1].reset_index(drop=True), "callery_pear")
    pd.testing.assert_frame_equal(one, two, rtol=1e-4)


def test_arriving_is_what_the_others_shed_untreated(place):
    """Seeds = share x seeds of the standing trees; seedlings = seeds x winter x germination."""
    ground, methods, reach, _ = place
    futures = forecast.look_ahead(
        methods, ground.strips, ground.blocks, ground.rates, ground.settings
    )
    found = forecast.arriving(futures, reach, forecast.mowed_years(futures))
    idle = futures[(futures["method_id"] == "not_now") & (futures["year"] == 2027)]
    trees = idle[(idle["strip_id"] == "b") & (idle["species"] == "callery_pear")]
    vital = forecast.yearly_matrix("callery_pear", ground.rates)
    stems = trees.set_index("stage")["stems"].drop("seed_bank")
    spring = vital[0, 1:8] @ stems.to_numpy()  # seeds alive next spring
    germ = ground.rates.figure("callery_pear", "seed_to_seedling").value
    row = found[(found["strip_id"] == "a") & (found["from_id"] == "b") & (found["year"] == 2027)]
    row = row[row["species"] == "callery_pear"].iloc[0]
    assert row["seedlings"] == pytest.approx(share(reach[reach["species"] == "callery_pear"],
                                                   "a", "b") * spring * germ)  # fmt: skip
    assert (found["seeds"] > 0).all()
    assert set(found["from_id"]) == {"a", "b", "c"}


def test_without_reach_a_plan_is_its_rows_of_look_ahead(place):
    """One case a strip, no seed across: the same numbers, row by row."""
    ground, methods, _, chosen = place
    every = forecast.look_ahead(
        methods, ground.strips, ground.blocks, ground.rates, ground.settings
    )
    same = every.merge(chosen, on=["strip_id", "method_id", "start_year"])
    one, two = (
        frame.sort_values(KEYS, ignore_index=True) for frame in (followed(place, None), same)
    )
    pd.testing.assert_frame_equal(one, two)


def test_seed_from_others_only_adds(place):
    """With seed across no stage of any strip has fewer in the years before work may change."""
    reach = place[2]
    lone, crossed = (
        followed(place, each).sort_values(KEYS, ignore_index=True) for each in (None, reach)
    )
    same = lone["work"] == crossed["work"]
    assert (crossed["stems"] >= lone["stems"] * (1 - 1e-9))[same].all()
    bank = crossed["stage"] == "seed_bank"
    later = crossed["year"] > 2027
    assert (crossed["stems"] > lone["stems"])[bank & later].all()


def test_seed_of_what_grew_of_foreign_seed_comes_back(place):
    """Cascades: left for years, the extra bank of a strip outgrows what first-order seed makes."""
    ground, methods, _, _ = place
    lasting = replace(ground.settings, years=12)
    reach = place[2]
    idle = pd.DataFrame({"strip_id": ["a", "b", "c"], "method_id": "not_now", "start_year": np.nan})
    extra = []
    for shares in (None, reach, reach.assign(share=reach["share"] / 2)):
        rows = forecast.follow_through(
            idle, methods, ground.strips, ground.blocks, shares, ground.rates, lasting
        )
        rows = rows[(rows["stage"] == "seed_bank") & (rows["strip_id"] == "a")]
        extra.append(rows.groupby("year")["stems"].sum())
    whole, half = (each - extra[0] for each in extra[1:])
    assert whole[2028] == pytest.approx(2 * half[2028], rel=1e-6)  # first order alone
    assert (whole.loc[2029:] > 0).all()
    assert whole.loc[2042] > 2 * half.loc[2042]


def test_first_years_seedlings_over_the_edge_are_those_that_arrive(place):
    """One year on, with the other strips untreated, both forecasts of the seedlings agree."""
    ground, methods, reach, _ = place
    idle = pd.DataFrame({"strip_id": ["a", "b", "c"], "method_id": "not_now", "start_year": np.nan})
    given_ = (ground, methods, reach, idle)
    lone, crossed = (
        followed(given_, each).set_index(KEYS)["stems"] for each in (None, reach)
    )  # fmt: skip
    more = (crossed - lone).reset_index()
    more = more[(more["year"] == 2028) & (more["stage"] == "seedling")]
    futures = forecast.look_ahead(
        methods, ground.strips, ground.blocks, ground.rates, ground.settings
    )
    came = forecast.arriving(futures, reach, forecast.mowed_years(futures))
    came = came[came["year"] == 2027].groupby(["strip_id", "species"])["seedlings"].sum()
    found = more.set_index(["strip_id", "species"])["stems"]
    assert found.to_numpy() == pytest.approx(came.reindex(found.index).to_numpy(), rel=1e-6)
