"""Open a map in a browser, and tap it where things stand on the ground."""

import contextlib
from collections.abc import Iterator
from pathlib import Path

from pyproj import Transformer
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.actions.pointer_input import PointerInput
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webdriver import WebDriver

from clearing import report
from clearing.property import Results
from clearing.report.facts import Summary
from clearing.report.picture import PhotoPicture
from tests.browser import DESKTOP, open_browser, outside_requests, page_errors
from tests.report.small_place import GRID

# true once nothing has moved for so many pictures in a row: no transition, no map on its way
AT_REST = """
const done = arguments[arguments.length - 1], from = performance.now();
let still = 0;
const look = () => {
  const moving = document.getAnimations().some(one => one.playState === 'running')
    || document.querySelector('.leaflet-zoom-anim, .leaflet-pan-anim');
  still = moving ? 0 : still + 1;
  if (still > 8 || performance.now() - from > 3000) done(true);
  else requestAnimationFrame(look);
};
setTimeout(look, 30);
"""
MAP = "map_place"  # the name that the page gives its map
TO_DEGREES = Transformer.from_crs(GRID, "EPSG:4326", always_xy=True)
PLACE_OF = f"""
const at = {MAP}.latLngToContainerPoint([arguments[0], arguments[1]]);
const box = {MAP}.getContainer().getBoundingClientRect();
return [Math.round(at.x + box.x), Math.round(at.y + box.y)];
"""


def write_map(
    folder: Path,
    results: Results,
    picture: PhotoPicture | None = None,
    summary: Summary | None = None,
) -> str:
    """Return the address of a map written to disk."""
    path = folder / "map.html"
    path.write_text(report.map_html(results, picture, summary), encoding="utf-8")
    return path.as_uri()


@contextlib.contextmanager
def open_map(address: str, size: tuple[int, int] = DESKTOP) -> Iterator[WebDriver]:
    """Give a browser with the map open; it asked for nothing outside and met no error."""
    with open_browser(size) as driver:
        driver.get(address)
        yield driver
        assert outside_requests(driver) == []
        assert page_errors(driver) == []


def settle(driver: WebDriver) -> None:
    """Wait until the page has come to rest: a move of the map takes 0.25 s, the sheet 0.18 s."""
    driver.execute_async_script(AT_REST)


def degrees(x: float, y: float) -> tuple[float, float]:
    """Return latitude and longitude of a point of the small place [m]."""
    lng, lat = TO_DEGREES.transform(x, y)
    return lat, lng


def on_screen(driver: WebDriver, x: float, y: float) -> tuple[int, int]:
    """Return where a point of the small place [m] lies in the window [px]."""
    across, down = driver.execute_script(PLACE_OF, *degrees(x, y))
    return across, down


def tap(driver: WebDriver, at: tuple[int, int], kind: str = "mouse") -> None:
    """Press a place of the window with the mouse or with a finger (touch)."""
    hand = ActionBuilder(driver, mouse=PointerInput(kind, f"a {kind}"))
    hand.pointer_action.move_to_location(*at)
    hand.pointer_action.pointer_down().pointer_up()
    hand.perform()
    settle(driver)


def tap_ground(driver: WebDriver, x: float, y: float, kind: str = "mouse") -> None:
    """Press a point of the small place [m]."""
    tap(driver, on_screen(driver, x, y), kind)


def key(driver: WebDriver, letters: str) -> None:
    """Press a key wherever the focus is."""
    ActionChains(driver).send_keys(letters).perform()


def come_near(driver: WebDriver, x: float, y: float) -> None:
    """Bring a point of the small place [m] near, as with two fingers, to the middle of the map."""
    there = f"{MAP}.setView([arguments[0], arguments[1]], 18, {{animate: false}})"
    near = f"return {MAP}.getCenter().distanceTo([arguments[0], arguments[1]]) < 1"
    for _ in range(20):  # on a slow machine the page may still be fitting itself to the window
        driver.execute_script(there, *degrees(x, y))
        settle(driver)
        if driver.execute_script(near, *degrees(x, y)):
            return


def click(driver: WebDriver, mark: str) -> None:
    """Press the first thing that a selector finds, though it lies under something."""
    driver.execute_script("document.querySelector(arguments[0]).click()", mark)
    settle(driver)


def text(driver: WebDriver, mark: str) -> str:
    """Return the words of the first thing that a selector finds."""
    return driver.find_element(By.CSS_SELECTOR, mark).text


def seen(driver: WebDriver, mark: str) -> bool:
    """Return whether anything that a selector finds is displayed."""
    return any(one.is_displayed() for one in driver.find_elements(By.CSS_SELECTOR, mark))


def back(driver: WebDriver) -> None:
    """Close whatever card, note or key is open, and show the whole place."""
    driver.execute_script("document.querySelector('[data-back]').click()")
    click(driver, "#home")
