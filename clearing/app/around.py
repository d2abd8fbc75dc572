"""Reckon after each stroke what lies around the drawn things: setbacks, neighbors, crowns."""

from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS
from scipy.spatial import cKDTree

from clearing import land, survey, zones
from clearing.files.outlines import flat_shapes
from clearing.land.ground import DEFAULTS
from clearing.property import Settings
from clearing.rates import Rates, for_settings, load
from clearing.report import names
from clearing.report.layers import DEGREES, shape_of
from clearing.tables import cell_text, to_metric
from clearing.zones.reach import (
    fall_distances,
    fixed_distances,
    ground_around,
    outlines,
    wire_distances,
)

SHOWN_M = 60.0  # so far beyond the property line the neighbors' side is shown; own choice
FINE_M = 0.05  # corners of a ring nearer to its side than this are left out; own choice
SIZES = {"features": ["setback"], "keep_trees": ["dbh", "crown"], "blocks": []}
TEXTS = {
    "features": ["kind", "name"],
    "keep_trees": ["species", "tree_id"],
    "blocks": ["brush", "targets"],
}
UNITS = {"setback": ("ft", "m"), "dbh": ("in", "cm"), "crown": ("ft", "m")}
WORDS = {"setback": "distance to keep", "dbh": "diameter", "crown": "crown"}


def around_the_land(
    layers: Mapping[str, gpd.GeoDataFrame], settings: Settings | None = None
) -> dict[str, Any]:
    """Return what the drawn things keep off, the neighbors' side and the crowns of keep trees.

    Works on half-finished land: what cannot be reckoned is left out, and said where it is wrong.

    Parameters
    ----------
    layers : mapping of str to GeoDataFrame
        features, blocks, keep_trees as they are drawn, cells as they stand in the file, each in
        any coordinate system; other layers are passed over and missing ones are empty.
    settings : Settings, optional
        Without them the handbook's figures alone count, and nothing is known to fall.

    Returns
    -------
    dict
        ``setbacks``: row (number in the layer), kind, words ("creek: 30 ft"), rule (where the
        distance comes from), distance_m, shape; ``neighbours_side``: shape, or None with a
        ``line_note``; ``crowns``: a radius in metres for each row of keep_trees, None where it has
        no place; ``notes``: sentences. Shapes are lists of latitude and longitude in degrees.

    References
    ----------
    own reasoning
    """
    rates = load() if settings is None else for_settings(settings)
    us = settings is None or settings.us
    notes: list[str] = []
    sound = {name: _sound(layers.get(name)) for name in SIZES}
    drawn = [sound[name] for name in ("blocks", "features", "keep_trees") if len(sound[name])]
    grid = land.local_grid(drawn[0]) if drawn else CRS(DEGREES)
    there = {name: _plain(layer, name, grid, notes) for name, layer in sound.items()}
    features, blocks = there["features"], there["blocks"]
    beyond, note = _neighbours_side(features, blocks, us)
    return {
        "setbacks": _setbacks(features, beyond, _tallest(blocks, settings, rates), (rates, us)),
        "neighbours_side": None if beyond is None else {"shape": _degrees([beyond], grid)[0]},
        "line_note": note,
        "crowns": _crowns(layers.get("keep_trees"), there["keep_trees"], blocks, rates),
        "notes": notes,
    }


def _sound(layer: gpd.GeoDataFrame | None) -> gpd.GeoDataFrame:
    """Return the rows that lie on the globe, in degrees, numbered by their place in the layer."""
    if layer is None or layer.crs is None or not len(layer):
        return gpd.GeoDataFrame(geometry=[], crs=DEGREES)
    numbered = layer.reset_index(drop=True)
    drawn = numbered[_within(numbered.geometry.to_numpy(), (np.inf, np.inf))].to_crs(DEGREES)
    return drawn[_within(drawn.geometry.to_numpy(), (180.0, 90.0))]


def _within(shapes: np.ndarray, bounds: tuple[float, float]) -> np.ndarray:
    """Return which shapes have corners, all of them numbers and none beyond the bounds."""
    there = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    corners, of = shapely.get_coordinates(shapes, return_index=True)
    good = np.isfinite(corners) & (np.abs(corners) <= bounds)
    there[of[~good.all(axis=1)]] = False
    return there


def _plain(layer: gpd.GeoDataFrame, name: str, grid: CRS, notes: list[str]) -> gpd.GeoDataFrame:
    """Return a layer in the grid with the few cells that count here, numbers in metric."""
    sound = land.to_grid(layer, grid)
    sound = sound[_within(sound.geometry.to_numpy(), (np.inf, np.inf))]
    cells = pd.DataFrame(index=sound.index)
    for column in TEXTS[name]:
        given = sound[column].map(cell_text) if column in sound else ""
        cells[column] = pd.Series(given, index=sound.index, dtype=object)
    for stem in SIZES[name]:
        for unit in UNITS[stem]:
            column = f"{stem}_{unit}"
            given = sound[column] if column in sound else pd.Series(np.nan, index=sound.index)
            cells[column] = _sizes(given, WORDS[stem], cells, notes)
    for column in {"kind", "species", "brush"} & set(cells):
        cells[column] = cells[column].str.lower().str.replace(r"[\s-]+", "_", regex=True)
    shapes = gpd.GeoSeries(shapely.make_valid(sound.geometry.to_numpy()), sound.index, crs=grid)
    plain = gpd.GeoDataFrame(to_metric(cells), geometry=shapes)
    return plain if name == "keep_trees" else flat_shapes(plain)


def _sizes(given: pd.Series, word: str, cells: pd.DataFrame, notes: list[str]) -> pd.Series:
    """Return a column's numbers from nought up; the others are blank and said."""
    sizes = pd.to_numeric(given, errors="coerce").astype(float)
    sizes = sizes.where((sizes >= 0) & np.isfinite(sizes))
    wrong = [at for at in sizes.index[sizes.isna() & given.notna()] if cell_text(given[at])]
    for at in wrong[:5]:
        notes.append(
            f"{_called(cells.loc[at])}: {word} {cell_text(given[at])!r} is passed over; write a "
            "number of 0 or more"
        )
    return sizes


def _called(row: pd.Series) -> str:
    """Return what a thing is called: its name, else its kind in words, else its tag."""
    kind = names.plain(names.FEATURES, str(row.get("kind", "")))
    tag = row.get("tree_id", "")
    return str(row.get("name", "") or kind or (f"tree {tag}" if tag else "a tree"))


def _tallest(blocks: gpd.GeoDataFrame, settings: Settings | None, rates: Rates) -> float:
    """Return the upper height of the tallest stem that is to be cleared [m]; NaN when unknown."""
    own = blocks["targets"].str.replace(",", " ").str.split()
    targets = set(settings.targets if settings is not None else ()).union(*own)
    heights = [survey.class_heights(name, rates)[survey.ALL] for name in targets]
    return max(heights, default=float("nan"))


def _setbacks(
    features: gpd.GeoDataFrame,
    beyond: shapely.Geometry | None,
    tall_m: float,
    known: tuple[Rates, bool],
) -> list[dict[str, Any]]:
    """Return a ring around each feature that asks for distance."""
    if not len(features):
        return []
    rates, us = known
    fixed = fixed_distances(features, rates)
    falls = np.fmax(fall_distances(features, tall_m, rates),
                    wire_distances(features, tall_m, True, rates))  # fmt: skip
    far, shapes = np.fmax(fixed, falls), outlines(features)
    pieces, of = ground_around(shapes, np.where(far > 0, far, -1.0))
    rows, rings = [], []
    for at in np.unique(of):
        ring = shapely.union_all(pieces[of == at])
        if shapely.get_dimensions(shapes[at]) == 2:
            ring = ring.difference(shapes[at])
        if features["kind"].iloc[at] == "property_line" and beyond is not None:
            ring = ring.difference(beyond)
        ring = _areas(shapely.simplify(ring, FINE_M))
        if ring.is_empty:
            continue
        row, distance = features.iloc[at], float(far[at])
        rings.append(ring)
        rows.append({
            "row": int(features.index[at]),
            "kind": row["kind"],
            "words": f"{_called(row)}: {land.distance_words(distance, us)}",
            "rule": _rule(row, distance, bool(falls[at] > 0)),
            "distance_m": round(distance, 2),
        })  # fmt: skip
    drawn = _degrees(rings, features.crs)
    return [row | {"shape": shape} for row, shape in zip(rows, drawn, strict=True)]


def _rule(row: pd.Series, distance_m: float, falls: bool) -> str:
    """Return where a distance comes from."""
    if abs(float(row["setback_m"]) - distance_m) < 1e-6:
        return "as you wrote"
    if falls:
        return "how far the tallest stems may reach; your label or local rule may ask for more"
    if row["kind"] == "neighbour_tree":
        return "roots reach beyond the crown; your label may ask for more"
    return "taken for granted; your label or local rule may ask for more"


def _neighbours_side(
    features: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, us: bool
) -> tuple[shapely.Geometry | None, str]:
    """Return the ground beyond the property line as far as it is shown, or why there is none."""
    lines = features[features["kind"] == "property_line"]
    if not len(lines):
        return None, "no property line is drawn, so the neighbor's side is not known"
    inside = zones.within_the_line(features)
    if inside is None:
        return None, _open_line(outlines(lines), us)
    areas = blocks[shapely.get_dimensions(blocks.geometry.to_numpy()) == 2].geometry
    ground = areas if len(areas) else gpd.GeoSeries([inside], crs=features.crs)
    west, south, east, north = np.abs(ground.total_bounds - np.array(inside.bounds))
    beyond = zones.beyond_the_line(features, ground, SHOWN_M + max(west, south, east, north))
    line = shapely.simplify(shapely.union_all(outlines(lines)), FINE_M)
    near = shapely.buffer(line, SHOWN_M, quad_segs=8)
    shown = None if beyond is None else shapely.intersection(beyond, near)
    return (None if shown is None else _areas(shown)), ""


def _areas(shape: shapely.Geometry) -> shapely.Geometry:
    """Return the areas of a shape, without what lines and points an overlay left."""
    parts = shapely.get_parts(shape)
    return shapely.multipolygons(parts[shapely.get_dimensions(parts) == 2])


def _open_line(lines: np.ndarray, us: bool) -> str:
    """Return how far two ends of an open property line lie apart."""
    joined = shapely.line_merge(shapely.union_all(lines))
    parts = shapely.get_parts(joined)
    parts = parts[(shapely.get_dimensions(parts) == 1) & ~shapely.is_closed(parts)]
    ends = np.concatenate(
        [np.empty((0, 2)), *(shapely.get_coordinates(part)[[0, -1]] for part in parts)]
    )
    ends, count = np.unique(ends, axis=0, return_counts=True)
    loose = ends[count == 1]
    said = "the property line does not close, so the neighbor's side is not known"
    if len(loose) < 2:
        return said
    gap = float(cKDTree(loose).query(loose, k=2)[0][:, 1].min())
    return f"{said}: two of its ends lie {land.distance_words(gap, us)} apart; bring them together"


def _crowns(
    drawn: gpd.GeoDataFrame | None,
    trees: gpd.GeoDataFrame,
    blocks: gpd.GeoDataFrame,
    rates: Rates,
) -> list[float | None]:
    """Return the radius of each keep tree's crown [m], by its place in the layer."""
    radius: list[float | None] = [None] * (0 if drawn is None else len(drawn))
    trees = trees[shapely.get_dimensions(trees.geometry.to_numpy()) == 0]
    if not len(trees):
        return radius
    brush = np.full(len(trees), "", dtype=object)
    words = blocks["brush"].where(blocks["brush"] != "", DEFAULTS["brush"]).to_numpy()
    at, of = blocks.sindex.query(trees.geometry, predicate="intersects")
    brush[at[::-1]] = words[of[::-1]]
    crowns = land.with_crowns(
        pd.DataFrame(trees.drop(columns="geometry")), pd.Series(brush, trees.index), rates
    )
    for row, width in zip(crowns.index, crowns["crown_m"], strict=True):
        radius[row] = round(float(width) / 2, 2)
    return radius


def _degrees(shapes: list[shapely.Geometry], grid: CRS) -> list[list[Any]]:
    """Return shapes of the grid as lists of latitude and longitude."""
    return [shape_of(shape) for shape in gpd.GeoSeries(shapes, crs=grid).to_crs(DEGREES)]
