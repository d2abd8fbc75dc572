"""Damages of the photo and of the pins that place it."""

import os
from pathlib import Path

import numpy as np
import rasterio
from PIL import Image

from tests.hard.ground import GRID, PINS, Case, bytes_of, cell, cut, rows_of, swapped, take_photo

TIF = "aerial.tif"


def _picture(dtype: str = "uint8", bands: int = 3, size: tuple[int, int] = (16, 32)) -> np.ndarray:
    """Return an even picture."""
    return np.full((bands, *size), 1, dtype=dtype)


def _taken(bands: np.ndarray, placed: bool = True, **how: object):
    """Return a damage that puts another photo in the place of the first."""
    return lambda home: take_photo(home / TIF, bands, placed, **how)


def _sparse(wide: int, high: int, **how: object):
    """Return a damage with a photo of many pixels and few bytes."""

    def damage(home: Path) -> None:
        step = 240 / wide
        place = rasterio.Affine(step, 0, 499_980, 0, -step, 4_020_115)
        with rasterio.open(
            home / TIF,
            "w",
            driver="GTiff",
            width=wide,
            height=high,
            count=1,
            dtype="uint8",
            crs=GRID,
            transform=place,
            tiled=True,
            SPARSE_OK=True,
            BIGTIFF="YES",
            **how,
        ):
            pass

    return damage


def _jpeg(pins: bool = True, size: tuple[int, int] = (32, 16)):
    """Return a damage with a JPEG in the place of the TIFF, with or without its pins."""

    def damage(home: Path) -> None:
        (home / TIF).unlink()
        Image.new("RGB", size, (90, 90, 90)).save(home / "aerial.jpg")
        if not pins:
            (home / PINS).unlink()

    return damage


def _then(*damages):
    """Return damages one after the other."""
    return lambda home: [each(home) for each in damages]


def _header(offset: int, value: bytes):
    """Return a damage of some bytes of the photo."""

    def damage(home: Path) -> None:
        raw = bytearray((home / TIF).read_bytes())
        raw[offset : offset + len(value)] = value
        (home / TIF).write_bytes(raw)

    return damage


def _rows(at: int, value: str):
    """Return a damage that writes one value into a column of all pins."""
    return rows_of(PINS, lambda rows: [row.__setitem__(at, value) for row in rows[1:]])


CASES = [
    Case(f"photo_{name}", file, done, damage)
    for name, file, done, damage in [
        ("empty", TIF, "the photo holds no byte", bytes_of(TIF, b"")),
        ("text", TIF, "the photo is a text", bytes_of(TIF, b"hello")),
        ("half", TIF, "the photo is cut in half", cut(TIF, 0.5)),
        ("cut_head", TIF, "the photo is cut after its first 40 bytes", cut(TIF, 0.02)),
        (
            "head_far",
            TIF,
            "the photo's directory lies behind its end",
            _header(4, b"\xff\xff\xff\x7f"),
        ),
        ("head_loop", TIF, "the photo's directory is its head", _header(4, b"\0\0\0\0")),
        (
            "folder",
            TIF,
            "a folder of the photo's name",
            lambda home: ((home / TIF).unlink(), (home / TIF).mkdir()),
        ),
        (
            "link_out",
            TIF,
            "the photo is a link to nothing",
            lambda home: ((home / TIF).unlink(), (home / TIF).symlink_to("../../none.tif")),
        ),
        (
            "two",
            TIF,
            "a TIFF and a JPEG",
            lambda home: Image.new("RGB", (9, 9)).save(home / "aerial.jpg"),
        ),
        ("one_pixel", TIF, "a photo of one pixel", _taken(_picture(size=(1, 1)))),
        ("wide", TIF, "a photo of 30,000 x 30,000 px", _sparse(30_000, 30_000)),
        ("too_wide", TIF, "a photo of 60,000 x 60,000 px", _sparse(60_000, 60_000)),
        ("line", TIF, "a photo of 200,000 x 1 px", _sparse(200_000, 1)),
        ("one_bit", TIF, "a photo of one bit a pixel", _taken(_picture(bands=1), nbits=1)),
        ("float", TIF, "a photo of real numbers", _taken(_picture("float32"))),
        ("nan", TIF, "a photo of no numbers", _taken(_picture("float64") * np.nan)),
        ("complex", TIF, "a photo of complex numbers", _taken(_picture("complex64", 1))),
        ("int32", TIF, "a photo of long whole numbers", _taken(_picture("int32"))),
        ("one_band", TIF, "a photo of grays", _taken(_picture(bands=1))),
        ("nine_bands", TIF, "a photo of nine bands", _taken(_picture(bands=9))),
        ("sixteen", TIF, "a photo of 16 bits", _taken(_picture("uint16"))),
        ("no_place", TIF, "a photo without a place, pinned", _taken(_picture(), placed=False)),
        (
            "no_place_no_pins",
            TIF,
            "a photo without a place or pins",
            _then(_taken(_picture(), placed=False), lambda home: (home / PINS).unlink()),
        ),
        (
            "no_system",
            TIF,
            "a photo without a system",
            _then(_taken(_picture(), crs=None), lambda home: (home / PINS).unlink()),
        ),
        ("far", TIF, "a photo of another zone", _taken(_picture(), placed=True, **{"nodata": 0})),
        ("jpeg", "aerial.jpg", "a JPEG with pins", _jpeg()),
        ("jpeg_no_pins", "aerial.jpg", "a JPEG without pins", _jpeg(pins=False)),
        ("jpeg_cut", "aerial.jpg", "a JPEG cut short", _then(_jpeg(), cut("aerial.jpg", 0.5))),
        (
            "jpeg_as_png",
            "aerial.png",
            "a JPEG called .png",
            _then(_jpeg(), lambda home: (home / "aerial.jpg").rename(home / "aerial.png")),
        ),
        (
            "png_text",
            "aerial.png",
            "a text called .png",
            _then(
                lambda home: (home / TIF).unlink(),
                lambda home: (home / "aerial.png").write_text("x"),
            ),
        ),
        (
            "capitals",
            "AERIAL.TIF",
            "the photo's name in capitals",
            lambda home: (home / TIF).rename(home / "AERIAL.TIF"),
        ),
        (
            "pins_swapped",
            PINS,
            "a JPEG whose pins have latitude and longitude exchanged",
            _then(
                _jpeg(),
                rows_of(
                    PINS,
                    lambda rows: [row.__setitem__(slice(3, 5), row[:2:-1]) for row in rows[1:]],
                ),
            ),
        ),
        (
            "pins_one_spot",
            PINS,
            "a JPEG whose pins are one spot",
            _then(_jpeg(), _rows(1, "5"), _rows(2, "5")),
        ),
        ("pins_on_a_line", PINS, "a JPEG whose pins lie on a line", _then(_jpeg(), _rows(2, "5"))),
        (
            "pins_far",
            PINS,
            "a JPEG with a pin in another county",
            _then(_jpeg(), cell(PINS, "longitude", "-80")),
        ),
        (
            "pins_outside",
            PINS,
            "a JPEG with a pin outside the picture",
            _then(_jpeg(), cell(PINS, "column_px", "900")),
        ),
        (
            "pins_two",
            PINS,
            "a JPEG with two pins",
            _then(_jpeg(), rows_of(PINS, lambda rows: rows.pop())),
        ),
        (
            "pins_sea",
            PINS,
            "a JPEG with a pin at 0, 0",
            _then(_jpeg(), cell(PINS, "longitude", "0"), cell(PINS, "latitude", "0")),
        ),
        (
            "pins_commas",
            PINS,
            "pins divided by semicolons with decimal commas",
            lambda home: (home / PINS).write_bytes(
                (home / PINS).read_bytes().replace(b",", b";").replace(b".", b",")
            ),
        ),
        (
            "copies_text",
            "aerial.tif.ovr",
            "a text beside the photo as its smaller copy",
            lambda home: (home / "aerial.tif.ovr").write_text("<VRTDataset/>"),
        ),
        ("pin_name_blank", PINS, "a pin without a name", swapped(PINS, "gate", "")),
    ]
]
_ = os
