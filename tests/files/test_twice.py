"""A layer in two places is told, and neither reading nor drawing loses what one of them says."""

import shutil

import geopandas as gpd
import pandas as pd
import pytest

import clearing
from clearing.errors import InputError
from clearing.files.kept import open_land, save_land
from clearing.files.layers import find_layer
from clearing.files.twice import lost_rows
from tests.files.formats import save
from tests.hard.ground import LAND, lay_out
from tests.hard.packed import moved_out

LAYERS = ("blocks", "strips", "keep_trees", "features", "plots")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Return a tiny property in land.gpkg."""
    return lay_out(tmp_path_factory.mktemp("twice") / "wren_corner")


@pytest.fixture
def home(made, tmp_path):
    """Return a copy of the tiny property."""
    return shutil.copytree(made, tmp_path / "wren_corner")


def layer(home, name: str) -> gpd.GeoDataFrame:
    """Return a layer of land.gpkg."""
    return gpd.read_file(home / LAND, layer=name)


@pytest.mark.parametrize("name", LAYERS)
def test_the_same_in_two_places_loses_nothing(home, name):
    """In degrees and in metres, with corners cut to seven digits, no row counts as lost."""
    frame = layer(home, name).to_crs(4326)
    save(frame, home / f"{name}.geojson", name, "GeoJSON", COORDINATE_PRECISION="7")
    source = find_layer(home, name)
    assert [each.path.name for each in source.beside] == [LAND]
    assert lost_rows(source.beside[0], source, name) == (len(frame), 0)


@pytest.mark.parametrize(("name", "kept"), [*zip(LAYERS, (1, 0, 1, 0, 2), strict=True)])
def test_rows_that_one_file_lacks_are_counted(home, name, kept):
    """Rows that stand in land.gpkg alone are lost, all of them where the other file is empty."""
    frame = layer(home, name)
    frame.iloc[:kept].to_crs(4326).to_file(home / f"{name}.geojson")
    source = find_layer(home, name)
    assert lost_rows(source.beside[0], source, name) == (len(frame), len(frame) - kept)


def test_rows_go_by_their_names_and_sizes_by_their_units(home):
    """Sorted otherwise and told in metres (1 ft = 0.3048 m) it is the same; another size is not."""
    frame = layer(home, "plots").iloc[::-1].to_crs(4326)
    metric = frame.assign(radius_m=frame["radius_ft"] * 0.3048).drop(columns="radius_ft")
    metric.to_file(home / "plots.geojson")
    source = find_layer(home, "plots")
    assert lost_rows(source.beside[0], source, "plots") == (3, 0)
    metric.assign(radius_m=[6.0, *metric["radius_m"][1:]]).to_file(home / "plots.geojson")
    assert lost_rows(source.beside[0], source, "plots") == (3, 1)


def test_a_land_file_of_another_kind_counts_too(home):
    """A KML with a folder of blocks beside blocks.geojson is named."""
    frame = layer(home, "blocks").to_crs(4326)
    moved_out(home)
    save(frame, home / "land.kml", "Blocks", "LIBKML")
    frame.iloc[:1].to_file(home / "blocks.geojson")
    with pytest.raises(InputError, match=r"blocks\.geojson and land\.kml both hold it, and 1 of"):
        clearing.read(home)


def test_an_empty_layer_in_the_land_file_is_no_second_place(home):
    """Where land.gpkg says nothing of plots, plots.geojson is read without a word."""
    frame = layer(home, "plots")
    frame.to_crs(4326).to_file(home / "plots.geojson")
    frame.iloc[:0].to_file(home / LAND, layer="plots", driver="GPKG")
    place = clearing.read(home)
    assert len(place.plots) == 3
    assert place.notes == ()


def test_plots_laid_and_copied_home_are_read_with_a_remark(home):
    """plots.geojson with the drawn plots and new ones beside land.gpkg stops nothing."""
    frame = layer(home, "plots")
    new = frame.iloc[[0]].assign(plot_id="P9", geometry=frame.geometry.iloc[[0]].translate(9))
    pd.concat([frame, new]).to_crs(4326).to_file(home / "plots.geojson")
    place = clearing.read(home)
    assert place.plots["plot_id"].tolist() == ["P1", "P2", "P3", "P9"]
    (said,) = place.notes
    assert said.startswith("plots.geojson and land.gpkg both hold plots; plots.geojson is read")


@pytest.mark.parametrize("packed", [LAND, "land.kml"])
def test_the_page_says_which_it_shows_and_its_first_stroke_settles_it(home, packed):
    """Afterwards land.gpkg alone holds the blocks, and both files lie in earlier as they were."""
    frame = layer(home, "blocks").to_crs(4326)
    if packed != LAND:
        moved_out(home)
        save(frame, home / packed, "blocks", "LIBKML")
    frame.iloc[:1].assign(name="phone").to_file(home / "blocks.geojson")
    whole = {name: (home / name).read_bytes() for name in ("blocks.geojson", packed)}
    land = open_land(home)
    (said,) = land.notes
    assert said.startswith(f"blocks.geojson and {packed} both hold blocks and differ: those of")
    assert land.layers["blocks"]["name"].tolist() == ["phone"]
    land = save_land(home, land, {"blocks": land.layers["blocks"].assign(name="drawn")})
    assert open_land(home).notes == ()
    assert layer(home, "blocks")["name"].tolist() == ["drawn"]
    assert not (home / "blocks.geojson").exists()
    assert packed == LAND or not (home / packed).exists()
    kept = [path.read_bytes() for path in (home / "earlier").iterdir() if path.is_file()]
    assert all(raw in kept for raw in whole.values())


def test_a_land_file_that_cannot_be_read_is_told_beside_own_files(home):
    """A damaged land.gpkg is not passed over because every layer lies in a file of its own."""
    for name in LAYERS:
        layer(home, name).to_crs(4326).to_file(home / f"{name}.geojson")
    (home / LAND).write_bytes((home / LAND).read_bytes()[:5000])
    with pytest.raises(InputError, match=r"land\.gpkg cannot be read"):
        clearing.read(home)
