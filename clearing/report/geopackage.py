"""Write all layers of the plan into one GeoPackage for any GIS, with the look of each layer."""

import tempfile
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio
from pyproj import CRS

from clearing import units
from clearing.property import Results
from clearing.report.facts import Summary
from clearing.report.facts_ahead import ForecastYear
from clearing.report.layer_styles import STATE, layer_sld
from clearing.report.words import Amount

FIXED_TIME = "2000-01-01T00:00:00.000Z"  # the same file every time
DATE_OPTION = "OGR_CURRENT_DATE"
STYLES = "layer_styles"
GEOMETRY = "geom"
GRID_NAME = "clearing equal-area grid"  # own choice
# kind of geometry of a layer in which nothing stands
EMPTY = dict.fromkeys(("blocks", "strips", "zones"), "MultiPolygon") | {
    "keep_trees": "Point", "plots": "Point", "features": "Unknown",
}  # fmt: skip
TABLES = ("visits", "forecast")  # tables of the plan that go in without a geometry


def geopackage_bytes(results: Results, summary: Summary, tables: dict[str, pd.DataFrame]) -> bytes:
    """Return plan.gpkg: layers of the land and the plan, tables, and how each layer looks.

    Layers: blocks, strips, zones, keep_trees, features, plots. Tables: visits, forecast (a blank
    strip is the whole place). ``layer_styles`` holds a style for each layer as OGC SLD, in the
    columns in which a GIS that looks there expects it. One widely used desktop GIS applies its own
    format from that table (styleQML), which is not an open standard and stays blank; there the
    text of styleSLD is saved as a file and loaded by hand (from memory, not tried).

    References
    ----------
    own reasoning; ogc_sld
    """
    layers = {
        "blocks": results.blocks,
        "strips": _strips(results, summary),
        "zones": results.zones,
        "keep_trees": results.keep_trees,
        "features": results.features,
        "plots": results.plots,
    }
    bare = {name: _text(tables[name]) for name in TABLES}
    before = pyogrio.get_gdal_config_option(DATE_OPTION)
    pyogrio.set_gdal_config_options({DATE_OPTION: FIXED_TIME})
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "plan.gpkg"
            for name, layer in layers.items():
                kind = _kind(layer) or EMPTY[name]
                pyogrio.write_dataframe(
                    _written(layer, results.grid), path, layer=name, driver="GPKG",
                    geometry_type=kind, promote_to_multi=kind != "Point",
                )  # fmt: skip
            for name, table in bare.items():
                pyogrio.write_dataframe(table, path, layer=name, driver="GPKG")
            pyogrio.write_dataframe(
                _styles(list(layers), summary.years[0]), path, layer=STYLES, driver="GPKG",
                layer_options={"FID": "id"},
            )  # fmt: skip
            return path.read_bytes()
    finally:
        pyogrio.set_gdal_config_options({DATE_OPTION: before})


def _styles(layers: list[str], first_year: int) -> pd.DataFrame:
    """Return the table of styles, a row a layer."""
    stamp = pd.Timestamp(FIXED_TIME)
    rows = [
        {
            "f_table_catalog": "",
            "f_table_schema": "",
            "f_table_name": name,
            "f_geometry_column": GEOMETRY,
            "styleName": name,
            "styleQML": "",
            "styleSLD": layer_sld(name, first_year),
            "useAsDefault": True,
            "description": "the colors and signs of the map",
            "owner": "",
            "ui": "",
            "update_time": stamp,
        }
        for name in layers
    ]
    return pd.DataFrame(rows)


def _strips(results: Results, summary: Summary) -> gpd.GeoDataFrame:
    """Return the strips with what the plan does there, what stands, and their state by year."""
    told = {strip.strip_id: strip for strip in summary.strips}
    layer = results.strips.copy()
    ids = layer["strip_id"]
    if summary.units == "us":
        layer["area_acres"] = (layer["area_ha"].astype(float) / units.HA_PER_ACRE).round(2)
    layer["method"] = [told[strip].method_key for strip in ids]
    layer["when_done"] = [told[strip].when for strip in ids]
    layer["start_year"] = pd.array([told[s].start_year for s in ids], dtype="Int64")
    layer["finish_year"] = pd.array([told[s].finish_year for s in ids], dtype="Int64")
    first = {strip: years[0] for strip, years in summary.ahead.strips.items() if years}
    for kind in ("thick", "thin"):
        _add_ends(layer, kind, [_stems(first.get(strip), kind) for strip in ids], 0)
    _add_ends(layer, "hours", [told[strip].hours for strip in ids], 1)
    _add_ends(layer, "cost", [told[strip].cost for strip in ids], 2)
    layer["why"] = [told[strip].why for strip in ids]
    for place, year in enumerate(summary.years):
        layer[f"{STATE}{year}"] = [told[strip].years[place].state for strip in ids]
    return layer


def _stems(year: ForecastYear | None, kind: str) -> Amount | None:
    """Return thick or thin stems at the start of the plan, none without a forecast."""
    if year is None:
        return None
    return year.thick if kind == "thick" else year.thin


def _add_ends(
    layer: gpd.GeoDataFrame, name: str, amounts: list[Amount | None], places: int
) -> None:
    """Add a number and the ends of its range as columns of a layer."""
    for column, end in ((name, "value"), (f"{name}_low", "low"), (f"{name}_high", "high")):
        layer[column] = pd.array(
            [None if one is None else round(getattr(one, end), places) for one in amounts],
            dtype="Float64",
        )


def _written(layer: gpd.GeoDataFrame, grid: str) -> gpd.GeoDataFrame:
    """Return a layer that a GeoPackage can hold: a named grid, text and number columns."""
    stated = layer if layer.crs is not None else layer.set_crs(grid)
    return gpd.GeoDataFrame(
        _text(pd.DataFrame(stated.drop(columns=stated.geometry.name))),
        geometry=stated.geometry.values,
        crs=_named(stated.crs),
    )


def _named(grid: CRS) -> CRS:
    """Return the grid with a name in which its middle stands, for the list of a GIS."""
    known = grid.to_json_dict()
    if known["name"] != "unknown":
        return grid
    middle = ", ".join(f"{one['value']:.7g}" for one in known["conversion"]["parameters"][:2])
    return CRS.from_json_dict(known | {"name": f"{GRID_NAME} at {middle}"})


def _text(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table whose mixed columns are text."""
    out = table.reset_index(drop=True).copy()
    for name in out.columns:
        if not pd.api.types.is_numeric_dtype(out[name]):
            out[name] = out[name].map(lambda cell: None if pd.isna(cell) else str(cell))
            out[name] = out[name].astype("object")
    return out


def _kind(layer: gpd.GeoDataFrame) -> str:
    """Return the kind of geometry of a layer; Unknown where kinds are mixed, blank for none."""
    kinds = {kind.removeprefix("Multi") for kind in layer.geom_type.dropna()}
    if not kinds:
        return ""
    if kinds == {"Polygon"}:
        return "MultiPolygon"
    return "Point" if kinds == {"Point"} and "MultiPoint" not in set(layer.geom_type) else "Unknown"
