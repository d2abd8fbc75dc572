"""How long the forecast takes at size: draws, reach of seed, the years ahead.

Not part of the test run: timings are no claims that hold on every machine.
"""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from clearing import forecast
from clearing.treatment import list_methods
from tests.small_ground import small_ground

METHOD = "cut_and_spray:glyphosate_4"
STEP_M = 110.0


def laid_out(number: int, years: int):
    """Return ground of so many strips of 1.2 ha, twenty in a row, their methods and a plan."""
    ground = small_ground(years=years)
    one = list_methods(ground.blocks, ground.strips, ground.zones, ground.stocking,
                       ground.rates, ground.settings)  # fmt: skip
    like = ground.strips.set_index("strip_id").loc[["a", "b", "c"]]
    names = [f"s{i:03d}" for i in range(number)]
    strips = pd.DataFrame(
        {"strip_id": names, "block_id": [like["block_id"].iloc[i % 3] for i in range(number)],
         "area_ha": 1.2, "way_in_m": 50.0}
    )  # fmt: skip
    shapes = [shapely.box(0, 0, STEP_M, STEP_M)] * number
    shapes = [
        shapely.transform(shape, lambda xy, i=i: xy + STEP_M * np.array([i % 20, i // 20]))
        for i, shape in enumerate(shapes)
    ]
    methods = pd.concat(
        [
            one[one["strip_id"] == "abc"[i % 3]].assign(strip_id=name)
            for i, name in enumerate(names)
        ],
        ignore_index=True,
    )
    chosen = pd.DataFrame({"strip_id": names, "method_id": METHOD})
    chosen["start_year"] = ground.settings.first_year + np.arange(number) % 3 + 0.0
    return ground, gpd.GeoDataFrame(strips, geometry=shapes), methods, chosen


@pytest.fixture(scope="module")
def features():
    """Return an empty layer of features."""
    return gpd.GeoDataFrame({"kind": [], "geometry": []}, geometry="geometry")


@pytest.mark.benchmark(group="10,000 draws of 60 strips and 10 years")
def test_draws(benchmark):
    """10,000 draws of 60 strips and 10 years; design: 2 s on two cores."""
    ground, strips, methods, chosen = laid_out(60, 10)
    found = benchmark.pedantic(
        forecast.draw_ahead,
        (chosen, methods, strips, ground.blocks, ground.rates, ground.settings, 10_000),
        rounds=3,
    )
    assert found.follow.shape == (10_000, 60, 10)


@pytest.mark.benchmark(group="shares of seed between 200 strips")
def test_reach(benchmark, features):
    """Shares of seed of two species between 200 strips; brief: 1 s."""
    ground, strips, _, _ = laid_out(200, 8)
    found = benchmark.pedantic(
        forecast.seed_reach, (strips, features, ground.rates, ground.settings), rounds=3
    )
    assert found["from_id"].nunique() == 200


@pytest.mark.benchmark(group="every method and start of 200 strips over 8 years")
def test_years_ahead(benchmark):
    """Every method and start of 200 strips over 8 years."""
    ground, strips, methods, _ = laid_out(200, 8)
    found = benchmark.pedantic(
        forecast.look_ahead, (methods, strips, ground.blocks, ground.rates, ground.settings),
        rounds=2,
    )  # fmt: skip
    assert found["strip_id"].nunique() == 200


@pytest.mark.benchmark(group="a plan of 200 strips followed through with seed")
def test_plan_followed_through(benchmark, features):
    """One plan of 200 strips with seed crossing between them."""
    ground, strips, methods, chosen = laid_out(200, 8)
    reach = forecast.seed_reach(strips, features, ground.rates, ground.settings)
    found = benchmark.pedantic(
        forecast.follow_through,
        (chosen, methods, strips, ground.blocks, reach, ground.rates, ground.settings), rounds=3,
    )  # fmt: skip
    assert len(found)
