"""What tests of the drawing page share: browsers that stay open for a module."""

import pytest

from clearing.files.starting import start_empty
from tests.browser import DESKTOP, PHONE, open_browser


@pytest.fixture
def bare(tmp_path):
    """Return the folder of a property that was just started: no shapes, no photo."""
    start_empty(tmp_path / "place", None)
    return tmp_path / "place"


@pytest.fixture(scope="module")
def desk():
    """Give a browser on a desk."""
    with open_browser(DESKTOP) as driver:
        yield driver


@pytest.fixture(scope="module")
def phone():
    """Give a browser of a phone's size that answers to touch."""
    with open_browser(PHONE) as driver:
        driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": True})
        yield driver
