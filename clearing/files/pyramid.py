"""Make a copy of a photo that any part can be read from at once, at any size.

The owner's file is never written. What stands in the copy are colours of eight bits and what is
seen, so that whoever reads it need not know of palettes, more bits, nodata or alpha.
"""

import contextlib
import hashlib
import math
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from rasterio.enums import Resampling
from rasterio.io import MemoryFile
from rasterio.windows import Window

from clearing.files.shades import Shades, read_colours

BLOCK = 512  # tile side of a copy [px]; own choice
STRIP_PIXELS = 6_000_000  # pixels that are read at a time; own choice
PIECE_PX = 8192  # a strip that is made smaller is read in pieces of this width; own choice
NOWHERE = rasterio.Affine(2, 0, 0, 0, -2, 0)  # a copy does not say where it lies
JPEG_QUALITY = 88  # own choice
RECIPE = "1"  # goes up when copies are made differently, so that old ones are made anew
SMALLEST_PX = 256  # smaller copies inside go down to this side
BYTES_A_PIXEL = 0.7  # room that a copy may take, seen in trials of 0.15 to 0.5; own choice
CACHE_BYTES = 64_000_000  # what the reader may hold in memory; own choice
ENV: dict[str, Any] = {
    "GDAL_CACHEMAX": CACHE_BYTES, "GDAL_TIFF_INTERNAL_MASK": True, "GDAL_NUM_THREADS": "2",
    "JPEG_QUALITY_OVERVIEW": JPEG_QUALITY,
}  # fmt: skip


class Damaged(Exception):
    """Return nothing; a part of the photo could not be read."""


def copy_name(path: Path, shrink: int) -> str:
    """Return the name of a photo's copy, which changes with the photo.

    Parameters
    ----------
    path : Path
        The photo.
    shrink : int
        How many of its pixels are one of the copy's, along a side.

    References
    ----------
    own reasoning
    """
    state = path.stat()
    said = f"{path.name} {state.st_size} {state.st_mtime_ns} {shrink} {RECIPE}"
    return f"{path.stem.lower()}_{hashlib.sha256(said.encode()).hexdigest()[:12]}.tif"


def copy_on_disk(
    source: Any, shades: Shades, path: Path, folder: Path, shrink: int,
    tell: Callable[[float], None],
) -> tuple[Path, bool]:  # fmt: skip
    """Return the copy of a photo in a folder, made when it is not there, and whether it is whole.

    Parameters
    ----------
    source : rasterio dataset
        The photo, open for reading.
    shades : Shades
        How its numbers become colours.
    path : Path
        Its file.
    folder : Path
        Where the copy lies; older copies in it are taken away.
    shrink : int
        How many of its pixels become one, along a side.
    tell : callable
        Told the share that is done.

    Raises
    ------
    OSError
        The folder cannot be written or has no room.

    References
    ----------
    own reasoning
    """
    folder.mkdir(parents=True, exist_ok=True)
    whole = folder / copy_name(path, shrink)
    torn = whole.with_suffix(".torn.tif")
    for there in (whole, torn):
        if there.is_file() and _opens(there):
            return there, there == whole
    needed = source.width * source.height / shrink**2 * BYTES_A_PIXEL
    if shutil.disk_usage(folder).free < needed:
        raise OSError(f"{needed / 1e6:,.0f} MB are not free in {folder}")
    for old in [*folder.glob(f"{path.stem.lower()}_*.tif*"), *folder.glob(".new-*")]:
        old.unlink()
    handle, name = tempfile.mkstemp(prefix=".new-", suffix=".tif", dir=folder)
    os.close(handle)
    try:
        fine = _whole_or_torn(source, shades, name, shrink, tell)
        if not _opens(Path(name)):
            raise OSError(f"the copy of {path.name} could not be written in {folder}")
        os.replace(name, whole if fine else torn)  # noqa: PTH105 - atomic on one disk
    finally:
        for left in folder.glob(f"{Path(name).name}*"):
            left.unlink()
    return (whole if fine else torn), fine


def copy_in_memory(source: Any, shades: Shades, shrink: int) -> tuple[MemoryFile, bool]:
    """Return a copy of a photo in memory, and whether it is whole.

    Parameters
    ----------
    source : rasterio dataset
        The photo, open for reading.
    shades : Shades
        How its numbers become colours.
    shrink : int
        How many of its pixels become one, along a side.

    References
    ----------
    own reasoning
    """
    kept = MemoryFile(ext=".tif")
    fine = _whole_or_torn(source, shades, kept.name, shrink, lambda share: None)
    return kept, fine


def _whole_or_torn(
    source: Any, shades: Shades, name: str, shrink: int, tell: Callable[[float], None]
) -> bool:
    """Return whether all of a photo went into its copy; what cannot be read stays unseen."""
    try:
        _write(source, shades, name, shrink, tell, masked=shades.masked)
    except Damaged:
        _write(source, shades, name, shrink, tell, masked=True, torn=True)
        return False
    return True


def _write(
    source: Any, shades: Shades, name: str, shrink: int, tell: Callable[[float], None],
    masked: bool, torn: bool = False,
) -> None:  # fmt: skip
    """Write a copy strip by strip, and its smaller copies."""
    wide, high = max(1, source.width // shrink), max(1, source.height // shrink)
    packed = {} if name.startswith("/vsimem/") else {
        "compress": "JPEG", "jpeg_quality": JPEG_QUALITY, "photometric": "YCBCR",
    }  # fmt: skip
    rows = BLOCK * max(1, STRIP_PIXELS // (wide * shrink**2 * BLOCK))
    with rasterio.Env(**ENV):
        with rasterio.open(
            name, "w", driver="GTiff", width=wide, height=high, count=3, dtype="uint8",
            tiled=True, blockxsize=BLOCK, blockysize=BLOCK, bigtiff="IF_SAFER",
            transform=NOWHERE, num_threads=2, **packed,
        ) as copy:  # fmt: skip
            for top in range(0, high, rows):
                deep = min(rows, high - top)
                colours, seen = _strip(source, shades, (top, deep, wide, shrink), torn)
                part = Window(0, top, wide, deep)
                copy.write(colours, window=part)
                if masked:
                    copy.write_mask(seen.astype(np.uint8) * 255, window=part)
                tell(0.9 * (top + deep) / high)
        steps = range(1, 1 + max(0, math.ceil(math.log2(max(wide, high) / SMALLEST_PX))))
        if steps:
            with rasterio.open(name, "r+", driver="GTiff") as copy:
                copy.build_overviews([2**step for step in steps], Resampling.average)
    tell(1.0)


def _strip(
    source: Any, shades: Shades, where: tuple[int, int, int, int], torn: bool
) -> tuple[np.ndarray, np.ndarray]:
    """Return one strip of a copy; of a torn photo what can be read, block by block."""
    top, deep, wide, shrink = where
    part = Window(0, top * shrink, wide * shrink, deep * shrink)
    try:
        return _in_pieces(source, shades, part, (deep, wide), shrink)
    except rasterio.errors.RasterioError as cause:
        if not torn:
            raise Damaged(str(cause)) from cause
    colours, seen = np.zeros((3, deep, wide), np.uint8), np.zeros((deep, wide), bool)
    for row in range(0, deep, BLOCK):
        for column in range(0, wide, BLOCK):
            here = np.s_[row : row + BLOCK, column : column + BLOCK]
            size = seen[here].shape
            spot = Window(column * shrink, (top + row) * shrink, size[1] * shrink,
                          size[0] * shrink)  # fmt: skip
            with contextlib.suppress(rasterio.errors.RasterioError):
                colours[:, here[0], here[1]], seen[here] = read_colours(source, shades, spot, size)
    return colours, seen


def _in_pieces(
    source: Any, shades: Shades, part: Window, size: tuple[int, int], shrink: int
) -> tuple[np.ndarray, np.ndarray]:
    """Return a part made smaller, read piece by piece, so that it stays in the reader's memory."""
    if shrink == 1:
        return read_colours(source, shades, part, size)
    step = max(1, PIECE_PX // shrink)
    pieces = []
    for column in range(0, size[1], step):
        wide = min(step, size[1] - column)
        piece = Window(column * shrink, part.row_off, wide * shrink, part.height)
        pieces.append(read_colours(source, shades, piece, (size[0], wide)))
    colours, seen = zip(*pieces, strict=True)
    return np.concatenate(colours, axis=2), np.concatenate(seen, axis=1)


def _opens(path: Path) -> bool:
    """Return whether a copy can be read from its first pixel to its last."""
    try:
        with rasterio.open(path, driver="GTiff") as copy:
            last = Window(copy.width - 1, copy.height - 1, 1, 1)
            copy.read(window=last)
            small = copy.overviews(1)[-1:] or [1]
            copy.read(1, out_shape=(max(1, copy.height // small[0]),
                                    max(1, copy.width // small[0])))  # fmt: skip
    except (rasterio.errors.RasterioError, OSError):
        return False
    return True
