"""Projection, areas and units agree with what others printed."""

import csv
from pathlib import Path

import geopandas as gpd
import pytest
import shapely
from pyproj import Geod, Proj, Transformer

from clearing import units
from clearing.land import local_grid, to_grid

PUBLISHED = Path(__file__).parents[1] / "published" / "geodesy.csv"
WGS84 = Geod(ellps="WGS84")
TRAP = shapely.box(-94.000, 30.000, -93.990, 30.008)
ROOF = shapely.box(-111.9427525, 33.4022475, -111.9426775, 33.4023225)
CLARKE = "+a=6378206.4 +es=0.00676866"
ALBERS = "+proj=aea +lat_1=29.5 +lat_2=45.5 +lat_0=23 +lon_0=-96"
SNYDER = {  # projection, longitude and latitude of the printed example
    "laea_polar": ("+proj=laea +lat_0=90 +lon_0=-100 +a=6378388 +es=0.00672267", 5, 80),
    "albers_ellipsoid": (f"{ALBERS} {CLARKE}", -75, 35),
    "albers_sphere": (f"{ALBERS} +R=1", -75, 35),
    "tm_ellipsoid": (f"+proj=tmerc +lat_0=0 +lon_0=-75 +k=0.9996 {CLARKE}", -73.5, 40.5),
    "lcc_ellipsoid": (f"+proj=lcc +lat_1=33 +lat_2=45 +lat_0=23 +lon_0=-96 {CLARKE}", -75, 35),
}


def block(shape, crs: str = "EPSG:4326") -> gpd.GeoDataFrame:
    """Return one block."""
    return gpd.GeoDataFrame({"block_id": ["1"]}, geometry=[shape], crs=crs)


def our_area_m2(shape, crs: str = "EPSG:4326") -> float:
    """Return the area of a block in our grid."""
    layer = block(shape, crs)
    return float(to_grid(layer, local_grid(layer)).area.iloc[0])


def our_recipe(lon: float, lat: float) -> str:
    """Return our own grid about a place, on Snyder's ellipsoid."""
    grid = local_grid(block(shapely.box(lon - 0.01, lat - 0.01, lon + 0.01, lat + 0.01)))
    terms = [term for term in grid.srs.split() if term != "+datum=WGS84"]
    return " ".join([*terms, CLARKE])


def kilometre() -> shapely.Polygon:
    """Return the square walked in three edges of a kilometre."""
    lon, lat, corners = 0.0, 0.0, [(0.0, 0.0)]
    for azimuth in (90, 0, -90):
        lon, lat, _ = WGS84.fwd(lon, lat, azimuth, 1000.0)
        corners.append((lon, lat))
    return shapely.Polygon(corners)


def answers() -> dict[tuple[str, str], float]:
    """Return what projection library, our grid and our units give for every case."""
    out = {}
    laea = our_recipe(-100, 40)
    for case, (text, lon, lat) in {"laea_ellipsoid": (laea, -110, 30), **SNYDER}.items():
        x, y = Proj(text)(lon, lat)
        unit = "" if case == "albers_sphere" else "_m"
        out[f"snyder_{case}", f"x{unit}"], out[f"snyder_{case}", f"y{unit}"] = x, y
    out["trap_block", "area_m2"] = our_area_m2(TRAP)
    out["trap_block", "area_acres"] = our_area_m2(TRAP) / 1e4 / units.HA_PER_ACRE
    for case, lons, lats in (
        ("one_degree_geodesic", [0, 1, 1, 0], [0, 0, 1, 1]),
        ("polar_square_geodesic", [0, 90, 180, 270], [89] * 4),
    ):
        area, around = WGS84.polygon_area_perimeter(lons, lats)
        out[case, "area_m2"], out[case, "perimeter_m"] = area, around
    out["square_kilometre", "area_m2"] = our_area_m2(kilometre())
    out["roof", "area_m2"] = our_area_m2(ROOF)
    out["acre", "area_m2"], out["acre", "area_ha"] = units.HA_PER_ACRE * 1e4, units.HA_PER_ACRE
    out["gallon", "volume_l"] = units.L_PER_GAL
    out["fluid_ounce", "volume_ml"] = units.L_PER_FLOZ * 1000
    out["pound_an_acre", "kg_per_ha"] = units.KG_HA_PER_LB_AC
    out["survey_foot", "ratio_of_areas"] = our_area_m2(
        shapely.box(1e6, 2e5, 1.001e6, 2.01e5), "EPSG:2263"
    ) / our_area_m2(shapely.box(*(v * 0.3048 for v in (1e6, 2e5, 1.001e6, 2.01e5))), FEET_IN_METRES)
    return out


# EPSG:2263 in metres, drawn with the international foot: as if its feet were the wrong ones
FEET_IN_METRES = (
    "+proj=lcc +lat_0=40.1666666666667 +lon_0=-74 +lat_1=41.0333333333333 "
    "+lat_2=40.6666666666667 +x_0=300000 +y_0=0 +datum=NAD83 +units=m +no_defs"
)

with PUBLISHED.open() as stream:
    ROWS = [row for row in csv.DictReader(stream) if row["case"] not in ("borough", "county")]


@pytest.fixture(scope="module")
def found():
    """Return our answers, once."""
    return answers()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['case']}-{row['quantity']}")
def test_the_printed_value_comes_out(row, found):
    """Each published value comes out to the digits that its source prints."""
    ours = found[row["case"], row["quantity"]]
    assert ours == pytest.approx(float(row["expected"]), rel=0, abs=float(row["tolerance"]))


@pytest.mark.parametrize("lat", [-60, -30, 0.1, 35, 60])
def test_our_grid_keeps_areas_everywhere_on_the_property(lat):
    """The scale of areas is one, ten kilometres out as in the middle (Snyder: k h = 1)."""
    grid = Proj(local_grid(block(shapely.box(-86.01, lat - 0.01, -85.99, lat + 0.01))))
    for east, north in ((0, 0), (0.1, 0), (0, 0.1), (-0.1, -0.1)):
        factors = grid.get_factors(-86 + east, lat + north)
        assert factors.areal_scale == pytest.approx(1.0, abs=1e-9)


def test_the_traps_are_there_and_we_do_not_fall_into_them():
    """The same block is a third too large on a web map and short in UTM; ours is the geodesic's.

    Web Mercator +33.79 %, UTM zone 15 -0.0573 % (recomputed with PROJ).
    """
    geodesic = abs(WGS84.geometry_area_perimeter(TRAP)[0])
    for crs, share in (("EPSG:3857", 0.3379), ("EPSG:32615", -0.000573)):
        shape = shapely.transform(TRAP.segmentize(1e-4), projected(crs), interleaved=False)
        assert shape.area / geodesic - 1 == pytest.approx(share, abs=5e-5)
        assert our_area_m2(shape, crs) == pytest.approx(geodesic, rel=1e-6)


def projected(crs: str):
    """Return a function from degrees into a system."""
    return Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform
