"""Turn the layers of the results into the small lists that the map's script draws."""

import base64
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from clearing import units
from clearing.property import Results
from clearing.report import look, names
from clearing.report.facts import StripFacts, Summary

DEGREES = "EPSG:4326"
PLACES = 6  # decimals of a degree: a tenth of a metre
FINEST = 65535  # steps of a packed coordinate along the box of the trees
IDS_UP_TO = 5000  # above so many trees their tags are left out of the map
CROWN_STEP_M = 0.1


def map_data(results: Results, summary: Summary) -> dict[str, Any]:
    """Return everything the map's script needs, ready for JSON.

    Coordinates are lists of latitude and longitude in degrees.

    References
    ----------
    own reasoning
    """
    strip_place = {strip.strip_id: place for place, strip in enumerate(summary.strips)}
    west, south, east, north = to_degrees(results.blocks, results.grid).total_bounds
    return {
        "us": summary.units == "us",
        "bounds": [[_short(south), _short(west)], [_short(north), _short(east)]],
        "years": list(summary.years),
        "sentences": [year.sentence for year in summary.year_rows],
        "signs": {
            sign.key: [sign.words, sign.colour, sign.pattern, sign.outline] for sign in look.SIGNS
        },
        "blocks": _blocks(results),
        "strips": _strips(results, summary.strips, strip_place),
        "zones": zone_shapes(results.zones, results.grid),
        "features": _features(results),
        "plots": _plots(results),
        "trees": _trees(results, summary.units == "us"),
    }


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


def _blocks(results: Results) -> list[dict[str, Any]]:
    layer = to_degrees(results.blocks, results.grid)
    return [
        {
            "name": str(row.name_said),
            "shape": shape_of(row.geometry),
            "at": label_place(row.geometry),
        }
        for row in layer.rename(columns={"name": "name_said"}).itertuples()
    ]


def _strips(
    results: Results, strips: tuple[StripFacts, ...], place: dict[str, int]
) -> list[dict[str, Any]]:
    """Return strips in the order of the summary, with their state in each year."""
    layer = to_degrees(results.strips, results.grid)
    out: list[dict[str, Any]] = [{} for _ in strips]
    for row in layer.itertuples():
        told = strips[place[row.strip_id]]
        out[place[row.strip_id]] = {
            "id": told.strip_id,
            "name": told.name,
            "shape": shape_of(row.geometry),
            "at": label_place(row.geometry),
            "years": [[one.state, one.age, int(one.work), one.words] for one in told.years],
        }
    return out


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
        own = layer.geometry[flags.map(lambda held, flag=flag: flag in held)]
        shape = shapely.union_all(own.to_numpy())
        if not shape.is_empty:
            out.append(
                {"flag": flag, "words": said, "shape": shape_of(shape), "at": label_place(shape)}
            )
    return out


def _features(results: Results) -> list[dict[str, Any]]:
    layer = to_degrees(results.features, results.grid)
    out = []
    for row in layer.rename(columns={"name": "name_said"}).itertuples():
        said = names.plain(names.FEATURES, row.kind)
        given = row.name_said if isinstance(row.name_said, str) else ""
        kind = "area" if row.geometry.geom_type.endswith("Polygon") else "line"
        if row.geometry.geom_type.endswith("Point"):
            points = [point.coords for point in shapely.get_parts(row.geometry)]
            shape, kind = [_line(point)[0] for point in points], "point"
        else:
            shape = shape_of(row.geometry)
        out.append({"kind": row.kind, "words": given or said, "as": kind, "shape": shape})
    return out


def _plots(results: Results) -> list[list[Any]]:
    layer = to_degrees(results.plots, results.grid)
    return [
        [_short(row.geometry.y), _short(row.geometry.x), str(row.plot_id), float(row.radius_m)]
        for row in layer.itertuples()
    ]


def _trees(results: Results, us: bool) -> dict[str, Any]:
    """Return the keep trees packed: place, crown and diameter as numbers of two bytes each."""
    layer = to_degrees(results.keep_trees, results.grid)
    count = len(layer)
    if not count:
        return {"count": 0}
    x, y = layer.geometry.x.to_numpy(), layer.geometry.y.to_numpy()
    box = [float(x.min()), float(y.min()), float(x.max()), float(y.max())]
    wide, high = max(box[2] - box[0], 1e-9), max(box[3] - box[1], 1e-9)
    species = sorted({str(name) for name in layer["species"]})
    place = {name: number for number, name in enumerate(species)}
    thick = layer["dbh_cm"].astype(float).fillna(0).to_numpy() / (units.CM_PER_IN if us else 1)
    packed = np.column_stack(
        [
            (x - box[0]) / wide * FINEST,
            (y - box[1]) / high * FINEST,
            layer["crown_m"].astype(float).to_numpy() / 2 / CROWN_STEP_M,
            thick,
            layer["species"].map(lambda name: place[str(name)]).to_numpy(),
        ]
    )
    numbers = np.clip(np.rint(packed), 0, FINEST).astype("<u2")
    tags = [str(tag) for tag in layer["tree_id"]] if count <= IDS_UP_TO else []
    return {
        "count": count,
        "box": box,
        "packed": base64.b64encode(numbers.tobytes()).decode("ascii"),
        "step": CROWN_STEP_M,
        "species": [names.species_name(name) for name in species],
        "tags": tags,
    }
