"""What the tests of the treatment room share."""

import pandas as pd
import pytest

from clearing import treatment
from tests.small_ground import Ground, small_ground


@pytest.fixture(scope="session")
def ground() -> Ground:
    """Return the small place."""
    return small_ground()


@pytest.fixture(scope="session")
def methods(ground: Ground) -> pd.DataFrame:
    """Return the methods of the small place with its rules beside them."""
    found = treatment.list_methods(
        ground.blocks, ground.strips, ground.zones, ground.stocking, ground.rates, ground.settings
    )
    rules = ground.zones[["zone_id", "flags", "fall_from", "power_from"]]
    order = ground.rates.sizes.set_index("size_class")["order"]
    return found.merge(rules, on="zone_id").assign(order=lambda t: t["size_class"].map(order))
