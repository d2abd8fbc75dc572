"""The sample's layers saved in other formats, the way map programs and phones save them."""

import warnings
import zipfile
from pathlib import Path

import geopandas as gpd
import pyogrio
import shapely

LAYERS = ("blocks", "keep_trees", "features", "plots")
SHORT = {"small_radius_ft": "small_r_ft", "small_below_in": "small_b_in"}


def layer_of(folder: Path, name: str) -> gpd.GeoDataFrame:
    """Return one layer of a property's land.gpkg."""
    return gpd.read_file(folder / "land.gpkg", layer=name)


def save(layer: gpd.GeoDataFrame, path: Path, name: str, driver: str, **options: str) -> None:
    """Write a layer with GDAL, without its remarks on names that it cuts."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        pyogrio.write_dataframe(
            layer, path, layer=name, driver=driver, append=path.suffix == ".kml" and path.exists(),
            **options,
        )  # fmt: skip


def without(folder: Path, *names: str) -> None:
    """Take layers out of land.gpkg, the file too when none is left."""
    rest = {name: layer_of(folder, name) for name in LAYERS if name not in names}
    (folder / "land.gpkg").unlink()
    for name, layer in rest.items():
        pyogrio.write_dataframe(layer, folder / "land.gpkg", layer=name, driver="GPKG")


def as_shp(folder: Path) -> None:
    """Save blocks, trees and plots as Shapefiles (features mix lines and areas, and stay)."""
    for name in ("blocks", "keep_trees", "plots"):
        layer = layer_of(folder, name).rename(columns=SHORT)
        save(layer, folder / f"{name}.shp", name, "ESRI Shapefile")
    without(folder, "blocks", "keep_trees", "plots")


def as_kml(folder: Path) -> None:
    """Save all layers as folders of one KML file, in degrees."""
    for name in LAYERS:
        save(layer_of(folder, name).to_crs("EPSG:4326"), folder / "land.kml", name, "LIBKML")
    (folder / "land.gpkg").unlink()


def as_kmz(folder: Path) -> None:
    """Save all layers as folders of one zipped KML file."""
    as_kml(folder)
    with zipfile.ZipFile(folder / "land.kmz", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.write(folder / "land.kml", "doc.kml")
    (folder / "land.kml").unlink()


def as_gpx(folder: Path) -> None:
    """Save blocks as closed tracks, trees and plots as waypoints, the columns as extensions."""
    for name in ("blocks", "keep_trees", "plots"):
        layer = layer_of(folder, name).to_crs("EPSG:4326")
        if name == "blocks":
            lines = [shapely.MultiLineString([shape.exterior]) for shape in layer.geometry]
            layer = layer.set_geometry(gpd.GeoSeries(lines, crs=layer.crs))
        kind = "tracks" if name == "blocks" else "waypoints"
        save(layer, folder / f"{name}.gpx", kind, "GPX", GPX_USE_EXTENSIONS="YES")
    without(folder, "blocks", "keep_trees", "plots")


def as_geojson(folder: Path) -> None:
    """Save each layer as a GeoJSON file in degrees."""
    for name in LAYERS:
        layer = layer_of(folder, name).to_crs("EPSG:4326")
        save(layer, folder / f"{name}.geojson", name, "GeoJSON", COORDINATE_PRECISION="12")
    (folder / "land.gpkg").unlink()


SAVED = {"shp": as_shp, "kml": as_kml, "kmz": as_kmz, "gpx": as_gpx, "geojson": as_geojson}
