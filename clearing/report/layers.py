"""Turn the layers of the results into the small lists that the map's script draws."""

import base64
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from clearing.property import Results
from clearing.report import look, names
from clearing.report.facts import Summary
from clearing.report.facts_ahead import ForecastYear
from clearing.report.plot_facts import plot_facts
from clearing.report.ruled import dead_stand, ruled_pieces
from clearing.report.tree_facts import tree_facts
from clearing.report.ways import WAYS, way_pieces

DEGREES = "EPSG:4326"
WEB_MAP = "EPSG:3857"
WEB_HALF_M = 20037508.342789244  # half the side of the web map's square [m]
FULL_TURN = 360.0  # degrees
PLACES = 6  # decimals of a degree: a tenth of a metre
FINEST = 65535  # steps of a packed coordinate along the box of the trees
IDS_UP_TO = 5000  # above so many trees their tags are left out of the map


def map_data(results: Results, summary: Summary) -> dict[str, Any]:
    """Return everything the map's script needs, ready for JSON.

    Coordinates are lists of latitude and longitude in degrees.

    References
    ----------
    own reasoning
    """
    strip_place = {strip.strip_id: place for place, strip in enumerate(summary.strips)}
    west, south, east, north = _on_map(results.blocks, results).total_bounds
    return {
        "us": summary.units == "us",
        "bounds": [[_short(south), _short(west)], [_short(north), _short(east)]],
        "years": list(summary.years),
        "sentences": [year.sentence for year in summary.year_rows],
        "stands": _stands(summary.ahead.place),
        "signs": _signs(look.SIGNS),
        "ways": _signs(WAYS),
        "blocks": _blocks(results),
        "strips": _strips(results, summary, strip_place),
        "ruled": _ruled(results, summary, strip_place),
        "pieces": _pieces(results, summary, strip_place),
        "features": _features(results),
        "plots": _plots(results),
        "trees": _trees(results),
    }


def _signs(signs: tuple[look.Sign, ...]) -> dict[str, list[str]]:
    return {sign.key: [sign.words, sign.colour, sign.pattern, sign.outline] for sign in signs}


def _stands(rows: tuple[ForecastYear, ...]) -> list[str]:
    """Return what stands at the start of each year, in words."""
    return [row.words for row in rows]


def to_degrees(layer: gpd.GeoDataFrame, grid: str) -> gpd.GeoDataFrame:
    """Return a layer of the grid in longitude and latitude.

    References
    ----------
    own reasoning
    """
    if layer.crs is None:
        layer = layer.set_crs(grid)
    return layer.to_crs(DEGREES)


def _short(number: float) -> float:
    return round(float(number), PLACES)


def _line(coordinates: Any) -> list[list[float]]:
    return [[_short(y), _short(x)] for x, y in np.asarray(coordinates)[:, :2]]


def shape_of(geometry: shapely.Geometry) -> list[Any]:
    """Return the parts of a geometry: rings of each polygon, or the points of each line.

    References
    ----------
    own reasoning
    """
    parts = shapely.get_parts(geometry)
    if geometry.geom_type.endswith("Polygon"):
        return [[_line(ring.coords) for ring in (p.exterior, *p.interiors)] for p in parts]
    return [_line(part.coords) for part in parts]


def packed_shape(geometry: shapely.Geometry) -> list[Any]:
    """Return a shape as `shape_of` has it, each ring or line as one list of whole numbers.

    The first two are latitude and longitude in millionths of a degree, each further pair what is
    added to the pair before it: a third of the letters.

    References
    ----------
    own reasoning
    """

    def packed(line: list[list[float]]) -> list[int]:
        whole = np.rint(np.asarray(line) * 10**PLACES).astype(int)
        return np.diff(whole, axis=0, prepend=[[0, 0]]).ravel().tolist()

    parts = shape_of(geometry)
    if geometry.geom_type.endswith("Polygon"):
        return [[packed(ring) for ring in rings] for rings in parts]
    return [packed(line) for line in parts]


def _blocks(results: Results) -> list[dict[str, Any]]:
    layer = _on_map(results.blocks, results)
    return [
        {
            "name": str(row.name_said),
            "shape": packed_shape(row.geometry),
            "at": label_place(row.geometry),
        }
        for row in layer.rename(columns={"name": "name_said"}).itertuples()
    ]


def _strips(results: Results, summary: Summary, place: dict[str, int]) -> list[dict[str, Any]]:
    """Return strips in the order of the summary, with their state in each year."""
    layer = _on_map(results.strips, results)
    strips = summary.strips
    out: list[dict[str, Any]] = [{} for _ in strips]
    for row in layer.itertuples():
        told = strips[place[row.strip_id]]
        out[place[row.strip_id]] = {
            "id": told.strip_id,
            "name": told.name,
            "method": told.method,
            "when": told.when,
            "shape": packed_shape(row.geometry),
            "at": label_place(row.geometry),
            "years": [[one.state, one.age, int(one.work), one.words] for one in told.years],
            "dead": dead_stand(told, summary),
            "stands": _stands(summary.ahead.strips.get(told.strip_id, ())),
            "starts": -1 if told.start_year is None else told.start_year - summary.years[0],
        }
    return out


def _ruled(results: Results, summary: Summary, place: dict[str, int]) -> list[dict[str, Any]]:
    """Return ground with rules of its own, strip by strip, with the years in which they matter."""
    pieces = ruled_pieces(results, summary)
    shapes = _in_degrees([piece["shape"] for piece in pieces], results)
    return [
        {"strip": place[piece["strip_id"]], "flag": piece["flag"], "words": piece["words"],
         "years": piece["years"], "shape": packed_shape(shape), "at": label_place(shape)}
        for piece, shape in zip(pieces, shapes, strict=True)
    ]  # fmt: skip


def _pieces(results: Results, summary: Summary, place: dict[str, int]) -> list[dict[str, Any]]:
    """Return the ground by what is done there: strip, key of the sign, shape."""
    pieces = way_pieces(results, summary)
    shapes = _in_degrees([shape for _, _, shape in pieces], results)
    return [
        {"strip": place[strip], "way": way, "shape": packed_shape(shape)}
        for (strip, way, _), shape in zip(pieces, shapes, strict=True)
    ]


def _in_degrees(shapes: list[Any], results: Results) -> gpd.GeoSeries:
    layer = gpd.GeoDataFrame(geometry=shapes, crs=results.grid)
    return _on_map(layer, results).geometry


def _first_longitude(results: Results) -> float:
    """Return the longitude of a corner of the first block [degrees]."""
    first = to_degrees(results.blocks.iloc[:1], results.grid).geometry.iloc[0]
    return float(shapely.get_coordinates(first)[0, 0])


def _on_map(layer: gpd.GeoDataFrame, results: Results) -> gpd.GeoDataFrame:
    """Return a layer in degrees, its longitudes counted on past 180 from the first block."""
    layer = to_degrees(layer, results.grid)
    middle = _first_longitude(results)

    def near(places: np.ndarray) -> np.ndarray:
        turns = np.rint((places[:, 0] - middle) / FULL_TURN)
        return np.column_stack([places[:, 0] - turns * FULL_TURN, places[:, 1]])

    return layer.set_geometry(shapely.transform(layer.geometry.to_numpy(), near), crs=DEGREES)


def label_place(geometry: shapely.Geometry) -> list[float]:
    """Return a point well inside the largest part, for a name: latitude and longitude.

    References
    ----------
    own reasoning
    """
    largest = max(shapely.get_parts(geometry), key=lambda part: part.area)
    point = shapely.maximum_inscribed_circle(largest, tolerance=1e-5).coords[0]
    return [_short(point[1]), _short(point[0])]


def zone_shapes(zones: gpd.GeoDataFrame, grid: str) -> list[dict[str, Any]]:
    """Return the ground with rules of its own, one shape for each rule; pieces may overlap.

    Parameters
    ----------
    zones : GeoDataFrame
        flags, geometry in the grid.
    grid : str
        The grid, where the layer does not state it.

    References
    ----------
    own reasoning
    """
    layer = to_degrees(zones, grid)
    flags = layer["flags"].astype(str).str.split("+")
    out = []
    for flag, said in names.ZONES.items():
        own = layer.geometry[flags.map(lambda held, flag=flag: flag in held).astype(bool)]
        shape = shapely.union_all(own.to_numpy())
        if not shape.is_empty:
            out.append(
                {"flag": flag, "words": said, "shape": shape_of(shape), "at": label_place(shape)}
            )
    return out


def _features(results: Results) -> list[dict[str, Any]]:
    layer = _on_map(results.features, results)
    out = []
    for row in layer.rename(columns={"name": "name_said"}).itertuples():
        said = names.plain(names.FEATURES, row.kind)
        given = row.name_said if isinstance(row.name_said, str) else ""
        kind = "area" if row.geometry.geom_type.endswith("Polygon") else "line"
        if row.geometry.geom_type.endswith("Point"):
            points = [point.coords for point in shapely.get_parts(row.geometry)]
            shape, kind = [_line(point)[0] for point in points], "point"
        else:
            shape = packed_shape(row.geometry)
        out.append({"kind": row.kind, "words": given or said, "as": kind, "shape": shape})
    return out


def _plots(results: Results) -> list[dict[str, Any]]:
    layer = _on_map(results.plots, results)
    return [
        {
            "at": [_short(row.geometry.y), _short(row.geometry.x)],
            "radius": float(row.radius_m),
            "id": told.plot_id,
            "block": told.block_name,
            "said": [*told.counted, told.circle],
        }
        for row, told in zip(layer.itertuples(), plot_facts(results), strict=True)
    ]


def _trees(results: Results) -> dict[str, Any]:
    """Return the keep trees packed: columns of numbers of one or two bytes, and tables of words."""
    count = len(results.keep_trees)
    if not count:
        return {"count": 0}
    layer = results.keep_trees
    layer = layer.set_crs(results.grid) if layer.crs is None else layer
    points = layer.to_crs(WEB_MAP).geometry
    x = points.x.to_numpy() / WEB_HALF_M / 2 + 0.5  # place on the web map, 0 to 1
    x -= np.rint(x - (_first_longitude(results) / FULL_TURN + 0.5))  # on past the 180th meridian
    y = 0.5 - points.y.to_numpy() / WEB_HALF_M / 2
    box = [float(x.min()), float(y.min()), float(np.ptp(x)), float(np.ptp(y))]
    told = tree_facts(results)
    return {
        "count": count,
        "box": box,
        "x": _packed((x - box[0]) / max(box[2], 1e-12) * FINEST, FINEST),
        "y": _packed((y - box[1]) / max(box[3], 1e-12) * FINEST, FINEST),
        "kind": _packed(told.kind, len(told.kinds)),
        "thick": _packed(told.thickness, len(told.thicknesses)),
        "crown": _packed(told.crown, len(told.crowns)),
        "kinds": [[one.name, one.latin, list(one.mind)] for one in told.kinds],
        "thicks": list(told.thicknesses),
        "crowns": list(told.crowns),
        "radii": list(told.radii_m),
        "tags": [str(tag) for tag in layer["tree_id"]] if count <= IDS_UP_TO else [],
    }


def _packed(numbers: np.ndarray, most: int) -> list[Any]:
    """Return whole numbers as bytes in a text, and how many bytes one takes."""
    wide = 1 if most <= 256 else 2
    whole = np.clip(np.rint(numbers), 0, FINEST).astype("u1" if wide == 1 else "<u2")
    return [wide, base64.b64encode(whole.tobytes()).decode("ascii")]
