"""A photo that does not say where it lies is placed by three pins, on the page, with its error."""

import json

import numpy as np
import pytest
import rasterio
from PIL import Image
from pyproj import Transformer

import clearing
from clearing.files import open_photo
from tests.app.page import drawing, here
from tests.app.talking import Talk

PHOTO = clearing.sample_folder() / "aerial.tif"
TAPS = ((600, 250), (1100, 300), (850, 640))


@pytest.fixture
def unplaced(bare):
    """Return a folder whose photo is a picture without a georeference, of the sample's ground."""
    with rasterio.open(PHOTO) as source:
        Image.fromarray(np.moveaxis(source.read([1, 2, 3]), 0, -1)).save(bare / "aerial.png")
    return bare


def pixel(page, place):
    """Return column and row of the photo under a spot of the window, by the tiles that show."""
    tiles = page.driver.execute_script(
        "return Array.from(document.querySelectorAll('#paper img.leaflet-tile-loaded')).map(t => {"
        "const b = t.getBoundingClientRect(); return [t.src, b.left, b.top, b.width]})"
    )
    src, left, top, wide = tiles[0]
    level, column, row = (int(part) for part in src.split("/")[-3:])
    with rasterio.open(PHOTO) as source:
        deepest = int(np.ceil(np.log2(max(source.width, source.height) / 256)))
    step = 2 ** (deepest - level)
    across, down = (place[0] - left) / wide, (place[1] - top) / wide
    return (column + across) * 256 * step, (row + down) * 256 * step


def test_three_pins_place_a_photo_with_its_error_in_feet(unplaced, desk):
    """Pinned to true places but one 30 ft off, the page tells feet; kept, the photo lies there."""
    with rasterio.open(PHOTO) as source:
        transform, crs = source.transform, source.crs
    to_degrees = Transformer.from_crs(crs, 4326, always_xy=True)
    with drawing(unplaced, desk) as page:
        page.until(lambda: page.all("#paper img.leaflet-tile-loaded"))
        assert page.find("#keep-pins").get_attribute("aria-disabled") == "true"
        for number, place in enumerate(TAPS):
            page.tap(*place)
            page.until(lambda number=number: page.all(f"#pin-place-{number}"))
            x, y = transform * pixel(page, place)
            lng, lat = to_degrees.transform(x + (9.144 if number == 2 else 0.0), y)
            page.fill(f"#pin-place-{number}", f"{lat:.7f}, {lng:.7f}")
            page.until(lambda number=number: f"{number + 1}" in page.text("#card"))
        page.until(lambda: page.all("#pin-error"))
        assert "ft" in page.text("#pin-error")
        page.press("#keep-pins")
        page.until(lambda: page.all("#map img.leaflet-tile-loaded"))
    _, placed, grid = open_photo(unplaced / "aerial.png", 500)
    with rasterio.open(PHOTO) as source:
        true = to_degrees.transform(*(transform * (0, 0)))
    found = Transformer.from_crs(grid, 4326, always_xy=True).transform(*(placed * (0, 0)))
    away = np.hypot((found[0] - true[0]) * 89_700, (found[1] - true[1]) * 110_900)
    assert away < 15


def test_a_place_that_cannot_be_read_is_said_beside_its_pin(unplaced, desk):
    """A pin with words that are no place gets a sentence, and nothing is kept."""
    with drawing(unplaced, desk) as page:
        page.until(lambda: page.all("#paper img.leaflet-tile-loaded"))
        page.tap(*TAPS[0])
        page.until(lambda: page.all("#pin-place-0"))
        page.fill("#pin-place-0", "by the old gate")
        page.until(lambda: page.all("#card .field .wrong"))
        assert "38.12345" in page.text("#card .field .wrong")
    assert not (unplaced / "photo_pins.csv").exists()


def test_pins_that_are_plainly_wrong_are_not_kept(unplaced):
    """Mirrored pins, or a longitude without its minus, place nothing; the sentence says why."""
    corners = ((100, 100), (2400, 150), (1200, 1800))
    places = [(-85.7468, 36.3370), (-85.7400, 36.3369), (-85.7440, 36.3330)]
    with here(unplaced) as address:
        talk = Talk(address)
        while talk.get("/state")["photo"]["opening"]:
            pass
        for wrong in (
            [(2 * -85.7434 - lng, lat) for lng, lat in places],
            [(abs(lng) if not n else lng, lat) for n, (lng, lat) in enumerate(places)],
        ):
            pins = [{"column": c, "row": r, "lat": lat, "lng": lng}
                    for (c, r), (lng, lat) in zip(corners, wrong, strict=True)]  # fmt: skip
            status, _, content = talk.ask("POST", "/pins", {"pins": pins, "keep": True})
            assert status == 422
            assert len(json.loads(content)["problems"][0]) > 40
    assert not (unplaced / "photo_pins.csv").exists()
