"""The layers of the map as data: rules in their years, ground by what is done, packed trees."""

import base64
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from pyproj import Transformer
from shapely.geometry import Point, Polygon, box

from clearing import report
from clearing.report.facts_ahead import Ahead
from clearing.report.layers import map_data, packed_shape
from clearing.report.names import JOBS, METHODS
from clearing.report.ruled import MOST_CORNERS, dead_stand, ruled_pieces, years_of
from clearing.report.ways import OF_METHOD, WAYS, way_pieces, zone_jobs
from tests.report.small_place import layer, small_results
from tests.report.years_ahead import forecast


def zones(rows):
    """Return zones from (zone, strip, flags, shape)."""
    table = [
        {"zone_id": z, "strip_id": s, "flags": f, "near": "", "area_ha": 0.1} for z, s, f, _ in rows
    ]
    return layer(table, [shape for *_, shape in rows])


def recipes(rows):
    """Return methods from (zone, size class, job, stems) of strip 1a."""
    return pd.DataFrame(rows, columns=["zone_id", "size_class", "job", "stems"]).assign(
        strip_id="1a", method_id="hack_and_leave"
    )


@pytest.fixture(scope="module")
def summary(small):
    """Return the small place in words."""
    return report.summarise(small)


@pytest.mark.parametrize(
    ("flag", "years"),
    [("fall_reach", [0]), ("power_line", [0, 1, 2]), ("water_edge", [0, 1, 2]),
     ("dripline", [0, 1, 2])],
)  # fmt: skip
def test_rules_matter_in_their_years(summary, flag, years):
    """Strip 1a is hacked in 2027, sprayed in 2028, mowed in 2029 and left alone in 2030."""
    assert years_of(flag, summary.strips[0], summary) == years


def test_fall_reach_lasts_while_dead_stems_stand(summary):
    """With dead stems at the start of each year, fall reach and the line's ground stay."""
    rows = tuple(forecast(year, 10) for year in range(2027, 2032))
    told = replace(summary, ahead=Ahead(strips={"1a": rows}))
    assert years_of("fall_reach", told.strips[0], told) == [0, 1, 2, 3]
    assert years_of("power_line", told.strips[0], told) == [0, 1, 2, 3]
    assert years_of("water_edge", told.strips[0], told) == [0, 1, 2]


def test_ground_of_a_strip_that_waits_has_no_rules(small, summary):
    """A strip that is not treated in these years shows none."""
    there = zones([("w", "3", "water_edge+fall_reach", box(0, 200, 50, 250))])
    assert ruled_pieces(replace(small, zones=there), summary) == []


def test_dead_trees_stand_where_the_forecast_says_so(summary):
    """A year shows dead trees where more than half a stem is left standing at its end."""
    rows = tuple(forecast(2027 + step, 10) for step in range(5))
    none = replace(rows[0].dead, value=0.4)
    rows = tuple(replace(row, dead=none) if row.year > 2029 else row for row in rows)
    told = replace(summary, ahead=Ahead(strips={"1a": rows}))
    assert [row.dead.value > 0.5 for row in rows] == [True, True, True, False, False]
    assert dead_stand(told.strips[0], told) == [1, 1, 0, 0]


def test_no_zones_at_all_is_no_ground_with_rules(small, summary):
    """Where the layer of zones is empty, nothing is drawn and nothing fails."""
    assert ruled_pieces(replace(small, zones=small.zones.iloc[:0]), summary) == []


def test_a_place_across_the_180th_meridian_stays_in_one_piece(small, summary):
    """The same place on the 180th meridian is as wide in degrees as where it was made."""
    grid = small.grid.replace("lon_0=-85.75", "lon_0=179.999")
    layers = ("blocks", "strips", "zones", "features", "plots", "keep_trees")
    moved = {name: getattr(small, name).set_crs(grid, allow_override=True) for name in layers}
    here = map_data(small, summary)
    there = map_data(replace(small, grid=grid, **moved), summary)
    wide = [data["bounds"][1][1] - data["bounds"][0][1] for data in (here, there)]
    assert max(abs(corner[1]) for corner in there["bounds"]) > 180
    assert wide[1] == pytest.approx(wide[0], abs=3e-6)
    assert there["trees"]["box"][2] == pytest.approx(here["trees"]["box"][2], rel=1e-6)
    at = [strip["at"][1] for strip in there["strips"]]
    assert min(at) > there["bounds"][0][1]
    assert max(at) < there["bounds"][1][1]


def test_a_zone_with_two_rules_shows_under_both(small, summary):
    """Each rule has its own shape and its own years."""
    there = zones([("b", "1a", "dripline+water_edge", box(0, 0, 50, 50))])
    pieces = ruled_pieces(replace(small, zones=there), summary)
    assert [piece["flag"] for piece in pieces] == ["water_edge", "dripline"]


def test_many_driplines_stay_few_corners(small, summary):
    """Of four thousand crowns with 64 corners each, no more than the stated number is drawn."""
    draw = np.random.default_rng(1)
    rows = [
        (str(n), "1a", "dripline", Point(*draw.uniform(0, 3000, 2)).buffer(6)) for n in range(4000)
    ]
    pieces = ruled_pieces(replace(small, zones=zones(rows)), summary)
    assert shapely.get_num_coordinates(pieces[0]["shape"]) <= MOST_CORNERS
    assert pieces[0]["shape"].is_valid


def test_a_zone_shows_the_job_that_takes_most_of_its_wood(small):
    """Four trunks of over 10 in outweigh a hundred stems of 1 to 3 in and a thousand seedlings."""
    rows = [("z2", "over_10in", "hack_and_squirt", 4.0), ("z2", "1_3in", "cut_and_spray", 100.0),
            ("z2", "seedling", "foliar", 1000.0)]  # fmt: skip
    assert zone_jobs(replace(small, methods=recipes(rows))) == {("1a", "z2"): "hack_and_squirt"}


def test_where_nothing_but_seedlings_grows_their_number_decides(small):
    """Seedlings have no thickness; the job with most of them is shown."""
    rows = [("z2", "seedling", "foliar", 30.0), ("z2", "seedling", "hand_work", 5.0)]
    assert zone_jobs(replace(small, methods=recipes(rows))) == {("1a", "z2"): "foliar"}


def test_only_the_chosen_method_is_shown(small):
    """Recipes of other methods of the strip do not count."""
    rows = recipes([("z2", "over_10in", "cut_and_spray", 9.0)]).assign(method_id="cut_and_spray")
    assert zone_jobs(replace(small, methods=rows)) == {}


def test_pieces_cover_their_strip_once(small, summary):
    """The pieces of a strip add up to its zones' ground and do not overlap."""
    pieces = [shape for strip, _, shape in way_pieces(small, summary) if strip == "1a"]
    assert sum(shape.area for shape in pieces) == pytest.approx(100 * 200)
    assert gpd.GeoSeries(pieces).union_all().area == pytest.approx(100 * 200)


def test_every_job_and_method_has_a_sign():
    """No job of the recipes and no method is without one, and no two signs look alike."""
    keys = {sign.key for sign in WAYS}
    assert set(OF_METHOD.values()) <= keys
    assert set(METHODS) - {"not_now"} == set(OF_METHOD)
    assert keys - {"not_now"} <= set(JOBS)
    assert len({(sign.colour, sign.pattern, sign.outline) for sign in WAYS}) == len(WAYS)


def test_trees_unpack_to_their_places():
    """Places come back to a thousandth of the box's side, by the web map's own projection."""
    place = small_results()
    trees = map_data(place, report.summarise(place))["trees"]
    numbers = {key: np.frombuffer(base64.b64decode(trees[key][1]), "<u2") for key in ("x", "y")}
    half = 20037508.342789244  # half of the web map's side [m], EPSG:3857
    x = (trees["box"][0] + numbers["x"] / 65535 * trees["box"][2] - 0.5) * 2 * half
    y = (0.5 - trees["box"][1] - numbers["y"] / 65535 * trees["box"][3]) * 2 * half
    east, north = Transformer.from_crs("EPSG:3857", place.grid, always_xy=True).transform(x, y)
    assert list(zip(np.round(east), np.round(north), strict=True)) == [(60, 120), (40, 300)]


def test_shapes_unpack_to_their_corners():
    """Running sums of the packed numbers are the corners in millionths of a degree."""
    ring = Polygon([(-85.75, 36.33), (-85.749, 36.33), (-85.749, 36.3312345), (-85.75, 36.33)])
    packed = np.array(packed_shape(ring)[0][0]).reshape(-1, 2)
    corners = np.cumsum(packed, axis=0) / 1e6
    assert corners[:, ::-1] == pytest.approx(np.array(ring.exterior.coords), abs=1e-6)
