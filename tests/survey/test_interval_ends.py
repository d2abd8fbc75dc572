"""Errors and intervals of counts against the statistics library and by hand."""

import numpy as np
import pandas as pd
import pytest
import shapely
from scipy import stats

from clearing import land, survey
from clearing.allometry import upper_height_m
from clearing.rates import for_settings, load
from clearing.survey.clumping import clumped_count_interval, clumped_se, mean_aggregation
from clearing.survey.stocking import class_heights
from tests.zones.farm import at, farm

STEPS = 0.1 * 2.0 ** np.arange(9)
RADII = [8.0, 10.0, 12.0, 9.0]


def weighed(*kinds) -> float:
    """Return the mean aggregation by the library's Dirichlet-multinomial: (counts, sizes) each."""
    weight = np.ones(9)
    for counts, sizes in kinds:
        share = np.asarray(sizes, dtype=float)
        weight *= [stats.dirichlet_multinomial.pmf(counts, share / a, sum(counts)) for a in STEPS]
    return float(np.average(STEPS, weights=weight))


def test_the_error_of_a_count_is_the_clumped_one():
    """10 stems on 5 plots, a = 0.8, half left: sqrt(0.5 (10 + 0.8 x 100 / 5)); nought as half."""
    assert clumped_se(10, 5.0, 0.8, 0.5) == pytest.approx(np.sqrt(13))
    assert clumped_se(0, 5.0, 0.8, 1.0) == pytest.approx(np.sqrt(0.5 + 0.04))


@pytest.mark.parametrize(("a", "left"), [(0.8, 1.0), (0.8, 0.5), (51.2, 1.0)])
def test_ends_leave_half_of_the_rest_of_the_beta_on_each_side(a, left):
    """P = r / (r + M) cuts 5 % off the beta of r and y + 1/2, r at least a plot and a quarter."""
    count, units = 12, 5.0
    low, high = clumped_count_interval(count, units, a, left, 0.9)
    r, y = max(units / a, 1.25) / left, count / left
    for end, chance in ((low, 0.95), (high, 0.05)):
        p = r / (r + end / left)
        assert stats.beta.cdf(p, r, y + 0.5) == pytest.approx(chance, abs=1e-9)


def test_plots_of_two_sizes_weigh_by_their_size():
    """Two cells at once, plots of unequal ground: the library's chance of each split."""
    counts, sizes, at_cell = np.array([6, 1, 9.0]), np.array([1.5, 0.5, 1.2]), np.array([0, 0, 1])
    groups = (np.array([7, 9.0]), np.array([2.0, 2.0]), np.array([0, 1]))
    found = mean_aggregation((counts, sizes, at_cell), groups, 2)
    assert found[0] == pytest.approx(weighed(([6, 1], [1.5, 0.5])))
    assert found[1] == pytest.approx(weighed(([9, 0], [1.2, 0.8])))


def pears(counts: dict[str, list[int]], inches=(2.0,), radii=RADII, side: float = 300.0):
    """Return stocking and totals of open blocks with plots of unequal circles, and the ground."""
    blocks, plots, tally = [], [], []
    for place, (block, stems) in enumerate(counts.items()):
        corner = 1000.0 * place
        shape = at(shapely.box(corner, 0, corner + side, side))
        blocks.append({"block_id": block, "brush": "open", "geometry": shape})
        for number, (n, radius) in enumerate(zip(stems, radii, strict=True)):
            step = side / 4
            spot = at(shapely.Point(corner + step * (number + 0.5), side / 2))
            name = f"{block}{number}"
            plots.append({"plot_id": name, "geometry": spot, "radius_m": radius, "visited": "yes"})
            tally += [{"plot_id": name, "species": "callery_pear", "dbh_in": inch, "count": n}
                      for inch in inches]  # fmt: skip
    place = farm(blocks, plots, tally, settings={"targets": ("callery_pear",)})
    rates = for_settings(place.settings)
    ground = land.lay_out(place, rates)
    asked = (ground.blocks, ground.plots, place.tally)
    return survey.estimate_stocking(*asked), survey.estimate_totals(*asked), ground


def wrist(table: pd.DataFrame, block: str) -> pd.Series:
    """Return the class of one to three inches in one block."""
    return table[(table["block_id"] == block) & (table["size_class"] == "1_3in")].iloc[0]


def test_the_plain_interval_is_the_textbook_s_ratio_of_stems_to_ground():
    """t_low, t_high and the error of basal area are Cochran's ratio estimate over the ground."""
    stocking, _, ground = pears({"a": [7, 2, 12, 4]})
    y, ha = np.array([7, 2, 12, 4]), ground.plots["inside_ha"].to_numpy()
    assert ha == pytest.approx(np.pi * np.array(RADII) ** 2 / 1e4, rel=1e-3)
    found, wanted = wrist(stocking, "a"), survey.ratio_total(y, ha, 1.0)
    t = stats.t.ppf([0.95, 0.975], 3)
    half = (wanted.high - wanted.value) * t[0] / t[1]
    assert found["stems_per_ha"] == pytest.approx(wanted.value)
    assert [found["t_low"], found["t_high"]] == pytest.approx(
        [wanted.value - half, wanted.value + half]
    )
    one = np.pi / 4 * 0.0508**2
    assert found["basal_m2_per_ha"] == pytest.approx(one * wanted.value)
    assert found["basal_se"] == pytest.approx(one * wanted.se)


def test_blocks_of_a_kind_share_their_clumps():
    """The error of each block holds the aggregation that the plots of both make likely."""
    counts = {"a": [7, 2, 12, 4], "b": [0, 30, 1, 2]}
    _, totals, ground = pears(counts)
    ha = ground.plots["inside_ha"].to_numpy().reshape(2, 4)
    a = weighed(*zip(counts.values(), ha / ha.mean(), strict=True))
    for number, (block, stems) in enumerate(counts.items()):
        own = totals[totals["block_id"] == block].iloc[0]
        looked, units = ha[number].sum(), ha[number].sum() / ha.mean()
        assert own["se"] == pytest.approx(clumped_se(sum(stems), units, a, 1.0) / looked)
        low, high = clumped_count_interval(sum(stems), units, a, 1.0, 0.9)
        assert [own["low"], own["high"]] == pytest.approx([low / looked, high / looked])
        assert own["kind_plots"] == 8


def test_from_half_of_the_block_on_the_error_falls_with_what_is_left():
    """Four circles of 7 m on 30 m by 30 m: looked at 0.68, left 0.63 of the variance."""
    _, totals, ground = pears({"a": [7, 2, 12, 4]}, radii=[7.0] * 4, side=30.0)
    own, ha = totals.iloc[0], ground.plots["inside_ha"].to_numpy()
    left = 2 * (1 - ha.sum() / ground.blocks["area_ha"].iloc[0])
    assert 0.3 < left < 0.9
    a = weighed(([7, 2, 12, 4], ha / ha.mean()))
    assert own["se"] == pytest.approx(clumped_se(25, 4.0, a, left) / ha.sum())
    y = np.array([7, 2, 12, 4])
    plain = survey.ratio_total(y, ha, 1.0)
    one = np.pi / 4 * 0.0508**2
    assert own["basal_se"] == pytest.approx(one * plain.se * np.sqrt(left))


def test_the_quadratic_mean_is_that_of_the_stems():
    """As many of 1.5 in as of 2.5 in: sqrt((1.5^2 + 2.5^2) / 2) = 2.06 in."""
    stocking, _, ground = pears({"a": [3, 3, 5, 1]}, inches=(1.5, 2.5))
    own, area = wrist(stocking, "a"), ground.blocks["area_ha"].iloc[0]
    assert own["qmd_cm"] == pytest.approx(2.54 * np.sqrt((1.5**2 + 2.5**2) / 2))
    assert own["block_stems"] == pytest.approx(area * own["stems_per_ha"])


def test_one_plot_alone_has_no_plain_interval_and_the_clumped_error_for_its_basal_area():
    """One plot says nothing of the spread: t ends are blank, basal area is as unsure as stems."""
    stocking, _, _ = pears({"a": [7]}, radii=[10.0])
    own = wrist(stocking, "a")
    assert np.isnan(own["t_low"])
    assert np.isnan(own["t_high"])
    assert own["basal_se"] / own["basal_m2_per_ha"] == pytest.approx(
        own["se"] / own["stems_per_ha"]
    )


def test_one_plot_alone_is_one_unit_of_any_aggregation():
    """Its ends are those of a count on one mean plot, each step of the grid alike."""
    _, totals, ground = pears({"a": [7]}, radii=[10.0])
    own, ha = totals.iloc[0], ground.plots["inside_ha"].iloc[0]
    low, high = clumped_count_interval(7, 1.0, STEPS.mean(), 1.0, 0.9)
    assert [own["low"], own["high"]] == pytest.approx([low / ha, high / ha])
    assert own["se"] == pytest.approx(clumped_se(7, 1.0, STEPS.mean(), 1.0) / ha)


def test_a_lone_stem_on_one_plot_has_an_error_of_its_basal_area_and_none_has_none():
    """One stem is as unsure in basal area as in number; no stem has no basal area to be off."""
    stocking, _, _ = pears({"a": [1]}, radii=[10.0])
    own = wrist(stocking, "a")
    share = own["basal_se"] / own["basal_m2_per_ha"]
    assert share == pytest.approx(own["se"] / own["stems_per_ha"])
    assert share > 1
    assert (stocking.loc[stocking["stems_per_ha"] == 0, "basal_se"] == 0).all()


def test_two_plots_have_a_plain_interval():
    """With one degree of freedom: the textbook's ratio of stems to ground of two circles."""
    stocking, _, ground = pears({"a": [7, 2]}, radii=RADII[:2])
    found, ha = wrist(stocking, "a"), ground.plots["inside_ha"].to_numpy()
    y = np.array([7, 2])
    ratio = y.sum() / ha.sum()
    se = np.sqrt(2 * ((y - ratio * ha) ** 2).sum()) / ha.sum()
    half = stats.t.ppf(0.95, 1) * se
    assert [found["t_low"], found["t_high"]] == pytest.approx([ratio - half, ratio + half])
    assert found["basal_se"] == pytest.approx(np.pi / 4 * 0.0508**2 * se)


def test_a_thick_stem_among_thin_ones_lifts_the_last_class():
    """Taped at 2 and 40 inches: the last class reaches up to the height of 40 inches."""
    stocking, totals, _ = pears({"a": [3, 1, 2, 1]}, inches=(2.0, 40.0))
    wanted = float(upper_height_m("callery_pear", np.array([101.6]), load())[0])
    last = stocking.set_index("size_class").loc["over_10in", "upper_height_m"]
    assert last == pytest.approx(wanted)
    assert totals["upper_height_m"].iloc[0] == pytest.approx(wanted)


def test_the_last_class_is_as_tall_as_the_thickest_stem_that_was_taped():
    """A 60 cm stem lifts the last class to its height; without a tape it is the class's middle."""
    rates = load()
    middle = float(rates.sizes["mid_cm"].iloc[-1])
    for taped, reached in ((60.0, 60.0), (5.0, middle), (np.nan, middle)):
        heights = class_heights("callery_pear", rates, taped)
        wanted = float(upper_height_m("callery_pear", np.array([reached]), rates)[0])
        assert heights["over_10in"] == pytest.approx(wanted)
        assert heights["all"] == max(heights.values())
    two = float(upper_height_m("callery_pear", np.array([7.62]), rates)[0])
    assert class_heights("callery_pear", rates)["1_3in"] == pytest.approx(two)
