"""Find the owner's aerial photo, open it, and say where it lies."""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import rasterio
import shapely
from rasterio.windows import Window

from clearing.errors import InputError
from clearing.files.layers import no_file
from clearing.files.photo_place import place_of
from clearing.files.pins import read_pins
from clearing.files.shades import read_colours, shades_of

PHOTO_PIXELS = 4000  # longest side that is read into memory; own choice
MOST_PIXELS = 2_500_000_000  # more than 50,000 x 50,000 px are not read; own choice
STEM, ENDINGS = "aerial", ("tif", "tiff", "jpg", "jpeg", "png")
WORLD_FILES = (".tfw", ".tifw", ".jgw", ".jpgw", ".jpegw", ".pgw", ".pngw", ".wld")
COMPANIONS = (".ovr", ".msk")  # what may lie beside a photo and is opened with it
TIFF_SIGNS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
# the first bytes of a file and the one driver that is asked to open it
DRIVERS = {b"\xff\xd8\xff": "JPEG", b"\x89PNG": "PNG"} | dict.fromkeys(TIFF_SIGNS, "GTiff")
# a phone's position and a photo on a farm: nothing is ever fetched
OFFLINE = {"CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none", "GDAL_HTTP_MAX_RETRY": "0"}


def find_photo(home: Path) -> Path | None:
    """Return the property's photo: aerial.tif, .tiff, .jpg, .jpeg or .png; none without one.

    Parameters
    ----------
    home : Path
        The property's folder.

    Raises
    ------
    InputError
        Two files could be it.

    References
    ----------
    own reasoning
    """
    wanted = {f"{STEM}.{ending}" for ending in ENDINGS}
    there = home.iterdir() if home.is_dir() else iter(())
    called = sorted(path for path in there if path.name.lower() in wanted)
    strange = [f"{path.name} {no_file(path)}" for path in called if not path.is_file()]
    if strange:
        raise InputError(strange, "photo")
    found = [path for path in called if path.is_file()]
    if len(found) > 1:
        names = " and ".join(path.name for path in found)
        raise InputError([f"{names} could both be the photo; keep one of them"], "photo")
    return found[0] if found else None


def photo_copies(photo: Path, home: Path) -> list[tuple[Path, Path]]:
    """Return which files to copy where so that a photo becomes the property's own.

    Parameters
    ----------
    photo : Path
        Any TIFF, JPEG or PNG; a world file and an .aux.xml beside it go along.
    home : Path
        The property's folder; it need not be there yet.

    Raises
    ------
    InputError
        The photo cannot be read, or another photo lies in the folder already.

    References
    ----------
    own reasoning
    """
    if not photo.is_file() or photo.suffix.lower().removeprefix(".") not in ENDINGS:
        raise unreadable(photo)
    problems = photo_problems(photo)
    if problems:
        raise InputError(problems, photo.name)
    there = find_photo(home)
    if there is not None and there.resolve() == photo.resolve():
        return []
    if there is not None:
        raise InputError([f"{home.name} holds the photo {there.name} already; take it out of the "
                          "folder first, or leave --photo away"], home.name)  # fmt: skip
    target = home / f"{STEM}{photo.suffix.lower()}"
    beside = [(photo.with_name(f"{photo.name}.aux.xml"), home / f"{target.name}.aux.xml")]
    beside += [(photo.with_suffix(w), target.with_suffix(w)) for w in WORLD_FILES]
    return [(photo, target), *(pair for pair in beside if pair[0].is_file())]


def open_photo(path: Path, longest: int = PHOTO_PIXELS) -> tuple[np.ndarray, Any, Any]:
    """Return the photo as red, green, blue, small enough for memory.

    Parameters
    ----------
    path : Path
        A GeoTIFF, or a TIFF, JPEG or PNG that the pins beside it lay on the ground.
    longest : int
        Longest side that is read [px].

    Returns
    -------
    array (height, width, 3) of uint8; white where nothing was photographed
    affine transform of that array
    coordinate system

    Raises
    ------
    InputError
        The file is no photo that can be read, or has no place.

    References
    ----------
    own reasoning
    """
    with open_source(path) as source:
        place, why = place_of(source, path)
        if place is None:
            raise InputError([why], path.name)
        shrink = max(1.0, max(source.width, source.height) / longest)
        sides = (source.height / shrink, source.width / shrink)
        shape = (max(1, round(sides[0])), max(1, round(sides[1])))
        colours, seen = read_colours(source, shades_of(source), size=shape)
        x, y, own = source.width / shape[1], source.height / shape[0], place.transform
        transform = rasterio.Affine(own.a * x, own.b * y, own.c, own.d * x, own.e * y, own.f)
    colours[:, ~seen] = 255
    return np.moveaxis(colours, 0, -1), transform, place.crs


def photo_problems(path: Path | None) -> list[str]:
    """Return what is wrong with the photo, empty when there is none or it opens.

    A photo without a place is no problem: `photo_note` tells of it.

    References
    ----------
    own reasoning
    """
    if path is None or not path.exists():
        return []
    try:
        read_pins(path.parent)
        with open_source(path) as source:
            _spots_read(source)
    except InputError as found:
        return found.problems
    return []


def photo_note(path: Path | None) -> str:
    """Return a sentence when the photo opens and has no place yet, else an empty text.

    References
    ----------
    own reasoning
    """
    if path is None or photo_problems(path):
        return ""
    with open_source(path) as source:
        place, why = place_of(source, path)
    return why if place is None else ""


def photo_outline(path: Path | None) -> gpd.GeoSeries | None:
    """Return the outline of the photo in its own system, by its file name; none when it has none.

    References
    ----------
    own reasoning
    """
    if path is None or not path.exists() or photo_problems(path):
        return None
    with open_source(path) as source:
        place, _ = place_of(source, path)
        if place is None:
            return None
        wide, high = source.width, source.height
    corners = [place.transform * spot for spot in ((0, 0), (wide, 0), (wide, high), (0, high))]
    return gpd.GeoSeries([shapely.Polygon(corners)], index=[path.name], crs=place.crs.to_wkt())


@contextmanager
def open_source(path: Path) -> Iterator[Any]:
    """Return the photo's file, open for reading, with every fault of reading in words.

    Parameters
    ----------
    path : Path
        A TIFF, JPEG or PNG file.

    Raises
    ------
    InputError
        It is none of these, is damaged, too large, or asks for other files.

    References
    ----------
    own reasoning
    """
    try:
        with open_file(path) as source, rasterio.Env(**OFFLINE):
            yield source
    except rasterio.errors.RasterioError as cause:
        raise unreadable(path) from cause


def open_file(path: Path) -> Any:
    """Return the photo's file as a rasterio dataset, open for reading.

    Parameters
    ----------
    path : Path
        A TIFF, JPEG or PNG file.

    Raises
    ------
    InputError
        It is none of these, is damaged, too large, or asks for other files.

    References
    ----------
    own reasoning
    """
    real = path.resolve()
    try:
        _companions_known(real)
        with warnings.catch_warnings(), rasterio.Env(**OFFLINE):
            warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
            source = rasterio.open(real, driver=_driver(real))
            try:
                _bounded(source, path)
            except BaseException:
                source.close()
                raise
    except (rasterio.errors.RasterioError, OSError) as cause:
        raise unreadable(path) from cause
    return source


def unreadable(path: Path) -> InputError:
    """Return the error of a photo that cannot be read.

    References
    ----------
    own reasoning
    """
    tiff = path.suffix.lower() in (".tif", ".tiff")
    kind = "GeoTIFF" if tiff else "JPEG" if path.suffix.lower() != ".png" else "PNG"
    right = "save or copy it anew, or take it out of the folder"
    return InputError([f"{path.name} is no {kind} that can be read; {right}"], path.name)


def _driver(path: Path) -> str:
    """Return the driver of a file by its first bytes, whatever it is called."""
    with path.open("rb") as stream:
        head = stream.read(4)
    for sign, driver in DRIVERS.items():
        if head.startswith(sign):
            return driver
    raise unreadable(path)


def _companions_known(path: Path) -> None:
    """Check that what lies beside a photo under its name is a TIFF, not a way to other files."""
    for ending in COMPANIONS:
        beside = path.with_name(path.name + ending)
        if beside.is_file():
            with beside.open("rb") as stream:
                if stream.read(4) not in TIFF_SIGNS:
                    raise InputError([f"{beside.name} is no smaller copy of {path.name}; take it "
                                      "out of the folder"], path.name)  # fmt: skip


def _bounded(source: Any, path: Path) -> None:
    """Check that a photo is no larger than is read, and names no other file for its overviews."""
    if source.width * source.height > MOST_PIXELS:
        raise InputError([
            f"{path.name} has {source.width:,} x {source.height:,} px; up to "
            f"{MOST_PIXELS / 1e6:,.0f} million are read; save it coarser, or a part of it"
        ], path.name)  # fmt: skip
    if source.count < 1 or any(kind.startswith("complex") for kind in source.dtypes):
        raise InputError([f"{path.name} holds numbers that make no picture; save it with 8 or 16 "
                          "bits a band"], path.name)  # fmt: skip
    if source.tags(ns="OVERVIEWS").get("OVERVIEW_FILE"):
        raise InputError([f"{path.name} names another file for its smaller copies; save it anew "
                          "without"], path.name)  # fmt: skip


def _spots_read(source: Any) -> None:
    """Read the corners, the middle and the smallest copy of a photo, so that damage shows."""
    wide, high = source.width, source.height
    for left, top in ((0, 0), (wide - 1, 0), (wide // 2, high // 2), (0, high - 1),
                      (wide - 1, high - 1)):  # fmt: skip
        source.read(1, window=Window(left, top, 1, 1))
    smallest = source.overviews(1)[-1:] or [1]
    if smallest[0] > 1:
        source.read(1, out_shape=(max(1, high // smallest[0]), max(1, wide // smallest[0])))
