"""Serve the owner's photo in square pictures: on the map's grid, or as it is before it has a place.

Tiles are made when they are asked for, from warped readers that stay open for as long as the page.
"""

import contextlib
import hashlib
import io
import math
import tempfile
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from PIL import Image
from rasterio.enums import Resampling
from rasterio.vrt import WarpedVRT
from rasterio.windows import Window

from clearing.files.photo import OFFLINE, find_photo, open_file, unreadable
from clearing.files.photo_place import Place, around, laid, map_metres, place_of
from clearing.files.pins import PINS_FILE
from clearing.files.pyramid import ENV, copy_in_memory, copy_on_disk
from clearing.files.shades import Shades, shades_of

SIDE = 256  # side of a tile [px]
QUALITY, METHOD = 75, 1  # WebP: how true, and how much time is spent on it; own choice
DEEPEST = 24  # no tile is finer than 1 cm a pixel; own choice
AROUND_M = math.pi * 6_378_137.0  # half the side of the web map's square [m]
MAP, DEGREES = "EPSG:3857", "EPSG:4326"
IN_MEMORY_PIXELS = 16_000_000  # up to here a copy of the photo is held in memory; own choice
SMALL_PX = 1024  # a photo of this side needs no smaller copies; own choice
BLOCK_PIXELS = 4_000_000  # a larger block inside a file takes too long to read; own choice
COARSE_PX = 4000  # side of the copy where nothing can be written; own choice


@dataclass(frozen=True)
class Layer:
    """One open file of the photo: the photo itself, or a copy.

    Attributes
    ----------
    source : rasterio dataset
        Open for reading.
    shrink : int
        How many of the photo's pixels are one of its own, along a side.
    bands : tuple of int
        Its red, green and blue, or its grey.
    masked : bool
        Whether anything of it may be unseen.
    """

    source: Any
    shrink: int
    bands: tuple[int, ...]
    masked: bool


@dataclass(frozen=True)
class Warped:
    """A layer on the map's grid of one zoom level, its upper left corner on a tile's."""

    reader: Any
    zoom: int
    left: int
    top: int
    bands: tuple[int, ...]


class Tiles:
    """The photo as square pictures; one for as long as the page is open.

    Attributes
    ----------
    name : str
        The photo's file name.
    size : tuple of int
        Width and height [px].
    placed : bool
        Whether it lies on the ground, by itself or by pins.
    pinned : Placed or None
        How the pins lay it.
    why : str
        Why it has no place; empty when it has one.
    bounds : tuple of four float, or None
        West, south, east, north [degrees].
    deepest, plain_deepest : int
        The zoom level from which on the photo holds no more: on the map, and by itself.
    stamp : str
        Changes with the photo and its pins.
    problem : str
        What could not be read of it; empty as long as all could.
    """

    def __init__(
        self, path: Path, size: tuple[int, int], layers: list[Layer],
        lies: tuple[Place | None, str], stack: contextlib.ExitStack,
    ) -> None:  # fmt: skip
        place, self.why = lies
        self.name, self.size = path.name, size
        self.placed, self.pinned = place is not None, place.placed if place else None
        self.bounds: tuple[float, float, float, float] | None = None
        self.deepest = 0
        self.plain_deepest = max(0, math.ceil(math.log2(max(self.size) / SIDE)))
        self.stamp = _stamp(path)
        self.problem = ""
        self._layers = layers
        self._lock, self._closed = threading.Lock(), False
        self._open = stack
        self._warped: list[Warped] = []
        self._frame = (0.0, 0.0, 0.0, 0.0)
        if place is not None:
            self._lay_out(place)

    def tile(self, z: int, x: int, y: int) -> bytes | None:
        """Return a tile of the map as WebP; none where the photo is not.

        Parameters
        ----------
        z, x, y : int
            Zoom level, column and row of the web map's square, counted from the upper left.
        """
        pixels = self.pixels(z, x, y)
        return None if pixels is None else packed(pixels)

    def plain(self, z: int, x: int, y: int) -> bytes | None:
        """Return a tile of the photo by itself as WebP; none where the photo is not.

        Parameters
        ----------
        z, x, y : int
            Level (at `plain_deepest` a pixel is one of the photo's, a level up two are one),
            column and row from the photo's upper left corner.
        """
        pixels = self.plain_pixels(z, x, y)
        return None if pixels is None else packed(pixels)

    def pixels(self, z: int, x: int, y: int) -> np.ndarray | None:
        """Return a tile of the map as red, green, blue and alpha, shape (4, 256, 256); or none."""
        if not (self._warped and 0 <= z <= self.deepest):
            return None
        side = 2 * AROUND_M / 2**z
        west, north = x * side - AROUND_M, AROUND_M - y * side
        left, low, right, high = self._frame
        if west >= right or west + side <= left or north <= low or north - side >= high:
            return None
        one = [each for each in self._warped if each.zoom >= z][-1]
        step = 2 ** (one.zoom - z)
        at = (x * SIDE * step - one.left, y * SIDE * step - one.top)
        return self._read(one.reader, one.bands, at, step)

    def plain_pixels(self, z: int, x: int, y: int) -> np.ndarray | None:
        """Return a tile of the photo by itself as red, green, blue and alpha; or none."""
        if not 0 <= z <= self.plain_deepest or x < 0 or y < 0:
            return None
        step = 2 ** (self.plain_deepest - z)
        layer = [each for each in self._layers if each is self._layers[0] or each.shrink <= step][
            -1
        ]
        bands = (*layer.bands, 0) if layer.masked else layer.bands
        share = step / layer.shrink
        return self._read(layer.source, bands, (x * SIDE * share, y * SIDE * share), share)

    def close(self) -> None:
        """Return nothing; close every file."""
        with self._lock:
            self._closed = True
            self._open.close()

    def _lay_out(self, place: Place) -> None:
        """Open the warped readers: the finest, the one above it, and the coarse copy's."""
        edge = around(*self.size)
        (west, east), (south, north) = _ends(laid(place, DEGREES, *edge))
        (left, right), (low, high) = _ends(laid(place, MAP, *edge))
        self.bounds, self._frame = (west, south, east, north), (left, low, right, high)
        fine = math.ceil(math.log2(2 * AROUND_M / SIDE / map_metres(place, self.size)) - 1e-3)
        self.deepest = min(max(fine, 0), DEEPEST)
        wanted = [(0, self.deepest), (0, self.deepest - 1)]
        wanted += [(1, self.deepest - 2)] if len(self._layers) > 1 else []
        extent = max(right - left, high - low)
        for number, zoom in wanted:
            if zoom < 0:
                continue
            layer = self._layers[number]
            self._warped.append(self._warp(layer, place, zoom, extent))

    def _warp(self, layer: Layer, place: Place, zoom: int, extent: float) -> Warped:
        """Return a layer on the grid of a zoom level, over whole tiles of a coarse level."""
        coarse = min(zoom, max(0, math.floor(math.log2(2 * AROUND_M / extent))))
        large = 2 * AROUND_M / 2**coarse
        left, low, right, high = self._frame
        x, y = math.floor((left + AROUND_M) / large), math.floor((AROUND_M - high) / large)
        across = math.ceil((right + AROUND_M) / large) - x
        down = math.ceil((AROUND_M - low) / large) - y
        px = SIDE * 2 ** (zoom - coarse)
        pixel = large / px
        corner = rasterio.Affine(pixel, 0, x * large - AROUND_M, 0, -pixel, AROUND_M - y * large)
        own = place.transform * rasterio.Affine.scale(layer.shrink)
        reader = WarpedVRT(
            layer.source, src_crs=place.crs, src_transform=own, crs=MAP, transform=corner,
            width=across * px, height=down * px, resampling=Resampling.bilinear, add_alpha=True,
        )  # fmt: skip
        self._open.enter_context(reader)
        alpha = layer.source.count + 1
        return Warped(reader, zoom, x * px, y * px, (*layer.bands, alpha))

    def _read(
        self, reader: Any, bands: tuple[int, ...], at: tuple[float, float], step: float
    ) -> np.ndarray | None:
        """Return 256 x 256 px of a reader from a corner on, every `step` pixels one; or none."""
        left, top = max(at[0], 0), max(at[1], 0)
        right = min(at[0] + SIDE * step, reader.width)
        low = min(at[1] + SIDE * step, reader.height)
        if right <= left or low <= top:
            return None
        out = np.zeros((4, SIDE, SIDE), dtype=np.uint8)
        x, y = int((left - at[0]) / step), int((top - at[1]) / step)
        wide = min(max(1, round((right - left) / step)), SIDE - x)
        high = min(max(1, round((low - top) / step)), SIDE - y)
        window = Window(left, top, right - left, low - top)
        here = np.s_[y : y + high, x : x + wide]
        try:
            with self._lock, rasterio.Env(**ENV, **OFFLINE):
                if self._closed:
                    return None
                _into(out, reader, bands, window, here)
        except rasterio.errors.RasterioError:
            self.problem = (f"{self.name} is damaged: a part of it cannot be read and stays blank; "
                            "copy it anew from where it came from")  # fmt: skip
            out[:] = 0
            return out
        return out if out[3].any() else None


def _into(out: np.ndarray, reader: Any, bands: tuple[int, ...], window: Window, here: Any) -> None:
    """Read a part into its place in a tile; band 0 stands for what is seen, as a mask."""
    shape = (here[0].stop - here[0].start, here[1].stop - here[1].start)
    numbers = [band for band in bands if band]
    how = Resampling.average if window.width > shape[1] else Resampling.bilinear
    read = reader.read(numbers, window=window, out_shape=(len(numbers), *shape), resampling=how)
    colours = len(numbers) - (len(numbers) in (2, 4))
    out[:3, here[0], here[1]] = read[:colours]
    if colours < len(numbers):
        out[3, here[0], here[1]] = np.where(read[-1] > 127, 255, 0)
    elif len(bands) > len(numbers):
        out[3, here[0], here[1]] = reader.read_masks(1, window=window, out_shape=shape)
    else:
        out[3, here[0], here[1]] = 255


def open_tiles(home: Path, tell: Callable[[float], None] | None = None) -> Tiles | None:
    """Return the tiles of a property's photo; none without a photo.

    A photo that cannot be read part by part gets a copy in ``out/photo`` once, which stays until
    the photo changes.

    Parameters
    ----------
    home : Path
        The property's folder.
    tell : callable, optional
        Told the share of the copy that is done, 0 to 1.

    Raises
    ------
    InputError
        There are two photos, or it cannot be read.

    References
    ----------
    own reasoning
    """
    path = find_photo(home)
    if path is None:
        return None
    stack = contextlib.ExitStack()
    try:
        source = stack.enter_context(open_file(path))
        lies = place_of(source, path)
        layers, fine = _layers(source, path, home / "out" / "photo", stack, tell or _quiet)
        tiles = Tiles(path, (source.width, source.height), layers, lies, stack)
    except BaseException as cause:
        stack.close()
        if isinstance(cause, rasterio.errors.RasterioError):
            raise unreadable(path) from cause
        raise
    if not fine:
        tiles.problem = (f"{path.name} is damaged: a part of it cannot be read and stays blank; "
                         "copy it anew from where it came from")  # fmt: skip
    return tiles


def packed(pixels: np.ndarray) -> bytes:
    """Return red, green, blue and alpha, shape (4, rows, columns), as a WebP file.

    References
    ----------
    own reasoning
    """
    clear = bool((pixels[3] == 255).all())
    picture = Image.fromarray(np.ascontiguousarray(np.moveaxis(pixels[: 3 + (not clear)], 0, -1)))
    out = io.BytesIO()
    picture.save(out, "WEBP", quality=QUALITY, method=METHOD)
    return out.getvalue()


def _layers(
    source: Any, path: Path, folder: Path, stack: contextlib.ExitStack,
    tell: Callable[[float], None],
) -> tuple[list[Layer], bool]:  # fmt: skip
    """Return the files that tiles are read from, the finest first, and whether all was readable."""
    with rasterio.Env(**ENV, **OFFLINE):
        shades = shades_of(source)
        itself = Layer(source, 1, shades.bands, masked=False)
        quick, ready = _quick(source), _has_smaller(source)
        if shades.plain and quick and ready:
            return [itself], True
        pixels = source.width * source.height
        if pixels <= IN_MEMORY_PIXELS:
            return _held(source, shades, 1, stack)
        shrink = 2 if shades.plain and quick else 1
        for own in (True, False):
            try:
                where = folder if own else _elsewhere(stack)
                copy, fine = copy_on_disk(source, shades, path, where, shrink, tell)
            except (OSError, rasterio.errors.RasterioError):
                continue
            opened = stack.enter_context(rasterio.open(copy, driver="GTiff"))
            layer = Layer(opened, shrink, (1, 2, 3), shades.masked or not fine)
            return ([itself, layer] if shrink > 1 else [layer]), fine
        return _held(source, shades, math.ceil(max(source.width, source.height) / COARSE_PX), stack)


def _held(
    source: Any, shades: Shades, shrink: int, stack: contextlib.ExitStack
) -> tuple[list[Layer], bool]:
    """Return a copy in memory as the only layer, and whether all was readable."""
    kept, fine = copy_in_memory(source, shades, shrink)
    stack.enter_context(kept)
    opened = stack.enter_context(kept.open(driver="GTiff"))
    return [Layer(opened, shrink, (1, 2, 3), shades.masked or not fine)], fine


def _elsewhere(stack: contextlib.ExitStack) -> Path:
    """Return a folder of the system's for a copy, which goes when the tiles are closed."""
    return Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="clearing-")))


def _quick(source: Any) -> bool:
    """Return whether a small part of a file can be read without the rest."""
    rows, columns = source.block_shapes[0]
    parts = columns < source.width or source.compression is None
    return source.driver == "GTiff" and parts and rows * columns <= BLOCK_PIXELS


def _has_smaller(source: Any) -> bool:
    """Return whether a photo is small, or holds smaller copies of itself down to a small one."""
    least = (source.overviews(1) or [1])[-1]
    return max(source.width, source.height) / least <= 2 * SMALL_PX


def _stamp(path: Path) -> str:
    """Return text that changes with the photo and its pins."""
    state, pins = path.stat(), path.parent / PINS_FILE
    said = f"{path.name} {state.st_size} {state.st_mtime_ns} ".encode()
    said += pins.read_bytes() if pins.is_file() else b""
    return hashlib.sha256(said).hexdigest()[:12]


def _ends(axes: np.ndarray) -> tuple[tuple[float, float], ...]:
    """Return the least and the largest number of each axis."""
    return tuple((float(np.min(axis)), float(np.max(axis))) for axis in axes)


def _quiet(share: float) -> None:
    """Return nothing; nobody asked how far it is."""
