"""The owner's folder is read as it is: photo, layers, tables, in either system of units."""

import json

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import rasterio
import shapely

import clearing
from clearing.errors import InputError
from clearing.files import open_photo
from tests.files.formats import without

SETTINGS = '[property]\nname = "Home"\nfirst_year = 2027\n[targets]\nspecies = ["callery_pear"]\n'
CORNER = (500_000.0, 4_020_000.0)


def photo(path, bands: np.ndarray, crs: str | None = "EPSG:32616", pixel: float | None = 0.5):
    """Write an array (bands, height, width) as a GeoTIFF; without pixel size it lies nowhere."""
    count, height, width = bands.shape
    transform = rasterio.transform.from_origin(*CORNER, pixel, pixel) if pixel else None
    with rasterio.open(
        path, "w", driver="GTiff", count=count, height=height, width=width, crs=crs,
        dtype=bands.dtype, transform=transform,
    ) as image:  # fmt: skip
        image.write(bands)
    return path


def home(folder, blocks: list[dict] | None = None, **tables: str):
    """Write a small property of one block of a hectare, and tables as text."""
    folder.mkdir()
    (folder / "property.toml").write_text(SETTINGS)
    x, y = CORNER
    rows = blocks or [{"block_id": "1", "geometry": shapely.box(x, y, x + 100, y + 100)}]
    layer = gpd.GeoDataFrame(rows, crs="EPSG:32616")
    pyogrio.write_dataframe(layer, folder / "land.gpkg", layer="blocks", driver="GPKG")
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text)
    return folder


def test_a_photo_is_read_as_it_lies(tmp_path):
    """Colours, place and coordinate system of a small photo come out untouched."""
    bands = np.arange(3 * 20 * 30, dtype=np.uint8).reshape(3, 20, 30)
    pixels, transform, crs = open_photo(photo(tmp_path / "a.tif", bands))
    assert np.array_equal(pixels, np.moveaxis(bands, 0, -1))
    assert transform * (0, 0) == CORNER
    assert transform * (30, 20) == (CORNER[0] + 15, CORNER[1] - 10)
    assert crs.to_epsg() == 32616


def test_a_large_photo_is_shrunk_and_covers_the_same_ground(tmp_path):
    """9,000 pixels become 4,000 on the longest side; the far corner stays where it is."""
    bands = np.zeros((3, 300, 9000), dtype=np.uint8)
    pixels, transform, _ = open_photo(photo(tmp_path / "a.tif", bands, pixel=0.1))
    assert pixels.shape == (133, 4000, 3)
    assert transform * (4000, 133) == pytest.approx((CORNER[0] + 900, CORNER[1] - 30))


@pytest.mark.parametrize("kind", [np.uint16, np.float32])
def test_a_photo_of_more_bits_is_brought_to_eight(tmp_path, kind):
    """Dark stays dark, bright bright; one band becomes grey; a fourth band is left out."""
    ramp = np.linspace(0, 4000, 400).reshape(1, 20, 20).astype(kind)
    grey, _, _ = open_photo(photo(tmp_path / "one.tif", ramp))
    colour, _, _ = open_photo(photo(tmp_path / "four.tif", np.repeat(ramp, 4, axis=0)))
    assert grey.dtype == np.uint8
    assert grey.shape == colour.shape == (20, 20, 3)
    assert (grey[0, 0].max(), grey[-1, -1].min()) == (0, 255)
    assert (np.diff(grey[..., 0].ravel().astype(int)) >= 0).all()


def test_a_picture_that_says_no_place_is_refused(tmp_path):
    """No coordinate system, no corner, or no image at all: a sentence that names the file."""
    black = np.zeros((3, 5, 5), dtype=np.uint8)
    (tmp_path / "note.tif").write_text("not a picture")
    bare = photo(tmp_path / "bare.tif", black, crs=None)
    with pytest.warns(rasterio.errors.NotGeoreferencedWarning):
        nowhere = photo(tmp_path / "nowhere.tif", black, pixel=None)
    said = {bare: "says no coordinate system", nowhere: "does not say where it lies",
            tmp_path / "note.tif": "is no GeoTIFF"}  # fmt: skip
    for path, words in said.items():
        with pytest.raises(clearing.InputError, match=f"{path.name} {words}"):
            open_photo(path)


def test_a_block_and_settings_are_enough(tmp_path):
    """Everything else may be missing; the layers are there, empty."""
    place = clearing.read(home(tmp_path / "home"))
    assert place.blocks["block_id"].tolist() == ["1"]
    assert (len(place.plots), len(place.keep_trees), len(place.tally)) == (0, 0, 0)
    assert place.photo is None


def test_inches_and_centimetres_are_both_read(tmp_path):
    """2 in and 5.08 cm are the same stem (1 in = 2.54 cm), apart or beside each other."""
    x, y = CORNER
    folder = home(
        tmp_path / "home",
        tally="plot_id,species,dbh_in,dbh_cm,count\np,callery_pear,2,,1\np,callery_pear,,5.08,1\n"
        "p,callery_pear,2,5.1,1\n",
    )
    plot = [{"plot_id": "p", "visited": "yes", "geometry": shapely.Point(x + 50, y + 50)}]
    layer = gpd.GeoDataFrame(plot, crs="EPSG:32616")
    pyogrio.write_dataframe(layer, folder / "land.gpkg", layer="plots", driver="GPKG")
    assert clearing.read(folder).tally["dbh_cm"].tolist() == pytest.approx([5.08, 5.08, 5.1])
    (folder / "tally.csv").write_text("plot_id,species,dbh_in,dbh_cm,count\np,oak,9,5.08,1\n")
    with pytest.raises(InputError, match="row 2: 'dbh_in' and 'dbh_cm' are not the same"):
        clearing.read(folder)


def test_numbers_as_names_match_text_names(tmp_path):
    """Block 7 saved as a number is block 7 of the strips saved as text."""
    x, y = CORNER
    box = shapely.box(x, y, x + 100, y + 100)
    folder = home(tmp_path / "home", [{"block_id": 7, "geometry": box}])
    strip = gpd.GeoDataFrame(
        [{"strip_id": "a", "block_id": "7", "geometry": box}], crs="EPSG:32616"
    )
    pyogrio.write_dataframe(strip, folder / "land.gpkg", layer="strips", driver="GPKG")
    place = clearing.read(folder)
    assert place.strips["block_id"].tolist() == place.blocks["block_id"].tolist() == ["7"]


def test_a_tally_saved_by_a_spreadsheet_is_read(sample):
    """A byte-order mark, Windows line ends and blanks around words change nothing."""
    plain = clearing.read(sample).tally
    text = (sample / "tally.csv").read_text().replace("\n", "\r\n").replace(",", " , ", 40)
    head, rest = text.split("\r\n", 1)
    text = head.replace(" ", "") + "\r\n" + rest
    (sample / "tally.csv").write_bytes(b"\xef\xbb\xbf" + text.encode())
    pd.testing.assert_frame_equal(clearing.read(sample).tally, plain)


def test_an_inner_circle_larger_than_the_plot_is_named(sample):
    """The small stems belong in the smaller circle: said by name, in the owner's feet."""
    plots = gpd.read_file(sample / "land.gpkg", layer="plots")
    plots.loc[3, ["radius_ft", "small_radius_ft"]] = [20.0, 30.0]
    plots.to_file(sample / "land.gpkg", layer="plots")
    name = plots["plot_id"][3]
    with pytest.raises(InputError, match=rf"in plot {name} the inner circle \(30 ft\) is larger"):
        clearing.read(sample)


def test_kinds_may_be_written_as_people_write_them(sample):
    """PUBLIC ROAD and Farm-road are public_road and farm_road."""
    features = gpd.read_file(sample / "land.gpkg", layer="features")
    wanted = features["kind"].tolist()
    features["kind"] = features["kind"].str.upper().str.replace("_", " ")
    features.to_file(sample / "land.gpkg", layer="features")
    assert clearing.read(sample).features["kind"].tolist() == wanted


def test_a_plot_said_to_be_unvisited_has_no_stems(sample):
    """No in visited and rows in the tally contradict each other; the owner says which holds."""
    plots = gpd.read_file(sample / "land.gpkg", layer="plots")
    plots.loc[0, "visited"] = "no"
    plots.to_file(sample / "land.gpkg", layer="plots")
    with pytest.raises(InputError, match=f"plot {plots['plot_id'][0]} is not visited and has rows"):
        clearing.read(sample)


def test_each_part_of_a_collection_is_a_feature(sample):
    """A pond and its creek drawn as one thing: neither is lost."""
    features = gpd.read_file(sample / "land.gpkg", layer="features")
    spot = features.geometry[0].centroid
    line = shapely.LineString([(spot.x, spot.y), (spot.x + 300, spot.y)])
    features.loc[0, "geometry"] = shapely.GeometryCollection([spot.buffer(9), line])
    features.loc[0, "kind"] = "water"
    features.to_crs(4326).to_file(sample / "features.geojson")
    without(sample, "features")
    found = clearing.read(sample).features
    assert len(found) == len(features) + 1
    assert found["kind"].iloc[:2].tolist() == ["water", "water"]


def test_lists_in_a_cell_are_read_as_words(sample):
    """GeoJSON may hold a list of targets: the same as the words with blanks between."""
    blocks = gpd.read_file(sample / "land.gpkg", layer="blocks").to_crs(4326)
    text = json.loads(blocks.to_json())
    text["features"][0]["properties"]["targets"] = ["callery_pear", "tree_of_heaven"]
    (sample / "blocks.geojson").write_text(json.dumps(text))
    assert clearing.read(sample).blocks["targets"][0] == "callery_pear tree_of_heaven"


def test_an_empty_layer_is_no_layer_and_blocks_must_hold_one(sample):
    """No rows in strips is nothing drawn; no rows in blocks is said."""
    plain = gpd.read_file(sample / "land.gpkg", layer="blocks")
    empty = '{"type": "FeatureCollection", "features": []}'
    without(sample, "blocks")
    plain.to_crs("EPSG:4326").to_file(sample / "blocks.geojson")
    (sample / "strips.geojson").write_text(empty)
    assert len(clearing.read(sample).strips) == 0
    (sample / "blocks.geojson").write_text(empty)
    with pytest.raises(InputError, match=r"blocks\.geojson holds no shapes; draw a block"):
        clearing.read(sample)


def test_a_walked_track_alone_is_a_property(sample):
    """land.gpx with one track and no waypoint: a block, and no plots."""
    corners = [(36.0, -85.0), (36.001, -85.0), (36.001, -85.001), (36.0, -85.001), (36.0, -85.0)]
    points = "".join(f'<trkpt lat="{y}" lon="{x}"/>' for y, x in corners)
    (sample / "land.gpkg").unlink()
    (sample / "aerial.tif").unlink()
    (sample / "tally.csv").unlink()
    (sample / "land.gpx").write_text(
        '<gpx version="1.1" creator="hand" xmlns="http://www.topografix.com/GPX/1/1"><trk>'
        f"<name>A</name><trkseg>{points}</trkseg></trk></gpx>"
    )
    place = clearing.read(sample)
    assert place.blocks["block_id"].tolist() == ["A"]
    assert len(place.plots) == 0
