"""What the tests of the effort room share."""

from dataclasses import dataclass

import pandas as pd
import pytest

from clearing import effort, forecast, treatment
from tests.small_ground import Ground, small_ground


@dataclass(frozen=True)
class Priced:
    """The small place, walked up to its options."""

    ground: Ground
    methods: pd.DataFrame
    futures: pd.DataFrame
    options: pd.DataFrame
    visits: pd.DataFrame


def priced(ground: Ground) -> Priced:
    """Return a place walked from its stocking to its options."""
    strips, blocks = ground.strips, ground.blocks
    rates, settings = ground.rates, ground.settings
    methods = treatment.list_methods(blocks, strips, ground.zones, ground.stocking, rates, settings)
    futures = forecast.look_ahead(methods, strips, blocks, rates, settings)
    found = effort.price_options(methods, futures, strips, blocks, rates, settings)
    return Priced(ground, methods, futures, *found)


@pytest.fixture(scope="session")
def walked() -> Priced:
    """Return the small place with its options."""
    return priced(small_ground())


@pytest.fixture(scope="session")
def walk():
    """Return the way from a place to its options, for places that a test makes."""
    return priced
