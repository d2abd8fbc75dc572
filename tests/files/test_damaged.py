"""Damaged properties give a named problem in the owner's words, never a traceback."""

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
from click.testing import CliRunner
from shapely.geometry import LineString, MultiPoint, Point, Polygon

import clearing
from clearing.cli import main
from tests.files.formats import SAVED


def swap(name, old, new):
    """Return a damage that swaps words in a text file."""

    def damage(folder):
        text = (folder / name).read_text()
        assert old in text
        (folder / name).write_text(text.replace(old, new, 1))

    return damage


def write(name, content):
    """Return a damage that puts other bytes into a file."""
    return lambda folder: (folder / name).write_bytes(content)


def cut(name, length):
    """Return a damage that cuts a file short."""
    return lambda folder: (folder / name).write_bytes((folder / name).read_bytes()[:length])


def cell(column, value):
    """Return a damage that changes the first row of the tally."""

    def damage(folder):
        tally = pd.read_csv(folder / "tally.csv", dtype=str, keep_default_na=False)
        tally.loc[0, column] = value
        tally.to_csv(folder / "tally.csv", index=False)

    return damage


def shape(name, geometry):
    """Return a damage that draws the second row of a layer anew."""

    def damage(folder):
        frame = gpd.read_file(folder / "land.gpkg", layer=name)
        frame.loc[1, "geometry"] = geometry
        pyogrio.write_dataframe(frame, folder / "land.gpkg", layer=name, driver="GPKG")

    return damage


def degrees(folder):
    """Say that coordinates in metres are degrees."""
    frame = gpd.read_file(folder / "land.gpkg", layer="blocks")
    frame = frame.set_crs(4326, allow_override=True)
    pyogrio.write_dataframe(frame, folder / "land.gpkg", layer="blocks", driver="GPKG")


TOML, TALLY = "property.toml", "tally.csv"
DAMAGES = {
    "cut_geopackage": (cut("land.gpkg", 5000), "land.gpkg cannot be read"),
    "text_for_geopackage": (write("land.gpkg", b"hello"), "land.gpkg cannot be read"),
    "cut_photo": (cut("aerial.tif", 20_000), "aerial.tif is no GeoTIFF that can be read"),
    "text_for_photo": (write("aerial.tif", b"x"), "aerial.tif is no GeoTIFF that can be read"),
    "cut_geojson": (write("blocks.geojson", b'{"type":"Feat'), "blocks.geojson cannot be read"),
    "empty_tally": (write(TALLY, b""), "tally.csv cannot be read"),
    "semicolons": (write(TALLY, b"plot_id;species;count\n1;x;1\n"), "'plot_id' is missing"),
    "other_letters": (write(TALLY, "plot_id,species,count\né,x,1\n".encode("utf-16")), "cannot be"),
    "decimal_comma": (cell("dbh_in", "1,4"), "'dbh_in' is '1,4' in row 2"),
    "not_a_number": (cell("count", "nan"), "'count' is 'nan' in row 2"),
    "endless": (cell("count", "inf"), "'count' is 'inf' in row 2"),
    "enormous": (cell("count", "1e9"), "'count' is '1e9' in row 2"),
    "half_a_stem": (cell("count", "2.5"), "'count' is '2.5' in row 2"),
    "other_date": (cell("date", "04/05/2026"), "'date' is '04/05/2026' in row 2"),
    "no_such_day": (cell("date", "2026-02-30"), "'date' is '2026-02-30' in row 2"),
    "no_such_plot": (cell("plot_id", "P99-1"), "plot P99-1 is counted and not drawn"),
    "no_shape": (shape("blocks", None), "there is no shape for 2"),
    "empty_shape": (shape("blocks", Polygon()), "there is no shape for 2"),
    "line_for_block": (shape("blocks", LineString([(0, 0), (9, 9)])), "is a line of 2 points"),
    "point_for_block": (shape("blocks", Point(0, 9)), "a Point; a polygon is needed"),
    "several_points": (shape("plots", MultiPoint([(0, 0), (1, 1)])), "drawn as 2 points"),
    "endless_point": (shape("plots", Point(float("inf"), 1)), "corners that are no numbers"),
    "metres_as_degrees": (degrees, "the coordinates are no degrees"),
    "broken_settings": (swap(TOML, "[crew]", "[crew"), "property.toml cannot be read"),
    "word_for_years": (swap(TOML, "years = 8", 'years = "x"'), "years is 'x'"),
    "fewer_than_nobody": (swap(TOML, "people = 2", "people = -3"), "people is -3"),
    "word_for_money": (swap(TOML, "= 4500", '= "lots"'), "budget_per_year is 'lots'"),
    "word_for_limit": (swap(TOML, "year = 8.0", 'year = "x"'), "lb_ae_per_acre_year is 'x'"),
    "number_for_section": (write(TOML, b"property = 3\n"), "[property] is 3"),
    "no_settings": (lambda folder: (folder / TOML).unlink(), "property.toml is missing"),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_damage_is_named_and_nothing_is_written(name, sample):
    """Check ends with exit 1, says what is wrong, and writes nothing."""
    damage, words = DAMAGES[name]
    damage(sample)
    before = sorted(path.name for path in sample.iterdir())
    answer = CliRunner().invoke(main, ["check", str(sample)])
    assert isinstance(answer.exception, SystemExit)
    assert answer.exit_code == 1
    assert words in answer.output
    assert sorted(path.name for path in sample.iterdir()) == before


@pytest.mark.parametrize("ending", ["bom", "crlf"])
def test_other_line_ends_and_marks_are_read(ending, sample):
    """A byte-order mark or Windows line ends change nothing."""
    path = sample / TALLY
    raw = path.read_bytes()
    path.write_bytes(b"\xef\xbb\xbf" + raw if ending == "bom" else raw.replace(b"\n", b"\r\n"))
    assert CliRunner().invoke(main, ["check", str(sample)]).exit_code == 0


def test_a_place_where_nothing_was_found_is_planned(sample):
    """Visited plots without a tally are zeros: there is nothing to do, and no error."""
    (sample / TALLY).unlink()
    answer = CliRunner().invoke(main, ["plan", str(sample), "--json"])
    assert answer.exit_code == 0
    assert '"hours": [0.0' in answer.output


def problems_of(folder) -> str:
    """Return the problems that reading a folder names, in one text."""
    with pytest.raises(clearing.InputError) as found:
        clearing.read(folder)
    return " / ".join(found.value.problems)


PLAIN_KML = b'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>%s</Document></kml>'
TWO_POINTS = b"""<gpx version="1.1" creator="x"><trk><name>north</name><trkseg>
<trkpt lat="36.3" lon="-85.7"/><trkpt lat="36.4" lon="-85.7"/></trkseg></trk></gpx>"""
FILES = {  # a file put beside land.gpkg as blocks, and what is said
    "text_for_kml": ("kml", b"hello", "blocks.kml cannot be read: it is no KML file"),
    "kml_without_placemarks": ("kml", PLAIN_KML % b"", "blocks.kml"),
    "kml_of_an_empty_folder": (
        "kml",
        PLAIN_KML % b"<Folder><name>blocks</name></Folder>",
        "blocks",
    ),
    "kml_cut_short": ("kml", PLAIN_KML[:60], "blocks.kml cannot be read"),
    "text_for_kmz": ("kmz", b"hello", "blocks.kmz cannot be read: it is no KMZ file"),
    "cut_zip": ("kmz", b"PK\x03\x04\x14\x00\x00", "blocks.kmz cannot be read"),
    "text_for_gpx": ("gpx", b"hello", "blocks.gpx cannot be read: it is no GPX file"),
    "track_of_two_points": ("gpx", TWO_POINTS, "block north is a line of 2 points; an outline has"),
    "empty_gpx": ("gpx", b'<gpx version="1.1" creator="x"></gpx>', "blocks.gpx holds no shapes"),
    "gpx_cut_short": ("gpx", TWO_POINTS[:90], "blocks.gpx cannot be read"),
    "text_for_shapefile": ("shp", b"hello", "blocks.shp cannot be read: it is no SHP file"),
    "text_for_package": ("gpkg", b"hello", "blocks.gpkg cannot be read: it is no GPKG file"),
    "empty_file": ("geojson", b"", "blocks.geojson cannot be read: it is no GEOJSON file"),
    "list_for_geojson": ("geojson", b"[1, 2]", "blocks.geojson cannot be read"),
    "other_json": ("geojson", b'{"a": 1}', "blocks.geojson cannot be read"),
    "commands": (
        "geojson",
        b'{"type": "gdal_streamed_alg", "command_line": "x"}',
        "holds commands",
    ),
}


@pytest.mark.parametrize("name", FILES)
def test_a_damaged_file_of_any_format_is_a_sentence(name, sample):
    """The file is named, and what was found in it; the machine's own paths are not shown."""
    ending, content, words = FILES[name]
    (sample / f"blocks.{ending}").write_bytes(content)
    found = problems_of(sample)
    assert f"blocks: {words}" in found or words in found
    assert str(sample) not in found
    assert "vsimem" not in found


@pytest.mark.parametrize(("gone", "said"), [
    ("dbf", "blocks.dbf is missing"), ("shx", "blocks.shx is missing"),
    ("prj", "(blocks.prj is missing)"),
])  # fmt: skip
def test_a_shapefile_without_its_companions_names_them(sample, gone, said):
    """Half a Shapefile: which file to copy."""
    SAVED["shp"](sample)
    (sample / f"blocks.{gone}").unlink()
    assert said in problems_of(sample)


@pytest.mark.parametrize("ending", ["shp", "kml", "kmz", "gpx", "geojson"])
def test_a_file_cut_anywhere_gives_no_traceback(sample, ending):
    """Cut at a dozen places, blocks are refused in words or read as far as they go."""
    SAVED[ending](sample)
    name = f"blocks.{ending}" if (sample / f"blocks.{ending}").exists() else f"land.{ending}"
    whole = (sample / name).read_bytes()
    said = []
    for share in (0.01, 0.1, 0.3, 0.5, 0.8, 0.95, 0.999):
        (sample / name).write_bytes(whole[: int(len(whole) * share)])
        try:
            clearing.read(sample)
        except clearing.InputError as found:
            said.append(found.problems)
    assert len(said) >= 5
    assert all(said)


def test_an_unclosed_ring_is_closed(sample):
    """A GeoJSON outline whose last corner is not its first is read as if it were."""
    blocks = gpd.read_file(sample / "land.gpkg", layer="blocks").to_crs("EPSG:4326")
    text = blocks.iloc[[0]].to_json()
    first = text.find("[[[") + 3
    corner = text[first : text.find("]", first)]
    last = text.rfind("[" + corner + "]")
    assert last > first
    (sample / "blocks.geojson").write_text(text[: last - 2] + text[last + len(corner) + 2 :])
    for name in ("tally.csv", "records.csv", "land.gpkg"):
        (sample / name).unlink()
    found = clearing.read(sample).blocks.geometry.iloc[0]
    assert found.is_valid
    assert found.area == pytest.approx(blocks.geometry.iloc[0].area, rel=1e-9)
