"""Writing the sample property: every file whole, and the same content for the same seed."""

import csv
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio

from maker.sample import Sample
from maker.settings import PROPERTY_TOML

WRITTEN = "2026-11-20T00:00:00.000Z"  # the date inside the GeoPackage, so that bytes repeat
RECORDS = ["record_id", "replaces", "date", "strip_id", "job", "people", "hours", "herbicide",
           "product_floz", "mix_gal", "stems", "wind_mph", "wind_from", "temperature_f",
           "start_time", "applied_by", "licence", "notes"]  # fmt: skip


def write_property(sample: Sample, folder: Path) -> None:
    """Write property.toml, land.gpkg, tally.csv and records.csv."""
    folder.mkdir(parents=True, exist_ok=True)
    whole(folder / "property.toml", lambda path: path.write_text(PROPERTY_TOML, encoding="utf-8"))
    whole(folder / "land.gpkg", lambda path: _write_layers(sample, path))
    write_table(sample.tally, folder / "tally.csv")
    write_table(pd.DataFrame(columns=RECORDS), folder / "records.csv")


def write_table(table: pd.DataFrame, path: Path) -> None:
    """Write a table as CSV with plain line ends."""
    whole(
        path,
        lambda part: table.to_csv(
            part, index=False, lineterminator="\n", quoting=csv.QUOTE_MINIMAL
        ),
    )


def whole(path: Path, write: Callable[[Path], object]) -> None:
    """Write a file beside its place and move it there when it is whole."""
    part = path.with_name(f"part-{path.name}")
    part.unlink(missing_ok=True)
    write(part)
    part.replace(path)


def _write_layers(sample: Sample, path: Path) -> None:
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": WRITTEN})
    layers = ("blocks", "keep_trees", "features", "plots")
    for layer, table in zip(layers, sample[:4], strict=True):
        _write_layer(table, path, layer)
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def _write_layer(table: gpd.GeoDataFrame, path: Path, layer: str) -> None:
    kinds = table.geom_type.unique()
    kind = kinds[0] if len(kinds) == 1 else "Unknown"
    table.to_file(path, layer=layer, driver="GPKG", engine="pyogrio", geometry_type=kind)
