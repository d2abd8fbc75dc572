"""Setbacks and reaches on the ground are what a surveyor's geodesic measures, at any latitude."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import CRS, Geod, Transformer

from clearing.land.grid import local_grid, to_grid
from clearing.zones import draw_zones
from tests.zones.farm import RATES, heights, walk_trees

GEOD = Geod(ellps="WGS84")
SETBACK_M = 30.48  # 100 ft
LATITUDES = (0.0, 25.0, 45.0, 55.0, 70.0)


def property_at(lat: float, things: list[tuple], crs: str = "EPSG:4326"):
    """Return strips of 1 km by 1 km about 90 W with features at offsets [m], drawn in ``crs``.

    The zones are drawn in the property's own grid and handed back in degrees.
    """
    home = CRS.from_proj4(f"+proj=aeqd +lat_0={lat} +lon_0=-90 +datum=WGS84 +units=m")
    shapes = gpd.GeoSeries([shapely.box(-500, -500, 500, 500), *(row[1] for row in things)],
                           crs=home).to_crs(crs)  # fmt: skip
    blocks = gpd.GeoDataFrame({"strip_id": ["1"], "block_id": ["1"]}, geometry=[shapes[0]], crs=crs)
    features = gpd.GeoDataFrame(
        {"kind": [row[0] for row in things], "name": [row[0] for row in things],
         "setback_m": [SETBACK_M for _ in things]},
        geometry=list(shapes[1:]), crs=crs,
    )  # fmt: skip
    grid = local_grid(blocks)
    trees = walk_trees().set_crs(grid, allow_override=True)
    return draw_zones(to_grid(blocks, grid), to_grid(features, grid), trees, heights(), RATES), grid


def edge_point(zones, grid, start, azimuth):
    """Return how far out along a geodesic the ground under a flag ends [m], by halving."""
    held = zones[zones["flags"] != "open"].geometry.union_all()
    there = Transformer.from_crs("EPSG:4326", grid, always_xy=True)
    low, high = 0.0, 4 * SETBACK_M
    for _ in range(60):
        middle = (low + high) / 2
        lon, lat, _ = GEOD.fwd(*start, azimuth, middle)
        inside = held.contains(shapely.Point(there.transform(lon, lat)))
        low, high = (middle, high) if inside else (low, middle)
    return low


@pytest.mark.parametrize("lat", LATITUDES)
def test_a_hundred_feet_from_a_creek_are_a_hundred_feet(lat):
    """Square off a creek drawn in degrees, 400 m from the middle, to 1e-5 by the geodesic."""
    creek = shapely.LineString([(-400, 100), (-400, 400)])
    zones, grid = property_at(lat, [("water", creek)])
    home = CRS.from_proj4(f"+proj=aeqd +lat_0={lat} +lon_0=-90 +datum=WGS84 +units=m")
    back = Transformer.from_crs(home, "EPSG:4326", always_xy=True)
    one, foot = back.transform(-400, 100), back.transform(-400, 250)
    along, _, _ = GEOD.inv(*foot, *one)
    assert edge_point(zones, grid, foot, along + 90) == pytest.approx(SETBACK_M, rel=1e-5)


@pytest.mark.parametrize("lat", LATITUDES)
def test_a_hundred_feet_from_a_well_are_a_hundred_feet_all_round(lat):
    """In sixteen directions, to 2e-5 (1e-5 of it the sides of the drawn circle), never less."""
    zones, grid = property_at(lat, [("well", shapely.Point(450, -300))])
    home = CRS.from_proj4(f"+proj=aeqd +lat_0={lat} +lon_0=-90 +datum=WGS84 +units=m")
    well = Transformer.from_crs(home, "EPSG:4326", always_xy=True).transform(450, -300)
    far = np.array([edge_point(zones, grid, well, turn) for turn in np.arange(0, 360, 22.5)])
    assert (far >= SETBACK_M * (1 - 1e-6)).all()
    assert (far <= SETBACK_M * (1 + 2e-5)).all()


@pytest.mark.parametrize("crs", ["EPSG:3857", "EPSG:4326", "EPSG:32616"])
def test_the_coordinate_system_a_road_was_drawn_in_does_not_move_its_zones(crs):
    """At 55 N, where the web map's metres are 1.7 times too long: the same ground to 1e-8."""
    road = shapely.LineString([(-500, -60), (0, 0), (500, 20)])
    things = [("public_road", road), ("well", shapely.Point(100, 200))]
    here, _ = property_at(55.0, things)
    there, _ = property_at(55.0, things, crs)
    assert there["flags"].tolist() == here["flags"].tolist()
    assert there["fall_from"].tolist() == here["fall_from"].tolist()
    for one, two in zip(here.geometry, there.geometry, strict=True):
        assert one.symmetric_difference(two).area < 1e-8 * 1e6
