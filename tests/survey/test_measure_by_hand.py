"""A measure's total, its error, and when it is refused, by hand on small tables."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from clearing.survey.measure import best_measure, offer_measures

PHOTO = [10.0, 20, 30, 40, 0, 25, 25, 50]  # the first five with plots
PEARS = [22.0, 38, 63, 77, 0]


def blocks_of(number: int, area: float = 1.0, **measures: list[float]) -> pd.DataFrame:
    """Return as many blocks of one size."""
    return pd.DataFrame({"block_id": [str(i) for i in range(number)], "area_ha": area, **measures})


def seen(stems: list[float], se: float = 0.0) -> pd.DataFrame:
    """Return stems a hectare of the blocks with plots, the first ones."""
    names = [str(i) for i in range(len(stems))]
    return pd.DataFrame({"block_id": names, "stems_per_ha": stems, "se": se, "basis": "plots"})


def test_errors_inside_blocks_come_on_top_of_those_between():
    """Four of six blocks of 3 ha: 36 / 4 (1 - 4 / 6) s2 and 6 / 4 x 4 x (3 x 3)^2."""
    y = 3.0 * np.array([10, 14, 9, 11])
    row = offer_measures(blocks_of(6, 3.0), seen([10, 14, 9, 11], 3.0)).iloc[0]
    se = np.sqrt(9 / 3 * y.var(ddof=1) + 1.5 * 4 * 81)
    assert [row["total"], row["se"], row["df"]] == pytest.approx([198, se, 3])
    half = stats.t.ppf(0.95, 3) * se
    assert [row["low"], row["high"]] == pytest.approx([198 - half, 198 + half])
    assert not row["helps"]


def test_an_interval_of_stems_does_not_reach_below_nought():
    """Two blocks far apart: the low end is nought."""
    assert offer_measures(blocks_of(6), seen([0.0, 100.0])).iloc[0]["low"] == 0


def test_the_measure_that_helps_carries_its_ratio_and_spread():
    """200 pears on 100 crowns: 2; mean of (y - 2 x)^2 / x over the four with crowns, less one."""
    found = best_measure(blocks_of(8, photo_count=PHOTO), seen(PEARS))
    assert (found.basis, found.ratio, found.seen) == ("photo", 2.0, 100.0)
    assert found.spread == pytest.approx((4 / 10 + 4 / 20 + 9 / 30 + 9 / 40) / 3)
    assert found.size["7"] == 50


def test_cover_is_taken_as_hectares_under_crowns():
    """40 % of 2 ha are 0.8 ha."""
    found = best_measure(blocks_of(8, 2.0, cover_pct=PHOTO), seen(PEARS))
    assert (found.basis, found.size["3"]) == ("cover", pytest.approx(0.8))


def test_of_two_measures_the_surer_one_is_taken():
    """Crowns that follow the pears nearly beat cover that follows them roughly, and turned."""
    rough = [14.0, 16, 34, 36, 2, 25, 25, 50]
    both = blocks_of(8, photo_count=PHOTO, cover_pct=rough)
    assert best_measure(both, seen(PEARS)).basis == "photo"
    turned = blocks_of(8, photo_count=rough, cover_pct=PHOTO)
    assert best_measure(turned, seen(PEARS)).basis == "cover"


@pytest.mark.parametrize(("number", "needed"), [(3, {"ratio": 4, "regression": 5}),
                                                (4, {"regression": 5})])  # fmt: skip
def test_too_few_blocks_with_plots_are_told(number, needed):
    """The ratio asks for four blocks, the regression for five."""
    offers = offer_measures(blocks_of(8, photo_count=PHOTO), seen(PEARS[:number]))
    offers = offers[offers["measure"] == "photo_count"].set_index("estimator")
    for name, least in needed.items():
        assert f"{number} blocks with plots, {least} are needed" in offers.loc[name, "why"]
        assert not offers.loc[name, "helps"]
    assert bool(offers.loc["ratio", "helps"]) is ("ratio" not in needed)


def test_a_measure_that_is_alike_in_all_blocks_has_no_slope():
    """The same count everywhere: the regression is refused, the ratio is that of ground."""
    alike = blocks_of(8, photo_count=[20.0] * 8)
    offers = offer_measures(alike, seen(PEARS)).set_index(["measure", "estimator"])
    line = offers.loc[("photo_count", "regression")]
    assert "nought, or alike" in line["why"]
    assert np.isnan(line["se"])
    assert "standard error 100 %" in offers.loc[("photo_count", "ratio"), "why"]
    assert best_measure(alike, seen(PEARS)) is None


def test_a_measure_of_nought_or_with_a_blank_is_none():
    """No crown anywhere, or one block without a count: no measure."""
    for count in ([0.0] * 8, [*PHOTO[:7], np.nan]):
        assert best_measure(blocks_of(8, photo_count=count), seen(PEARS)) is None
    assert best_measure(blocks_of(8), seen(PEARS)) is None
