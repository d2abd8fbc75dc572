"""What a block without plots takes, and how near a block is drawn to its kind, by hand."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import dirichlet_multinomial, gamma, norm

from clearing.rates import load
from clearing.survey.borrowing import borrow, lean_on_kind
from clearing.survey.measure import Measured

STEPS = 0.1 * 2.0 ** np.arange(6)  # of the aggregation between blocks
Z = 2 * norm.ppf(0.95)


def between(counts, grounds) -> float:
    """Return the mean aggregation between blocks by the library's Dirichlet-multinomial."""
    size = np.array(grounds) / np.mean(grounds)
    weight = [dirichlet_multinomial.pmf(counts, size / a, sum(counts)) for a in STEPS]
    return float(np.average(STEPS, weights=weight)) * (1 + 1 / len(counts))


def ends(relative: float) -> tuple[float, float]:
    """Return the 90 % range of a gamma quantity of mean one."""
    return tuple(gamma.ppf([0.05, 0.95], 1 / relative, scale=relative))


def cell(block: str, count: float = 0, looked: float = 0.0, **more) -> dict:
    """Return the row of a block of two hectares: stems on the ground looked at."""
    seen = looked > 0
    dense = count / looked if seen else np.nan
    return {
        "block_id": block, "species": "callery_pear", "size_class": "1_3in", "area_ha": 2.0,
        "plots": 4 if seen else 0, "count": float(count), "basal": 0.003 * count,
        "looked_ha": looked, "units": 4.0 if seen else 0.0, "a": 0.8, "stems_per_ha": dense,
        "low": 0.1 * dense, "high": 4.0 * dense, "se": dense, "t_low": 1.0, "t_high": 2.0,
        "basal_m2_per_ha": 0.003 * dense, "basal_se": dense, "basis": "plots" if seen else "",
    } | more  # fmt: skip


def filled(rows: list[dict], measured=None, guess: str | None = None, **brush) -> pd.DataFrame:
    """Return the rows with blocks without plots filled, by block."""
    grid = pd.DataFrame(rows)
    names = list(dict.fromkeys(grid["block_id"]))
    blocks = pd.DataFrame({
        "block_id": names, "brush": [brush.get(name, "open") for name in names],
        "density_guess": guess,
    })  # fmt: skip
    return borrow(grid, blocks, load(), 0.9, measured).set_index("block_id")


def test_a_bare_block_takes_the_mean_of_its_kind_with_the_spread_between_blocks():
    """40 stems on half a hectare and 10 on a quarter: 66.7 a hectare, in the gamma range."""
    bare = filled([cell("a", 40, 0.5), cell("b", 10, 0.25), cell("c")]).loc["c"]
    low, high = ends(between([40, 10], [0.5, 0.25]) + 1 / 50.5)
    assert bare["stems_per_ha"] == pytest.approx(50 / 0.75)
    assert [bare["low"], bare["high"]] == pytest.approx([50.5 / 0.75 * low, 50.5 / 0.75 * high])
    assert bare["se"] == pytest.approx((bare["high"] - bare["low"]) / Z)
    assert bare["basis"] == "kind"
    assert np.isnan(bare["t_low"])


def test_a_kind_without_a_stem_leaves_nought_to_half_a_stem_s_range():
    """Nothing on 0.5 ha: the estimate is nought, and the high end that of half a stem."""
    bare = filled([cell("a", 0, 0.25), cell("b", 0, 0.25), cell("c")]).loc["c"]
    high = ends(STEPS.mean() * 1.5 + 2.0)[1]
    assert bare["stems_per_ha"] == bare["low"] == 0
    assert bare["high"] == pytest.approx(high)


def test_another_brush_is_another_kind():
    """The thicket's stems do not reach the open block, which rests on the guess then."""
    found = filled([cell("a", 40, 0.5), cell("c")], a="thicket")
    assert found.loc["c", "basis"] == "guess"
    assert found.loc["c", ["stems_per_ha", "low", "high"]].tolist() == [400, 150, 900]
    assert found.loc["a", ["stems_per_ha", "t_low", "basis"]].tolist() == [80, 1, "plots"]


def test_the_measure_s_range_is_its_ratio_with_its_spread():
    """R = 3 and 20 units are 60 stems; variance 2 x 20 (1 + 20 / 100) and 1 / (41.5)."""
    measured = Measured("photo", 3.0, pd.Series({"a": 100.0, "c": 20.0}), 2.0, 100.0)
    bare = filled([cell("a", 41, 0.5), cell("c")], measured).loc["c"]
    low, high = ends(48 / 60**2 + 1 / 41.5)
    found = bare[["stems_per_ha", "low", "high"]].tolist()
    assert found == pytest.approx([30, 30 * low, 30 * high])
    assert bare["basis"] == "photo"


def test_a_measure_of_nought_still_leaves_half_a_stem_in_the_block():
    """No tree on the photo: nought, up to the range of half a stem on the block's two hectares."""
    measured = Measured("photo", 3.0, pd.Series({"a": 100.0, "c": 0.0}), 2.0, 100.0)
    bare = filled([cell("a", 41, 0.5), cell("c")], measured).loc["c"]
    assert [bare["stems_per_ha"], bare["low"]] == [0, 0]
    assert bare["high"] == pytest.approx(0.25 * ends(1 / 41.5)[1])


def test_less_than_a_stem_by_the_measure_is_as_unsure_as_one():
    """Of 0.3 stems the relative variance is 2 x 0.1 (1.001) / 1, not over 0.3 squared."""
    measured = Measured("photo", 3.0, pd.Series({"a": 100.0, "c": 0.1}), 2.0, 100.0)
    bare = filled([cell("a", 41, 0.5), cell("c")], measured).loc["c"]
    low, high = ends(0.2 * 1.001 + 1 / 41.5)
    assert bare["low"] == pytest.approx(0.15 * low)
    assert bare["high"] == pytest.approx(0.25 * high)


def test_stems_are_shared_out_as_on_the_ground_that_was_seen():
    """60 and 20 stems a hectare share the guess of 400 three to one; the mean stem gives basal."""
    small, large = {"size_class": "1_3in"}, {"size_class": "3_6in", "basal": 0.5}
    rows = [cell("a", 30, 0.5, **small), cell("a", 10, 0.5, **large),
            cell("c", **small), cell("c", **large)]  # fmt: skip
    bare = filled(rows, guess="scattered").loc["c"].set_index("size_class")
    assert bare["stems_per_ha"].tolist() == pytest.approx([300, 100])
    assert bare["low"].tolist() == pytest.approx([112.5, 37.5])
    assert bare["basal_m2_per_ha"].tolist() == pytest.approx([300 * 0.003, 100 * 0.05])
    assert bare["basal_se"].tolist() == pytest.approx((bare["se"] * [0.003, 0.05]).tolist())


def test_a_class_that_no_plot_could_hold_takes_the_mean_of_the_others():
    """60 and 20 seen, the third unseen: 40, so 3 : 1 : 2; its stems have the class's middle."""
    sizes = ["1_3in", "3_6in", "6_10in"]
    rows = [cell("a", 30, 0.5, size_class=sizes[0]), cell("a", 10, 0.5, size_class=sizes[1])]
    rows += [cell("c", size_class=size) for size in sizes]
    bare = filled(rows, guess="scattered").loc["c"].set_index("size_class")
    middle = load().sizes.set_index("size_class")["mid_cm"].astype(float)["6_10in"]
    assert bare["stems_per_ha"].tolist() == pytest.approx([200, 400 / 6, 800 / 6])
    each = np.pi / 4 * (middle / 100) ** 2
    assert bare.loc["6_10in", "basal_m2_per_ha"] == pytest.approx(800 / 6 * each)


def test_where_nothing_was_seen_all_classes_are_alike():
    """Two classes without a stem on the property share a guess by halves."""
    rows = [cell("a", 0, 0.5), cell("a", 0, 0.5, size_class="3_6in"),
            cell("c"), cell("c", size_class="3_6in")]  # fmt: skip
    for known in (rows, rows[2:]):
        assert filled(known, guess="few").loc["c", "stems_per_ha"].tolist() == [50, 50]


def leant(rows: list[dict]) -> pd.DataFrame:
    """Return blocks of one kind after they were set beside each other."""
    grid = pd.DataFrame(rows)
    blocks = pd.DataFrame({"block_id": grid["block_id"], "brush": "open"})
    return lean_on_kind(grid, blocks, 0.9)


def test_three_blocks_of_a_kind_draw_each_other_in_by_the_gamma():
    """High: half way, by shares, to the gamma's; low: to the gamma's, half way to s at most."""
    counts, grounds = [40, 25, 6], [0.6, 0.3, 0.25]
    rows = [cell(name, n, ha) for name, n, ha in zip("abc", counts, grounds, strict=True)]
    k = 1 / between(counts, grounds)
    for row, found in zip(rows, leant(rows).to_dict("records"), strict=True):
        y = row["count"] + 0.5
        worth = 1 / (1 / y + 0.8 / 4)
        rate = k * 1.15 / 71.0 + row["looked_ha"] * worth / y
        low, high = gamma.ppf([0.05, 0.95], k + worth, scale=1 / rate)
        value = row["stems_per_ha"]
        assert found["high"] == pytest.approx(np.sqrt(row["high"] * max(value, high)))
        assert found["low"] == pytest.approx(min(low, np.sqrt(row["low"] * value)))
        assert found["low"] <= value <= found["high"]


def test_a_single_stem_in_three_blocks_is_enough_to_lean_on():
    """The kind's mean is known to be low then, and every high end comes down."""
    rows = [cell("a", 1, 0.5), cell("b", 0, 0.5, high=8.0), cell("c", 0, 0.5, high=8.0)]
    assert (leant(rows)["high"] < pd.DataFrame(rows)["high"]).all()


def test_what_is_already_narrow_stays():
    """Ends nearer than the kind's are kept as they are."""
    rows = [cell(name, 40, 0.5, low=79.0, high=81.0) for name in "abc"]
    assert leant(rows)[["low", "high"]].to_numpy().tolist() == [[79, 81]] * 3


def test_two_blocks_of_a_kind_or_none_with_stems_are_left_alone():
    """It takes three blocks with plots, and a stem among them."""
    few = [cell("a", 40, 0.5), cell("b", 10, 0.5), cell("c")]
    empty = [cell(name, 0, 0.5) for name in "abc"]
    for rows in (few, empty):
        pd.testing.assert_frame_equal(leant(rows), pd.DataFrame(rows))


def test_a_bare_block_beside_three_is_not_leant():
    """Only rows with plots move."""
    rows = [cell("a", 40, 0.5), cell("b", 10, 0.5), cell("c", 20, 0.5), cell("d")]
    found = leant(rows)
    assert found["high"].isna().tolist() == [False, False, False, True]
    assert (found["high"][:3] < pd.DataFrame(rows)["high"][:3]).all()


def test_the_only_counted_block_of_a_kind_has_the_even_mean_of_the_steps():
    """One block says nothing of what lies between blocks: each step alike, and once more."""
    bare = filled([cell("a", 40, 0.5), cell("c")]).loc["c"]
    low, high = ends(STEPS.mean() * 2 + 1 / 40.5)
    assert [bare["low"], bare["high"]] == pytest.approx([81 * low, 81 * high])


def test_a_block_of_one_plot_lends_and_leans_as_one_of_four():
    """Ground and stems count, not the number of circles that they were seen on."""
    measured = Measured("photo", 3.0, pd.Series({"a": 9.0, "b": 9.0, "c": 9.0, "d": 20.0}), 2.0, 27)
    counted = [("a", 40, 0.5), ("b", 10, 0.25), ("c", 6, 0.25)]
    four = [*(cell(*one) for one in counted), cell("d"), cell("d", size_class="3_6in")]
    single = [row | {"plots": min(row["plots"], 1)} for row in four]
    for how in ({}, {"measured": measured}, {"guess": "few"}):
        one, more = (filled(rows, **how).drop(columns="plots") for rows in (single, four))
        pd.testing.assert_frame_equal(one, more)
    one, more = (leant(rows[:3]).drop(columns="plots") for rows in (single, four))
    pd.testing.assert_frame_equal(one, more)


def test_large_blocks_weigh_more_in_the_shares():
    """60 a hectare on two hectares and 20 on six are as many stems: the guess goes by halves."""
    rows = [cell("a", 30, 0.5), cell("b", 10, 0.5, size_class="3_6in", area_ha=6.0),
            cell("c"), cell("c", size_class="3_6in")]  # fmt: skip
    bare = filled(rows, guess="scattered").loc["c", "stems_per_ha"]
    assert bare.tolist() == pytest.approx([200, 200])


def test_a_class_that_no_plot_found_is_as_unsure_by_the_measure_as_half_a_stem():
    """R = 3 and 20 units, half of them each class's: 15 a hectare, relative variance 1 / (1/2)."""
    measured = Measured("photo", 3.0, pd.Series({"a": 100.0, "c": 20.0}), 2.0, 100.0)
    rows = [cell("a", 41, 0.5), cell("c"), cell("c", size_class="6_10in")]
    bare = filled(rows, measured).loc["c"].set_index("size_class").loc["6_10in"]
    low, high = ends(48 / 60**2 + 1 / 0.5)
    found = bare[["stems_per_ha", "low", "high"]].tolist()
    assert found == pytest.approx([15, 15 * low, 15 * high])


def test_the_basal_area_of_one_stem_that_was_taped_is_lent():
    """It is known how thick that one was: 0.003 square metres."""
    bare = filled([cell("a", 1, 0.5), cell("c")], guess="scattered").loc["c"]
    assert bare["basal_m2_per_ha"] == pytest.approx(400 * 0.003)
