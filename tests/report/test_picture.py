"""The photo for the map: never above its limit, size first, quality then."""

import io

import numpy as np
import pytest
from affine import Affine
from PIL import Image

from clearing import report
from clearing.errors import InputError
from clearing.report.picture import COARSE, LARGEST_PX, LIMIT_MB
from tests.report.small_place import GRID

GROUND = Affine(0.5, 0, -500, 0, -0.5, 500)


@pytest.fixture(scope="module")
def busy() -> np.ndarray:
    """Return a photo that packs badly: noise over waves, 2,000 px wide."""
    draw = np.random.default_rng(1)
    y, x = np.mgrid[:1500, :2000]
    waves = 100 + 60 * np.sin(x / 9) * np.cos(y / 7)
    return np.clip(waves[..., None] + draw.normal(0, 25, (1500, 2000, 3)), 0, 255).astype(np.uint8)


def size_of(picture) -> tuple[int, int]:
    """Return width and height of the packed picture."""
    return Image.open(io.BytesIO(picture.data)).size


@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")  # rasterio 1.4
@pytest.mark.parametrize("limit", [None, 0.9, 0.2, 0.05, 0.002])
def test_the_picture_never_passes_its_limit(busy, limit):
    """As text in the page (base64, RFC 4648: four letters for three bytes) it keeps the limit."""
    picture = report.photo_picture(busy, GROUND, GRID, limit_mb=limit)
    asked = LIMIT_MB if limit is None else limit
    assert len(picture.data) * 4 / 3 <= asked * 1e6
    assert max(size_of(picture)) <= LARGEST_PX


@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")  # rasterio 1.4
def test_a_coarser_picture_says_so(busy):
    """Where the limit cuts size or quality a sentence tells it; else nothing is said."""
    assert report.photo_picture(busy, GROUND, GRID, limit_mb=0.05).note == COARSE
    assert report.photo_picture(busy, GROUND, GRID, limit_mb=9).note == ""


@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")  # rasterio 1.4
def test_more_room_gives_no_smaller_picture(busy):
    """Size grows with the limit."""
    sizes = [
        max(size_of(report.photo_picture(busy, GROUND, GRID, limit_mb=limit)))
        for limit in (0.01, 0.05, 0.2, 1.0)
    ]
    assert sizes == sorted(sizes)


@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")  # rasterio 1.4
@pytest.mark.parametrize("limit", [0.0, -1.0, 0.00001])
def test_a_limit_that_no_picture_keeps_is_refused(busy, limit):
    """Nought, less than nought, and ten bytes name what was found and what would do."""
    with pytest.raises(InputError, match=r"at most .* MB: no picture is as small"):
        report.photo_picture(busy, GROUND, GRID, limit_mb=limit)
