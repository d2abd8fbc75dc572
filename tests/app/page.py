"""Serve the drawing page of a folder, and work on it as an owner does: taps, keys, fields."""

import contextlib
import re
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, cast

import geopandas as gpd
import pyogrio
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.actions.pointer_input import PointerInput
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.remote.webelement import WebElement

from clearing.app.serving import prepared
from tests.browser import OWN, outside_requests, page_errors

PATIENCE_S = 20.0


@contextlib.contextmanager
def here(folder: Path) -> Iterator[str]:
    """Give the address of a folder's drawing page, served by a thread of this process."""
    with prepared(folder) as serving:
        thread = threading.Thread(target=serving.run, daemon=True)
        thread.start()
        while not serving.answers:
            time.sleep(0.01)
        try:
            yield serving.address
        finally:
            serving.stop()
            thread.join(PATIENCE_S)


@contextlib.contextmanager
def served(folder: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Give the address of a folder's drawing page and the process that serves it."""
    process = subprocess.Popen(
        [sys.executable, "-m", "clearing", "draw", str(folder), "--no-show"],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    try:
        said = []
        for line in process.stdout or []:
            said.append(line)
            if found := re.search(r"http://\S+", line):
                yield found.group(0), process
                break
        else:
            raise AssertionError(f"no address was told: {''.join(said)}")
    finally:
        process.kill()
        process.wait()
        if process.stdout:
            process.stdout.close()


class Found:
    """An element that is looked up anew at each use: a card made anew between takes none away."""

    def __init__(self, page: "Page", mark: str) -> None:
        self._page, self._mark = page, mark
        self._look()

    def _look(self) -> WebElement:
        return self._page.driver.find_element(By.CSS_SELECTOR, self._mark)

    def _use(self, use: Callable[[WebElement], object]) -> Any:
        end = time.monotonic() + PATIENCE_S
        while True:
            try:
                return use(self._look())
            except StaleElementReferenceException:
                if time.monotonic() > end:
                    raise

    @property
    def text(self) -> str:
        """Its words."""
        return str(self._use(lambda one: one.text))

    def get_attribute(self, name: str) -> str | None:
        """Return what an attribute says."""
        return cast("str | None", self._use(lambda one: one.get_attribute(name)))

    def is_displayed(self) -> bool:
        """Return whether it can be seen."""
        return bool(self._use(lambda one: one.is_displayed()))

    def send_keys(self, *keys: str) -> None:
        """Type into it; nothing was typed yet where it was found gone."""
        self._use(lambda one: one.send_keys(*keys))

    def click(self) -> None:
        """Press it."""
        self._use(lambda one: one.click())


class Page:
    """A browser with the page open; ``taps`` counts what a hand did."""

    def __init__(self, driver: WebDriver, address: str, folder: Path) -> None:
        self.driver, self.folder, self.taps = driver, folder, 0
        self.origin = address.split("/?")[0]
        for log in ("performance", "browser"):
            driver.get_log(log)  # what an earlier page left there
        driver.get(address)
        self.until(lambda: self.find("#card h1, #card h2"))

    def until(self, holds: Callable[[], object], what: str = "") -> object:
        """Return what holds at last; fail when it does not in good time."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            with contextlib.suppress(Exception):
                if found := holds():
                    return found
            time.sleep(0.03)
        raise AssertionError(f"in vain waited for {what or holds}")

    def go(self) -> None:
        """Say where an empty place lies, and return when one can draw."""
        self.find("#start-place").send_keys("38.12345, -84.54321")
        self.press("#start-go")
        self.until(lambda: self.shown('[data-tool="block"]'))

    def find(self, mark: str) -> Found:
        """Return the first element of a mark."""
        return Found(self, mark)

    def all(self, mark: str) -> list[WebElement]:
        """Return all elements of a mark."""
        return self.driver.find_elements(By.CSS_SELECTOR, mark)

    def shown(self, mark: str) -> bool:
        """Return whether an element is there and can be seen."""
        script = "return Boolean(document.querySelector(arguments[0])?.offsetParent)"
        return bool(self.driver.execute_script(script, mark))

    def text(self, mark: str) -> str:
        """Return the words of an element."""
        return self.find(mark).text

    def press(self, mark: str) -> None:
        """Press a button."""
        self.taps += 1

        def pressed() -> bool:
            middle = "document.querySelector(arguments[0]).scrollIntoView({block: 'center'})"
            self.driver.execute_script(middle, mark)
            self.find(mark).click()
            return True

        self.until(pressed, mark)

    def tap(self, x: int, y: int, touch: bool = False) -> None:
        """Tap on the ground at a spot of the window."""
        self.taps += 1
        pointer = PointerInput("touch", "finger") if touch else PointerInput("mouse", "hand")
        actions = ActionBuilder(self.driver, mouse=pointer, duration=0)
        actions.pointer_action.move_to_location(x, y)
        actions.pointer_action.pointer_down()
        actions.pointer_action.pointer_up()
        actions.perform()

    def drag(self, start: tuple[int, int], end: tuple[int, int]) -> None:
        """Drag from one spot of the window to another."""
        self.taps += 1
        actions = ActionBuilder(self.driver, mouse=PointerInput("mouse", "hand"), duration=40)
        actions.pointer_action.move_to_location(*start)
        actions.pointer_action.pointer_down()
        for part in (0.3, 0.6, 1.0):
            spot = [round(a + (b - a) * part) for a, b in zip(start, end, strict=True)]
            actions.pointer_action.move_to_location(*spot)
        actions.pointer_action.pointer_up()
        actions.perform()

    def keys(self, *keys: str) -> None:
        """Type on the keyboard, wherever the focus is."""
        ActionChains(self.driver).send_keys(*keys).perform()

    def revision(self) -> int:
        """Return the revision that the page shows."""
        return int(self.find("body").get_attribute("data-revision") or 0)

    def saved(self, since: int) -> None:
        """Return when a later revision than this one was saved and is shown."""
        self.until(
            lambda: (
                self.revision() > since
                and self.find("#status").get_attribute("data-state") == "saved"
            ),
            "a saved stroke",
        )

    def still(self) -> None:
        """Return when the ground no longer moves."""
        place = "return document.querySelector('.leaflet-map-pane').style.transform"
        last = ""
        while (now := self.driver.execute_script(place)) != last:
            last = now
            time.sleep(0.12)

    def draw(self, tool: str, *spots: tuple[int, int], touch: bool = False) -> None:
        """Draw a shape corner by corner with a tool that is taken up first unless it is in hand."""
        self.take(tool)
        since = self.revision()
        for spot in spots:
            self.tap(*spot, touch=touch)
        self.saved(since)

    def whole(self) -> None:
        """Go to the whole place's card from wherever one is."""
        if self.find("body").get_attribute("data-card") != "whole":
            self.press("#stop" if self.shown("#stop") else "#card .back")

    def take(self, tool: str) -> None:
        """Take up a tool, unless it is in hand."""
        body = self.find("body")
        if body.get_attribute("data-card") == "tool" and body.get_attribute("data-tool") == tool:
            return
        if not self.shown("#stop"):
            self.whole()
        if not self.shown(f'[data-tool="{tool}"]'):
            self.press("#card details.close summary")
        self.press(f'[data-tool="{tool}"]')

    def describe(self, column: str, words: str) -> None:
        """Type into a field of the open card and leave it."""
        self.fill(f'[data-column="{column}"]', words)

    def fill(self, mark: str, words: str) -> None:
        """Type into a field, or choose in it, and leave it."""
        self.taps += 1
        script = (
            "const field = document.querySelector(arguments[0]);"
            "field.focus(); field.select?.(); return field.tagName"
        )
        if self.driver.execute_script(script, mark) == "SELECT":
            self.find(f'{mark} option[value="{words}"]').click()
        else:
            self.keys(words)
        self.driver.execute_script("document.activeElement.blur()")

    def layer(self, name: str) -> gpd.GeoDataFrame:
        """Return a layer as it stands in the file."""
        return pyogrio.read_dataframe(self.folder / "land.gpkg", layer=name)

    def clean(self) -> None:
        """Return nothing; fail when the page asked outside or had an error."""
        own = (*OWN, self.origin)
        outside = [
            address for address in outside_requests(self.driver) if not address.startswith(own)
        ]
        assert not outside, outside
        wrong = [line for line in page_errors(self.driver) if "status of 4" not in line]
        assert not wrong, wrong


@contextlib.contextmanager
def drawing(folder: Path, driver: WebDriver) -> Iterator[Page]:
    """Give the page of a folder in a browser; at the end it asked for nothing outside."""
    with here(folder) as address:
        page = Page(driver, address, folder)
        yield page
        page.clean()
        driver.get("about:blank")
