"""Strips are priced a few at a time, and what is kept of them does not depend on how many."""

import pandas as pd
import pytest

from clearing import ahead, effort, forecast, treatment
from tests.records.test_log import log
from tests.small_ground import small_ground, stand_on


@pytest.fixture(scope="module")
def land():
    """Return the small place, where it stands, and its methods."""
    ground = small_ground(years=4)
    methods = treatment.list_methods(
        ground.blocks, ground.strips, ground.zones, ground.stocking, ground.rates, ground.settings
    )
    standing, strips = stand_on(ground, log())
    return ground, standing, (methods, strips, ground.blocks)


@pytest.fixture(scope="module")
def together(land):
    """Return all strips priced at once."""
    ground, standing, known = land
    return ahead.price_ahead(known, standing, ground.rates, standing.settings)


def test_one_at_a_time_gives_the_same_options_and_visits(land, together, monkeypatch):
    """Options, visits, quiet years and what is told of labels are those of all at once."""
    ground, standing, known = land
    monkeypatch.setattr(ahead, "AT_A_TIME", 1)
    apart = ahead.price_ahead(known, standing, ground.rates, standing.settings)
    pd.testing.assert_frame_equal(apart.options, together.options)
    key = ["option_id", "visit_id"]
    one, all_ = (table.sort_values(key, ignore_index=True)
                 for table in (apart.visits, together.visits))  # fmt: skip
    pd.testing.assert_frame_equal(one, all_)
    assert apart.options.attrs["removed"] == together.options.attrs["removed"]
    pd.testing.assert_series_equal(apart.calm.small.sort_index(), together.calm.small.sort_index())
    pd.testing.assert_series_equal(
        apart.calm.upkeep_after.sort_index(), together.calm.upkeep_after.sort_index()
    )


def test_kept_futures_are_those_of_leaving_strips_alone(land, together):
    """As the forecast of every way has them; what else is asked of it is told beside them."""
    ground, _, (methods, strips, blocks) = land
    every = forecast.look_ahead(methods, strips, blocks, ground.rates, ground.settings)
    alone = every[every["method_id"] == "not_now"].reset_index(drop=True)
    pd.testing.assert_frame_equal(together.futures, alone)
    calm = effort.calm_of(every, ground.settings.first_year)
    pd.testing.assert_series_equal(together.calm.small, calm.small)
    assert len(together.mowed) == len(forecast.mowed_years(every))
