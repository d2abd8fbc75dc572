"""GPX and KML keep to their schemas and are read by programs that did not write them."""

import html
import xml.etree.ElementTree as ET
from dataclasses import replace

import gpxpy
import pyogrio
import pytest
import shapely

from clearing import report
from clearing.report.field_text import SHORT
from clearing.report.gps import gpx_bytes, kml_bytes
from tests.hostile_place import NAMES
from tests.report.small_place import GRID, small_results

GPX, KML = "{http://www.topografix.com/GPX/1/1}", "{http://www.opengis.net/kml/2.2}"
# what may stand in an element, in this order (gpx.xsd 1.1; OGC KML 2.2, ogckml22.xsd)
GPX_ORDER = {
    "gpx": ["metadata", "wpt", "rte", "trk", "extensions"],
    "metadata": ["name", "desc", "author", "copyright", "link", "time", "keywords", "bounds"],
    "wpt": ["ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym",
            "type"],
    "trk": ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "trkseg"],
    "trkseg": ["trkpt"],
}  # fmt: skip
KML_ORDER = {
    "kml": ["Document"],
    "Document": ["name", "description", "Style", "Schema", "Folder"],
    "Folder": ["name", "Placemark"],
    "Placemark": ["name", "description", "styleUrl", "ExtendedData", "MultiGeometry", "Point"],
    "Polygon": ["outerBoundaryIs", "innerBoundaryIs"],
    "Style": ["IconStyle", "LineStyle", "PolyStyle"],
    "LineStyle": ["color", "width"],
    "PolyStyle": ["color", "fill"],
    "IconStyle": ["color", "scale"],
}


def made(writer, results=None) -> bytes:
    """Return one of the files of the small place, or of another."""
    place = results or small_results()
    return writer(place, report.summarise(place))


def holed():
    """Return the small place, its first block in two parts, the first with a hole."""
    results = small_results()
    parts = shapely.union_all([
        shapely.box(0, 0, 100, 200).difference(shapely.box(40, 40, 60, 60)),
        shapely.box(120, 0, 200, 200),
    ])  # fmt: skip
    blocks = results.blocks.copy()
    blocks.geometry = [parts, *blocks.geometry[1:]]
    return replace(results, blocks=blocks)


def in_order(content: bytes, order: dict[str, list[str]]) -> None:
    """Check that each element holds what the schema lets it hold, in its order."""
    for element in ET.fromstring(content).iter():
        allowed = order.get(element.tag.rpartition("}")[2])
        if allowed is not None:
            places = [allowed.index(child.tag.rpartition("}")[2]) for child in element]
            assert places == sorted(places), element.tag


def test_gpx_keeps_the_order_of_its_schema():
    """Names, descriptions, symbols and types stand as GPX 1.1 has them; nothing has a height."""
    in_order(made(gpx_bytes), GPX_ORDER)
    root = ET.fromstring(made(gpx_bytes))
    assert root.get("version") == "1.1"
    assert not list(root.iter(f"{GPX}ele"))


def test_gpx_has_points_and_outlines():
    """field.gpx holds trees, ways in and plots as waypoints, blocks as closed tracks."""
    file = gpxpy.parse(made(gpx_bytes).decode())
    assert [point.name for point in file.waypoints] == [
        "T1", "T2", "in 1a", "in 1b", "in 2", "in 3", "plot 1-1",
    ]  # fmt: skip
    assert [track.name for track in file.tracks] == ["Road field", "Long pasture", "Fern woods"]
    points = file.tracks[0].segments[0].points
    assert (points[0].latitude, points[0].longitude) == (points[-1].latitude, points[-1].longitude)
    assert points[0].latitude == pytest.approx(36.33, abs=0.005)


def test_holes_and_parts_are_segments_of_one_track():
    """A block of two parts, one with a hole, is one track of three closed segments."""
    track = gpxpy.parse(made(gpx_bytes, holed()).decode()).tracks[0]
    assert [len(segment.points) for segment in track.segments] == [5, 5, 5]


def test_ogr_reads_every_layer_of_gpx(tmp_path):
    """A GIS finds seven points and three outlines."""
    path = tmp_path / "field.gpx"
    path.write_bytes(made(gpx_bytes))
    counts = {layer: len(pyogrio.read_dataframe(path, layer=layer))
              for layer, _ in pyogrio.list_layers(path)}  # fmt: skip
    assert (counts["waypoints"], counts["tracks"], counts["routes"]) == (7, 3, 0)


def test_points_of_a_hand_held_are_short_and_differ():
    """Two trees of one long name get two short names; the whole name opens the description."""
    results = small_results()
    trees = results.keep_trees.assign(tree_id="oak " * 30)
    points = gpxpy.parse(made(gpx_bytes, replace(results, keep_trees=trees)).decode()).waypoints
    assert points[0].name != points[1].name
    assert max(len(point.name) for point in points) <= SHORT
    assert points[0].description.startswith("oak " * 29)


def test_kml_keeps_the_order_of_its_schema():
    """Elements stand as KML 2.2 has them, and every style and field that is named is there."""
    in_order(made(kml_bytes, holed()), KML_ORDER)
    root = ET.fromstring(made(kml_bytes))
    ids = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    asked = {one.text for one in root.iter(f"{KML}styleUrl")}
    asked |= {one.get("schemaUrl") for one in root.iter(f"{KML}SchemaData")}
    assert {address.lstrip("#") for address in asked} <= set(ids)


def test_kml_has_blocks_strips_and_points():
    """field.kml is XML with three areas, four strips, and points in degrees."""
    root = ET.fromstring(made(kml_bytes))
    folders = {f.find(f"{KML}name").text: f for f in root.iter(f"{KML}Folder")}
    counts = {name: len(f.findall(f"{KML}Placemark")) for name, f in folders.items()}
    assert counts == {"Blocks": 3, "Strips": 4, "Keep trees": 2, "Ways in": 4, "Plots": 1}
    lon, lat = next(root.iter(f"{KML}Point")).find(f"{KML}coordinates").text.split(",")
    assert [float(lon), float(lat)] == pytest.approx([-85.75, 36.33], abs=0.01)


@pytest.mark.parametrize("width_m", [2e-3, 1e-5])
def test_a_spike_as_thin_as_the_rounding_is_still_a_sound_area(width_m, tmp_path):
    """OGR and GEOS find every area sound where a spike closes to less than the last decimal."""
    results = small_results()
    spike = shapely.Polygon([(0, 0), (100, 0), (100, 100), (50, 100), (50, 190),
                             (50 - width_m, 100), (0, 100)])  # fmt: skip
    strips = results.strips.copy()
    strips.geometry = [spike, *strips.geometry[1:]]
    path = tmp_path / "field.kml"
    path.write_bytes(made(kml_bytes, replace(results, strips=strips)))
    found = pyogrio.read_dataframe(path, layer="Strips")
    assert found.is_valid.all()
    assert found.to_crs(GRID).area[0] == pytest.approx(spike.area, rel=1e-5)


def test_ogr_reads_kml_with_typed_fields_and_holes(tmp_path):
    """A GIS reads hours as numbers, the state as words, and the area without its hole."""
    path = tmp_path / "field.kml"
    path.write_bytes(made(kml_bytes, holed()))
    strips = pyogrio.read_dataframe(path, layer="Strips")
    assert strips["hours"].dtype.kind == "f"
    assert strips.loc[0, "state"] == "hack-and-squirt, standing dead"
    block = pyogrio.read_dataframe(path, layer="Blocks").to_crs(GRID).geometry[0]
    assert block.area == pytest.approx(100 * 200 - 20 * 20 + 80 * 200, rel=1e-4)


def test_states_differ_in_kml_without_color():
    """With color left out, no two states have the same outline and fill, but those alike in both.

    KML has neither hatching nor broken lines, so width of the outline and fullness tell them.
    """
    looks = {}
    for style in ET.fromstring(made(kml_bytes)).iter(f"{KML}Style"):
        if style.get("id").startswith("state-"):
            full = style.find(f"{KML}PolyStyle/{KML}color").text[:2]
            looks[style.get("id")] = (style.find(f"{KML}LineStyle/{KML}width").text, full)
    assert len(set(looks.values())) == len(looks) == 7


@pytest.mark.parametrize("name", NAMES)
def test_a_hostile_name_is_text_in_both(name, tmp_path):
    """Read back, the name is whole; where a viewer shows HTML, its tags are letters."""
    results = small_results(name)
    gpx = gpxpy.parse(made(gpx_bytes, results).decode())
    assert gpx.tracks[0].name == name
    results = replace(results, strips=results.strips.assign(name=name))
    (tmp_path / "field.kml").write_bytes(made(kml_bytes, results))
    for layer in ("Blocks", "Strips"):
        assert pyogrio.read_dataframe(tmp_path / "field.kml", layer=layer).loc[0, "Name"] == name
    said = pyogrio.read_dataframe(tmp_path / "field.kml", layer="Strips")["description"]
    assert all(text.startswith(html.escape(name, quote=False)) for text in said)
