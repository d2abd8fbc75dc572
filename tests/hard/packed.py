"""Damages of the files that hold layers: packages, zips, texts, links."""

import json
import sqlite3
import zipfile
from pathlib import Path

import geopandas as gpd

from tests.hard.ground import GRID, LAND, Case, bytes_of, cut, layer, layers, put

KML = '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{}</Document></kml>'
HEAD = '<?xml version="1.0"?><!DOCTYPE kml [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>'
GPX = '<gpx version="1.1" creator="x">{}</gpx>'
TWO_POINTS = (
    '<trk><name>north</name><trkseg><trkpt lat="36.3" lon="-85.7"/><trkpt lat="36.4" lon="-85.7"/>'
    "</trkseg></trk>"
)


def _degrees(change: str = "", new: str = "") -> str:
    """Return the blocks as GeoJSON, with a word swapped."""
    text = gpd.GeoDataFrame(layers()["blocks"], crs=GRID).to_crs(4326).to_json()
    assert change in text
    return text.replace(change, new, 1)


def moved_out(home: Path, name: str = "blocks") -> None:
    """Take a layer out of land.gpkg, for it lies in a file of its own."""
    listed = ("gpkg_ogr_contents", "gpkg_geometry_columns", "gpkg_contents")
    gone = [f"DELETE FROM {table} WHERE table_name = '{name}'" for table in listed]
    gone += [f"DROP TABLE IF EXISTS {table}" for table in (f"rtree_{name}_geom", name)]
    _told(*gone)(home)


def _alone(ending: str, text: str | bytes):
    """Return a damage that puts the blocks into a file of their own, beside land.gpkg."""
    raw = text.encode() if isinstance(text, str) else text
    return lambda home: (moved_out(home), (home / f"blocks.{ending}").write_bytes(raw))


def _zipped(members: dict[str, str], cipher: bool = False):
    """Return a damage with a KMZ of these members."""

    def damage(home: Path) -> None:
        moved_out(home)
        with zipfile.ZipFile(home / "blocks.kmz", "w", zipfile.ZIP_DEFLATED) as packed:
            for name, text in members.items():
                packed.writestr(name, text)
        if cipher:  # the sign that a member needs a password, in both places
            raw = bytearray((home / "blocks.kmz").read_bytes())
            raw[6] |= 1
            raw[raw.index(b"PK\1\2") + 8] |= 1
            (home / "blocks.kmz").write_bytes(raw)

    return damage


def _ring(text: str) -> str:
    """Return a KML text with one block of these corners."""
    return KML.format(
        f"<Placemark><name>1</name><Polygon><outerBoundaryIs><LinearRing><coordinates>{text}"
        "</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
    )


def _shapefile(home: Path) -> None:
    """Save the blocks as a Shapefile in the place of the layer."""
    moved_out(home)
    frame = gpd.GeoDataFrame(layers()["blocks"], crs=GRID)
    frame.to_file(home / "blocks.shp")


def _shapefile_without(ending: str):
    """Return a damage with a Shapefile that lacks one of its files."""
    return lambda home: (_shapefile(home), (home / f"blocks.{ending}").unlink())


def _shapefile_cut(ending: str):
    """Return a damage with a Shapefile of which one file is cut in half."""
    return lambda home: (_shapefile(home), cut(f"blocks.{ending}", 0.5)(home))


def _told(*commands: str):
    """Return a damage that gives commands to the package's tables."""

    def damage(home: Path) -> None:
        con = sqlite3.connect(home / LAND)
        for command in commands:
            con.execute(command)
        con.commit()
        con.close()

    return damage


CORNERS = "-87.0,36.3 -86.99,36.3 -86.99,36.31 -87.0,36.3"
CASES = [
    Case(f"file_{name}", file, done, damage)
    for name, file, done, damage in [
        ("gpkg_empty", LAND, "the package holds no byte", bytes_of(LAND, b"")),
        ("gpkg_text", LAND, "the package is a text", bytes_of(LAND, b"hello")),
        ("gpkg_half", LAND, "the package is cut in half", cut(LAND, 0.5)),
        (
            "gpkg_head",
            LAND,
            "the package is cut after 5,000 bytes",
            lambda h: (h / LAND).write_bytes((h / LAND).read_bytes()[:5000]),
        ),
        (
            "gpkg_sign",
            LAND,
            "the package is its first 16 bytes",
            lambda h: (h / LAND).write_bytes(b"SQLite format 3\0"),
        ),
        (
            "gpkg_other",
            LAND,
            "the package is another database",
            lambda h: ((h / LAND).unlink(), _told("CREATE TABLE t (x)")(h)),
        ),
        (
            "gpkg_folder",
            LAND,
            "the package is a folder",
            lambda h: ((h / LAND).unlink(), (h / LAND).mkdir()),
        ),
        ("gpkg_gone", LAND, "the package is gone", lambda h: (h / LAND).unlink()),
        (
            "gpkg_link",
            LAND,
            "the package is a link to nothing",
            lambda h: ((h / LAND).unlink(), (h / LAND).symlink_to("../../none.gpkg")),
        ),
        (
            "gpkg_no_blocks",
            LAND,
            "the layer blocks is called fields",
            lambda h: (
                put(h, "fields", gpd.GeoDataFrame(layers()["blocks"], crs=GRID)),
                _told(
                    "DROP TABLE blocks",
                    "DELETE FROM gpkg_contents WHERE table_name = 'blocks'",
                    "DELETE FROM gpkg_geometry_columns WHERE table_name = 'blocks'",
                )(h),
            ),
        ),
        (
            "gpkg_lost_table",
            LAND,
            "the table of blocks is gone and still listed",
            _told("DROP TABLE blocks"),
        ),
        (
            "gpkg_lost_system",
            LAND,
            "the package names a system that is not described",
            _told(
                "PRAGMA foreign_keys = off",
                "UPDATE gpkg_geometry_columns SET srs_id = 99999",
                "UPDATE gpkg_contents SET srs_id = 99999",
            ),
        ),
        (
            "gpkg_bad_system",
            LAND,
            "the package's system is no text that can be read",
            _told(
                "UPDATE gpkg_spatial_ref_sys SET definition = 'PROJCS[nonsense', "
                "organization = 'X', organization_coordsys_id = 1 WHERE srs_id = 32616"
            ),
        ),
        (
            "gpkg_capitals",
            LAND,
            "the layer is called Blocks",
            lambda h: (
                _told(
                    "DROP TABLE blocks",
                    "DELETE FROM gpkg_contents WHERE table_name = 'blocks'",
                    "DELETE FROM gpkg_geometry_columns WHERE table_name = 'blocks'",
                )(h),
                put(h, "Blocks", gpd.GeoDataFrame(layers()["blocks"], crs=GRID)),
            ),
        ),
        (
            "gpkg_no_geometry",
            LAND,
            "the layer blocks is a table without shapes",
            lambda h: (
                (h / LAND).unlink(),
                gpd.GeoDataFrame(layers()["plots"], crs=GRID).to_file(
                    h / LAND, layer="plots", driver="GPKG"
                ),
                _told(
                    "CREATE TABLE blocks (fid INTEGER PRIMARY KEY, block_id TEXT)",
                    "INSERT INTO blocks VALUES (1, '1')",
                    "INSERT INTO gpkg_contents (table_name, data_type, identifier) "
                    "VALUES ('blocks', 'attributes', 'blocks')",
                )(h),
            ),
        ),
        (
            "two_homes",
            "blocks.geojson",
            "blocks lie in two files of their own",
            lambda h: (_alone("geojson", _degrees())(h), _alone("kml", _ring(CORNERS))(h)),
        ),
        (
            "geojson_good",
            "blocks.geojson",
            "blocks in a file of their own",
            _alone("geojson", _degrees()),
        ),
        (
            "geojson_mark",
            "blocks.geojson",
            "a byte-order mark before GeoJSON",
            _alone("geojson", b"\xef\xbb\xbf" + _degrees().encode()),
        ),
        (
            "geojson_utf16",
            "blocks.geojson",
            "GeoJSON in UTF-16",
            _alone("geojson", _degrees().encode("utf-16")),
        ),
        (
            "geojson_latin1",
            "blocks.geojson",
            "a name in latin-1",
            _alone(
                "geojson", _degrees('"hill"', '"crête"').encode().replace("ê".encode(), b"\xea")
            ),
        ),
        ("geojson_empty", "blocks.geojson", "GeoJSON of no byte", _alone("geojson", b"")),
        (
            "geojson_half",
            "blocks.geojson",
            "GeoJSON cut in half",
            _alone("geojson", _degrees()[:300]),
        ),
        ("geojson_list", "blocks.geojson", "a list for GeoJSON", _alone("geojson", "[1, 2]")),
        ("geojson_other", "blocks.geojson", "other JSON", _alone("geojson", '{"a": 1}')),
        (
            "geojson_none",
            "blocks.geojson",
            "GeoJSON without features",
            _alone("geojson", '{"type":"FeatureCollection","features":[]}'),
        ),
        (
            "geojson_null",
            "blocks.geojson",
            "features that are null",
            _alone("geojson", '{"type":"FeatureCollection","features":[null]}'),
        ),
        (
            "geojson_deep",
            "blocks.geojson",
            "lists 20,000 deep",
            _alone(
                "geojson", '{"type":"Polygon","coordinates":' + "[" * 20_000 + "]" * 20_000 + "}"
            ),
        ),
        (
            "geojson_words",
            "blocks.geojson",
            "corners that are words",
            _alone(
                "geojson",
                '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"block_id":"1"},"geometry":{"type":"Polygon","coordinates":[[["a","b"],["c","d"],["e","f"],["a","b"]]]}}]}',
            ),
        ),
        (
            "geojson_commands",
            "blocks.geojson",
            "commands in the place of shapes",
            _alone("geojson", '{"type": "gdal_streamed_alg", "command_line": "x"}'),
        ),
        (
            "geojson_objects",
            "blocks.geojson",
            "a goal that is a table",
            _alone("geojson", _degrees('"pasture"', '{"a": [1, 2]}')),
        ),
        (
            "geojson_system",
            "blocks.geojson",
            "GeoJSON that names a system nobody knows",
            _alone(
                "geojson",
                _degrees("{", '{"crs": {"type": "name", "properties": {"name": "EPSG:999999"}}, '),
            ),
        ),
        (
            "geojson_folder",
            "blocks.geojson",
            "a folder called blocks.geojson",
            lambda h: (h / "blocks.geojson").mkdir(),
        ),
        (
            "geojson_link",
            "blocks.geojson",
            "a link out of the folder",
            lambda h: (h / "blocks.geojson").symlink_to("../../../etc/none"),
        ),
        ("kml_text", "blocks.kml", "a text called .kml", _alone("kml", "hello")),
        ("kml_none", "blocks.kml", "KML without placemarks", _alone("kml", KML.format(""))),
        ("kml_cut", "blocks.kml", "KML cut short", _alone("kml", KML[:60])),
        (
            "kml_words",
            "blocks.kml",
            "KML with words of its own",
            _alone("kml", HEAD + _ring(CORNERS)),
        ),
        (
            "kml_link",
            "blocks.kml",
            "KML that links elsewhere",
            _alone(
                "kml",
                KML.format(
                    "<NetworkLink><Link><href>http://127.0.0.1/x.kml</href></Link></NetworkLink>"
                ),
            ),
        ),
        (
            "kml_corners",
            "blocks.kml",
            "KML with corners that are words",
            _alone("kml", _ring("a,b c,d e,f")),
        ),
        (
            "kml_two_corners",
            "blocks.kml",
            "a KML block of two corners",
            _alone("kml", _ring("-87.0,36.3 -86.99,36.3")),
        ),
        (
            "kml_commas",
            "blocks.kml",
            "KML with decimal commas",
            _alone("kml", _ring(CORNERS.replace(".", ","))),
        ),
        ("kmz_text", "blocks.kmz", "a text called .kmz", _alone("kmz", "hello")),
        ("kmz_cut", "blocks.kmz", "a KMZ cut short", _alone("kmz", b"PK\x03\x04\x14\0\0")),
        ("kmz_none", "blocks.kmz", "a KMZ of an empty zip", _zipped({})),
        ("kmz_picture", "blocks.kmz", "a KMZ without KML", _zipped({"a.png": "x"})),
        (
            "kmz_climbs",
            "blocks.kmz",
            "a KMZ whose member climbs out",
            _zipped({"../../evil.kml": _ring(CORNERS)}),
        ),
        (
            "kmz_root",
            "blocks.kmz",
            "a KMZ whose member starts at the root",
            _zipped({"/doc.kml": _ring(CORNERS), "../x": "x"}),
        ),
        (
            "kmz_password",
            "blocks.kmz",
            "a KMZ with a password",
            _zipped({"doc.kml": _ring(CORNERS)}, cipher=True),
        ),
        (
            "kmz_bomb",
            "blocks.kmz",
            "a KMZ that unpacks to 250 MB",
            _zipped({"doc.kml": "<kml" + " " * 250_000_000}),
        ),
        ("gpx_text", "blocks.gpx", "a text called .gpx", _alone("gpx", "hello")),
        ("gpx_none", "blocks.gpx", "GPX without tracks", _alone("gpx", GPX.format(""))),
        (
            "gpx_two_points",
            "blocks.gpx",
            "a track of two points",
            _alone("gpx", GPX.format(TWO_POINTS)),
        ),
        ("gpx_cut", "blocks.gpx", "GPX cut short", _alone("gpx", GPX.format(TWO_POINTS)[:90])),
        (
            "gpx_latitude",
            "blocks.gpx",
            "a latitude of 236",
            _alone("gpx", GPX.format(TWO_POINTS.replace("36.3", "236.3"))),
        ),
        ("shp_text", "blocks.shp", "a text called .shp", _alone("shp", "hello")),
        ("shp_no_dbf", "blocks.shp", "a Shapefile without .dbf", _shapefile_without("dbf")),
        ("shp_no_shx", "blocks.shp", "a Shapefile without .shx", _shapefile_without("shx")),
        ("shp_no_prj", "blocks.shp", "a Shapefile without .prj", _shapefile_without("prj")),
        ("shp_cut", "blocks.shp", "a .shp cut in half", _shapefile_cut("shp")),
        ("shp_dbf_cut", "blocks.shp", "a .dbf cut in half", _shapefile_cut("dbf")),
        ("shp_shx_cut", "blocks.shp", "a .shx cut in half", _shapefile_cut("shx")),
        (
            "shp_prj_text",
            "blocks.shp",
            "a .prj that is a text",
            lambda h: (_shapefile(h), (h / "blocks.prj").write_text("hello")),
        ),
        (
            "layer_z_name",
            LAND,
            "a column called geometry",
            layer("blocks", lambda f: f.assign(Geometry="x")),
        ),
        (
            "layer_json",
            "blocks.geojson",
            "numbers as texts",
            _alone("geojson", json.dumps(json.loads(_degrees())).replace("8.0", '"8.0"')),
        ),
    ]
]
