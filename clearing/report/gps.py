"""Write what a phone or a GPS needs in the field: GPX and KML."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Any

import geopandas as gpd
import gpxpy.gpx
import shapely

from clearing.property import Results
from clearing.report import look, names
from clearing.report.facts import Summary
from clearing.report.layers import to_degrees

_NOT_XML = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
KML_SPACE = "http://www.opengis.net/kml/2.2"
PLACES = 7


def gpx_bytes(results: Results, summary: Summary) -> bytes:
    """Return field.gpx: keep trees, ways in and plots as points, outlines of blocks as tracks.

    References
    ----------
    own reasoning
    """
    file = gpxpy.gpx.GPX()
    file.creator = "clearing"
    file.name = _clean(summary.property_name)
    for name, said, kind, x, y in _points(results, summary):
        file.waypoints.append(
            gpxpy.gpx.GPXWaypoint(
                latitude=round(y, PLACES),
                longitude=round(x, PLACES),
                name=_clean(name),
                description=_clean(said),
                type=kind,
            )
        )
    blocks = to_degrees(results.blocks, results.grid)
    for row, told in zip(blocks.itertuples(), summary.blocks, strict=True):
        track = gpxpy.gpx.GPXTrack(name=_clean(told.name), description=_clean(told.summary))
        for ring in _rings(row.geometry):
            points = [gpxpy.gpx.GPXTrackPoint(round(y, PLACES), round(x, PLACES)) for x, y in ring]
            track.segments.append(gpxpy.gpx.GPXTrackSegment(points))
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
        point.name = _clean(str(name))
        file.waypoints.append(point)
    return str(file.to_xml(version="1.1"))


def kml_bytes(results: Results, summary: Summary) -> bytes:
    """Return field.kml: blocks and strips as areas, keep trees, ways in and plots as points.

    References
    ----------
    own reasoning
    """
    root = ET.Element("kml", xmlns=KML_SPACE)
    book = ET.SubElement(root, "Document")
    ET.SubElement(book, "name").text = _clean(summary.property_name)
    _styles(book)
    areas = {
        "Blocks": [(one.name, one.summary, "block") for one in summary.blocks],
        "Strips": [(one.name, _strip_said(one), "strip") for one in summary.strips],
    }
    strips = to_degrees(results.strips, results.grid).set_index("strip_id")
    shapes = {
        "Blocks": list(to_degrees(results.blocks, results.grid).geometry),
        "Strips": [strips.geometry.loc[one.strip_id] for one in summary.strips],
    }
    for title, rows in areas.items():
        folder = _folder(book, title)
        for (name, said, style), shape in zip(rows, shapes[title], strict=True):
            _polygon(_mark(folder, name, said, style), shape)
    titles = {"tree": "Keep trees", "way in": "Ways in", "plot": "Plots"}
    points = list(_points(results, summary))
    for kind, title in titles.items():
        folder = _folder(book, title)
        for name, said, own, x, y in points:
            if own == kind:
                point = ET.SubElement(_mark(folder, name, said, kind.replace(" ", "-")), "Point")
                ET.SubElement(point, "coordinates").text = f"{x:.7f},{y:.7f}"
    ET.indent(root, " ")
    return ET.tostring(root, encoding="utf-8", xml_declaration=True)


def _points(results: Results, summary: Summary) -> Iterator[tuple[str, str, str, float, float]]:
    """Yield name, words, kind, longitude and latitude of every point for the field."""
    for row in to_degrees(results.keep_trees, results.grid).itertuples():
        said = f"{names.species_name(str(row.species))}: stays"
        yield str(row.tree_id), said, "tree", row.geometry.x, row.geometry.y
    told = {strip.strip_id: strip for strip in summary.strips}
    ways = gpd.GeoDataFrame(
        results.strips[["strip_id"]],
        geometry=gpd.points_from_xy(results.strips["way_in_x_m"], results.strips["way_in_y_m"]),
        crs=results.strips.crs if results.strips.crs is not None else results.grid,
    )
    for row in to_degrees(ways, results.grid).itertuples():
        strip = told[row.strip_id]
        name = f"in {row.strip_id}"
        yield name, _strip_said(strip), "way in", row.geometry.x, row.geometry.y
    for row in to_degrees(results.plots, results.grid).itertuples():
        yield f"plot {row.plot_id}", "sample plot", "plot", row.geometry.x, row.geometry.y


def _strip_said(strip: Any) -> str:
    """Return what is done in a strip, in one line."""
    method = f": {strip.method}" if strip.start_year is not None else ""
    return f"{strip.name}, {strip.area.short}, {strip.when}{method}"


def _rings(geometry: shapely.Geometry) -> list[list[tuple[float, float]]]:
    return [[(x, y) for x, y in part.exterior.coords] for part in shapely.get_parts(geometry)]


def _styles(book: ET.Element) -> None:
    """Add the styles: outlines in ink, trees in green."""
    for key, colour, width in (("block", look.INK, "3"), ("strip", look.ACCENT, "2")):
        style = ET.SubElement(book, "Style", id=key)
        line = ET.SubElement(style, "LineStyle")
        ET.SubElement(line, "color").text = _kml_colour(colour)
        ET.SubElement(line, "width").text = width
        ET.SubElement(ET.SubElement(style, "PolyStyle"), "fill").text = "0"
    for key, colour in (("tree", look.KEEP_TREE), ("way-in", look.INK), ("plot", look.QUIET)):
        icon = ET.SubElement(ET.SubElement(book, "Style", id=key), "IconStyle")
        ET.SubElement(icon, "color").text = _kml_colour(colour)
        ET.SubElement(icon, "scale").text = "0.7"


def _kml_colour(colour: str) -> str:
    """Return a colour as KML writes it: opacity, blue, green, red."""
    red, green, blue = colour[1:3], colour[3:5], colour[5:7]
    return f"ff{blue}{green}{red}".lower()


def _folder(book: ET.Element, title: str) -> ET.Element:
    folder = ET.SubElement(book, "Folder")
    ET.SubElement(folder, "name").text = title
    return folder


def _mark(folder: ET.Element, name: str, said: str, style: str) -> ET.Element:
    mark = ET.SubElement(folder, "Placemark")
    ET.SubElement(mark, "name").text = _clean(name)
    ET.SubElement(mark, "description").text = _clean(said)
    ET.SubElement(mark, "styleUrl").text = f"#{style}"
    return mark


def _polygon(mark: ET.Element, geometry: shapely.Geometry) -> None:
    """Add the parts of an area, holes included."""
    several = ET.SubElement(mark, "MultiGeometry")
    for part in shapely.get_parts(geometry):
        area = ET.SubElement(several, "Polygon")
        rings = [("outerBoundaryIs", part.exterior)]
        rings += [("innerBoundaryIs", ring) for ring in part.interiors]
        for tag, ring in rings:
            closed = ET.SubElement(ET.SubElement(area, tag), "LinearRing")
            text = " ".join(f"{x:.7f},{y:.7f}" for x, y in ring.coords)
            ET.SubElement(closed, "coordinates").text = text


def _clean(text: str) -> str:
    """Return text without letters that XML may not hold."""
    return _NOT_XML.sub("", text)
