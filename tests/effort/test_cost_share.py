"""A program pays for what is mowed or done by its last date, and for nothing later."""

import datetime

import numpy as np
import pandas as pd
import pytest

from clearing import effort
from clearing.property import Settings

PLACE = pd.DataFrame(
    {
        "block_id": ["1", "2"],
        "goal": ["pasture", "woodland"],
        "area_ha": [2.0, 3.0],
        "mown": [True, False],
    },
    index=pd.Index(["1a", "2a"], name="strip_id"),
)


def paid(last: datetime.date | None, ready: int, **more: float) -> dict[str, float]:
    """Return what is paid back to a pasture mowed and woods done in one year, by option."""
    options = pd.DataFrame({
        "option_id": ["grass", "woods"], "strip_id": ["1a", "2a"],
        "mow_year": [ready, np.nan], "finish_year": [ready, ready],
    }).assign(**more)  # fmt: skip
    program = {"name": "county", "dollars_per_ha": 100.0, "finish_by": last}
    settings = Settings("x", "any", "us", 2027, 6, ("callery_pear",), cost_share=(program,))
    rows = effort.paid_back(options, PLACE, settings)
    assert (rows["year"] == ready + 1).all()
    return dict(zip(rows["option_id"], rows["amount"], strict=True))


@pytest.mark.parametrize("last", [None, datetime.date(2030, 12, 31), datetime.date(2031, 3, 1)])
def test_a_year_that_ends_in_time_is_paid(last):
    """100 dollars a hectare: 200 for two hectares of grass, 300 for three of woods."""
    assert paid(last, 2030) == {"grass": 200.0, "woods": 300.0}


@pytest.mark.parametrize("last", [datetime.date(2030, 3, 1), datetime.date(2030, 12, 30)])
def test_a_year_that_ends_after_the_last_date_is_not_paid(last):
    """Work of fall 2030 comes after 1 March 2030; without a season the whole year has to fit."""
    assert paid(last, 2030) == {}
    assert set(paid(last, 2029)) == {"grass", "woods"}


def test_a_mowing_whose_season_ends_in_time_is_paid():
    """Mowed by the end of February 2030 is in time for 1 March, mowed by October is not."""
    assert paid(datetime.date(2030, 3, 1), 2030, mow_season_end=2) == {"grass": 200.0}
    assert paid(datetime.date(2030, 3, 1), 2030, mow_season_end=10) == {}
    assert paid(datetime.date(2030, 10, 31), 2030, mow_season_end=10) == {"grass": 200.0}
    assert paid(datetime.date(2030, 10, 30), 2030, mow_season_end=10) == {}
