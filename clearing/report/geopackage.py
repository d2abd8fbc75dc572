"""Write all layers of the plan into one GeoPackage for any GIS."""

import tempfile
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio

from clearing.property import Results
from clearing.report.facts import Summary

FIXED_TIME = "2000-01-01T00:00:00.000Z"  # the same file every time
DATE_OPTION = "OGR_CURRENT_DATE"


def geopackage_bytes(results: Results, summary: Summary, tables: dict[str, pd.DataFrame]) -> bytes:
    """Return plan.gpkg: blocks, strips, zones, keep_trees, features, plots, and visits as a table.

    References
    ----------
    own reasoning
    """
    layers = {
        "blocks": results.blocks,
        "strips": _strips(results, summary),
        "zones": results.zones,
        "keep_trees": results.keep_trees,
        "features": results.features,
        "plots": results.plots,
    }
    before = pyogrio.get_gdal_config_option(DATE_OPTION)
    pyogrio.set_gdal_config_options({DATE_OPTION: FIXED_TIME})
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "plan.gpkg"
            for name, layer in layers.items():
                pyogrio.write_dataframe(
                    _written(layer, results.grid), path, layer=name, driver="GPKG",
                    geometry_type=_kind(layer), promote_to_multi=_kind(layer) != "Point",
                )  # fmt: skip
            pyogrio.write_dataframe(_text(tables["visits"]), path, layer="visits", driver="GPKG")
            return path.read_bytes()
    finally:
        pyogrio.set_gdal_config_options({DATE_OPTION: before})


def _strips(results: Results, summary: Summary) -> gpd.GeoDataFrame:
    """Return the strips with what the plan does there, and their state in each year."""
    told = {strip.strip_id: strip for strip in summary.strips}
    layer = results.strips.copy()
    ids = layer["strip_id"]
    layer["method"] = [told[strip].method_key for strip in ids]
    layer["when_done"] = [told[strip].when for strip in ids]
    layer["start_year"] = pd.array([told[s].start_year for s in ids], dtype="Int64")
    layer["finish_year"] = pd.array([told[s].finish_year for s in ids], dtype="Int64")
    layer["hours"] = [round(told[strip].hours.value, 1) for strip in ids]
    layer["cost"] = [round(told[strip].cost.value, 2) for strip in ids]
    layer["why"] = [told[strip].why for strip in ids]
    for place, year in enumerate(summary.years):
        layer[f"state_{year}"] = [told[strip].years[place].state for strip in ids]
    return layer


def _written(layer: gpd.GeoDataFrame, grid: str) -> gpd.GeoDataFrame:
    """Return a layer that a GeoPackage can hold: a stated grid, text and number columns."""
    stated = layer if layer.crs is not None else layer.set_crs(grid)
    return gpd.GeoDataFrame(
        _text(pd.DataFrame(stated.drop(columns=stated.geometry.name))),
        geometry=stated.geometry.values,
        crs=stated.crs,
    )


def _text(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table whose mixed columns are text."""
    out = table.reset_index(drop=True).copy()
    for name in out.columns:
        if not pd.api.types.is_numeric_dtype(out[name]):
            out[name] = out[name].map(lambda cell: None if pd.isna(cell) else str(cell))
            out[name] = out[name].astype("object")
    return out


def _kind(layer: gpd.GeoDataFrame) -> str:
    """Return the kind of geometry of a layer; Unknown where kinds are mixed."""
    kinds = {kind.removeprefix("Multi") for kind in layer.geom_type.dropna()}
    if kinds == {"Polygon"}:
        return "MultiPolygon"
    return "Point" if kinds == {"Point"} and "MultiPoint" not in set(layer.geom_type) else "Unknown"
