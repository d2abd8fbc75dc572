"""Start a headless Chromium for tests, and list what a page asked for outside itself."""

import atexit
import contextlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.remote.webdriver import WebDriver

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--disable-dev-shm-usage", "--hide-scrollbars",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
)  # fmt: skip
FORGET: dict[str, dict[str, str]] = {  # what one test kept or was allowed, before the next
    "Storage.clearDataForOrigin": {"origin": "*", "storageTypes": "all"},
    "Network.clearBrowserCookies": {},
    "Network.clearBrowserCache": {},
    "Browser.resetPermissions": {},
}
OWN = ("file:", "data:", "blob:", "chrome:", "about:")
DESKTOP, PHONE = (1280, 860), (390, 844)
# moves the page's clock on by a day, and gives the day that it is then
TOMORROW = """
const real = window.Date;
window.Date = class extends real {
  constructor(...given) { super(...(given.length ? given : [real.now() + 86400000])); }
};
return logToday();
"""


def missing_browser() -> str:
    """Return what is missing for tests in a browser, blank when all is there."""
    names = {"chromium": ("chromium", "chromium-browser"), "chromedriver": ("chromedriver",)}
    gone = [name for name, ways in names.items() if not any(shutil.which(way) for way in ways)]
    return f"{' and '.join(gone)} not installed" if gone else ""


_IDLE: list[tuple[WebDriver, str]] = []  # browsers that nobody uses now, with their own window


@contextlib.contextmanager
def open_browser(size: tuple[int, int] = DESKTOP) -> Iterator[WebDriver]:
    """Give a browser with a window of this size; skip without one, but fail where CI=true.

    Each time a new tab in which nothing is kept and nothing is allowed, in a program that is
    started once and waits between the tests.
    """
    gone = missing_browser()
    if gone and os.environ.get("CI") == "true":
        pytest.fail(f"tests in a browser must run here: {gone}")
    if gone:
        pytest.skip(f"no test in a browser: {gone}")
    driver, home = _IDLE.pop() if _IDLE else _started()
    try:
        driver.switch_to.window(home)
        driver.switch_to.new_window("tab")
        driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": size[0], "height": size[1], "deviceScaleFactor": 1,
             "mobile": size[0] < 600},
        )  # fmt: skip
        driver.execute_cdp_cmd("Emulation.setFocusEmulationEnabled", {"enabled": True})
        for kind in ("performance", "browser"):
            driver.get_log(kind)
        yield driver
        ActionBuilder(driver).clear_actions()  # no finger or key of this test stays down
        for handle in set(driver.window_handles) - {home}:
            driver.switch_to.window(handle)
            driver.close()
        driver.switch_to.window(home)
        for command, given in FORGET.items():
            driver.execute_cdp_cmd(command, given)
    except BaseException:  # whatever went wrong, its browser is not used again
        driver.quit()
        raise
    _IDLE.append((driver, home))


def _started() -> tuple[WebDriver, str]:
    """Return a browser that was started, and its own window; it ends with the tests."""
    options = Options()
    options.binary_location = shutil.which("chromium") or shutil.which("chromium-browser") or ""
    desk = tempfile.TemporaryDirectory()
    for flag in (*FLAGS, f"--user-data-dir={desk.name}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    atexit.register(desk.cleanup)
    atexit.register(driver.quit)
    return driver, driver.current_window_handle


def outside_requests(driver: WebDriver) -> list[str]:
    """Return every address the page asked for that is not inside it."""
    asked = []
    for entry in driver.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            asked.append(message["params"]["request"]["url"])
    return [address for address in asked if not address.startswith(OWN)]


def page_errors(driver: WebDriver) -> list[str]:
    """Return the errors on the page's console."""
    return [row["message"] for row in driver.get_log("browser") if row["level"] == "SEVERE"]
