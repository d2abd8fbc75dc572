"""Turn any photo's bands into red, green, blue and what is seen: colours of eight bits."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from rasterio.enums import ColorInterp, MaskFlags, Resampling
from rasterio.windows import Window

SAMPLE_PX = 512  # longest side of the small reading that the stretch is taken from; own choice
SPOTTED_FROM = 4.0  # times larger than the reading: spots are read instead; own choice
SPOTS, SPOT_PX = 12, 48  # spots a side, and their size; own choice
DARKEST, BRIGHTEST = 0.5, 99.5  # percentiles that become black and white; own choice
CLEAR_SHARE = 0.95  # an alpha band is all or nothing in so many pixels, near infrared is not; own


@dataclass(frozen=True)
class Shades:
    """How a photo's numbers become colours.

    Attributes
    ----------
    bands : tuple of int
        One band (grey or a palette's) or three, counted from 1.
    palette : ndarray of uint8, shape (entries, 4), or None
        Red, green, blue, alpha of each number of a palette.
    low, high : float
        Numbers that become black and white.
    alpha : int
        The band that tells what is seen; 0 when there is none.
    alpha_full : float
        Its number for a pixel that is seen.
    nodata : float or None
        The number that stands for "not photographed".
    masked : bool
        Whether anything may be unseen: nodata, alpha, a mask, a palette's alpha, no number.
    plain : bool
        Whether the bands are colours of eight bits as they stand, all of them seen.
    """

    bands: tuple[int, ...]
    palette: np.ndarray | None = field(default=None, compare=False)
    low: float = 0.0
    high: float = 255.0
    alpha: int = 0
    alpha_full: float = 255.0
    nodata: float | None = None
    masked: bool = False
    plain: bool = False


def shades_of(source: Any) -> Shades:
    """Return how a photo's numbers become colours, from one small reading.

    Parameters
    ----------
    source : rasterio dataset
        Open for reading.

    References
    ----------
    own reasoning
    """
    kinds = source.colorinterp
    bands = _colour_bands(kinds)
    alpha = next((i + 1 for i, kind in enumerate(kinds) if kind == ColorInterp.alpha), 0)
    kind = np.dtype(source.dtypes[bands[0] - 1])
    full = _full(source, alpha) if alpha else 255.0
    if alpha and not _all_or_nothing(sampled(source, [alpha])[0], full):
        alpha = 0
    flags = source.mask_flag_enums[bands[0] - 1]
    own_mask = MaskFlags.per_dataset in flags and MaskFlags.alpha not in flags
    nodata = source.nodatavals[bands[0] - 1]
    masked = bool(alpha) or own_mask or nodata is not None or kind.kind == "f"
    if kinds[0] == ColorInterp.palette:
        table = _palette(source.colormap(1))
        clear = masked or bool((table[:, 3] < 255).any())
        return Shades((1,), table, 0, 255, alpha, full, nodata, clear)
    low, high, bits = 0.0, 255.0, _bits(source, bands[0])
    if kind == np.uint8:
        high = float(2**bits - 1)
    else:
        low, high = _stretch(source, bands, alpha, full, nodata)
    eight = kind == np.uint8 and bits == 8
    plain = eight and not masked and not any(k == ColorInterp.alpha for k in kinds)
    return Shades(bands, None, low, high, alpha, full, nodata, masked, plain)


def read_colours(
    source: Any, shades: Shades, window: Window | None = None, size: tuple[int, int] | None = None
) -> tuple[np.ndarray, np.ndarray]:
    """Return red, green and blue, shape (3, rows, columns), and what is seen (rows, columns).

    Parameters
    ----------
    source : rasterio dataset
        Open for reading.
    shades : Shades
        Of this photo.
    window : Window, optional
        The part to read; the whole without it.
    size : (rows, columns), optional
        Size to read it in; means are taken where it is smaller, but for a palette.

    References
    ----------
    own reasoning
    """
    part = window or Window(0, 0, source.width, source.height)
    rows, columns = size or (int(part.height), int(part.width))
    smaller = rows < part.height or columns < part.width
    nearest = shades.palette is not None or not smaller
    how = Resampling.nearest if nearest else Resampling.average
    bands = [*shades.bands, *([shades.alpha] if shades.alpha else [])]
    read = source.read(bands, window=window, out_shape=(len(bands), rows, columns),
                       resampling=how)  # fmt: skip
    colours = read[: len(shades.bands)]
    seen = np.ones((rows, columns), dtype=bool)
    if shades.alpha:
        seen &= read[-1] >= shades.alpha_full / 2
    elif shades.masked:
        flags = source.mask_flag_enums[shades.bands[0] - 1]
        if MaskFlags.per_dataset in flags and MaskFlags.alpha not in flags:
            seen &= source.read_masks(1, window=window, out_shape=(rows, columns)) > 127
    seen &= _numbers_there(colours, shades.nodata)
    return _coloured(colours, shades, seen), seen


def sampled(source: Any, bands: list[int]) -> np.ndarray:
    """Return bands in a small reading, shape (bands, rows, columns).

    Every so many pixels one; of a large photo without smaller copies inside, spots of it in a
    regular grid, since all of it would have to be read.

    References
    ----------
    own reasoning
    """
    wide, high = source.width, source.height
    shrink = max(1.0, max(wide, high) / SAMPLE_PX)
    if shrink < SPOTTED_FROM or source.overviews(bands[0]):
        shape = (max(1, round(high / shrink)), max(1, round(wide / shrink)))
        return source.read(bands, out_shape=(len(bands), *shape), resampling=Resampling.nearest)
    side = min(SPOT_PX, wide, high)
    rows = np.linspace(0, high - side, SPOTS).astype(int)
    columns = np.linspace(0, wide - side, SPOTS).astype(int)
    spots = [[source.read(bands, window=Window(int(left), int(top), side, side))
              for left in columns] for top in rows]  # fmt: skip
    return np.concatenate([np.concatenate(row, axis=2) for row in spots], axis=1)


def _colour_bands(kinds: tuple[ColorInterp, ...]) -> tuple[int, ...]:
    """Return the bands of red, green and blue as they are called, else the first ones."""
    wanted = (ColorInterp.red, ColorInterp.green, ColorInterp.blue)
    if all(kinds.count(kind) == 1 for kind in wanted):
        return tuple(kinds.index(kind) + 1 for kind in wanted)
    pictures = [i + 1 for i, kind in enumerate(kinds) if kind != ColorInterp.alpha]
    if len(pictures) >= 3:
        return tuple(pictures[:3])
    return (pictures[0] if pictures else 1,)


def _bits(source: Any, band: int) -> int:
    """Return how many bits of a band's bytes are used."""
    said = source.tags(band, ns="IMAGE_STRUCTURE").get("NBITS", "")
    return int(said) if said.isdigit() and 1 <= int(said) < 8 else 8


def _full(source: Any, alpha: int) -> float:
    """Return the number of an alpha band that stands for a pixel that is seen."""
    kind = np.dtype(source.dtypes[alpha - 1])
    return 1.0 if kind.kind == "f" else float(np.iinfo(kind).max)


def _all_or_nothing(alpha: np.ndarray, full: float) -> bool:
    """Return whether a band called alpha is one: nearly all seen or unseen, not both mixed."""
    return bool(((alpha == 0) | (alpha == full)).mean() >= CLEAR_SHARE)


def _palette(colours: dict[int, tuple[int, ...]]) -> np.ndarray:
    """Return a palette as a table of red, green, blue, alpha."""
    table = np.zeros((max(colours) + 1 if colours else 1, 4), dtype=np.uint8)
    for number, colour in colours.items():
        table[number] = (*colour[:3], colour[3] if len(colour) > 3 else 255)
    return table


def _stretch(
    source: Any, bands: tuple[int, ...], alpha: int, full: float, nodata: float | None
) -> tuple[float, float]:
    """Return the numbers that become black and white, unseen pixels left out."""
    read = sampled(source, [*bands, *([alpha] if alpha else [])])
    seen = _numbers_there(read[: len(bands)], nodata)
    if alpha:
        seen &= read[-1] >= full / 2
    numbers = read[: len(bands)][:, seen].astype(float)
    numbers = numbers[np.isfinite(numbers)]
    if not numbers.size:
        return 0.0, 1.0
    low, high = np.percentile(numbers, [DARKEST, BRIGHTEST])
    if high <= low:  # nearly even ground
        low, high = numbers.min(), numbers.max()
    return float(low), float(high if high > low else low + 1.0)


def _numbers_there(colours: np.ndarray, nodata: float | None) -> np.ndarray:
    """Return which pixels hold a number other than nodata in any band."""
    number = nodata is not None and not np.isnan(nodata)
    if colours.dtype.kind != "f" and not number:
        return np.ones(colours.shape[1:], bool)
    there: np.ndarray = np.isfinite(colours)
    if number:
        there &= colours != nodata
    return np.asarray(there.any(axis=0))


def _coloured(colours: np.ndarray, shades: Shades, seen: np.ndarray) -> np.ndarray:
    """Return bands as red, green, blue of eight bits; a palette's see-through goes into seen."""
    if shades.palette is not None:
        number = np.minimum(colours[0], len(shades.palette) - 1)
        looked = shades.palette[number]
        seen &= looked[..., 3] > 127
        return np.ascontiguousarray(np.moveaxis(looked[..., :3], -1, 0))
    if colours.dtype != np.uint8 or (shades.low, shades.high) != (0.0, 255.0):
        share = (colours.astype(np.float32) - shades.low) / (shades.high - shades.low)
        whole = np.nan_to_num(share * 255, nan=0.0, posinf=255.0, neginf=0.0)
        colours = np.clip(np.rint(whole), 0, 255).astype(np.uint8)
    return np.repeat(colours, 3, axis=0) if len(colours) == 1 else colours
