"""Layers are read from the formats that map programs and phones write, and say the same."""

import zipfile
from dataclasses import replace

import geopandas as gpd
import gpxpy.gpx
import pyogrio
import pytest
import shapely

import clearing
from clearing import land
from clearing.rates import for_settings
from tests.files.formats import SAVED, as_kml, layer_of, save, without

SETTINGS = '[property]\nname = "Home"\nfirst_year = 2027\n[targets]\nspecies = ["callery_pear"]\n'
X, Y = 500_000.0, 4_020_000.0
BOX = shapely.box(X, Y, X + 100, Y + 100)
DEGREES = gpd.GeoSeries([BOX], crs="EPSG:32616").to_crs("EPSG:4326").iloc[0]


def home(folder, settings: str = SETTINGS):
    """Make a folder with settings and no layer."""
    folder.mkdir()
    (folder / "property.toml").write_text(settings)
    return folder


def blocks(**columns) -> gpd.GeoDataFrame:
    """Return one block of a hectare with the given columns, one cell each."""
    named = {name: [cell] for name, cell in columns.items()}
    return gpd.GeoDataFrame(named, geometry=[BOX], crs="EPSG:32616")


def problems_of(folder) -> str:
    """Return the problems that reading a folder names, in one text."""
    with pytest.raises(clearing.InputError) as found:
        clearing.read(folder)
    return " / ".join(found.value.problems)


def laid(place):
    """Return a property in its grid."""
    return land.lay_out(place, for_settings(place.settings))


def walked(points, names: list[str], waypoints: tuple = ()) -> str:
    """Return a GPX text with a track for each name along the same points, and waypoints."""
    text = gpxpy.gpx.GPX()
    for name in names:
        track = gpxpy.gpx.GPXTrack(name=name)
        segment = gpxpy.gpx.GPXTrackSegment()
        segment.points = [gpxpy.gpx.GPXTrackPoint(lat, lon) for lon, lat in points]
        track.segments.append(segment)
        text.tracks.append(track)
    text.waypoints = [gpxpy.gpx.GPXWaypoint(lat, lon, name=n) for n, lon, lat in waypoints]
    return text.to_xml()


@pytest.mark.parametrize("ending", SAVED)
def test_the_sample_in_another_format_says_the_same(ending, place, sample):
    """Saved anew and read: the same columns, cells and areas (KML rounds: a hundred-thousandth)."""
    SAVED[ending](sample)
    again = clearing.read(sample)
    rel = 1e-5 if ending in ("kml", "kmz") else 1e-6
    for name in ("blocks", "keep_trees", "features", "plots"):
        one, two = getattr(place, name), getattr(again, name)
        two = two.drop(columns="ends_apart_m", errors="ignore")
        assert two.columns.tolist() == one.columns.tolist()
        cells = [frame.drop(columns="geometry").astype(str) for frame in (one, two)]
        assert cells[0].equals(cells[1].set_axis(cells[0].index)), name
    if ending == "gpx":  # a track has no holes
        whole = place.blocks.set_geometry(shapely.polygons(place.blocks.geometry.exterior))
        place = replace(place, blocks=whole.set_crs(place.blocks.crs))
    one, two = laid(place).blocks, laid(again).blocks
    for column in ("gross_ha", "area_ha"):
        assert two[column].tolist() == pytest.approx(one[column].tolist(), rel=rel)


@pytest.mark.parametrize("name", ["Block_ID", "BLOCK_ID", "block id", "block_id"])
def test_column_names_in_other_letters_are_known(tmp_path, name):
    """Capitals and blanks in a column's name change nothing."""
    folder = home(tmp_path / "home")
    save(blocks(**{name: "a", "Goal": "woodland"}), folder / "blocks.gpkg", "blocks", "GPKG")
    found = clearing.read(folder).blocks.iloc[0]
    assert (found["block_id"], found["goal"]) == ("a", "woodland")


def test_a_column_cut_at_ten_letters_is_known(tmp_path):
    """A Shapefile keeps ten letters of density_guess; that is enough."""
    folder = home(tmp_path / "home")
    save(blocks(block_id="a", density_guess="thick"), folder / "blocks.shp", "blocks",
         "ESRI Shapefile")  # fmt: skip
    assert "density_gu" in pyogrio.read_info(folder / "blocks.shp")["fields"]
    assert clearing.read(folder).blocks["density_guess"].tolist() == ["thick"]


def test_a_cut_column_that_may_be_two_is_named(sample):
    """small_radi may be feet or metres: the sentence says both, and names that fit."""
    save(layer_of(sample, "plots"), sample / "plots.shp", "plots", "ESRI Shapefile")
    found = problems_of(sample)
    assert ("column 'small_radi' is a name cut at 10 letters and may be small_radius_ft or "
            "small_radius_m; name it small_r_ft or small_ra_m") in found  # fmt: skip


def test_two_columns_that_mean_the_same_are_named(tmp_path):
    """block_id and Block ID beside each other: the owner says which."""
    folder = home(tmp_path / "home")
    save(blocks(block_id="a", **{"Block ID": "b"}), folder / "blocks.geojson", "b", "GeoJSON")
    assert "columns block_id, Block ID are all read as 'block_id'" in problems_of(folder)


def test_two_files_for_one_layer_are_named(tmp_path):
    """Nobody guesses which of two is meant, own files or land files."""
    folder = home(tmp_path / "home")
    for ending, driver in (("gpkg", "GPKG"), ("geojson", "GeoJSON")):
        save(blocks(block_id="a"), folder / f"blocks.{ending}", "blocks", driver)
    assert "blocks: blocks.geojson and blocks.gpkg both hold it" in problems_of(folder)
    (folder / "blocks.gpkg").rename(folder / "land.gpkg")
    (folder / "blocks.geojson").unlink()
    save(blocks(block_id="a").to_crs(4326), folder / "land.kml", "Blocks", "LIBKML")
    assert "blocks: land.gpkg and land.kml both hold it" in problems_of(folder)


def test_feet_of_a_state_system_are_read(tmp_path):
    """A square of 1,000 US survey feet in EPSG:2263 is 92,903.41 m2, but for the map's scale.

    1 US survey foot = 1200/3937 m (NIST; the system's scale is within 1e-4 near its centre).
    """
    folder = home(tmp_path / "home")
    square = shapely.box(1_000_000, 200_000, 1_001_000, 201_000)
    layer = gpd.GeoDataFrame({"block_id": ["a"]}, geometry=[square], crs="EPSG:2263")
    save(layer, folder / "blocks.shp", "blocks", "ESRI Shapefile")
    area = laid(clearing.read(folder)).blocks["gross_ha"].iloc[0] * 1e4
    assert area == pytest.approx((1000 * 1200 / 3937) ** 2, rel=2e-4)


def test_a_shapefile_without_prj_is_told_what_to_do(tmp_path):
    """No system stated: the missing file is named, and numbers that look like degrees are told."""
    folder = home(tmp_path / "home")
    save(blocks(block_id="a"), folder / "blocks.shp", "blocks", "ESRI Shapefile")
    (folder / "blocks.prj").unlink()
    assert "does not state its coordinate system (blocks.prj is missing)" in problems_of(folder)
    save(blocks(block_id="a").to_crs(4326), folder / "blocks.shp", "blocks", "ESRI Shapefile")
    (folder / "blocks.prj").unlink()
    said = "the corners look like degrees (-87.0, 36.3); say so by saving with EPSG:4326"
    assert said in problems_of(folder)


def test_heights_are_dropped(tmp_path):
    """Corners with heights give a flat block of the same area."""
    folder = home(tmp_path / "home")
    high = shapely.force_3d(BOX, 250.0)
    layer = gpd.GeoDataFrame({"block_id": ["a"]}, geometry=[high], crs="EPSG:32616")
    save(layer, folder / "blocks.gpkg", "blocks", "GPKG")
    place = clearing.read(folder)
    assert not place.blocks.has_z.any()
    assert place.blocks.area.tolist() == [pytest.approx(1e4)]


PLACEMARK = """<Placemark><name>{name}</name><description>by hand</description>{more}<Polygon>
<extrude>1</extrude><altitudeMode>relativeToGround</altitudeMode><outerBoundaryIs><LinearRing>
<coordinates>{corners}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"""


def kml(*folders: tuple[str, str]) -> str:
    """Return a KML text of (folder name, placemarks)."""
    inside = "".join(f"<Folder><name>{n}</name>{marks}</Folder>" for n, marks in folders)
    return f'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{inside}</Document></kml>'


def placemark(name: str, **data: str) -> str:
    """Return a placemark of the block, with data as a map program writes it."""
    cells = "".join(f'<Data name="{k}"><value>{v}</value></Data>' for k, v in data.items())
    corners = " ".join(f"{x:.12f},{y:.12f},0" for x, y in DEGREES.exterior.coords)
    more = f"<ExtendedData>{cells}</ExtendedData>" if cells else ""
    return PLACEMARK.format(name=name, more=more, corners=corners)


def test_a_placemark_gives_its_name_to_the_block(tmp_path):
    """Name becomes the id; data columns keep their names; a folder in other letters is known."""
    folder = home(tmp_path / "home")
    (folder / "land.kml").write_text(kml(("Blocks", placemark("north", Goal="woodland"))))
    found = clearing.read(folder).blocks.iloc[0]
    assert (found["block_id"], found["goal"]) == ("north", "woodland")
    (folder / "land.kml").write_text(kml(("blocks", placemark("North field", block_id="n"))))
    found = clearing.read(folder).blocks.iloc[0]
    assert (found["block_id"], found["name"]) == ("n", "North field")


def test_a_file_of_several_folders_says_which_is_meant(tmp_path):
    """blocks.kml with one folder is taken as it is; with two, one must be called blocks."""
    folder = home(tmp_path / "home")
    (folder / "blocks.kml").write_text(kml(("my place", placemark("a"))))
    assert clearing.read(folder).blocks["block_id"].tolist() == ["a"]
    (folder / "blocks.kml").write_text(kml(("one", placemark("a")), ("two", placemark("b"))))
    assert "blocks.kml holds one, two, and none is called blocks" in problems_of(folder)


def test_a_walked_track_becomes_a_block_and_says_so(tmp_path):
    """Three feet between the ends are closed and told in feet; the waypoint is a plot."""
    folder = home(tmp_path / "home")
    ends = [(X, Y), (X + 100, Y), (X + 100, Y + 100), (X, Y + 100), (X, Y + 0.9144)]
    line = gpd.GeoSeries([shapely.LineString(ends)], crs="EPSG:32616").to_crs(4326).iloc[0]
    spot = DEGREES.centroid
    (folder / "land.gpx").write_text(walked(line.coords, ["north"], (("p1", spot.x, spot.y),)))
    place = clearing.read(folder)
    assert place.plots["plot_id"].tolist() == ["p1"]
    ground = laid(place)
    assert ground.blocks["gross_ha"].iloc[0] == pytest.approx(1.0, rel=2e-3)
    assert ("block north: was drawn as a line and taken as its outline; its ends lay 3 ft apart "
            "and were joined") in ground.notes  # fmt: skip


@pytest.mark.parametrize(("units", "told"), [("us", "328 ft"), ("metric", "100 m")])
def test_a_track_that_lies_open_is_refused_in_the_owners_units(tmp_path, units, told):
    """Three sides of a square are no block."""
    settings = SETTINGS.replace("first_year", f'units = "{units}"\nfirst_year')
    folder = home(tmp_path / "home", settings)
    points = list(DEGREES.exterior.coords)[:-1]
    (folder / "blocks.gpx").write_text(walked(points, ["north"]))
    found = problems_of(folder)
    assert f"block north is drawn as a line whose ends lie {told} apart; bring them" in found
    assert "5 % of the line's length is closed" in found
    assert "LineString" not in found


def test_features_of_a_phone_keep_their_kind(sample):
    """In GPX a feature's kind is its type; lines and waypoints come together."""
    text = gpxpy.gpx.GPX()
    spots = layer_of(sample, "blocks").to_crs(4326).geometry[0].centroid
    text.waypoints = [gpxpy.gpx.GPXWaypoint(spots.y, spots.x, name="old well", type="well")]
    track = gpxpy.gpx.GPXTrack(name="creek")
    track.type = "water"
    points = [gpxpy.gpx.GPXTrackPoint(spots.y + i / 1e4, spots.x) for i in range(3)]
    track.segments = [gpxpy.gpx.GPXTrackSegment(points)]
    text.tracks = [track]
    (sample / "features.gpx").write_text(text.to_xml())
    without(sample, "features")
    found = clearing.read(sample).features
    assert sorted(zip(found["kind"], found["name"], strict=True)) == [
        ("water", "creek"), ("well", "old well"),
    ]  # fmt: skip
    assert sorted(found.geom_type) == ["LineString", "Point"]


def test_a_kml_that_links_elsewhere_is_not_followed(sample):
    """A network link, a definition or a file in disguise is refused before it is opened."""
    as_kml(sample)
    whole = (sample / "land.kml").read_text()
    link = "<NetworkLink><Link><href>other.kml</href></Link></NetworkLink></kml>"
    (sample / "land.kml").write_text(whole.replace("</kml>", link))
    assert "it links to shapes that lie elsewhere" in problems_of(sample)
    defined = '<!DOCTYPE kml [<!ENTITY a "b">]>' + whole[whole.find("<kml") :]
    (sample / "land.kml").write_text(defined)
    assert "it defines words of its own" in problems_of(sample)
    (sample / "land.kml").write_text("<OGRVRTDataSource></OGRVRTDataSource>")
    assert "land.kml cannot be read: it is no KML file" in problems_of(sample)


def test_a_zip_that_swells_is_not_unpacked(tmp_path, monkeypatch):
    """What lies in a KMZ is read up to a bound, whatever its header says."""
    monkeypatch.setattr("clearing.files.layers.LARGEST_BYTES", 2_000_000)
    folder = home(tmp_path / "home")
    with zipfile.ZipFile(folder / "land.kmz", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("doc.kml", kml(("blocks", placemark("a"))) + " " * 3_000_000)
    assert (folder / "land.kmz").stat().st_size < 20_000
    assert "land.kmz cannot be read: it holds more than 2 MB" in problems_of(folder)


def test_reading_writes_nothing_into_the_folder(sample):
    """Formats with companions and indices leave no file behind, and none changed."""
    SAVED["shp"](sample)
    before = {path.name: path.read_bytes() for path in sample.iterdir()}
    clearing.read(sample)
    assert {path.name: path.read_bytes() for path in sample.iterdir()} == before
