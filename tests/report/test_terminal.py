"""The terminal hears the same plan as the map, in a few lines or in figures."""

import json

import geopandas as gpd
import gpxpy
import pytest
from shapely.geometry import Point

from clearing import report


@pytest.fixture(scope="module")
def plan(small):
    """Return the summary of the small place."""
    return report.summarise(small)


def test_first_line_is_the_headline(plan):
    """The plan's sentence comes first, then hours, cash, and every year with work."""
    lines = report.summary_lines(plan)
    assert lines[0] == ("Plan", plan.headline)
    assert [label for label, _ in lines if label.isdigit()] == ["2027", "2028", "2029"]
    for label in ("Ground", "Callery pear", "Hours", "Product", "Cash", "Finish"):
        assert label in [one for one, _ in lines]


def test_proof_is_told_only_on_request(plan):
    """How near the plan is to the best stands in the lines when details are asked for."""
    labels = [label for label, _ in report.summary_lines(plan)]
    detailed = report.summary_lines(plan, detail=True)
    assert "Proof" not in labels
    assert detailed[-1] == ("Proof", plan.status_words)
    assert "more than 0.5 %" in plan.status_words


def test_figures_are_json_and_not_rounded(plan):
    """Figures for another program are numbers in the owner's units."""
    figures = json.loads(json.dumps(report.summary_figures(plan), allow_nan=False))
    low = 50 - (0.5 * 10**2 + 0.5 * (6**2 + 2**2 + 2**2)) ** 0.5  # as schedule.together says
    high = 50 + (0.5 * 15**2 + 0.5 * (9**2 + 3**2 + 3**2)) ** 0.5
    assert figures["hours"] == pytest.approx([50, low, high])
    assert figures["area"] == pytest.approx(19.768, abs=0.001)  # 8 ha, 2.47105 acres each


def test_new_plots_become_waypoints():
    """Points in degrees are written as named waypoints."""
    points = gpd.GeoDataFrame({"plot_id": ["1-1"]}, geometry=[Point(-85.7, 36.3)], crs="EPSG:4326")
    (point,) = gpxpy.parse(report.waypoints_gpx(points, "plot_id")).waypoints
    assert (point.name, point.latitude, point.longitude) == ("1-1", 36.3, -85.7)
