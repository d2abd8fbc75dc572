"""Write what a phone or a GPS needs in the field: GPX and KML."""

import html
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import gpxpy.gpx
import numpy as np
import shapely

from clearing.property import Results
from clearing.report import look, names
from clearing.report.facts import StripFacts, Summary
from clearing.report.field_text import one_line, short_names, xml_text
from clearing.report.layers import to_degrees

KML_SPACE = "http://www.opengis.net/kml/2.2"
PLACES = 7
AREA_PLACES = 9  # decimals of an area's corners: a tenth of a millimeter; own choice
KINDS = {"tree": "Keep trees", "way in": "Ways in", "plot": "Plots"}  # kind -> its folder
SYMBOLS = {"tree": "Tree", "way in": "Flag", "plot": "Pin"}  # plain words; own choice
CLEAR, PALE, FULL = "00", "59", "99"  # how much of a fill is seen; own choice
# state -> width of the outline, how full the area is: KML has no hatching and no broken lines
SECOND_SIGNS = {
    "untouched": ("1.5", CLEAR), "standing_dead": ("4", PALE), "cut": ("2", FULL),
    "follow_up": ("3", PALE), "grass": ("1", FULL), "clear": ("5", CLEAR), "not_now": ("1", CLEAR),
}  # fmt: skip
# fields of the areas, as a KML schema names their types
BLOCK_FIELDS = {
    "block_id": "string", "goal": "string", "area": "double", "hours": "double",
    "hours_low": "double", "hours_high": "double", "cost": "double",
}  # fmt: skip
STRIP_FIELDS = {
    "strip_id": "string", "block_id": "string", "method": "string", "state": "string",
    "start_year": "int", "finish_year": "int", "area": "double", "hours": "double",
    "hours_low": "double", "hours_high": "double", "cost": "double",
}  # fmt: skip


@dataclass(frozen=True)
class FieldPoint:
    """A point for the field, in degrees."""

    name: str
    said: str
    kind: str
    x: float
    y: float


def gpx_bytes(results: Results, summary: Summary) -> bytes:
    """Return field.gpx: keep trees, ways in and plots as points, outlines of blocks as tracks.

    Points have names that are short and differ, since a hand-held cuts long ones and takes two of
    one name for the same point (common practice, no published source); the whole name opens the
    description where it was cut. Every ring of a block, holes and parts among them, is a segment
    of its track. Nothing has a height.

    References
    ----------
    gpx_1_1
    """
    file = gpxpy.gpx.GPX()
    file.creator = "clearing"
    file.name = one_line(summary.property_name)
    points = _points(results, summary)
    for point, short in zip(points, short_names([one.name for one in points]), strict=True):
        whole = one_line(point.name)
        said = one_line(point.said)
        file.waypoints.append(
            gpxpy.gpx.GPXWaypoint(
                latitude=round(point.y, PLACES),
                longitude=round(point.x, PLACES),
                name=short,
                description=said if short == whole else f"{whole}: {said}",
                symbol=SYMBOLS[point.kind],
                type=point.kind,
            )
        )
    blocks = to_degrees(results.blocks, results.grid)
    for row, told in zip(blocks.itertuples(), summary.blocks, strict=True):
        track = gpxpy.gpx.GPXTrack(name=one_line(told.name), description=one_line(told.summary))
        for ring in _rings(row.geometry):
            steps = [gpxpy.gpx.GPXTrackPoint(round(y, PLACES), round(x, PLACES)) for x, y in ring]
            track.segments.append(gpxpy.gpx.GPXTrackSegment(steps))
        file.tracks.append(track)
    return file.to_xml(version="1.1").encode()


def waypoints_gpx(points: gpd.GeoDataFrame, id_column: str) -> str:
    """Return points as the text of a GPX file of waypoints.

    Parameters
    ----------
    points : GeoDataFrame
        With a stated coordinate system.
    id_column : str
        Column that names each point.

    References
    ----------
    own reasoning
    """
    file = gpxpy.gpx.GPX()
    file.creator = "clearing"
    for name, place in zip(points[id_column], points.to_crs("EPSG:4326").geometry, strict=True):
        point = gpxpy.gpx.GPXWaypoint(round(place.y, PLACES), round(place.x, PLACES))
        point.name = one_line(str(name))
        file.waypoints.append(point)
    return str(file.to_xml(version="1.1"))


def kml_bytes(results: Results, summary: Summary) -> bytes:
    """Return field.kml: blocks and strips as areas, keep trees, ways in and plots as points.

    Strips have the color of their state at the end of the plan's first year, with outline and fill
    as second sign. Descriptions are shown as HTML by viewers, so what is typed there is escaped.
    Areas stay sound when their corners are rounded.

    References
    ----------
    ogc_kml
    """
    root = ET.Element("kml", xmlns=KML_SPACE)
    book = ET.SubElement(root, "Document")
    ET.SubElement(book, "name").text = xml_text(summary.property_name)
    _styles(book)
    _schema(book, "block_fields", BLOCK_FIELDS)
    _schema(book, "strip_fields", STRIP_FIELDS)
    folder = _folder(book, "Blocks")
    shapes = to_degrees(results.blocks, results.grid).geometry
    for block, shape in zip(summary.blocks, shapes, strict=True):
        mark = _mark(folder, block.name, block.summary, "block")
        known = {"goal": block.goal_key, "area": block.area.value, **_work(block)}
        _fields(mark, "block_fields", BLOCK_FIELDS, {"block_id": block.block_id, **known})
        _polygon(mark, shape)
    folder = _folder(book, "Strips")
    own = to_degrees(results.strips, results.grid).set_index("strip_id").geometry
    for strip in summary.strips:
        state = strip.years[0].state
        mark = _mark(folder, strip.name, _strip_said(strip), f"state-{state}")
        known = {"strip_id": strip.strip_id, "block_id": strip.block_id,
                 "method": strip.method_key, "state": look.sign(state).words,
                 "start_year": strip.start_year, "finish_year": strip.finish_year,
                 "area": strip.area.value, **_work(strip)}  # fmt: skip
        _fields(mark, "strip_fields", STRIP_FIELDS, known)
        _polygon(mark, own.loc[strip.strip_id])
    points = _points(results, summary)
    for kind, title in KINDS.items():
        folder = _folder(book, title)
        for one in (point for point in points if point.kind == kind):
            mark = _mark(folder, one.name, one.said, kind.replace(" ", "-"))
            place = ET.SubElement(mark, "Point")
            ET.SubElement(place, "coordinates").text = f"{one.x:.7f},{one.y:.7f}"
    ET.indent(root, " ")
    return ET.tostring(root, encoding="utf-8", xml_declaration=True)


def _points(results: Results, summary: Summary) -> list[FieldPoint]:
    """Return every point for the field."""
    out = []
    for row in to_degrees(results.keep_trees, results.grid).itertuples():
        said = f"{names.species_name(str(row.species))}: stays"
        out.append(FieldPoint(str(row.tree_id), said, "tree", row.geometry.x, row.geometry.y))
    told = {strip.strip_id: strip for strip in summary.strips}
    ways = gpd.GeoDataFrame(
        results.strips[["strip_id"]],
        geometry=gpd.points_from_xy(results.strips["way_in_x_m"], results.strips["way_in_y_m"]),
        crs=results.strips.crs if results.strips.crs is not None else results.grid,
    )
    for row in to_degrees(ways, results.grid).itertuples():
        said = _strip_said(told[row.strip_id])
        out.append(FieldPoint(f"in {row.strip_id}", said, "way in", row.geometry.x, row.geometry.y))
    for row in to_degrees(results.plots, results.grid).itertuples():
        name = f"plot {row.plot_id}"
        out.append(FieldPoint(name, "sample plot", "plot", row.geometry.x, row.geometry.y))
    return out


def _strip_said(strip: StripFacts) -> str:
    """Return what is done in a strip, in one line."""
    method = f": {strip.method}" if strip.start_year is not None else ""
    return f"{strip.name}, {strip.area.short}, {strip.when}{method}"


def _work(row: Any) -> dict[str, float]:
    """Return hours and cost of a block or a strip, rounded as the tables are."""
    hours = {"hours": row.hours.value, "hours_low": row.hours.low, "hours_high": row.hours.high}
    return {name: round(number, 2) for name, number in (hours | {"cost": row.cost.value}).items()}


def _rings(geometry: shapely.Geometry) -> list[list[tuple[float, float]]]:
    """Return the corners of every ring: of each part its outline, then its holes."""
    return [
        [(x, y) for x, y, *_ in ring.coords]
        for part in shapely.get_parts(geometry)
        for ring in (part.exterior, *part.interiors)
    ]


def _styles(book: ET.Element) -> None:
    """Add the styles: outlines in ink, strips by their state, trees in green."""
    _area_style(book, "block", look.INK, "3", CLEAR)
    for sign in look.SIGNS:
        width, full = SECOND_SIGNS[sign.key]
        _area_style(book, f"state-{sign.key}", sign.colour or look.INK, width, full)
    for key, colour in (("tree", look.KEEP_TREE), ("way-in", look.INK), ("plot", look.QUIET)):
        icon = ET.SubElement(ET.SubElement(book, "Style", id=key), "IconStyle")
        ET.SubElement(icon, "color").text = _kml_colour(colour)
        ET.SubElement(icon, "scale").text = "0.7"


def _area_style(book: ET.Element, key: str, colour: str, width: str, full: str) -> None:
    """Add how areas of one kind are drawn."""
    style = ET.SubElement(book, "Style", id=key)
    line = ET.SubElement(style, "LineStyle")
    ET.SubElement(line, "color").text = _kml_colour(colour)
    ET.SubElement(line, "width").text = width
    area = ET.SubElement(style, "PolyStyle")
    ET.SubElement(area, "color").text = _kml_colour(colour, full)
    ET.SubElement(area, "fill").text = "0" if full == CLEAR else "1"


def _kml_colour(colour: str, full: str = "ff") -> str:
    """Return a colour as KML writes it: opacity, blue, green, red."""
    red, green, blue = colour[1:3], colour[3:5], colour[5:7]
    return f"{full}{blue}{green}{red}".lower()


def _schema(book: ET.Element, key: str, fields: dict[str, str]) -> None:
    """Add the names and types of fields."""
    schema = ET.SubElement(book, "Schema", name=key, id=key)
    for name, kind in fields.items():
        ET.SubElement(schema, "SimpleField", type=kind, name=name)


def _fields(mark: ET.Element, key: str, fields: dict[str, str], known: dict[str, Any]) -> None:
    """Add the fields of one area; what is missing is left out."""
    data = ET.SubElement(ET.SubElement(mark, "ExtendedData"), "SchemaData", schemaUrl=f"#{key}")
    for name in fields:
        if known[name] is not None:
            ET.SubElement(data, "SimpleData", name=name).text = xml_text(str(known[name]))


def _folder(book: ET.Element, title: str) -> ET.Element:
    folder = ET.SubElement(book, "Folder")
    ET.SubElement(folder, "name").text = title
    return folder


def _mark(folder: ET.Element, name: str, said: str, style: str) -> ET.Element:
    mark = ET.SubElement(folder, "Placemark")
    ET.SubElement(mark, "name").text = xml_text(name)
    ET.SubElement(mark, "description").text = html.escape(xml_text(said), quote=False)
    ET.SubElement(mark, "styleUrl").text = f"#{style}"
    return mark


def _polygon(mark: ET.Element, geometry: shapely.Geometry) -> None:
    """Add the parts of an area, holes included; outlines run against the clock, holes with it."""
    several = ET.SubElement(mark, "MultiGeometry")
    for part in shapely.get_parts(shapely.orient_polygons(_rounded(geometry))):
        area = ET.SubElement(several, "Polygon")
        rings = [("outerBoundaryIs", part.exterior)]
        rings += [("innerBoundaryIs", ring) for ring in part.interiors]
        for tag, ring in rings:
            closed = ET.SubElement(ET.SubElement(area, tag), "LinearRing")
            text = " ".join(f"{x:.{AREA_PLACES}f},{y:.{AREA_PLACES}f}" for x, y, *_ in ring.coords)
            ET.SubElement(closed, "coordinates").text = text


def _rounded(geometry: shapely.Geometry) -> shapely.Geometry:
    """Return an area with the corners that are written, mended where rounding makes rings touch."""
    near = shapely.transform(geometry, lambda corners: np.round(corners, AREA_PLACES))
    if near.is_valid:
        return near
    sound = shapely.make_valid(geometry, method="structure", keep_collapsed=False)
    return shapely.set_precision(sound, 10.0**-AREA_PLACES)
