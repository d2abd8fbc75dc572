"""Pictures of the ground: their shape follows the ground's."""

import io

import geopandas as gpd
import pytest
from PIL import Image
from shapely.geometry import box

from clearing.report import charts
from clearing.report.workplan import ACROSS


@pytest.mark.parametrize(
    ("shape", "ratio"), [(box(0, 0, 300, 300), 1.0), (box(0, 0, 900, 100), 1.2),
                         (box(0, 0, 100, 900), 0.9)],
)  # fmt: skip
def test_picture_is_as_wide_as_the_ground_within_its_frame(shape, ratio):
    """A square is square; long ground stops at what the page has room for."""
    layer = gpd.GeoDataFrame(geometry=[shape], crs="EPSG:3857")
    wide, high = charts.shaped(layer, charts.Frame(3.0, 0.9, 1.2))
    assert high == 3.0
    assert wide / high == pytest.approx(ratio)


def test_without_a_photo_the_ground_is_paper(small):
    """A corner of the picture that nothing covers has the paper's colour, to JPEG's error."""
    data = charts.ground_jpeg(small, None, None, charts.Frame(3.0, 1.1, 1.6))
    corner = Image.open(io.BytesIO(data)).getpixel((3, 3))
    assert corner == pytest.approx((0xFB, 0xF9, 0xF4), abs=4)


def test_a_long_thin_block_has_a_picture_over_the_page():
    """Ground ten times as wide as high takes three times as wide as high, the most there is."""
    layer = gpd.GeoDataFrame(geometry=[box(0, 0, 1000, 100)], crs="EPSG:3857")
    wide, high = charts.shaped(layer, ACROSS)
    assert wide / high == pytest.approx(3.0)
