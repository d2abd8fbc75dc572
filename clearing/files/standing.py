"""Open the owner's layers as they stand: all rows, columns and cells, in the system they are in."""

import dataclasses
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio
import shapely

from clearing.errors import InputError
from clearing.files.headings import own_headings, plain_name
from clearing.files.layers import ENDINGS, PACKED, Source, find_layer, in_file, open_layer, opened
from clearing.files.outlines import closed_lines, flat_shapes, no_system, single_points
from clearing.tables import cell_text, column_file, rows_named

LAYERS = ("blocks", "strips", "keep_trees", "features", "plots")
AREAS = {"blocks": "block", "strips": "strip"}
POINTS = ("keep_trees", "plots")
COMPANIONS = ("shx", "dbf", "prj", "cpg")  # of a Shapefile, beside its .shp
WAITING = (
    "land.gpkg-wal",
    "land.gpkg-journal",
)  # where another program keeps what it has not saved
DEGREES = "EPSG:4326"
WHOLE = ("OFTInteger", "OFTInteger64")
MAPS = ("kml", "kmz", "gpx")  # what map programs and phones write, with much beside


@dataclass(frozen=True)
class Land:
    """The owner's layers as they stand in the folder.

    Attributes
    ----------
    layers : dict of str to GeoDataFrame
        blocks, strips, keep_trees, features, plots; each with all columns of the file (those that
        can be recognised under our names). The index is the row's number in the file: a row that
        keeps its number keeps whatever of it was not changed.
    where : dict of str to str or None
        The file that holds each layer.
    stamp : str
        Another text as soon as any file that holds (or would hold) a layer is another one.
    columns : dict of str to dict
        For each layer our name of a column -> its name in the file, where they differ.
    notes : tuple of str
        What was put in order at opening, in sentences.
    beside : dict of str to Source
        Layers of files of their own that stand in a land file too, and where.
    raw : dict
        Shapes as the file held them (with heights) before a change: (layer, row, flat shape).
    """

    layers: dict[str, gpd.GeoDataFrame]
    where: dict[str, str | None]
    stamp: str
    columns: dict[str, dict[str, str]] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    beside: dict[str, Source] = field(default_factory=dict)
    raw: dict[tuple[str, int, bytes], bytes] = field(default_factory=dict)

    def replace(self, **changes: object) -> "Land":
        """Return the land with some of its parts replaced.

        References
        ----------
        own reasoning
        """
        return dataclasses.replace(self, **changes)  # type: ignore[arg-type]


def stamp_of(home: str | Path) -> str:
    """Return a text that is another one whenever a file that may hold a layer changed.

    Only names, sizes, times and numbers on the disk are looked at; no file is opened.

    References
    ----------
    own reasoning
    """
    names = {f"{name}.{ending}" for name in LAYERS for ending in (*ENDINGS, *COMPANIONS)}
    names |= {*PACKED, *WAITING}
    seen = []
    for entry in os.scandir(home):
        if entry.name.lower() not in names or not entry.is_file():
            continue
        facts = Path(entry.path).stat()
        if entry.name.lower() in WAITING and facts.st_size == 0:
            continue
        seen.append(_told(entry.name, facts))
    return " ".join(sorted(seen))


def stamp_with(stamp: str, files: dict[str, Path], gone: set[str]) -> str:
    """Return a stamp as it will be once files took others' places, and some are gone.

    References
    ----------
    own reasoning
    """
    stays = [each for each in stamp.split(" ") if each.split(":")[0] not in {"", *files, *gone}]
    return " ".join(sorted([*stays, *(_told(n, path.stat()) for n, path in files.items())]))


def _told(name: str, facts: os.stat_result) -> str:
    """Return what a stamp says of one file."""
    return f"{name}:{facts.st_size}:{facts.st_mtime_ns}:{facts.st_ino}"


def layer_of(source: Source, name: str) -> tuple[gpd.GeoDataFrame, dict[str, str]]:
    """Return a layer out of a file, and our names of its columns -> the file's.

    Lines that close became areas, collections of one kind of shape that kind, heights are gone,
    and a column of whole numbers is one even where some cells are blank.

    Raises
    ------
    InputError
        As `open_layer`, or the layer does not state its coordinate system.

    References
    ----------
    own reasoning
    """
    raw = _whole_numbers(open_layer(source, numbered=source.ending == "gpkg"), source)
    crs = raw.crs
    if crs is not None and not (crs.is_geographic or crs.is_projected):
        crs = None
    if crs is None:
        if len(raw):
            raise InputError(
                [no_system(name, source.path, raw).removeprefix(f"{name}: ")], source.path.name
            )
        raw = raw.set_crs(DEGREES, allow_override=True)
    if source.ending != "gpkg":  # a GeoPackage numbers its rows from 1, and so do we
        raw.index = pd.RangeIndex(1, len(raw) + 1)
    layer, named = _recognised(raw, name, source.ending)
    return _shapes_wanted(layer, name), named


def standing(home: Path) -> Land:
    """Return all layers of a folder as they stand; a missing one is empty.

    Raises
    ------
    InputError
        All problems of all layers at once.

    References
    ----------
    own reasoning
    """
    stamp = stamp_of(home)
    sources, problems = {}, []
    left = [path.name for path in home.iterdir()
            if path.name.lower() in WAITING and path.stat().st_size > 0]  # fmt: skip
    if left and not _can_be_read(home):
        words = f"land.gpkg cannot be read: {left[0]} lies beside it, and another program left it "
        words += "there; open land.gpkg in that program, save and close it"
        raise InputError([words], home.name)
    for name in LAYERS:
        try:
            sources[name] = find_layer(home, name)
        except InputError as cause:
            problems += [f"{name}: {each}" for each in cause.problems]
    return _land(sources, problems, stamp, home.name)


def standing_in(path: Path) -> Land:
    """Return the layers of one land file as they stand in it.

    Raises
    ------
    InputError
        As `standing`.

    References
    ----------
    own reasoning
    """
    return _land(
        {name: in_file(path, name) for name in LAYERS}, [], stamp_of(path.parent), path.name
    )


def _can_be_read(home: Path) -> bool:
    """Return whether a land file beside which another program left something can be read."""
    target = next((path for path in home.iterdir() if path.name.lower() == "land.gpkg"), None)
    if target is None:
        return True
    try:
        pyogrio.list_layers(target.resolve())
    except pyogrio.errors.DataSourceError:
        return False
    return True


def said_once(problems: Sequence[str]) -> list[str]:
    """Return problems of layers, those that several layers share without a layer's name, once.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> said_once(["blocks: x is damaged", "plots: x is damaged", "strips: no column"])
    ['x is damaged', 'strips: no column']
    """
    parts = [each.partition(": ") for each in problems]
    shared = Counter(rest for layer, _, rest in parts if layer in LAYERS)
    return list(dict.fromkeys(
        rest if layer in LAYERS and shared[rest] > 1 else each
        for each, (layer, _, rest) in zip(problems, parts, strict=True)
    ))  # fmt: skip


def _land(sources: dict[str, Source | None], problems: list[str], stamp: str, place: str) -> Land:
    """Return the land that lies in some files."""
    layers: dict[str, gpd.GeoDataFrame] = {}
    columns: dict[str, dict[str, str]] = {}
    for name, source in sources.items():
        if source is None:
            continue
        try:
            layers[name], columns[name] = layer_of(source, name)
        except InputError as cause:
            problems += [f"{name}: {each}" for each in cause.problems]
    if problems:
        raise InputError(said_once(problems), place)
    crs = next((layers[name].crs for name in LAYERS if name in layers), DEGREES)
    layers |= {name: empty_layer(name, crs) for name in LAYERS if name not in layers}
    where = {name: source.path.name if source else None for name, source in sources.items()}
    beside = {name: source for name, source in sources.items() if source and source.beside}
    return Land({n: layers[n] for n in LAYERS}, where, stamp, columns, beside=beside)


def empty_layer(name: str, crs: object) -> gpd.GeoDataFrame:
    """Return a layer without rows and with the described columns.

    References
    ----------
    own reasoning
    """
    described = [each for each in column_file(name)["column"] if each != "geometry"]
    frame = pd.DataFrame({each: pd.Series(dtype="object") for each in described})
    return gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries([], crs=crs))


def _whole_numbers(layer: gpd.GeoDataFrame, source: Source) -> gpd.GeoDataFrame:
    """Return a layer whose columns of whole numbers hold whole numbers and blanks."""
    kinds: dict[str, str] = {
        str(column): "Int64"
        for column in layer.columns
        if column != "geometry" and pd.api.types.is_integer_dtype(layer[column])
    }
    if source.ending == "gpkg":
        with opened(source.path) as content:
            info = pyogrio.read_info(content, layer=source.layers[0])
        types = zip(info["fields"], info["ogr_types"], info["ogr_subtypes"], strict=True)
        for column, kind, sub in types:
            if kind in WHOLE:
                kinds[column] = "boolean" if sub == "OFSTBoolean" else "Int64"
    return layer.astype(kinds)


def _recognised(
    raw: gpd.GeoDataFrame, name: str, ending: str
) -> tuple[gpd.GeoDataFrame, dict[str, str]]:
    """Return a layer with our names where they can be recognised, and none of its cells gone.

    What a map program writes beside the owner's cells is left out where it says nothing.
    """
    blank = {c: not any(map(_says_something, raw[c])) for c in raw.columns}
    probe = pd.DataFrame([{column: "" if blank[column] else str(column) for column in raw.columns}])
    seen, _ = own_headings(probe, name, ending)
    named: dict[str, str] = {}
    for column in map(str, seen.columns):
        cell = str(seen[column].iloc[0])
        named[column] = cell or next(
            (c for c in raw.columns if c == column or plain_name(c) == column), column
        )
    layer = gpd.GeoDataFrame(
        {ours: raw[c] for ours, c in named.items() if c in raw and ours != "geometry"},
        geometry=raw.geometry,
        index=raw.index,
    )
    taken = set(named.values())
    for column in raw.columns:
        if column in taken or blank[column] or (ending in MAPS and _is_noise(raw[column])):
            continue
        free, number = str(column), 1
        while free.lower() in {str(each).lower() for each in layer.columns}:
            number += 1
            free = f"{column}_{number}"
        layer[free], named[free] = raw[column], column
    return layer, {ours: theirs for ours, theirs in named.items() if ours != theirs}


def _says_something(cell: object) -> bool:
    """Return whether a cell is not blank."""
    return isinstance(cell, shapely.Geometry) or cell_text(cell) != ""


def _is_noise(cells: pd.Series) -> bool:
    """Return whether a map program's column says nothing: the same number, or its own row names."""
    words = cells.map(cell_text)
    number = pd.to_numeric(words, errors="coerce").notna().all()
    return bool((number and words.nunique() == 1) or cells.name == "id")


def _shapes_wanted(layer: gpd.GeoDataFrame, name: str) -> gpd.GeoDataFrame:
    """Return a layer with areas where areas are wanted and points where points are."""
    if not len(layer):
        return layer
    mixed = pd.Series(False, index=layer.index)
    if name == "features":  # a collection of several kinds stays one row
        mixed = layer.geometry.map(_of_several_kinds)
    flat = flat_shapes(layer)
    if mixed.any():
        kept = flat.geometry.where(~mixed, shapely.force_2d(layer.geometry.to_numpy()))
        flat = flat.set_geometry(kept)
    if name in AREAS:
        called = rows_named(pd.DataFrame(flat), f"{AREAS[name]}_id").tolist()
        closed, _ = closed_lines(flat, AREAS[name], called, us=True)
        return flat.set_geometry(closed.geometry)
    if name in POINTS:
        shapes, _ = single_points(flat.geometry, [""] * len(flat))
        return flat.set_geometry(gpd.GeoSeries(shapes, index=flat.index, crs=flat.crs))
    return flat


def _of_several_kinds(shape: shapely.Geometry | None) -> bool:
    """Return whether a shape is a collection of areas, lines or points together."""
    if shape is None or shape.geom_type != "GeometryCollection":
        return False
    return len(set(shapely.get_dimensions(shapely.get_parts(shape)).tolist())) > 1
