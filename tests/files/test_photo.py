"""The owner's photo is found under its names, opened whatever its numbers, and nothing else is."""

import numpy as np
import pytest
import rasterio
import rasterio.warp
from PIL import Image

import clearing
from clearing import pipeline
from clearing.errors import InputError
from clearing.files import find_photo, open_photo, open_tiles, save_pins, start_property
from clearing.files.photo import photo_note, photo_outline, photo_problems
from tests.files.pictures import HIGH, SPOT, WIDE, spotted, unplaced, upright, write

PINS = [
    {"pin": str(n), "column_px": c, "row_px": r, "longitude": -84.5 + c * 5e-6,
     "latitude": 38.1 - r * 4e-6}
    for n, (c, r) in enumerate([(10, 10), (280, 20), (150, 230)])
]  # fmt: skip


@pytest.mark.parametrize(
    "name", ["aerial.tif", "Aerial.TIFF", "AERIAL.JPG", "aerial.jpeg", "aerial.Png"]
)
def test_the_photo_is_found_in_any_letter_case(tmp_path, name):
    """Five endings, any case; other names are not the photo."""
    (tmp_path / "aerial.bmp").touch()
    (tmp_path / "house.jpg").touch()
    assert find_photo(tmp_path) is None
    (tmp_path / name).touch()
    assert find_photo(tmp_path) == tmp_path / name


def test_two_photos_are_named(sample):
    """Which of them is meant nobody knows: reading the folder names both."""
    unplaced(sample / "aerial.jpg", spotted())
    with pytest.raises(InputError, match=r"aerial\.jpg and aerial\.tif could both be the photo"):
        clearing.read(sample)


def test_a_photo_without_place_is_no_problem_and_is_told(sample):
    """The property is read without it, and check says what to do; three pins bring it in."""
    (sample / "aerial.tif").unlink()
    path = unplaced(sample / "aerial.jpg", spotted())
    place = clearing.read(sample)
    assert place.photo is None
    (said,) = place.notes
    assert said.startswith("aerial.jpg does not say where it lies, so it has no place yet; pin it")
    assert said in pipeline.look(place)[0]
    save_pins(sample, [
        pin | {"longitude": -85.7480 + pin["column_px"] * 2e-5,
               "latitude": 36.3370 - pin["row_px"] * 1.6e-5}
        for pin in PINS
    ])  # fmt: skip
    place = clearing.read(sample)
    assert (place.photo, place.notes) == (path, ())


def test_pins_beyond_the_photo_are_another_photos(tmp_path):
    """A photo that was changed for a smaller one is not laid by the old pins."""
    path = unplaced(tmp_path / "aerial.png", spotted())
    save_pins(tmp_path, [*PINS[:2], PINS[2] | {"column_px": WIDE + 100}])
    assert "pin 2 lies outside the photo of 300 x 240 px" in photo_note(path)
    assert photo_problems(path) == []
    assert photo_outline(path) is None


def test_a_spoilt_pin_file_is_a_problem(tmp_path):
    """A pin that is none stands among the problems of the photo, with its name."""
    path = unplaced(tmp_path / "aerial.png", spotted())
    (tmp_path / "photo_pins.csv").write_text(
        "pin,column_px,row_px,longitude,latitude\ngate,1,2,east,38\n"
    )
    (said,) = photo_problems(path)
    assert "'longitude' is 'east' in pin gate" in said


def test_a_pinned_photo_opens_where_its_pins_lie(tmp_path):
    """Pixels, and a transform that puts the first pin on its ground to a foot."""
    path = unplaced(tmp_path / "aerial.png", spotted())
    save_pins(tmp_path, PINS)
    pixels, transform, crs = open_photo(path)
    assert np.array_equal(pixels, np.moveaxis(spotted(), 0, -1))
    lon, lat = rasterio.warp.transform(
        crs, "EPSG:4326", *[[each] for each in transform * (10.0, 10.0)]
    )
    assert (lon[0], lat[0]) == pytest.approx((PINS[0]["longitude"], PINS[0]["latitude"]), abs=2e-5)
    assert photo_outline(path).crs is not None


@pytest.mark.parametrize("dtype", ["uint8", "uint16", "int16", "float32"])
@pytest.mark.parametrize("bands", [1, 2, 3, 4, 5])
def test_any_numbers_come_out_as_colours(tmp_path, dtype, bands):
    """The spot is bright and the ground is darker, of any depth and any number of bands."""
    path = write(tmp_path / "aerial.tif", spotted(dtype, bands))
    pixels, _, _ = open_photo(path)
    assert (pixels.dtype, pixels.shape) == (np.uint8, (HIGH, WIDE, 3))
    spot = pixels[int(SPOT[1]), int(SPOT[0])]
    assert (spot > 200).all()
    assert (pixels[5, 5] < spot - 100).all()


def test_nodata_does_not_take_part_in_the_shades(tmp_path):
    """Beside a frame of 65535 the ground goes from black to white, and the frame is white paper."""
    bands = np.tile(np.linspace(200, 900, WIDE).astype(np.uint16), (3, HIGH, 1))
    bands[:, :, :60] = 65535
    pixels, _, _ = open_photo(write(tmp_path / "aerial.tif", bands, nodata=65535))
    assert (pixels[:, :60] == 255).all()
    assert pixels[100, 62].max() < 10
    assert pixels[100, -2].min() > 245


def test_bands_are_taken_by_what_they_are_called(tmp_path):
    """Blue, green, red in this order, and called so, come out as red, green, blue."""
    bands = np.zeros((3, 20, 20), np.uint8)
    bands[2] = 200
    path = write(tmp_path / "aerial.tif", bands, photometric="MINISBLACK")
    with rasterio.open(path, "r+") as photo:
        kinds = rasterio.enums.ColorInterp
        photo.colorinterp = (kinds.blue, kinds.green, kinds.red)
    assert open_photo(path)[0][3, 3].tolist() == [200, 0, 0]


def test_a_one_bit_photo_is_black_and_white(tmp_path):
    """The one of a bit is white, not the darkest grey."""
    bands = np.zeros((1, 20, 20), np.uint8)
    bands[0, 4:9] = 1
    path = write(tmp_path / "aerial.tif", bands, nbits=1)
    assert np.unique(open_photo(path)[0][:, 0]).tolist() == [0, 255]


ELSEWHERE = '<VRTDataset rasterXSize="9" rasterYSize="9"><VRTRasterBand dataType="Byte" band="1"/>'


@pytest.mark.parametrize("how", ["itself", "overviews", "mask", "named overviews"])
def test_nothing_leads_to_another_file(tmp_path, how):
    """A virtual file as the photo or beside it, or a name of one in it: refused in words."""
    path = tmp_path / "aerial.tif"
    if how != "itself":
        write(path, spotted())
    beside = {"itself": "", "overviews": ".ovr", "mask": ".msk"}
    if how in beside:
        (tmp_path / f"aerial.tif{beside[how]}").write_text(ELSEWHERE + "</VRTDataset>")
    else:
        with rasterio.open(path, "r+") as photo:
            photo.update_tags(ns="OVERVIEWS", OVERVIEW_FILE="elsewhere.vrt")
    (said,) = photo_problems(path)
    assert said.startswith("aerial.tif")
    with pytest.raises(InputError, match=r"aerial\.tif"):
        open_photo(path)


def test_the_name_does_not_decide_what_a_file_is(tmp_path):
    """A PNG that is called .jpg is read as the PNG it is; text that is called so is not."""
    Image.fromarray(np.moveaxis(spotted(), 0, -1)).save(tmp_path / "one.png")
    path = (tmp_path / "one.png").rename(tmp_path / "aerial.jpg")
    assert photo_problems(path) == []
    path.write_text("a letter")
    assert photo_problems(path) == [
        "aerial.jpg is no JPEG that can be read; save or copy it anew, or take it out of the folder"
    ]


def test_a_photo_beyond_the_bound_is_not_read(tmp_path, monkeypatch):
    """The pixels are counted before one is read, and the sentence says how many there may be."""
    path = write(tmp_path / "aerial.tif", spotted())
    monkeypatch.setattr("clearing.files.photo.MOST_PIXELS", 70_000)
    (said,) = photo_problems(path)
    assert "300 x 240 px" in said


def test_a_torn_photo_is_told(tmp_path):
    """A TIFF without its last part is named."""
    path = write(tmp_path / "aerial.tif", spotted())
    path.write_bytes(path.read_bytes()[:-30_000])
    assert photo_problems(path) == [
        "aerial.tif is no GeoTIFF that can be read; save or copy it anew, or take it out of the "
        "folder"
    ]


@pytest.mark.parametrize("name", ["flight.JPG", "flight.png", "flight.tiff"])
def test_a_new_property_keeps_the_photos_ending(tmp_path, name):
    """A photo without place is taken too; its file beside it that says the corner goes along."""
    (tmp_path / "from").mkdir()
    photo = tmp_path / "from" / name
    if name.endswith("tiff"):
        write(photo, spotted())
    else:
        unplaced(photo, spotted())
    photo.with_suffix(".wld").write_text("1\n0\n0\n-1\n5\n5\n")
    start_property(tmp_path / "home", "[property]\n", photo)
    made = tmp_path / "home" / f"aerial{photo.suffix.lower()}"
    assert find_photo(tmp_path / "home") == made
    assert made.read_bytes() == photo.read_bytes()
    assert made.with_suffix(".wld").exists()


def test_a_new_property_does_not_take_a_second_photo(tmp_path):
    """With a photo in the folder already, another one is refused and nothing is written."""
    unplaced(tmp_path / "flight.jpg", spotted())
    home = tmp_path / "home"
    home.mkdir()
    write(home / "aerial.tif", spotted())
    with pytest.raises(InputError, match=r"holds the photo aerial\.tif already"):
        start_property(home, "[property]\n", tmp_path / "flight.jpg")
    assert [path.name for path in home.iterdir()] == ["aerial.tif"]


def test_the_outline_is_that_of_the_ground(tmp_path):
    """Half-metre pixels: 150 m by 120 m."""
    outline = photo_outline(write(tmp_path / "aerial.tif", spotted()))
    assert outline.area.iloc[0] == pytest.approx(150 * 120)
    assert outline.iloc[0].bounds[0] == upright("EPSG:32616").c


@pytest.mark.parametrize(
    "where", [(0.5, 0, 5e7, 0, -0.5, 4e6), (0.5, 0, 0, 0, -0.5, 9.9e6), (0.5, 0, np.nan, 0, 1, 4e6),
              (0.5, 0, 5e5, 0.5, 1e-9, 4e6)],
    ids=["east of all", "north of all", "no number", "a line"],
)  # fmt: skip
def test_a_place_off_the_earth_is_no_place(tmp_path, where):
    """A corner that no ground has, or pixels without area: unplaced, with a sentence."""
    where = rasterio.Affine(*where)
    path = write(tmp_path / "aerial.tif", spotted(), transform=where)
    assert "nowhere on the earth" in photo_note(path)
    assert not open_tiles(tmp_path).placed
