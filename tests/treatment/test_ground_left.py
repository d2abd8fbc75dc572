"""How much ground the zones leave for each method: the planner's own rule, summed."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from clearing.rates import for_settings
from clearing.treatment import ground_left, left_lines, list_methods
from clearing.units import HA_PER_ACRE
from clearing.zones import draw_zones
from tests.small_ground import GLYPHOSATE, IMAZAPYR, SETTINGS, SIZES, replace, small_ground

UPPER = dict(zip(SIZES, (1.0, 4.0, 9.0, 12.0, 15.0, 21.0), strict=True))  # [m]
SIDE = float(np.sqrt(2 * HA_PER_ACRE * 1e4))  # of a square of two acres: 89.97 m
SQUARE = shapely.box(0, 0, SIDE, SIDE)
RATES = for_settings(SETTINGS)


def two_acres(*things: tuple[str, shapely.Geometry], rates=RATES) -> pd.DataFrame:
    """Return the ground left of a square of two acres with things about it."""
    strips = gpd.GeoDataFrame({"strip_id": ["1"], "block_id": ["1"]}, geometry=[SQUARE])
    features = gpd.GeoDataFrame(
        {"kind": [kind for kind, _ in things], "name": [kind for kind, _ in things],
         "setback_m": np.full(len(things), np.nan)},
        geometry=[shape for _, shape in things],
    )  # fmt: skip
    trees = gpd.GeoDataFrame({"crown_m": np.empty(0)}, geometry=[])
    stocking = pd.DataFrame(
        {"block_id": "1", "size_class": SIZES, "upper_height_m": [*UPPER.values()]}
    )
    zones = draw_zones(strips, features, trees, stocking, rates)
    return ground_left(zones, strips, rates).set_index(["method", "size_class"])


def test_a_fence_of_the_owners_own_leaves_all_ground_for_every_method():
    """Two acres fenced all round: the fence is a price, so hack and leave keeps the whole."""
    left = two_acres(("fence", SQUARE.boundary))
    for method in ("hack_and_leave", "hack_then_fell", "cut_and_spray", "soil_active"):
        assert left.loc[method, "share"].tolist() == pytest.approx([1.0] * 7)
    assert left.loc["utility", "share"].max() == left.loc["by_hand", "share"].max() == 0.0


def test_a_property_line_leaves_the_inner_square_for_hack_and_leave():
    """Two acres with the line all round: (side - 2 heights)^2 / side^2 for stems left to fall.

    By hand with a side of 89.97 m: 9 m stems (71.97 / 89.97)^2 = 0.640; 12 m 0.538; 15 m 0.444;
    21 m (47.97 / 89.97)^2 = 0.284. What is cut, or felled after the wait, keeps the whole.
    """
    left = two_acres(("property_line", SQUARE.boundary))["share"]
    by_hand = {"1_3in": 0.640, "3_6in": 0.538, "6_10in": 0.444, "over_10in": 0.284, "all": 0.284}
    for size, share in by_hand.items():
        assert left["hack_and_leave", size] == pytest.approx(share, abs=5e-4)
    exact = (SIDE - 2 * UPPER["over_10in"]) ** 2 / SIDE**2
    assert left["hack_and_leave", "over_10in"] == pytest.approx(exact, rel=1e-9)
    assert left["hack_and_leave", "under_1in"] == 1.0
    for method in ("hack_then_fell", "cut_and_spray", "soil_active"):
        assert left[method].min() == 1.0


def test_a_power_line_along_one_side_leaves_the_rest():
    """By hand: 9 m stems within sqrt((9 + 3.05)^2 - 4.7^2) = 11.10 m of it are the utility's."""
    line = shapely.LineString([(-50, 0), (SIDE + 50, 0)])
    left = two_acres(("power_line", line))["share"]
    assert left["utility", "1_3in"] == pytest.approx(11.096 / SIDE, abs=1e-4)
    assert left["utility", "all"] == left["utility", "over_10in"]
    assert left["cut_and_spray", "1_3in"] == pytest.approx(1 - left["utility", "1_3in"])
    assert left["hack_and_leave", "1_3in"] == pytest.approx(1 - 13.5 / SIDE, rel=1e-9)


def test_by_water_only_a_confirmed_label_leaves_ground_for_spray():
    """A creek along one side: 6 m of hand work, none of it once a label names the water's edge."""
    creek = ("water", shapely.LineString([(-50, 0), (SIDE + 50, 0)]))
    setback = RATES.figure("zone", "water_edge_m").value
    assert two_acres(creek)["share"]["by_hand", "all"] == pytest.approx(setback / SIDE, rel=1e-9)
    own = replace(GLYPHOSATE, sites=("pasture", "water"), confirmed=True)
    rates = for_settings(replace(SETTINGS, herbicides=(own, IMAZAPYR)))
    left = two_acres(creek, rates=rates)["share"]
    assert left["by_hand", "all"] == 0.0
    assert left["soil_active", "all"] == pytest.approx(1 - setback / SIDE, rel=1e-9)


def test_under_a_tree_that_stays_nothing_that_moves_in_the_soil_is_left():
    """A neighbour's tree in the corner of the square: a quarter circle of 6 m."""
    left = two_acres(("neighbour_tree", shapely.Point(0, 0)))["share"]
    off = np.pi * 6.0**2 / 4 / SIDE**2
    assert left["soil_active", "all"] == pytest.approx(1 - off, abs=2e-3 * off)
    assert left["hack_and_leave", "all"] == 1.0


def test_ground_left_agrees_with_the_methods_that_are_listed():
    """Where the table leaves a class no hack-and-leave, no listed hack-and-leave hacks it."""
    ground = small_ground()
    left = ground_left(ground.zones, ground.strips, ground.rates, "strip_id")
    asked = (ground.blocks, ground.strips, ground.zones, ground.stocking)
    listed = list_methods(*asked, ground.rates, ground.settings)
    hacked = listed[(listed["method"] == "hack_and_leave") & (listed["job"] == "hack_and_squirt")]
    done = hacked.drop_duplicates(["zone_id", "size_class"]).merge(
        ground.zones[["zone_id", "area_ha"]], on="zone_id"
    )
    sums = done.groupby(["strip_id", "size_class"])["area_ha"].sum()
    own = left[left["method"] == "hack_and_leave"].set_index(["strip_id", "size_class"])["area_ha"]
    assert len(sums) > 5
    for key, hectares in sums.items():
        assert hectares == pytest.approx(own[key])


@pytest.mark.parametrize("by", ["strip_id", "block_id", "property"])
def test_shares_of_strips_blocks_and_property_are_of_their_own_ground(by):
    """Area = share x ground, and what the strips have left the property has."""
    ground = small_ground()
    left = ground_left(ground.zones, ground.strips, ground.rates, by)
    whole = ground_left(ground.zones, ground.strips, ground.rates, "property")
    assert left.columns.tolist() == [by, "method", "size_class", "area_ha", "share"]
    assert left["share"].between(0.0, 1.0 + 1e-12).all()
    sums = left.groupby(["method", "size_class"])["area_ha"].sum()
    one = whole.set_index(["method", "size_class"])["area_ha"]
    assert sums.sort_index().tolist() == pytest.approx(one.sort_index().tolist())


def test_a_job_that_no_product_is_labelled_for_is_not_listed():
    """A label for hacking alone: no row speaks of basal bark or leaf spray."""
    own = replace(GLYPHOSATE, methods=("hack_and_squirt",))
    rates = for_settings(replace(SETTINGS, herbicides=(own,)))
    assert set(two_acres(rates=rates).index.levels[0]) == {
        "hack_and_leave", "hack_then_fell", "by_hand", "utility",
    }  # fmt: skip


def test_the_lines_say_the_shares_in_the_owners_units():
    """Two acres with a line around: the head says the acres, a line says each share."""
    left = two_acres(("property_line", SQUARE.boundary)).reset_index()
    table = left[["block_id", "method", "size_class", "area_ha", "share"]]
    lines = left_lines(table, RATES)
    assert lines[0] == "ground left for each way of treating, of 2.0 acres:"
    assert lines[1] == ("hack and leave standing: 64 % (1-3 in), 54 % (3-6 in), 44 % (6-10 in), "
                        "28 % (over 10 in)")  # fmt: skip
    assert "cut and spray: all, stems of any size" in lines
    assert left_lines(table, RATES, us=False)[0].endswith("of 0.8 ha:")
