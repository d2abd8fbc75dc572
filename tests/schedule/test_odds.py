"""Odds, reserves and tighter limits from the forecast's draws."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from clearing.forecast import Draws
from clearing.property import Money
from clearing.rates import for_settings
from clearing.schedule.limits import field_limits
from clearing.schedule.odds import DRAWS, drawn_totals, yearly_odds
from clearing.schedule.reserve import all_hold, given_back, reserves, surer, tightened
from tests.schedule.test_choice import BASE, visit

YEARS = np.array([2027, 2028, 2029])
NOISE = 4 * 0.5 / DRAWS**0.5  # four standard errors of a share


def draws_of(density=None, follow=None, number: int = DRAWS, z: float | None = None) -> Draws:
    """Return draws of strip a1: stems now, stems that come back, and pace (z; drawn when none)."""
    draw = np.random.default_rng(7)
    pace = draw.standard_normal(number) if z is None else np.full(number, z)
    now = np.ones(number) if density is None else density
    later = np.ones(number) if follow is None else follow
    return Draws(
        strips=("a1",), years=YEARS, density=now[:, None],
        follow=np.repeat(later[:, None, None], len(YEARS), axis=2),
        shared_z=pace, strip_z=pace[:, None] * 0 + (0.0 if z is not None else pace[:, None]),
    )  # fmt: skip


def asked(**wishes):
    """Return settings and their limits: ten hours a season, a hundred dollars a year."""
    own = replace(BASE, **wishes)
    return own, field_limits(own, for_settings(own).seasons)


def hours(odds: pd.DataFrame, year: int, season: str) -> pd.Series:
    """Return the row of a season's hours (season blank: of the year's)."""
    own = odds[(odds["kind"] == "hours") & (odds["year"] == year) & (odds["season"] == season)]
    assert len(own) == 1
    return own.iloc[0]


def test_every_season_has_its_own_row_before_its_year():
    """Two seasons and the year: hours of a fall visit stand in fall and in the year alone."""
    own, limits = asked()
    odds = yearly_odds(pd.DataFrame([visit("a1/y", 2028, 4.0, 0.0, season="fall")]), limits, own)
    rows = odds[(odds["kind"] == "hours") & (odds["year"] == 2028)]
    assert rows["season"].tolist() == ["spring", "fall", ""]
    assert rows["plan_on"].tolist() == [0.0, 4.0, 4.0]
    assert rows["limit"].tolist() == [10.0, 10.0, 20.0]


def test_only_the_hours_at_the_stems_go_with_their_number():
    """Twice the stems, 6 of 10 hours at them: 16 hours, when pace is at its middle."""
    own, limits = asked()
    parts = {"stem_hours": 5.0, "refill_hours": 1.0, "walk_hours": 4.0}
    work = pd.DataFrame([visit("a1/y", 2027, 10.0, 0.0, **parts)])
    totals = drawn_totals(work, limits, own, draws_of(density=np.full(9, 2.0), number=9, z=0.0))
    at = totals.rows.query("year == 2027 and season == 'spring' and kind == 'hours'").index[0]
    assert totals.drawn[at] == pytest.approx(np.full(9, 16.0))


def test_follow_ups_go_with_what_came_back_and_first_work_with_what_stands():
    """Half the stems come back: a follow-up wholly at its stems takes half, first work all."""
    own, limits = asked()
    late = visit("a1/y", 2028, 8.0, 0.0, job="follow_up", stem_hours=8.0)
    first = visit("a1/y", 2027, 8.0, 0.0, stem_hours=8.0)
    drawn = draws_of(follow=np.full(9, 0.5), number=9, z=0.0)
    totals = drawn_totals(pd.DataFrame([first, late]), limits, own, drawn)
    rows = totals.rows[(totals.rows["kind"] == "hours") & (totals.rows["season"] == "spring")]
    assert totals.drawn[rows.index, 0].tolist() == pytest.approx([8.0, 4.0, 0.0])


def test_product_goes_with_the_stems_and_not_with_a_contractor():
    """Three times the stems, three times the product; what a contractor brings is not counted."""
    own, limits = asked()
    amounts = {"product_l": 2.0, "product_low_l": 2.0, "product_high_l": 2.0}
    work = [visit("a1/y", 2027, 1.0, 0.0, **amounts),
            visit("a1/z", 2027, 0.0, 0.0, their_hours=5.0, **amounts)]  # fmt: skip
    drawn = draws_of(density=np.full(9, 3.0), number=9, z=0.0)
    totals = drawn_totals(pd.DataFrame(work), limits, own, drawn)
    at = totals.rows.query("year == 2027 and kind == 'product'").index[0]
    assert totals.drawn[at, 0] == pytest.approx(6.0)


def test_pace_has_only_the_spread_that_the_count_leaves():
    """Stems alone spread as wide as the visit's own range: nothing is added on top.

    The range of the visit is 8 / 1.5 to 8 x 1.5, the middle 90 % of a log-normal with s = ln 1.5 /
    1.645; stems drawn with that s and all hours at them give the same 95 % quantile, 12 hours.
    """
    own, limits = asked()
    spread = np.log(1.5) / 1.6448536
    stems = np.exp(spread * np.random.default_rng(3).standard_normal(20_000))
    work = visit("a1/y", 2027, 8.0, 0.0, hours_low=8 / 1.5, hours_high=12.0, stem_hours=8.0)
    drawn = draws_of(density=stems, number=20_000)
    totals = drawn_totals(pd.DataFrame([work]), limits, own, drawn)
    at = totals.rows.query("year == 2027 and season == 'spring'").index[0]
    error = 4 * 0.015 * spread  # four standard errors of a 95 % quantile of 20,000 draws
    assert np.log(np.quantile(totals.drawn[at], 0.95) / 12.0) == pytest.approx(0.0, abs=error)


def test_a_season_filled_to_its_middle_runs_over_half_of_the_time():
    """Ten hours planned of ten: the odds are even, in the season, not in the year of twenty."""
    own, limits = asked()
    work = visit("a1/y", 2027, 10.0, 0.0, hours_low=8.0, hours_high=12.5)
    odds = yearly_odds(pd.DataFrame([work]), limits, own, draws_of())
    assert hours(odds, 2027, "spring")["odds_over"] == pytest.approx(0.5, abs=NOISE)
    assert hours(odds, 2027, "")["odds_over"] < 0.01


def test_a_reserve_is_the_quantile_less_what_is_planned():
    """10 hours, 5 to 20 the middle 90 %: what holds with 95 % chance, less 10, to keep back."""
    own, limits = asked()
    work = pd.DataFrame([visit("a1/y", 2027, 10.0, 0.0, hours_low=5.0, hours_high=20.0)])
    pure = draws_of(z=None)
    table = reserves(work, limits, own, pure, (0.95,))
    row = table[(table["year"] == 2027) & (table["season"] == "spring")].iloc[0]
    weight = np.sqrt(0.8) + np.sqrt(0.2)  # both normals are one and the same in these draws
    sigma = np.log(2.0) / 1.6448536 * weight
    wanted = stats.norm.ppf(surer(0.95, DRAWS)) * sigma
    assert np.log(row["holds_with"] / 10) == pytest.approx(wanted, abs=4 * 0.047 * sigma)
    assert row["reserve"] == pytest.approx(row["holds_with"] - 10.0)
    assert not row["holds"]


@settings(max_examples=25, deadline=None)
@given(st.floats(1, 12), st.floats(1.05, 3.0), st.floats(0.55, 0.95))
def test_more_chance_never_needs_less(middle, ratio, chance):
    """A higher chance asks for as much or more, and never less than what is planned."""
    own, limits = asked()
    ends = {"hours_low": middle / ratio, "hours_high": middle * ratio}
    work = pd.DataFrame([visit("a1/y", 2027, middle, 0.0, **ends)])
    table = reserves(work, limits, own, draws_of(number=300), (0.5, chance, 0.99))
    needed = table[(table["year"] == 2027) & (table["season"] == "spring")]["holds_with"]
    assert needed.is_monotonic_increasing
    assert (needed >= middle - 1e-9).all()


def test_a_plan_within_tightened_limits_holds():
    """High x plan on / what would hold: work cut down to the new high holds with the chance."""
    own, limits = asked()
    ends = {"hours_low": 5.0, "hours_high": 20.0}
    work = pd.DataFrame([visit("a1/y", 2027, 10.0, 0.0, **ends)])
    table = reserves(work, limits, own, draws_of(), (0.8,))
    tight = tightened(limits, limits, table)
    share = float(tight.set_index("resource").loc["hours 2027 spring", "high"]) / 10.0
    assert 0 < share < 1
    names = ["hours", "hours_low", "hours_high"]
    less = work.assign(**{name: work[name] * share for name in names})
    assert all_hold(reserves(less, limits, own, draws_of(), (0.8,)))
    assert (tight["high"] <= limits["high"]).all()


def test_half_of_what_a_season_has_to_spare_is_given_back():
    """Sure work of 10 of 10 hours after unsure work: half of what was kept back returns."""
    own, limits = asked()
    work = pd.DataFrame([visit("a1/y", 2027, 10.0, 50.0, hours_low=5.0, hours_high=20.0)])
    once = tightened(limits, limits, reserves(work, limits, own, draws_of(), (0.8,)))
    sure = work.assign(hours_low=10.0, hours_high=10.0)
    twice = tightened(limits, once, reserves(sure, limits, own, draws_of(), (0.8,)))
    spring = [t.set_index("resource").loc["hours 2027 spring", "high"] for t in (once, twice)]
    assert spring[1] == pytest.approx((spring[0] + 10.0) / 2)
    assert (twice["high"] <= limits["high"] + 1e-9).all()
    assert given_back(once, twice)
    assert not given_back(twice, once)


def test_what_does_not_hold_gets_nothing_back():
    """Work that needs more than there is keeps the tighter of two limits."""
    own, limits = asked()
    table = reserves(
        pd.DataFrame([visit("a1/y", 2027, 9.0, 0.0, hours_low=8.0, hours_high=11.0)]),
        limits, own, draws_of(), (0.95,),
    )  # fmt: skip
    tight = limits.assign(high=limits["high"].where(limits["kind"] != "hours", 2.0))
    after = tightened(limits, tight, table).set_index("resource")["high"]
    assert not table.set_index(["kind", "year", "season"]).loc[("hours", 2027, "spring"), "holds"]
    assert after["hours 2027 spring"] == 2.0


def test_what_holds_in_the_plan_s_own_draws_holds_in_others():
    """10 hours, 5 to 20 the middle 90 %: the true 80 % quantile is met by 384 of 400 seeds or more.

    Two standard errors leave a chance of 2.3 % a seed to fall short: 16 in 400 or fewer 98 times in
    100. Without them about half fall short.
    """
    work = pd.DataFrame([visit("a1/y", 2027, 10.0, 0.0, hours_low=5.0, hours_high=20.0)])
    true = 10.0 * np.exp(stats.norm.ppf(0.8) * np.log(2.0) / stats.norm.ppf(0.95))
    met = 0
    for seed in range(400):
        own, limits = asked(seed=seed)
        table = reserves(work, limits, own, None, (0.8,)).set_index(["kind", "year", "season"])
        met += table.loc[("hours", 2027, "spring"), "holds_with"] >= true
    assert met >= 384


def test_money_that_carries_over_is_kept_back_up_to_each_year():
    """60 dollars in each of two years: the reserve of the second year is that of both together."""
    own, limits = asked(money=Money([100.0], carry_over=True))
    ends = {"cost_low": 40.0, "cost_high": 90.0}
    work = [visit("a1/y", year, 0.0, 60.0, **ends) for year in (2027, 2028)]
    table = reserves(pd.DataFrame(work), limits, own, draws_of(), (0.8,))
    money = table[table["kind"] == "money"].set_index("year")
    assert money["plan_on"].tolist() == [60.0, 120.0, 120.0]
    assert money["limit"].tolist() == [100.0, 200.0, 300.0]
    assert money.loc[2028, "reserve"] == pytest.approx(2 * money.loc[2027, "reserve"], rel=1e-6)
