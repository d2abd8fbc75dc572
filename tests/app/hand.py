"""Map a place with one's hand and count: from an empty folder and a photo to a saved property.

``python -m tests.app.hand`` prints how many actions and seconds it took.
"""

import shutil
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

import clearing
from clearing.files.starting import start_empty
from tests.app.page import Page, drawing
from tests.browser import DESKTOP, open_browser

# two rows of three fields; each outline with seven corners, as fields have that follow a lane
COLUMNS, ROWS = (470, 660, 850, 1040), (190, 400, 610)
CREEK = [(440 + 60 * n, 660 + 12 * (n % 3)) for n in range(11)]
ROAD = [(450 + 75 * n, 160 - 8 * (n % 2)) for n in range(9)]
TREES = [(500 + 50 * n, 300 + 40 * (n % 2)) for n in range(10)]


def fields() -> list[list[tuple[int, int]]]:
    """Return the corners of six fields that share their edges."""
    found = []
    for top, low in pairwise(ROWS):
        for west, east in pairwise(COLUMNS):
            middle, side = (west + east) // 2, (top + low) // 2
            found.append([(west, top), (middle, top), (east, top), (east, side), (east, low),
                          (middle, low), (west, low)])  # fmt: skip
    return found


def map_a_place(page: Page) -> tuple[int, int, float]:
    """Return actions made, corners that must be set, and seconds, for the whole place."""
    began, page.taps, corners = time.monotonic(), 0, 0
    for outline in fields():
        page.draw("block", *outline, outline[0])
        corners += len(outline)
    page.take("tree")
    page.describe("species", "white oak")
    for tree in TREES:
        page.tap(*tree)
    corners += len(TREES)
    for tool, line in (("creek", CREEK), ("farm_road", ROAD)):
        page.draw(tool, *line, line[-1])
        corners += len(line)
    page.until(lambda: len(page.layer("features")) == 2)
    return page.taps, corners, time.monotonic() - began


def with_photo(folder: Path) -> Path:
    """Return the folder of a property that was just started with a photo."""
    photo = folder / "photo.tif"
    shutil.copyfile(clearing.sample_folder() / "aerial.tif", photo)
    start_empty(folder / "place", photo)
    return folder / "place"


def main() -> None:
    """Print what one run took."""
    with tempfile.TemporaryDirectory() as folder, open_browser(DESKTOP) as driver:
        place = with_photo(Path(folder))
        with drawing(place, driver) as page:
            page.until(lambda: page.all(".leaflet-tile-loaded"))
            actions, corners, seconds = map_a_place(page)
    more = f"{actions / corners - 1:.0%} more"
    told = f"{actions} actions for {corners} corners ({more}), {seconds:.0f} s by a machine's hand"
    sys.stdout.write(told + "\n")


if __name__ == "__main__":
    main()
