"""Lay the owner's layers out in the grid: net areas, crowns, plots inside their block."""

from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import CRS

from clearing.allometry import crown_width_m
from clearing.land.grid import local_grid, to_grid
from clearing.land.mending import mend_blocks, mended_notes
from clearing.land.words import distance_words
from clearing.property import Property, Settings
from clearing.rates import Rates
from clearing.tables import columns

# own choices where the owner says nothing about a block
DEFAULTS = {
    "goal": "pasture",
    "brush": "brushy",
    "wet": "dry",
    "stock": "none",
    "hay": False,
    "tops": "",
    "priority": 3,
    "density_guess": "",
}
SLOPE_PCT = {"flat": 2.0, "rolling": 8.0, "steep": 20.0}  # own choice, words into percent
NO_ENTRY = ("building", "water", "crop", "public_road")  # drawn as an area: not the crew's ground
PLOT_RADIUS_M = 11.3497  # a tenth of an acre where nobody states a radius; own choice
ASSUMED_CROWN_M = 6.0  # a tree with neither crown nor diameter; own choice
ENDS_APART = "ends_apart_m"  # where a layer was drawn as lines: how far the ends lay apart [m]
CROWDED = ("brushy", "thicket")  # brush words of ground on which crowns stay narrow; own choice
SAID = {"neighbour_tree": "neighbor's tree"}  # kinds whose key is not how they are said


@dataclass(frozen=True)
class Ground:
    """Return the property in its grid: columns as in ``data/columns/walk``.

    ``strips`` holds the owner's own strips (empty when none are drawn); ``notes`` are sentences
    for the report; ``mended`` says what was mended in the outlines and by how much.
    """

    grid: CRS
    blocks: gpd.GeoDataFrame
    keep_trees: gpd.GeoDataFrame
    features: gpd.GeoDataFrame
    plots: gpd.GeoDataFrame
    strips: gpd.GeoDataFrame
    notes: tuple[str, ...] = ()
    mended: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=columns("mended")).astype({"area_m2": float})
    )


def lay_out(place: Property, rates: Rates) -> Ground:
    """Return the property's layers in one equal-area grid.

    Parameters
    ----------
    place : Property
        As read; layers may lie in different coordinate systems.
    rates : Rates
        For crowns from diameters.

    References
    ----------
    snyder_1987, bechtold_2003
    """
    grid = local_grid(place.blocks)
    features = _features(to_grid(place.features, grid))
    drawn, mended = mend_blocks(to_grid(place.blocks, grid), features)
    blocks, notes = _blocks(drawn, features, place.settings)
    us = place.settings.us
    said = (*_closed_notes(place, us), *mended_notes(mended, us))
    trees = _keep_trees(to_grid(place.keep_trees, grid), blocks, rates)
    plots = to_grid(place.plots, grid)
    plots["visited"] = _visited(plots, place.tally)
    plots = _plots(plots, blocks, place.settings)
    strips = to_grid(place.strips, grid)
    return Ground(grid, blocks, trees, features, plots, strips, (*said, *notes), mended)


def _closed_notes(place: Property, us: bool) -> list[str]:
    """Return a sentence for each block or strip that was drawn as a line and made an outline."""
    notes = []
    for word, layer in (("block", place.blocks), ("strip", place.strips)):
        if ENDS_APART not in layer:
            continue
        for row in layer[layer[ENDS_APART].notna()].itertuples():
            name, apart = getattr(row, f"{word}_id"), float(getattr(row, ENDS_APART))
            told = distance_words(apart, us)
            notes.append(
                f"{word} {name}: was drawn as a line and taken as its outline"
                + (f"; its ends lay {told} apart and were joined" if told[:2] != "0 " else "")
            )
    return notes


def _features(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return features with a name each."""
    layer = layer.copy()
    words = layer["kind"].astype(str).replace(SAID).str.replace("_", " ")
    layer["name"] = layer["name"].where(layer["name"].notna(), words)
    layer["setback_m"] = pd.to_numeric(layer["setback_m"], errors="coerce")
    return layer[columns("features")].reset_index(drop=True)


def _blocks(
    layer: gpd.GeoDataFrame, features: gpd.GeoDataFrame, settings: Settings
) -> tuple[gpd.GeoDataFrame, tuple[str, ...]]:
    """Return blocks with defaults and net areas, and what was taken for granted."""
    blocks, notes = layer.copy(), []
    for column, value in DEFAULTS.items():
        blank = blocks[column].isna()
        if blank.any() and value != "":
            words = ", ".join(blocks.loc[blank, "block_id"].astype(str))
            said = "no" if value is False else value
            notes.append(f"{column} was not given for block {words}: taken as {said}")
        blocks[column] = blocks[column].where(~blank, value)
    slope = pd.to_numeric(blocks["slope_pct"], errors="coerce")
    by_word = blocks["ground"].map(SLOPE_PCT).astype(float).fillna(SLOPE_PCT["rolling"])
    blocks["slope_pct"] = slope.fillna(by_word)
    year = pd.to_numeric(blocks["ready_year"], errors="coerce").fillna(settings.first_year)
    blocks["ready_year"] = year.astype(int)
    blocks["priority"] = pd.to_numeric(blocks["priority"]).astype(int)
    blocks["name"] = blocks["name"].where(blocks["name"].notna(), "block " + blocks["block_id"])
    own = blocks["targets"].map(lambda text: text if isinstance(text, str) else "")
    blocks["targets"] = own.map(lambda text: " ".join(text.replace(",", " ").split()))
    blocks["targets"] = blocks["targets"].where(blocks["targets"] != "", " ".join(settings.targets))
    blocks["gross_ha"] = blocks.area / 1e4
    blocks = blocks.set_geometry(_net_ground(blocks.geometry.make_valid(), features))
    blocks["area_ha"] = blocks.area / 1e4
    return blocks[columns("blocks")].reset_index(drop=True), tuple(notes)


def _net_ground(shapes: gpd.GeoSeries, features: gpd.GeoDataFrame) -> gpd.GeoSeries:
    """Return each block less no-entry ground, and less what an earlier block already holds."""
    areas = features[
        features["kind"].isin(NO_ENTRY) & features.geom_type.isin(["Polygon", "MultiPolygon"])
    ]
    taken = areas.geometry.make_valid().union_all() if len(areas) else None
    net = []
    for shape in shapes:
        own = shape if taken is None else shape.difference(taken)
        net.append(own)
        taken = shape if taken is None else taken.union(shape)
    return gpd.GeoSeries(net, index=shapes.index, crs=shapes.crs)


def _keep_trees(
    layer: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, rates: Rates
) -> gpd.GeoDataFrame:
    """Return keep trees with a crown each and the block they stand in."""
    trees = layer.copy()
    trees["block_id"] = _block_of(trees.geometry, blocks)
    trees["dbh_cm"] = pd.to_numeric(trees["dbh_cm"], errors="coerce")
    brush = trees["block_id"].map(blocks.set_index("block_id")["brush"])
    trees = with_crowns(trees, brush, rates)
    return trees[columns("keep_trees")].reset_index(drop=True)


def with_crowns(trees: pd.DataFrame, brush: pd.Series, rates: Rates) -> pd.DataFrame:
    """Return trees with a crown each: measured, else by the diameter, else an assumed one.

    Parameters
    ----------
    trees : DataFrame
        species, dbh_cm, crown_m (numbers or blank) [cm, m].
    brush : Series
        The brush in which each stands; crowns stay narrow in brushy ground and thickets.
    rates : Rates
        For crowns from diameters.

    Returns
    -------
    DataFrame
        With crown_m without blanks and crown_from (measured, diameter or assumed).

    References
    ----------
    bechtold_2003; own reasoning for the assumed crown
    """
    measured = pd.to_numeric(trees["crown_m"], errors="coerce")
    by_dbh = pd.Series(np.nan, index=trees.index, dtype=float)
    for (species, open_grown), rows in trees.groupby([trees["species"], ~brush.isin(CROWDED)]):
        grown = "open" if open_grown else "stand"
        widths = crown_width_m(species, rows["dbh_cm"], grown, rates)
        by_dbh[rows.index] = np.asarray(widths, dtype=float)
    by_dbh = by_dbh.where(trees["dbh_cm"].notna())
    origin = np.where(by_dbh.notna(), "diameter", "assumed")
    return trees.assign(
        crown_m=measured.fillna(by_dbh).fillna(ASSUMED_CROWN_M),
        crown_from=np.where(measured.notna(), "measured", origin),
    )


def _visited(plots: gpd.GeoDataFrame, tally: pd.DataFrame) -> pd.Series:
    """Return whether each plot counts: as the owner says, else whether stems were counted in it."""
    counted = plots["plot_id"].isin(tally["plot_id"].dropna())
    said = plots["visited"]
    return said.where(said.notna(), counted).astype(bool)


def _plots(
    layer: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, settings: Settings
) -> gpd.GeoDataFrame:
    """Return plots with their block and the area of each circle inside it.

    Stems are counted inside the plot and inside the block in which its centre lies, so that the
    area that counts is the exact overlap of circle and block; by walkthrough stems near the edge
    were counted twice instead, and the whole circle counts (ducey_2004).
    """
    plots = layer.copy()
    for column in ("radius_m", "small_radius_m", "small_below_cm"):
        default = {"radius_m": settings.plot_radius_m}.get(column, getattr(settings, column, None))
        own = pd.to_numeric(plots[column], errors="coerce")
        plots[column] = own if default is None else own.fillna(default)
    plots["radius_m"] = plots["radius_m"].fillna(PLOT_RADIUS_M)
    plots["block_id"] = _block_of(plots.geometry, blocks)
    plots = plots[plots["block_id"] != ""].reset_index(drop=True)
    home = blocks.set_index("block_id").geometry.reindex(plots["block_id"]).reset_index(drop=True)
    home = gpd.GeoSeries(home, crs=blocks.crs)
    small = plots["small_radius_m"].fillna(plots["radius_m"])
    through = plots["edge"].eq("walkthrough").fillna(False).astype(bool)
    for column, radius in (("inside_ha", plots["radius_m"]), ("small_inside_ha", small)):
        whole = np.pi * radius**2 / 1e4
        plots[column] = whole.where(through, _inside_ha(plots.geometry, radius, home))
    return plots[columns("plots")]


def _inside_ha(centres: gpd.GeoSeries, radius_m: pd.Series, home: gpd.GeoSeries) -> pd.Series:
    """Return the area of each circle inside its block [ha].

    The circle is drawn with many sides and its area scaled to the true circle's.
    """
    circles = centres.buffer(radius_m, quad_segs=64)
    share = circles.intersection(home).area / circles.area
    return share * np.pi * radius_m**2 / 1e4


def _block_of(points: gpd.GeoSeries, blocks: gpd.GeoDataFrame) -> pd.Series:
    """Return the block that each point stands in (blank when in none; the first on an edge)."""
    where = pd.Series("", index=points.index, dtype=object)
    if not len(points):
        return where
    shapes = blocks.geometry
    found, at = shapes.sindex.query(points, predicate="intersects")
    ids = blocks["block_id"].to_numpy()
    for point, block in sorted(zip(found, at, strict=True), reverse=True):
        where.iloc[point] = ids[block]
    missing = where == ""
    if missing.any():
        near, at = shapes.sindex.nearest(points[missing], max_distance=1.0, return_all=False)
        where.loc[points[missing].index[near]] = ids[at]
    return where
