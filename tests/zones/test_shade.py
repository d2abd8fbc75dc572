"""How much of a strip lies under trees that stay."""

import geopandas as gpd
import pytest
import shapely

from clearing.zones.shade import with_shade

STRIPS = gpd.GeoDataFrame(
    {"strip_id": ["a", "b"]}, geometry=[shapely.box(0, 0, 100, 10), shapely.box(200, 0, 300, 10)]
)


def covered(*crowns: tuple[float, float]) -> list[float]:
    """Return the percent of both strips under crowns: where they stand along the strips, width."""
    trees = gpd.GeoDataFrame(
        {"crown_m": [width for _, width in crowns]},
        geometry=[shapely.Point(x, 5) for x, _ in crowns],
    )
    return with_shade(STRIPS, trees)["keep_canopy_pct"].tolist()


def test_crowns_that_lie_over_each_other_count_once():
    """One crown of 8 m is 50 m2 of 1,000, and as much twice on one spot; b has none."""
    once = covered((50, 8.0))
    assert once == pytest.approx([5.03, 0.0], abs=0.05)
    assert covered((50, 8.0), (50, 8.0)) == pytest.approx(once)


def test_a_crown_that_is_wider_than_the_strip_fills_it_at_most():
    """A crown of 300 m covers all of it; no tree covers nothing."""
    assert covered((50, 300.0)) == pytest.approx([100.0, 0.0])
    assert covered() == [0.0, 0.0]
