"""Stems a hectare from plots: what counts, what does not, and how sure it is."""

import math
from dataclasses import replace

import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing import land, survey
from clearing.rates import for_settings
from clearing.tables import columns
from tests.zones.farm import at, farm, owner_table

RADIUS, INNER = 10.0, 4.0
PLOT_HA, INNER_HA = math.pi * RADIUS**2 / 1e4, math.pi * INNER**2 / 1e4
KEYS = ["block_id", "species", "size_class"]
COUNTS = st.lists(st.integers(0, 60), min_size=6, max_size=6)
TARGETS = {"targets": ("callery_pear",)}


def stem(plot: str, count: int, **more) -> dict:
    """Return a tally row of pears of two inches, unless said otherwise."""
    size = {} if "size" in more else {"dbh_in": 2.0}
    return {"plot_id": plot, "species": "callery_pear", "count": count} | size | more


GROUNDS: dict[tuple, tuple] = {}  # a ground is laid out once, whatever was counted on it


def estimate(tally: list[dict], visited: str | tuple = "yes", blocks: tuple = (), **plot):
    """Return stocking and totals of block 1 with plots p0 to p5, and of further blocks."""
    known = [{name: str(cell) for name, cell in block.items()} for block in blocks]
    key = str(visited), str(known), str(plot)
    if key not in GROUNDS:
        GROUNDS[key] = laid_out(visited, blocks, plot)
    ground, rates = GROUNDS[key]
    asked = (ground.blocks, ground.plots, owner_table("tally", tally), 0.9, rates)
    return survey.estimate_stocking(*asked), survey.estimate_totals(*asked)


def laid_out(visited: str | tuple, blocks: tuple, plot: dict):
    """Return the ground of block 1 with its plots and of further blocks, and the rates."""
    said = visited if isinstance(visited, tuple) else (visited,) * 6
    plots = [
        {"plot_id": f"p{i}", "geometry": at(shapely.Point(30 + 40 * i, 50)), "visited": said[i],
         "radius_m": RADIUS, **plot}
        for i in range(6)
    ]  # fmt: skip
    first = {"block_id": "1", "geometry": at(shapely.box(0, 0, 260, 100)), "brush": "open"}
    place = farm([first, *blocks], plots, settings=TARGETS)
    rates = for_settings(place.settings)
    return land.lay_out(place, rates), rates


def row(table: pd.DataFrame, size: str = "1_3in", block: str = "1") -> pd.Series:
    """Return one row."""
    return table.set_index(["block_id", "size_class"]).loc[(block, size)]


def other_block(name: str = "2", **more) -> dict:
    """Return a block that nobody put a plot into."""
    shape = at(shapely.box(500, 0, 760, 100))
    return {"block_id": name, "geometry": shape, "brush": "open"} | more


def test_the_estimate_is_stems_over_ground_looked_at():
    """12 stems in six circles of 10 m are 12 / (6 x 0.0314 ha)."""
    found = row(estimate([stem("p0", 5), stem("p3", 7)])[0])
    assert found["stems_per_ha"] == pytest.approx(12 / (6 * PLOT_HA))
    assert (found["plots"], found["basis"]) == (6, "plots")


@settings(max_examples=15, deadline=None)
@given(COUNTS, st.integers(2, 5))
def test_doubling_every_tally_doubles_the_estimate(counts, times):
    """Twice the stems in every plot are twice the stems a hectare, in classes and totals."""
    once, more = (
        estimate([stem(f"p{i}", n * by) for i, n in enumerate(counts)]) for by in (1, times)
    )
    for one, two in zip(once, more, strict=True):
        assert two["stems_per_ha"].tolist() == pytest.approx((one["stems_per_ha"] * times).tolist())


@settings(max_examples=15, deadline=None)
@given(COUNTS, st.randoms(use_true_random=False))
def test_order_of_rows_does_not_matter(counts, chance):
    """A shuffled tally gives the same table to the last digit of the sum."""
    rows = [stem(f"p{i}", n, dbh_in=d) for i, n in enumerate(counts) for d in (0.5, 2, 12)]
    mixed = chance.sample(rows, len(rows))
    for one, two in zip(estimate(rows), estimate(mixed), strict=True):
        pd.testing.assert_frame_equal(one, two, rtol=1e-12)


@settings(max_examples=25, deadline=None)
@given(COUNTS)
def test_the_interval_holds_the_estimate_and_stays_at_zero_or_more(counts):
    """0 <= low <= estimate <= high everywhere, and a high above zero even where none was found."""
    for table in estimate(
        [stem(f"p{i}", n) for i, n in enumerate(counts)], blocks=(other_block(),)
    ):
        assert (table["low"] >= 0).all()
        assert (table["low"] <= table["stems_per_ha"]).all()
        assert (table["stems_per_ha"] <= table["high"]).all()
        assert (table["high"] > 0).all()
        assert (table["se"] > 0).all()


@settings(max_examples=15, deadline=None)
@given(COUNTS.filter(any))
def test_ranges_that_add_up_sum_to_the_range_of_the_total(counts):
    """Class ranges drawn in: they sum to the total's or stay as they are, and hold the estimate."""
    rows = [stem(f"p{i}", n, dbh_in=d) for i, n in enumerate(counts) for d in (0.5, 2, 12)]
    stocking, totals = estimate(rows)
    drawn = survey.ranges_that_add_up(stocking, totals)
    assert (drawn["low"] >= stocking["low"] - 1e-9).all()
    assert (drawn["high"] <= stocking["high"] + 1e-9).all()
    assert (
        (drawn["low"] <= drawn["stems_per_ha"]) & (drawn["stems_per_ha"] <= drawn["high"])
    ).all()
    narrower = min(stocking["high"].sum(), totals["high"].sum())
    assert drawn["high"].sum() == pytest.approx(narrower, rel=1e-9)
    assert drawn["low"].sum() == pytest.approx(
        max(stocking["low"].sum(), totals["low"].sum()), rel=1e-9
    )


def test_a_visited_plot_without_rows_is_a_zero_and_an_unvisited_one_does_not_count():
    """Ten stems in one of six plots looked at, or in the one of three."""
    six = row(estimate([stem("p0", 10)])[0])
    three = row(estimate([stem("p0", 10)], ("yes", "yes", "yes", "no", "no", "no"))[0])
    assert six["stems_per_ha"] == pytest.approx(10 / (6 * PLOT_HA))
    assert three["stems_per_ha"] == pytest.approx(10 / (3 * PLOT_HA))
    assert (six["plots"], three["plots"]) == (6, 3)


def test_trees_that_stay_and_dead_stems_do_not_count():
    """Only live stems, resprouts and new ones of a target species are work."""
    kept = [
        stem("p0", 50, keep="yes"), stem("p1", 50, status="dead"),
        {"plot_id": "p2", "species": "white_oak", "dbh_in": 2, "count": 50},
    ]  # fmt: skip
    counted = [stem("p3", 1, keep="no", status="resprout"), stem("p4", 2, status="new")]
    assert row(estimate(kept + counted)[0])["stems_per_ha"] == pytest.approx(3 / (6 * PLOT_HA))


def test_nested_plots_expand_small_stems_by_the_small_circle():
    """Stems below an inch belong to the 4 m circle, thicker ones to the 10 m circle."""
    nested = {"small_radius_m": INNER, "small_below_in": 1.0}
    tally = [stem("p0", 6, size="seedling"), stem("p1", 6, dbh_in=0.5), stem("p2", 6)]
    stocking, totals = estimate(tally, **nested)
    for size, area in (("seedling", INNER_HA), ("under_1in", INNER_HA), ("1_3in", PLOT_HA)):
        assert row(stocking, size)["stems_per_ha"] == pytest.approx(6 / (6 * area)), size
    assert row(totals, "all")["stems_per_ha"] == pytest.approx(2 / INNER_HA + 1 / PLOT_HA)


def test_nested_plots_may_break_inside_a_size_class():
    """Inner circle below 5 in: of the class 3 to 6 in a stem of 4 in counts more than one of 5.5.

    Six stems each: 6 / inner ground + 6 / outer ground.
    """
    nested = {"small_radius_m": INNER, "small_below_in": 5.0}
    tally = [stem("p0", 6, dbh_in=4.0), stem("p1", 6, dbh_in=5.5)]
    stocking, totals = estimate(tally, **nested)
    wanted = 6 / (6 * INNER_HA) + 6 / (6 * PLOT_HA)
    assert row(stocking, "3_6in")["stems_per_ha"] == pytest.approx(wanted)
    assert row(totals, "all")["stems_per_ha"] == pytest.approx(wanted)


def test_a_word_and_a_diameter_fall_into_the_same_class():
    """A wrist is 1 to 3 in: a word and the class's middle on a tape give the same estimate."""
    how = ({"size": "wrist"}, {"dbh_cm": 4.57, "dbh_in": None})
    by_word, by_tape = (estimate([stem("p0", 9, **size)])[0] for size in how)
    pd.testing.assert_series_equal(row(by_word), row(by_tape))


def test_a_block_without_plots_borrows_from_its_kind_and_is_less_sure():
    """It takes the mean of its kind, says so, and its interval is wider on both sides."""
    stocking, totals = estimate(
        [stem(f"p{i}", n) for i, n in enumerate((4, 9, 2, 7, 5, 3))], blocks=(other_block(),)
    )
    for table, size in ((stocking, "1_3in"), (totals, "all")):
        own, borrowed = row(table, size), row(table, size, "2")
        assert (own["basis"], borrowed["basis"], borrowed["plots"]) == ("plots", "kind", 0)
        assert borrowed["stems_per_ha"] == pytest.approx(own["stems_per_ha"])
        assert borrowed["low"] < own["low"]
        assert borrowed["high"] > own["high"]


def test_a_block_of_a_kind_that_nobody_counted_rests_on_a_guess():
    """The owner's word, else scattered stems; all classes together give the word's density."""
    thicket = other_block(brush="thicket")
    word = other_block("3", density_guess="thick")
    stocking, _ = estimate([stem("p0", 4)], blocks=(thicket, word))
    sums = stocking.groupby("block_id")[["stems_per_ha", "low", "high"]].sum()
    assert set(stocking.loc[stocking["block_id"] != "1", "basis"]) == {"guess"}
    assert sums.loc["2"].tolist() == pytest.approx([400, 150, 900])
    assert sums.loc["3"].tolist() == pytest.approx([1500, 700, 3000])


def test_a_target_that_no_plot_of_the_kind_looked_for_rests_on_the_guess():
    """Plots for pears say nothing of tree-of-heaven: the other block's stems are guessed."""
    heaven = other_block(targets="tree_of_heaven")
    stocking, totals = estimate([stem("p0", 4)], blocks=(heaven,))
    assert set(stocking.loc[stocking["block_id"] == "2", "basis"]) == {"guess"}
    own = totals[totals["block_id"] == "2"].iloc[0]
    assert [own["stems_per_ha"], own["low"], own["high"]] == pytest.approx([400, 150, 900])


def test_the_owners_guess_is_shared_among_the_blocks_own_targets():
    """Thick is 1,500 stems a hectare whatever the other blocks are after and wherever plots lie."""
    rows = [stem("p0", 95), stem("p1", 5) | {"species": "tree_of_heaven"}]
    both, one = ({"targets": t} for t in ("callery_pear tree_of_heaven", "tree_of_heaven"))
    for targets in (both, one):
        bare = other_block(density_guess="thick") | targets
        stocking, _ = estimate(rows, blocks=(bare,))
        own = stocking[stocking["block_id"] == "2"]
        assert own["stems_per_ha"].sum() == pytest.approx(1500)


def test_a_place_without_any_plot_still_has_a_stocking():
    """A first plan needs no plots: everything rests on the guess and says so."""
    place = farm([other_block("1", density_guess="few")], settings=TARGETS)
    rates = for_settings(place.settings)
    ground = land.lay_out(place, rates)
    stocking = survey.estimate_stocking(ground.blocks, ground.plots, place.tally, 0.9, rates)
    assert set(stocking["basis"]) == {"guess"}
    assert stocking["stems_per_ha"].sum() == pytest.approx(100)


def test_more_plots_say_more(place):
    """On the sample, half of the plots give wider intervals than all, summed over the cells."""
    rates = for_settings(place.settings)
    widths = []
    for plots in (place.plots, place.plots.iloc[::2]):
        ground = land.lay_out(replace(place, plots=plots), rates)
        found = survey.estimate_totals(ground.blocks, ground.plots, place.tally, 0.9, rates)
        widths.append((found["high"] - found["low"]).sum())
    assert widths[1] > 1.1 * widths[0]


def test_size_classes_break_where_the_handbook_says(place):
    """A stem at a break belongs to the thicker class; nought is a seedling."""
    rows = [stem("p0", 1, dbh_cm=cm, dbh_in=None) for cm in (0, 0.1, 2.54, 7.62, 15.24, 25.4, 99)]
    sizes = for_settings(place.settings).sizes
    assert survey.size_class_of(owner_table("tally", rows), sizes).tolist() == [
        "seedling", "under_1in", "1_3in", "3_6in", "6_10in", "over_10in", "over_10in",
    ]  # fmt: skip


def test_the_interval_is_that_of_nine_in_ten_unless_another_is_asked():
    """Left out, 0.9 is meant; one of half the cases is narrower."""
    ground, rates = laid_out("yes", (), {})
    tally = owner_table("tally", [stem("p0", 5), stem("p3", 7)])
    asked = (ground.blocks, ground.plots, tally)
    for find in (survey.estimate_stocking, survey.estimate_totals):
        usual, half = find(*asked, rates=rates), find(*asked, 0.5, rates)
        pd.testing.assert_frame_equal(usual, find(*asked, 0.9, rates))
        some = usual["stems_per_ha"] > 0
        assert (half["high"][some] < usual["high"][some]).all()


def test_both_tables_have_the_columns_of_the_walk_and_nothing_else():
    """In their order, rows counted from nought."""
    for table in estimate([stem("p0", 5), stem("p3", 7)], blocks=(other_block(),)):
        assert list(table) == columns("stocking")
        assert list(table.index) == list(range(len(table)))


def test_a_lone_stem_in_wide_plots_keeps_its_diameter():
    """Less than a stem a hectare, and its mean diameter is still the two inches of the tape."""
    alone = row(estimate([stem("p2", 1)], radius_m=30.0)[0])
    assert 0 < alone["stems_per_ha"] < 1
    assert alone["qmd_cm"] == pytest.approx(5.08)


def test_one_plot_is_enough_to_rest_on():
    """A block with a single plot has its own count, not its kind's or a guess."""
    found, totals = estimate([stem("p0", 8)], ("yes", "no", "no", "no", "no", "no"))
    for own in (row(found), row(totals, "all")):
        assert (own["basis"], own["plots"], own["kind_plots"]) == ("plots", 1, 1)
        assert own["stems_per_ha"] == pytest.approx(8 / PLOT_HA)
