"""Find and open the file that holds a layer: six formats, and no other driver, link or path."""

import contextlib
import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import geopandas as gpd
import pandas as pd
import pyogrio

from clearing.errors import InputError
from clearing.files.held import left_beside, settled_copy
from clearing.tables import name_list

ENDINGS = ("geojson", "gpkg", "shp", "kml", "kmz", "gpx")
PACKED = ("land.gpkg", "land.kml", "land.kmz", "land.gpx")
DRIVERS = ("GeoJSON", "GPKG", "ESRI Shapefile", "LIBKML", "KML", "GPX")
# what the first bytes of each format must hold: no other driver is ever asked
SIGNS = {
    "geojson": b"{", "gpkg": b"SQLite format 3\0", "shp": b"\x00\x00\x27\x0a", "kml": b"<kml",
    "kmz": b"PK", "gpx": b"<gpx",
}  # fmt: skip
# what no text of ours holds, and why it is not read on
REFUSED = {
    b"<!DOCTYPE": "it defines words of its own; save it anew",
    b"<!ENTITY": "it defines words of its own; save it anew",
    b"<NetworkLink": "it links to shapes that lie elsewhere; save the shapes themselves in it",
    b"gdal_streamed_alg": "it holds commands and no shapes",
}
LARGEST_BYTES = 200_000_000  # a larger text is no farm's; own choice
_NUMBERED = re.compile(r"\s*\(#\d+\)\s*$")
HEAD_BYTES = 4096  # how far into a file its sign is looked for
# which layers of a GPX file hold lines and points, and what they are in land.gpx
GPX_LINES, GPX_POINTS = ("tracks", "routes"), ("waypoints",)
GPX_LAYERS = {"blocks": GPX_LINES, "plots": GPX_POINTS}
GPX_OWN = {
    "blocks": GPX_LINES, "strips": GPX_LINES, "features": (*GPX_LINES, *GPX_POINTS),
    "plots": GPX_POINTS, "keep_trees": GPX_POINTS,
}  # fmt: skip


@dataclass(frozen=True)
class Source:
    """A file and the layers in it that together are one of ours.

    ``beside`` holds land files that have it too and are not read for it.
    """

    path: Path
    layers: tuple[str, ...]
    beside: tuple["Source", ...] = ()

    @property
    def ending(self) -> str:
        """Return the file's ending, without the dot."""
        return ending_of(self.path)


def ending_of(path: Path) -> str:
    """Return a file's ending in small letters, without the dot.

    References
    ----------
    own reasoning
    """
    return path.suffix.lower().removeprefix(".")


def find_layer(home: Path, name: str) -> Source | None:
    """Return where a layer lies: in a file of its own, else in a land file; none when nowhere.

    Raises
    ------
    InputError
        Two files hold it, or the file cannot be looked into.

    References
    ----------
    own reasoning
    """
    files = {path.name.lower(): path for path in sorted(home.iterdir()) if path.is_file()}
    _all_there(home, [*(f"{name}.{ending}" for ending in ENDINGS), *PACKED])
    own = [files[f"{name}.{ending}"] for ending in ENDINGS if f"{name}.{ending}" in files]
    if len(own) > 1:
        names = " and ".join(path.name for path in own)
        raise InputError([f"{names} both hold it; keep one of them"], name)
    held = [in_file(files[each], name) for each in PACKED if each in files]
    found = [source for source in held if source]
    if own:
        return Source(own[0], _own_layers(own[0], name), tuple(found))
    if len(found) > 1:
        names = " and ".join(source.path.name for source in found)
        raise InputError([f"{names} both hold it; keep it in one of them"], name)
    return found[0] if found else None


def _all_there(home: Path, names: list[str]) -> None:
    """Check that what is called like one of our files is one alone, and no folder or dead link.

    Raises
    ------
    InputError
        With its name.
    """
    seen: dict[str, str] = {}
    for path in sorted(home.iterdir(), reverse=True):
        plain = path.name.lower()
        if plain in names and not path.is_file():
            raise InputError([f"{path.name} {no_file(path)}"], path.name)
        if plain in names and plain in seen:
            both = f"{seen[plain]} and {path.name}"
            raise InputError([f"{both} are one name in other letters; keep one of them"], plain)
        seen[plain] = path.name


def no_file(path: Path, wanted: str = "file") -> str:
    """Return what is wrong with something that has the name of a file, or a folder, and is none.

    References
    ----------
    own reasoning
    """
    right = f"move it away, or put the {wanted} in its place"
    if path.is_dir():
        return f"is a folder; {right}"
    return f"is a file; {right}" if path.exists() else f"is a link to what is not there; {right}"


def in_file(path: Path, name: str) -> Source | None:
    """Return where in a land file a layer lies; none when it is not in it.

    Raises
    ------
    InputError
        The file cannot be looked into.

    References
    ----------
    own reasoning
    """
    held = _packed_layers(path, name)
    return Source(path, held) if held else None


def open_layer(source: Source, numbered: bool = False) -> gpd.GeoDataFrame:
    """Return what a file holds, as it stands there.

    Parameters
    ----------
    source : Source
    numbered : bool
        Index the rows by their numbers in the file.

    Raises
    ------
    InputError
        With the reason in words.

    References
    ----------
    own reasoning
    """
    frames = []
    for layer in source.layers or (None,):
        with opened(source.path) as content:
            driver, frame = _frame(source.path, content, layer, numbered)
        if driver not in DRIVERS:
            raise _refused(source.path, f"it is no {source.ending.upper()} file")
        if isinstance(frame, gpd.GeoDataFrame) and (len(frame) or len(source.layers) < 2):
            named = frame.geometry.name == "geometry"
            frames.append(frame if named else frame.rename_geometry("geometry"))
    if not frames:
        raise InputError([f"{source.path.name} holds no shapes; draw them"], source.path.name)
    if len(frames) == 1:
        return frames[0]
    crs = frames[0].crs
    return gpd.GeoDataFrame(pd.concat(frames, ignore_index=True), geometry="geometry", crs=crs)


def _frame(
    path: Path, content: Path | bytes, layer: str | None, numbered: bool
) -> tuple[str, pd.DataFrame]:
    """Return which driver read a layer, and what it holds."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            driver = pyogrio.read_info(content, layer=layer)["driver"]
            frame = pyogrio.read_dataframe(
                content, layer=layer, on_invalid="fix", fid_as_index=numbered
            )
    except Exception as cause:  # the reader's own errors have no common root
        raise _unreadable(path, cause) from cause
    return driver, frame


def _own_layers(path: Path, name: str) -> tuple[str, ...]:
    """Return the layers to take from a layer's own file: the one of its name, else the only one."""
    ending = ending_of(path)
    if ending == "gpx":
        return tuple(each for each in GPX_OWN[name] if each in listed(path))
    if ending in ("geojson", "shp"):
        return ()
    held = listed(path)
    same = [each for each in held if _same(each, name)]
    if not held:
        raise InputError([f"{path.name} holds no shapes; draw them"], name)
    if same or len(held) == 1:  # a layer without a name of its own is the file's only one
        return tuple(same)
    raise InputError(
        [f"{path.name} holds {name_list(held)}, and none is called {name}; name one so"], name
    )


def _packed_layers(path: Path, name: str) -> tuple[str, ...]:
    """Return the layers of a land file that are the one asked for (none when it has none)."""
    if ending_of(path) == "gpx":
        return tuple(each for each in GPX_LAYERS.get(name, ()) if each in listed(path))
    return tuple(each for each in listed(path) if _same(each, name))


def _same(layer: str, name: str) -> bool:
    """Return whether a layer or folder is called as ours: small letters, underscores for blanks."""
    plain = _NUMBERED.sub("", layer)  # a second folder of one name is read as "blocks (#2)"
    return plain.strip().lower().replace(" ", "_").replace("-", "_") == name


def listed(path: Path) -> list[str]:
    """Return the layers of a file that hold something.

    Raises
    ------
    InputError
        The file cannot be looked into.

    References
    ----------
    own reasoning
    """
    with _looked_into(path) as content:
        names = [str(row[0]) for row in pyogrio.list_layers(content)]
        if ending_of(path) != "gpx":
            return names
        return [n for n in names if _count(content, n) > 0]


def others_in(path: Path, names: Sequence[str]) -> list[str]:
    """Return the layers of shapes in a file of several that are not read as those they may be.

    Parameters
    ----------
    path : Path
        A GeoPackage, KML or KMZ.
    names : sequence of str
        Our layers that may be in it.

    Raises
    ------
    InputError
        The file cannot be looked into.

    References
    ----------
    own reasoning
    """
    with _looked_into(path) as content:
        held = [str(name) for name, kind in pyogrio.list_layers(content) if kind is not None]
        ours = {each for each in held for name in names if _same(each, name)}
        left = [] if len(held) == 1 and len(names) == 1 else [n for n in held if n not in ours]
        return [each for each in left if _count(content, each) > 0]


@contextlib.contextmanager
def _looked_into(path: Path) -> Iterator[Path | bytes]:
    """Give what the reader is given for a file; what then goes wrong is the file's own fault."""
    try:
        with opened(path) as content, warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield content
    except InputError:
        raise
    except Exception as cause:  # the reader's own errors have no common root
        raise _unreadable(path, cause) from cause


def _count(content: Path | bytes, layer: str) -> int:
    """Return how many shapes a layer holds, counted where the driver does not know."""
    info = pyogrio.read_info(content, layer=layer, force_feature_count=True)
    return int(info["features"])


@contextlib.contextmanager
def opened(path: Path) -> Iterator[Path | bytes]:
    """Give what the reader is given for a file: its text, or a GeoPackage with all that is its own.

    What another program left beside a GeoPackage is folded in, in a copy elsewhere: the library
    that reads it would else do so in the owner's folder.

    Raises
    ------
    InputError
        The file is not what its ending says, is too large, or links elsewhere.

    References
    ----------
    own reasoning
    """
    content = _content(path)
    if isinstance(content, Path) and ending_of(path) == "gpkg" and left_beside(content):
        with settled_copy(content) as copy:
            yield copy
    else:
        yield content


def _content(path: Path) -> Path | bytes:
    """Return what the reader is given: the file, or the text that stands in it.

    Raises
    ------
    InputError
        The file is not what its ending says, is too large, or links elsewhere.
    """
    ending = ending_of(path)
    try:
        with path.open("rb") as stream:
            head = stream.read(HEAD_BYTES).removeprefix(b"\xef\xbb\xbf").lstrip()
        there = (
            SIGNS[ending] in head if ending in ("kml", "gpx") else head.startswith(SIGNS[ending])
        )
        if not head:
            raise _refused(path, "it is empty; save or copy it anew")
        if not there:
            raise _refused(path, f"it is no {ending.upper()} file")
        if ending in ("gpkg", "shp"):
            if ending == "shp":
                _shapefile_whole(path)
            return path.resolve()
        text = _unzipped(path) if ending == "kmz" else _bounded(path.open("rb"), path)
    except (OSError, zipfile.BadZipFile, zlib.error, RuntimeError, EOFError) as cause:
        raise _unreadable(path, cause) from cause
    found = [words for sign, words in REFUSED.items() if sign in text]
    if found:
        raise _refused(path, found[0])
    return text


def _bounded(stream: IO[bytes], path: Path) -> bytes:
    """Return all that a stream holds, up to a bound."""
    with stream:
        text = stream.read(LARGEST_BYTES + 1)
    if len(text) > LARGEST_BYTES:
        raise _refused(path, f"it holds more than {LARGEST_BYTES // 10**6} MB")
    return text


def _unzipped(path: Path) -> bytes:
    """Return the KML text of a KMZ file: doc.kml, else the first KML in it."""
    with zipfile.ZipFile(path) as packed:
        inside = [info for info in packed.infolist() if info.filename.lower().endswith(".kml")]
        main = [info for info in inside if info.filename.lower() == "doc.kml"] or inside
        text = _bounded(packed.open(main[0]), path) if main else b""
    if SIGNS["kml"] not in text[:HEAD_BYTES]:
        raise _refused(path, "there is no KML in it")
    return text


def _shapefile_whole(path: Path) -> None:
    """Check that a Shapefile's companions are there."""
    beside = {each.name.lower() for each in path.parent.iterdir()}
    stem = path.stem.lower()
    gone = [f"{path.stem}.{e}" for e in ("shx", "dbf") if f"{stem}.{e}" not in beside]
    if gone:
        verb = "is" if len(gone) == 1 else "are"
        raise _refused(
            path,
            f"{name_list(gone)} {verb} missing; copy all files of the Shapefile (.shp, .shx, "
            ".dbf, .prj)",
        )


def _unreadable(path: Path, cause: Exception) -> InputError:
    """Return the sentence for a file that the reader gave up on."""
    words = "it is damaged, cut short, or holds no shapes; save or copy it anew"
    if isinstance(cause, OSError) and cause.strerror:
        words = cause.strerror.lower()
    if isinstance(cause, RuntimeError) and "password" in str(cause):
        words = "it is kept by a password; save it without one"
    return _refused(path, words)


def _refused(path: Path, words: str) -> InputError:
    """Return the sentence for a file that is not read."""
    return InputError([f"{path.name} cannot be read: {words}"], path.name)
