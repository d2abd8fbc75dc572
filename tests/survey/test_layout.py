"""How many plots, which block gets them, and where they lie."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing import land, survey
from clearing.rates import for_settings, load
from tests.zones.farm import at, blob, farm

PLOT_HA = np.pi * 11.3497**2 / 1e4


def look(*blocks: tuple[float, float, float]) -> pd.DataFrame:
    """Return what is known of blocks of (area_ha, mean, sd)."""
    return pd.DataFrame(blocks, columns=["area_ha", "mean", "sd"])


def layer(*shapes) -> gpd.GeoDataFrame:
    """Return blocks of these shapes."""
    names = [str(i + 1) for i in range(len(shapes))]
    return gpd.GeoDataFrame({"block_id": names}, geometry=list(shapes), crs=32616)


def test_the_number_of_plots_is_that_of_the_formula():
    """One block, cv 1, 20 % error, 90 % sure: (t cv / E)^2 = 70 plots, less for the small block."""
    whole = survey.allocate_plots(look((4000.0, 5.0, 5.0)), 0.2, 0.9, PLOT_HA)
    small = survey.allocate_plots(look((4.0, 5.0, 5.0)), 0.2, 0.9, PLOT_HA)
    assert whole.tolist() == [survey.plots_needed(1.0, 0.2, 0.9)]
    assert small.tolist() == [survey.plots_needed(1.0, 0.2, 0.9, 4.0 / PLOT_HA)]
    assert small[0] < whole[0]


def test_the_uneven_block_gets_more_and_each_gets_two():
    """Neyman: of two alike blocks the one with thrice the spread gets thrice the plots."""
    found = survey.allocate_plots(look((100, 5, 3), (100, 5, 9), (0.1, 5, 3)), 0.1, 0.9, PLOT_HA)
    assert found[1] == pytest.approx(3 * found[0], abs=2)
    assert found[2] == 2


def test_a_visited_place_tells_its_own_spread():
    """Blocks whose plots are alike need fewer plots than the first guess, uneven ones more."""
    shape = at(shapely.box(0, 0, 600, 400))
    plots = [{"plot_id": f"p{i}", "geometry": at(shapely.Point(50 + 50 * i, 200)), "radius_m": 10.0,
              "visited": "yes"} for i in range(10)]  # fmt: skip
    sds = {}
    for word, counts in (("even", [9, 10] * 5), ("uneven", [0] * 9 + [95])):
        tally = [{"plot_id": f"p{i}", "species": "callery_pear", "dbh_in": 2.0, "count": n}
                 for i, n in enumerate(counts)]  # fmt: skip
        place = farm([{"block_id": "1", "geometry": shape}], plots, tally,
                     settings={"targets": ("callery_pear",)})  # fmt: skip
        ground = land.lay_out(place, for_settings(place.settings))
        rates = for_settings(place.settings)
        sds[word] = survey.first_look(ground.blocks, ground.plots, place.tally, rates, PLOT_HA)
    assert sds["even"]["mean"][0] == pytest.approx(sds["uneven"]["mean"][0])
    assert sds["even"]["sd"][0] < 0.7 * sds["even"]["mean"][0]
    assert sds["uneven"]["sd"][0] > 1.3 * sds["uneven"]["mean"][0]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 25))
def test_plots_lie_inside_their_block_apart_and_are_numbered_once(seed, number):
    """Any crooked block: so many plots, each inside, no two at one place, ids and order unique."""
    shape = blob(seed)
    placed = survey.place_plots(layer(shape), pd.Series([number]), seed)
    assert len(placed) == placed["plot_id"].nunique() == number
    assert placed["order"].tolist() == list(range(1, number + 1))
    assert shapely.intersects(shape, placed.geometry.to_numpy()).all()
    assert len({(round(p.x, 6), round(p.y, 6)) for p in placed.geometry}) == number


def test_the_same_seed_lays_the_same_plots_and_another_does_not():
    """Deterministic, and random."""
    block = layer(shapely.box(0, 0, 300, 100))
    one, two, other = (survey.place_plots(block, pd.Series([9]), seed) for seed in (4, 4, 5))
    assert one.geometry.geom_equals(two.geometry).all()
    assert not one.geometry.geom_equals(other.geometry).any()


def test_new_plots_take_no_name_that_is_used():
    """Ids that stand in the layer already are passed over."""
    block = layer(shapely.box(0, 0, 300, 100))
    placed = survey.place_plots(block, pd.Series([3]), 1, taken=["1-1", "1-3"])
    assert placed["plot_id"].tolist() == ["1-2", "1-4", "1-5"]


def test_every_part_of_a_block_is_looked_at():
    """A long block in four quarters: of 8 plots each quarter gets two."""
    block = layer(shapely.box(0, 0, 800, 50))
    x = survey.place_plots(block, pd.Series([8]), 3, 0.1).geometry.x
    assert np.histogram(x, [0, 200, 400, 600, 800])[0].tolist() == [2, 2, 2, 2]


def test_the_walk_from_plot_to_plot_is_short():
    """In a square of 30 plots the walk is well below one in random order (A3: 0.7 sqrt(n A))."""
    placed = survey.place_plots(layer(shapely.box(0, 0, 400, 400)), pd.Series([30]), 2)
    xy = placed.geometry.get_coordinates().to_numpy()
    walk = np.hypot(*np.diff(xy, axis=0).T).sum()
    assert walk < 1.1 * np.sqrt(30 * 400**2)


def test_a_first_plan_of_plots_needs_nothing_counted():
    """Without a visited plot the spread is the first guess times the guessed mean."""
    place = farm([{"block_id": "1", "geometry": at(shapely.box(0, 0, 200, 200)),
                   "density_guess": "thick"}])  # fmt: skip
    ground = land.lay_out(place, load())
    found = survey.first_look(ground.blocks, ground.plots, place.tally, load(), PLOT_HA, cv=1.5)
    assert found["mean"][0] == pytest.approx(1500 * PLOT_HA, rel=1e-6)
    assert found["sd"][0] == pytest.approx(1.5 * found["mean"][0])
