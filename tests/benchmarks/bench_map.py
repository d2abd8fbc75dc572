"""How long the map takes to open with 50,000 trees that stay, beside a plain folium map of them.

Not part of the test run: timings are no claims that hold on every machine. Wished: one second from
the start of the navigation until the map is drawn; what is timed here holds the browser's driver,
too. The reference is folium's own way: the same trees as CircleMarkers on one canvas, with the same
Leaflet out of the installed package, so that neither asks a network.
"""

from dataclasses import replace

import folium
import geopandas as gpd
import numpy as np
import pytest

from clearing import report
from clearing.report.assets import asset
from clearing.report.map_page import GroundMap, Page, Verbatim
from tests.browser import open_browser, page_errors
from tests.report.map_hand import degrees
from tests.report.small_place import small_results

TREES, ROUNDS = 50_000, 5
DRAWN = """
const done = arguments[0];
requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(performance.now()))));
"""


def trees_everywhere() -> gpd.GeoDataFrame:
    """Return the trees: places, crowns and species drawn at random."""
    place, draw = small_results(), np.random.default_rng(1)
    return gpd.GeoDataFrame(
        {
            "tree_id": [f"T{number}" for number in range(TREES)], "crown_from": "measured",
            "species": draw.choice(["white_oak", "black_cherry", "persimmon"], TREES),
            "dbh_cm": draw.uniform(10, 120, TREES), "crown_m": draw.uniform(3, 20, TREES),
            "block_id": "1",
        },
        geometry=gpd.points_from_xy(draw.uniform(0, 300, TREES), draw.uniform(0, 400, TREES)),
        crs=place.grid,
    )  # fmt: skip


def plain_map(trees: gpd.GeoDataFrame) -> str:
    """Return folium's own map of the trees, one CircleMarker each, on a canvas."""
    ground = GroundMap(list(degrees(150, 200)))
    ground.options["prefer_canvas"] = True
    page = Page()
    page.add_child(ground)
    page.header.add_child(Verbatim(f"<style>{asset('leaflet.css')}</style>"), name="style")
    page.header.add_child(Verbatim(f"<script>{asset('leaflet.js')}</script>"), name="leaflet")
    started = "<script>function clearingMap(map) {}</script>"
    page.header.add_child(Verbatim(started), name="started")
    page.header.add_child(Verbatim("<style>#place{height:800px}</style>"), name="high")
    for tree in trees.to_crs("EPSG:4326").itertuples():
        where = (tree.geometry.y, tree.geometry.x)
        folium.CircleMarker(where, radius=tree.crown_m / 2, tooltip=tree.species).add_to(ground)
    return str(page.render())


def opened(driver, address: str) -> float:
    """Return the milliseconds from the start of the navigation until the map was drawn."""
    driver.get(address)
    return float(driver.execute_async_script(DRAWN))


def timed(benchmark, path, page: str, drawn: str) -> list[float]:
    """Return the milliseconds of each opening; the page drew something and had no error."""
    benchmark.group = "map with 50,000 keep trees, from its address to the year drawn"
    path.write_text(page, encoding="utf-8")
    benchmark.extra_info["megabytes"] = round(path.stat().st_size / 1e6, 2)
    times = []
    with open_browser() as driver:
        driver.set_script_timeout(120)
        benchmark.pedantic(
            lambda: times.append(opened(driver, path.as_uri())),
            setup=lambda: driver.get("about:blank"), rounds=ROUNDS,
        )  # fmt: skip
        assert page_errors(driver) == []
        assert driver.execute_script(f"return {drawn}") == TREES
    benchmark.extra_info |= {"figures": [one / 1000 for one in times], "wished": "1 s, 1 MB",
                             "reference": "the same trees on a plain folium map"}  # fmt: skip
    return times


@pytest.fixture(scope="module")
def trees() -> gpd.GeoDataFrame:
    """Return the trees."""
    return trees_everywhere()


def test_ours(benchmark, trees, tmp_path):
    """The map with its panel, packed trees and stamps opens with all of them."""
    page = report.map_html(replace(small_results(), keep_trees=trees))
    count = "JSON.parse(document.getElementById('plan-data').textContent).trees.count"
    assert len(timed(benchmark, tmp_path / "map.html", page, count)) == ROUNDS


def test_reference_of_the_map(benchmark, trees, tmp_path):
    """The reference draws the same number of trees."""
    layers = "Object.values(map_place._layers).filter(one => one instanceof L.CircleMarker).length"
    times = timed(benchmark, tmp_path / "plain.html", plain_map(trees), layers)
    assert len(times) == ROUNDS
