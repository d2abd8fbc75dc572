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
    assert not line["helps"]
    assert "standard error 100 %" in offers.loc[("photo_count", "ratio"), "why"]
    assert best_measure(alike, seen(PEARS)) is None


def test_a_measure_of_nought_or_with_a_blank_is_none():
    """No crown anywhere, or one block without a count: no measure."""
    for count in ([0.0] * 8, [*PHOTO[:7], np.nan]):
        blocks = blocks_of(8, photo_count=count)
        assert offer_measures(blocks, seen(PEARS))["measure"].tolist() == ["ground"]
        assert best_measure(blocks, seen(PEARS)) is None
    assert best_measure(blocks_of(8), seen(PEARS)) is None


def test_a_measure_of_nought_where_plots_lie_is_refused():
    """Crowns in blocks without plots only: nothing to set the stems against."""
    blocks = blocks_of(8, photo_count=[0.0] * 5 + [25.0, 25, 50])
    offers = offer_measures(blocks, seen(PEARS)).set_index(["measure", "estimator"])
    for name in ("ratio", "regression"):
        assert "nought, or alike" in offers.loc[("photo_count", name), "why"]
    assert best_measure(blocks, seen(PEARS)) is None


def test_one_block_with_plots_has_no_error_and_no_degree_of_freedom():
    """What lies between blocks takes two of them."""
    row = offer_measures(blocks_of(6), seen([10.0])).iloc[0]
    assert row[["total", "se", "low", "high"]].isna().all()
    assert (row["blocks"], row["df"]) == (1, 0)


def test_three_blocks_have_a_regression_with_one_degree_of_freedom():
    """SciPy's line through 10, 20 and 30 crowns, and its residuals; too few to help, and told."""
    x, y = np.array(PHOTO[:3]), np.array([22.0, 38, 63])
    offers = offer_measures(blocks_of(8, photo_count=PHOTO), seen(list(y)))
    row = offers.set_index(["measure", "estimator"]).loc[("photo_count", "regression")]
    line = stats.linregress(x, y)
    rest = ((y - line.intercept - line.slope * x) ** 2).sum()
    wanted = [8 * line.intercept + line.slope * 200, np.sqrt(64 / 3 * (5 / 8) * rest), 1]
    assert [row["total"], row["se"], row["df"]] == pytest.approx(wanted)


@pytest.mark.parametrize(("of_stems", "of_measure"), [(1e-3, 1.0), (1.0, 1e-3)])
def test_what_a_measure_is_worth_does_not_hang_on_units(of_stems, of_measure):
    """A thousandth of the stems, or of the measure: the same judgement in the same words."""
    plain = offer_measures(blocks_of(8, photo_count=PHOTO), seen(PEARS))
    blocks = blocks_of(8, photo_count=[of_measure * count for count in PHOTO])
    scaled = offer_measures(blocks, seen([of_stems * count for count in PEARS]))
    assert scaled[["helps", "why"]].equals(plain[["helps", "why"]])
    assert scaled["total"].tolist() == pytest.approx((of_stems * plain["total"]).tolist())


def test_where_plain_ground_has_no_error_no_measure_helps_and_it_is_told():
    """Every block alike and counted whole."""
    offers = offer_measures(blocks_of(8, photo_count=PHOTO), seen([20.0] * 5))
    told = offers[offers["measure"] == "photo_count"]
    assert not told["helps"].any()
    assert told["why"].str.endswith("without it the stems are known without error").all()


def test_a_measure_that_helps_only_by_a_line_past_nought_is_not_taken():
    """200 pears where no crown is seen: the regression helps, blocks without plots have a ratio."""
    blocks, totals = blocks_of(8, photo_count=PHOTO), seen([210.0, 221, 229, 241, 200])
    offers = offer_measures(blocks, totals).set_index(["measure", "estimator"])
    assert offers.loc["photo_count", "helps"].to_dict() == {"ratio": False, "regression": True}
    assert best_measure(blocks, totals) is None


def test_the_spread_counts_blocks_with_any_of_the_measure_however_little():
    """0.1 to 0.4 ha under crowns, 200 pears a hectare of them; of two such blocks, one is less."""
    found = best_measure(blocks_of(8, cover_pct=PHOTO), seen(PEARS))
    assert found.ratio == pytest.approx(200)
    assert found.spread == pytest.approx((4 / 0.1 + 4 / 0.2 + 9 / 0.3 + 9 / 0.4) / 3)
    blocks = blocks_of(8, photo_count=[10.0, 20, 0, 0, 30, 25, 25, 50])
    two = best_measure(blocks, seen([22.0, 38, 0, 0]))
    assert (two.ratio, two.spread) == pytest.approx((2.0, 4 / 10 + 4 / 20))
