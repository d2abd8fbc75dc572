"""Tiles of any photo show the right ground at the right place, and never write into it."""

import io
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
import rasterio
from affine import Affine
from PIL import Image
from pyproj import Transformer
from rasterio.control import GroundControlPoint
from rasterio.enums import ColorInterp, Resampling
from rasterio.warp import reproject

import clearing.files.tiles
from clearing.errors import InputError
from clearing.files import open_tiles, save_pins
from tests.files.pictures import (
    HIGH,
    SPOT,
    SYSTEMS,
    WIDE,
    middle_of_spot,
    mosaic,
    on_map,
    spotted,
    unplaced,
    upright,
    write,
)

NOISE = np.random.default_rng(1).integers(0, 255, (3, 16, 20))
SMOOTH = np.stack([
    np.asarray(Image.fromarray(band).resize((1400, 1100), Image.Resampling.BICUBIC))
    for band in NOISE.astype(np.uint8)
])  # fmt: skip
TILED = {"tiled": True, "blockxsize": 256, "blockysize": 256}


def off(tiles, crs, transform, spot=SPOT, zoom=None) -> float:
    """Return how far the spot lies in the tiles from where pyproj puts it [px]."""
    zoom = tiles.deepest if zoom is None else zoom
    pixels, corner = mosaic(tiles, zoom)
    found = np.array(middle_of_spot(pixels)) + corner
    return float(np.abs(found - on_map(crs, transform, spot, zoom)).max())


@pytest.fixture
def on_disk(monkeypatch):
    """Make copies on disk, as for a large photo, however small it is."""
    monkeypatch.setattr(clearing.files.tiles, "IN_MEMORY_PIXELS", 0)
    monkeypatch.setattr(clearing.files.tiles, "SMALL_PX", 100)


@pytest.mark.parametrize("smaller", [False, True], ids=["bare", "with overviews"])
@pytest.mark.parametrize("crs", SYSTEMS)
@pytest.mark.parametrize("bands", [1, 3, 4])
@pytest.mark.parametrize("dtype", ["uint8", "uint16"])
def test_the_spot_lies_where_pyproj_puts_it(tmp_path, dtype, bands, crs, smaller):
    """Of any depth, bands and coordinate system, a spot is found within a pixel of its place."""
    path = write(tmp_path / "aerial.tif", spotted(dtype, bands), crs)
    if smaller:
        with rasterio.open(path, "r+") as photo:
            photo.build_overviews([2, 4], Resampling.average)
    tiles = open_tiles(tmp_path)
    for zoom in (tiles.deepest, tiles.deepest - 1):
        assert off(tiles, crs, upright(crs), zoom=zoom) < 1
    tiles.close()


def test_a_turned_photo_lies_right(tmp_path):
    """A photo turned by 30 degrees, its rows not along the map's, shows the spot in place."""
    turned = upright("EPSG:32616") * Affine.rotation(30)
    write(tmp_path / "aerial.tif", spotted(), transform=turned)
    assert off(open_tiles(tmp_path), "EPSG:32616", turned) < 1


def test_a_photo_with_points_of_known_place_lies_right(tmp_path):
    """Without a transform, four points of known place put the photo where they say."""
    path, own = tmp_path / "aerial.tif", upright("EPSG:32616") * Affine.rotation(-12)
    corners = [(0, 0), (WIDE, 0), (WIDE, HIGH), (0, HIGH)]
    points = [GroundControlPoint(row, column, *(own * (column, row))) for column, row in corners]
    with rasterio.open(path, "w", driver="GTiff", count=3, height=HIGH, width=WIDE, dtype="uint8",
                       gcps=points, crs="EPSG:32616") as photo:  # fmt: skip
        photo.write(spotted())
    assert off(open_tiles(tmp_path), "EPSG:32616", own) < 1


@pytest.mark.parametrize("ending", ["jpg", "png"])
def test_a_pinned_photo_lies_right(tmp_path, ending):
    """A JPEG or PNG without place lies by three pins, taken from a known place, and tells of it."""
    unplaced(tmp_path / f"aerial.{ending}", spotted())
    assert not open_tiles(tmp_path).placed
    own, to_degrees = upright("EPSG:32616") * Affine.rotation(20), Transformer.from_crs(
        "EPSG:32616", "EPSG:4326", always_xy=True)  # fmt: skip
    rows = []
    for name, spot in zip("abc", [(10, 12), (290, 40), (150, 230)], strict=True):
        lon, lat = to_degrees.transform(*(own * spot))
        rows.append({"pin": name, "column_px": spot[0], "row_px": spot[1], "longitude": lon,
                     "latitude": lat})  # fmt: skip
    save_pins(tmp_path, rows)
    tiles = open_tiles(tmp_path)
    assert tiles.pinned.largest_m < 0.01
    assert off(tiles, "EPSG:32616", own) < 1


def test_tiles_fit_together(tmp_path):
    """All tiles side by side are one warp of the whole photo, to two of 255 shades."""
    write(tmp_path / "aerial.tif", SMOOTH, **TILED)
    tiles = open_tiles(tmp_path)
    joined, (left, top) = mosaic(tiles, tiles.deepest)
    half = np.pi * 6_378_137
    pixel = 2 * half / 256 / 2**tiles.deepest
    grid = Affine(pixel, 0, left * pixel - half, 0, -pixel, half - top * pixel)
    whole = np.zeros((3, *joined.shape[1:]), np.uint8)
    reproject(SMOOTH, whole, src_transform=upright("EPSG:32616"), src_crs="EPSG:32616",
              dst_transform=grid, dst_crs="EPSG:3857", resampling=Resampling.bilinear,
              tolerance=0)  # fmt: skip
    inside = (joined[3] == 255) & (whole.max(axis=0) > 0)
    assert inside.sum() > 0.9 * 1400 * 1100
    assert np.abs(joined[:3, inside].astype(int) - whole[:, inside]).max() <= 2


def test_tiles_of_coarser_levels_are_means_of_finer_ones(tmp_path, on_disk):
    """Through the copies of a large photo, a level up is the mean of four pixels, nearly."""
    write(tmp_path / "aerial.tif", SMOOTH, **TILED)
    tiles = open_tiles(tmp_path)
    for zoom in range(tiles.deepest - 3, tiles.deepest):
        (fine, (x, y)), (coarse, (left, top)) = mosaic(tiles, zoom + 1), mosaic(tiles, zoom)
        into = np.pad(fine, ((0, 0), (y - 2 * top, 512), (x - 2 * left, 512)))
        into = into[:, : 2 * coarse.shape[1], : 2 * coarse.shape[2]].astype(float)
        mean = (
            into[:, ::2, ::2] + into[:, 1::2, ::2] + into[:, ::2, 1::2] + into[:, 1::2, 1::2]
        ) / 4
        inside = mean[3] == 255
        assert np.abs(mean - coarse)[:3, inside].mean() < 2


def test_plain_tiles_are_the_photo(tmp_path):
    """At the deepest level the tiles of a photo without place are its pixels, bit by bit."""
    unplaced(tmp_path / "aerial.png", SMOOTH)
    tiles = open_tiles(tmp_path)
    z = tiles.plain_deepest
    assert (tiles.size, z, tiles.placed, tiles.bounds) == ((1400, 1100), 3, False, None)
    rows = [np.concatenate([tiles.plain_pixels(z, x, y) for x in range(6)], axis=2)
            for y in range(5)]  # fmt: skip
    joined = np.concatenate(rows, axis=1)
    assert np.array_equal(joined[:3, :1100, :1400], SMOOTH)
    assert joined[3].sum() == 255 * 1400 * 1100
    one = tiles.plain_pixels(0, 0, 0)
    assert (one[3] > 0).sum() == pytest.approx(1400 * 1100 / 64, rel=0.01)
    assert tiles.plain(z, 6, 0) is tiles.plain(z, 0, -1) is tiles.plain(z + 1, 0, 0) is None


def test_a_tile_is_a_webp_of_256_pixels(tmp_path):
    """Packed with see-through outside the photo; no tile where there is none of it, or too deep."""
    write(tmp_path / "aerial.tif", spotted())
    tiles = open_tiles(tmp_path)
    x, y = (int(n // 256) for n in on_map("EPSG:32616", upright("EPSG:32616"), SPOT, 15))
    picture = Image.open(io.BytesIO(tiles.tile(15, x, y)))
    assert (picture.format, picture.size, picture.mode) == ("WEBP", (256, 256), "RGBA")
    for missing in ((15, x + 2, y), (15, 0, 0), (tiles.deepest + 1, 0, 0), (-1, 0, 0)):
        assert tiles.tile(*missing) is None
    assert tiles.plain(0, 0, 0) is not None


def clear_columns(home) -> float:
    """Return which share of the photo's columns is unseen in the middle row of its plain tiles."""
    tiles = open_tiles(home)
    row = np.concatenate([tiles.plain_pixels(tiles.plain_deepest, x, 0) for x in (0, 1)], axis=2)
    on_the_map, _ = mosaic(tiles, tiles.deepest)
    assert (on_the_map[3] == 0).any()
    return float((row[3, 100, :WIDE] == 0).mean())


@pytest.mark.parametrize("way", ["nodata", "alpha", "mask", "not a number"])
def test_what_was_not_photographed_is_see_through(tmp_path, way):
    """A third of the photo without ground, said in any of four ways, stays see-through."""
    path = tmp_path / "aerial.tif"
    bands = spotted("float32" if way == "not a number" else "uint8", 4 if way == "alpha" else 3)
    if way == "nodata":
        bands[:, :, :100] = 0
        write(path, bands, nodata=0)
    elif way == "not a number":
        bands[:, :, :100] = np.nan
        write(path, bands)
    else:
        if way == "alpha":
            bands[3] = 255
            bands[3, :, :100] = 0
        write(path, bands)
        if way == "mask":
            seen = np.full((HIGH, WIDE), 255, np.uint8)
            seen[:, :100] = 0
            with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True), rasterio.open(path, "r+") as photo:
                photo.write_mask(seen)
    assert clear_columns(tmp_path) == pytest.approx(1 / 3, abs=0.01)


def test_near_infrared_that_calls_itself_alpha_hides_nothing(tmp_path):
    """A fourth band of all sorts of numbers is no alpha, whatever the file calls it."""
    bands = np.concatenate([spotted(), np.arange(WIDE * HIGH, dtype=np.uint32).reshape(
        1, HIGH, WIDE).astype(np.uint8)])  # fmt: skip
    path = write(tmp_path / "aerial.tif", bands)
    with rasterio.open(path) as photo:
        assert photo.colorinterp[3] == ColorInterp.alpha
    tiles = open_tiles(tmp_path)
    assert (tiles.plain_pixels(tiles.plain_deepest, 0, 0)[3, :HIGH] == 255).all()
    assert off(tiles, "EPSG:32616", upright("EPSG:32616")) < 1


def test_a_palette_comes_out_in_its_colours(tmp_path):
    """Number 7 of the palette is a blue-green, and is shown as such."""
    with rasterio.open(tmp_path / "aerial.tif", "w", driver="GTiff", count=1, height=80, width=90,
                       dtype="uint8", crs="EPSG:32616", transform=upright("EPSG:32616"),
                       photometric="PALETTE") as photo:  # fmt: skip
        photo.write_colormap(1, {7: (10, 120, 140, 255), 8: (0, 0, 0, 255)})
        photo.write(np.full((1, 80, 90), 7, np.uint8))
    tiles = open_tiles(tmp_path)
    assert tiles.plain_pixels(0, 0, 0)[:, 40, 40].tolist() == [10, 120, 140, 255]
    joined, _ = mosaic(tiles, tiles.deepest)
    assert (joined[:, joined[3] == 255].T == [10, 120, 140, 255]).all()


def test_the_owners_photo_is_never_written(tmp_path, on_disk):
    """The copy lies in out/photo, is made once, and the photo keeps its bytes and its time."""
    path = write(tmp_path / "aerial.tif", SMOOTH, **TILED)
    before, state, told = path.read_bytes(), path.stat(), []
    open_tiles(tmp_path, told.append).close()
    (copy,) = (tmp_path / "out" / "photo").iterdir()
    made = copy.stat()
    open_tiles(tmp_path, told.append).close()
    assert copy.stat() == made
    assert (path.read_bytes(), path.stat().st_mtime_ns) == (before, state.st_mtime_ns)
    assert told == sorted(told)
    assert told[-1] == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["aerial.tif", "out"]


@pytest.mark.parametrize("options", [TILED, {"compress": "LZW"}], ids=["tiled", "packed strips"])
def test_a_new_photo_gets_a_new_copy(tmp_path, on_disk, options):
    """Another photo under the same name is what the tiles show; the old copy is gone."""
    write(tmp_path / "aerial.tif", SMOOTH, **options)
    old = open_tiles(tmp_path)
    (first,) = (tmp_path / "out" / "photo").iterdir()
    write(tmp_path / "aerial.tif", 255 - SMOOTH, **options)
    new = open_tiles(tmp_path)
    (second,) = (tmp_path / "out" / "photo").iterdir()
    assert first != second
    assert old.stamp != new.stamp
    a, b = old.plain_pixels(0, 0, 0), new.plain_pixels(0, 0, 0)
    assert np.abs(a[:3].astype(int) + b[:3] - 255)[:, a[3] == 255].mean() < 3


@pytest.mark.parametrize("why", ["a file lies there", "no room"])
def test_a_folder_that_takes_no_copy_still_has_tiles(tmp_path, on_disk, monkeypatch, why):
    """Where out/photo cannot be made, or no disk has room, the spot is in its place too."""
    write(tmp_path / "aerial.tif", spotted(), compress="LZW")
    if why == "no room":
        full = lambda folder: type("Usage", (), {"free": 0})  # noqa: E731
        monkeypatch.setattr("clearing.files.pyramid.shutil.disk_usage", full)
    else:
        (tmp_path / "out").write_text("mine")
    tiles = open_tiles(tmp_path)
    assert off(tiles, "EPSG:32616", upright("EPSG:32616")) < 1
    tiles.close()
    assert [path.name for path in tmp_path.rglob("*.tif")] == ["aerial.tif"]


@pytest.mark.parametrize("held", [True, False], ids=["in memory", "on disk"])
def test_a_torn_photo_shows_what_is_left_and_says_so(tmp_path, request, monkeypatch, held):
    """A TIFF cut short: its lower part stays blank, its upper part is there, the fault is named."""
    monkeypatch.setattr(clearing.files.tiles, "SMALL_PX", 100)
    if not held:
        request.getfixturevalue("on_disk")
    path = write(tmp_path / "aerial.tif", SMOOTH, compress="LZW", **TILED)
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * 0.7)])
    tiles = open_tiles(tmp_path)
    top, low = (tiles.plain_pixels(tiles.plain_deepest, 1, y) for y in (0, 4))
    assert np.abs(top[:3].astype(int) - SMOOTH[:, :256, 256:512]).mean() < 3
    assert low is None or low.max() == 0
    assert "aerial.tif is damaged" in tiles.problem


def test_a_photo_torn_while_it_is_shown_gives_blank_tiles(tmp_path):
    """Cut short under the open page, a tile is blank, the fault is named, and nothing breaks."""
    big = np.random.default_rng(2).integers(0, 255, (3, 1024, 2048), dtype=np.uint8)
    path = write(tmp_path / "aerial.tif", big, **TILED)
    tiles = open_tiles(tmp_path)
    with path.open("r+b") as stream:
        stream.truncate(300_000)
    z = tiles.plain_deepest
    blank = tiles.plain_pixels(z, 7, 3)
    assert blank is not None
    assert blank.max() == 0
    assert "aerial.tif is damaged" in tiles.problem
    assert tiles.plain(z, 7, 3) is not None


def test_many_hands_get_the_same_tiles(tmp_path):
    """Eight threads at once are given what one is given after the other."""
    write(tmp_path / "aerial.tif", SMOOTH, **TILED)
    tiles = open_tiles(tmp_path)
    z = tiles.deepest
    x, y = (int(n // 256) for n in on_map("EPSG:32616", upright("EPSG:32616"), (0, 0), z))
    asked = [(z, x + i, y + j) for i in range(5) for j in range(5)] * 4
    alone = [tiles.tile(*one) for one in asked]
    with ThreadPoolExecutor(8) as hands:
        assert list(hands.map(lambda one: tiles.tile(*one), asked)) == alone


def test_the_stamp_changes_with_the_pins(tmp_path):
    """A moved pin gives other addresses, so that no browser shows the old place."""
    unplaced(tmp_path / "aerial.jpg", spotted())
    pin = {"pin": "1", "column_px": 5, "row_px": 5, "longitude": -84.5, "latitude": 38.1}
    stamps = [open_tiles(tmp_path).stamp]
    for column in (5, 6):
        save_pins(tmp_path, [pin | {"column_px": column}])
        stamps.append(open_tiles(tmp_path).stamp)
    assert len(set(stamps)) == 3
    assert "1 of 3 pins" in open_tiles(tmp_path).why


def test_no_photo_no_tiles_and_two_are_one_too_many(tmp_path):
    """Without a photo there are no tiles; with two the sentence names both."""
    assert open_tiles(tmp_path) is None
    unplaced(tmp_path / "aerial.jpg", spotted())
    write(tmp_path / "aerial.tif", spotted())
    with pytest.raises(InputError, match=r"aerial\.jpg and aerial\.tif could both be the photo"):
        open_tiles(tmp_path)


def test_closed_tiles_are_none(tmp_path):
    """A request that comes after the tiles were closed is given nothing, and breaks nothing."""
    write(tmp_path / "aerial.tif", spotted())
    tiles = open_tiles(tmp_path)
    x, y = (int(n // 256) for n in on_map("EPSG:32616", upright("EPSG:32616"), SPOT, 15))
    assert tiles.tile(15, x, y) is not None
    tiles.close()
    assert tiles.tile(15, x, y) is tiles.plain(0, 0, 0) is None
