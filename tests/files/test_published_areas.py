"""Files of others are read as an owner's, and give the areas that others published for them."""

import csv
import zipfile
from pathlib import Path

import geopandas as gpd
import pyogrio
import pytest
import shapely

from clearing.files.headings import own_headings
from clearing.files.layers import find_layer, open_layer
from clearing.land import local_grid, mend_blocks, to_grid

PUBLISHED = Path(__file__).parents[1] / "data" / "published"
SURVEY_FOOT_M = 1200 / 3937  # NIST notice on the US survey foot
with (Path(__file__).parents[1] / "published" / "geodesy.csv").open() as stream:
    ROWS = [row for row in csv.DictReader(stream) if row["case"] in ("borough", "county")]
PRINTED = {row["quantity"]: float(row["expected"]) for row in ROWS}
TOLERANCE = {row["quantity"]: float(row["tolerance"]) for row in ROWS}
BOROUGHS = {row["quantity"]: float(row["expected"]) for row in ROWS if row["case"] == "borough"}


@pytest.fixture
def boroughs(tmp_path):
    """Return the five boroughs as an owner's blocks.shp, in US survey feet (EPSG:2263)."""
    with zipfile.ZipFile(PUBLISHED / "nybb.zip") as packed:
        packed.extractall(tmp_path / "city")
    city = gpd.read_file(tmp_path / "city" / "nybb.shp")
    assert "US survey foot" in city.crs.to_wkt()
    mine = city.rename(columns={"BoroCode": "Block_ID", "BoroName": "Name"})
    pyogrio.write_dataframe(mine, tmp_path / "blocks.shp", driver="ESRI Shapefile")
    return read(tmp_path, "blocks")


def read(folder: Path, name: str) -> gpd.GeoDataFrame:
    """Return a layer as the reader of an owner's folder opens it."""
    source = find_layer(folder, name)
    layer, problems = own_headings(open_layer(source), name, source.ending)
    assert problems == []
    return layer


def grid_areas(layer: gpd.GeoDataFrame) -> gpd.GeoSeries:
    """Return the areas of shapes in our grid [m2]."""
    return to_grid(layer, local_grid(layer)).area


def test_the_file_of_the_boroughs_says_what_was_printed(boroughs):
    """Names, ids and published areas come through; the plane area in feet is the published one."""
    by_name = boroughs.set_index("name")
    assert sorted(boroughs["block_id"]) == [1, 2, 3, 4, 5]
    for name, feet in BOROUGHS.items():
        assert by_name["Shape_Area"][name] == pytest.approx(feet, rel=1e-8)
        assert by_name.area[name] == pytest.approx(feet, rel=0, abs=TOLERANCE[name])


def test_boroughs_in_survey_feet_have_their_published_area(boroughs):
    """Square feet x (1200/3937)^2 within the scale of the state's map, 1.5e-5 over the city.

    The map's own scale is up to 1.2e-5 there (recomputed by geodesic).
    """
    ours = grid_areas(boroughs)
    published = boroughs["Shape_Area"] * SURVEY_FOOT_M**2
    assert ours.tolist() == pytest.approx(published.tolist(), rel=1.5e-5)


def test_boroughs_as_neighbours_are_not_spoiled(boroughs):
    """Real outlines of hundreds of corners and islands: hardly anything is mended, none is lost."""
    laid = to_grid(boroughs, local_grid(boroughs))
    mended, table = mend_blocks(laid)
    assert mended.area.tolist() == pytest.approx(laid.area.tolist(), rel=1e-5)
    change = mended.area.sum() - laid.area.sum()
    assert table["area_m2"].sum() == pytest.approx(change, abs=1e-3)


def test_counties_of_a_state_have_its_published_area(tmp_path):
    """64 counties of Colorado: the state within 2e-4 and Baca County within 1e-4 (Census).

    The outlines are generalised, so that single counties differ more.
    """
    text = (PUBLISHED / "colorado-counties.geojson").read_text().replace('"geoid"', '"block_id"')
    (tmp_path / "blocks.geojson").write_text(text)
    counties = read(tmp_path, "blocks")
    ours, published = grid_areas(counties), counties["aland"] + counties["awater"]
    assert len(counties) == 64
    assert published.sum() == pytest.approx(PRINTED["state"], abs=1)
    baca = ours[counties["block_id"] == "08009"].iloc[0]
    for name, area in (("state", ours.sum()), ("08009", baca)):
        assert area == pytest.approx(PRINTED[name], rel=0, abs=TOLERANCE[name])


def test_the_wrong_foot_would_show(boroughs):
    """The same numbers taken for international feet miss the plane area by 4 parts in a million."""
    wrong = boroughs.area.sum() * 0.3048**2
    right = sum(BOROUGHS.values()) * SURVEY_FOOT_M**2
    assert wrong / right - 1 == pytest.approx(-4e-6, abs=1e-6)
    assert shapely.get_num_coordinates(boroughs.geometry.to_numpy()).sum() > 50_000
