"""Follow-ups of one plan added up, and seed from over an edge put into its visits."""

import pandas as pd
import pytest

from clearing import effort
from clearing.effort.arrivals import ADDED
from clearing.effort.begun import DOLLARS, in_dollars_of
from clearing.effort.dates import Calendar
from tests.effort.test_begun import seedlings
from tests.small_ground import replace

KEYS = ["strip_id", "method_id", "start_year"]
LATE = ["follow_up", "upkeep"]


@pytest.fixture(scope="module")
def chosen(walked):
    """Return the first treated option with a follow-up, and its visits."""
    late = walked.visits[walked.visits["job"].isin(LATE) & (walked.visits["hours"] > 0)]
    options = walked.options.dropna(subset=["start_year"]).set_index("option_id")
    one = next(name for name in late["option_id"] if name in options.index)
    return options.loc[one], walked.visits[walked.visits["option_id"] == one]


def test_sums_are_what_the_visits_of_the_same_option_take(walked, chosen):
    """Hours of everybody and the cash of each year, as its priced follow-ups have them."""
    option, visits = chosen
    futures = walked.futures[(walked.futures[KEYS] == option[KEYS].tolist()).all(axis=1)]
    ground = walked.ground
    place = effort.places(ground.strips, ground.blocks, ground.rates)
    args = (walked.methods, place, ground.rates, ground.settings)
    found = effort.follow_sums(futures, *args).set_index("year")
    own = visits[visits["job"].isin(LATE)]
    wanted = (own["hours"] + own["their_hours"]).groupby(own["year"].astype(int)).sum()
    last = ground.settings.first_year + ground.settings.years - 1
    wanted = wanted[(wanted > 0) & (wanted.index <= last)]
    assert len(wanted)
    assert found.index.max() <= last
    assert found.loc[wanted.index, "hours"].to_numpy() == pytest.approx(wanted.to_numpy())
    cash = own.groupby(own["year"].astype(int))["cost"].sum()[wanted.index]
    assert found.loc[wanted.index, "cost"].to_numpy() == pytest.approx(cash.to_numpy())
    before = futures[futures["work"] == ""]
    assert not len(effort.follow_sums(before, *args))


def test_seed_over_an_edge_is_added_to_the_year_s_follow_up(walked, chosen):
    """What is planned and what comes add up, in a visit of its own where the year has none."""
    _, visits = chosen
    strip = str(visits["strip_id"].iloc[0])
    year = int(visits[visits["job"].isin(LATE) & (visits["hours"] > 0)]["year"].min())
    come = "b" if strip == "a" else "a"
    one = seedlings(walked, (strip, come, "callery_pear", 2027, 100.0))
    for due, more in ((year, 0), (2050, 1)):
        charged = one.assign(due_year=due)
        out = effort.with_arrivals(visits, charged)
        assert len(out) == len(visits) + more
        for name in ADDED:
            assert out[name].sum() == pytest.approx(visits[name].sum() + charged[name].sum())
    lone = out.iloc[-1]
    assert (lone["year"], lone["people"]) == (2050, one["people"].iloc[0])
    assert lone["visit_id"].endswith("#seed2050")
    assert effort.with_arrivals(visits, one.iloc[:0]) is visits


def test_seed_after_the_plan_s_years_or_of_nobody_costs_nothing(walked):
    """2040 is not planned; no seedling is no work."""
    assert not len(seedlings(walked, ("b", "a", "callery_pear", 2040, 100.0)))
    assert not len(seedlings(walked, ("b", "a", "callery_pear", 2027, 0.0)))


def test_dollars_of_a_base_year_grow_to_the_plan_s_own(walked):
    """Two years at 4 percent: 1.0816; the same year changes nothing."""
    later = replace(walked.ground.settings, first_year=2029)
    options = pd.DataFrame([dict.fromkeys(DOLLARS, 100.0)])
    assert in_dollars_of(options, later, 2027).to_numpy() == pytest.approx(108.16)
    assert in_dollars_of(options, later, 2029) is options


def test_a_job_without_an_open_season_stays_where_it_begins():
    """Nothing fits and nothing is late enough: the start itself, or a year after it."""
    year = Calendar(("spring", "fall"), (True, False), ((3, 4, 5), (9, 10, 11)))
    assert year.next_fit("fall", 0) == (0, 0)
    assert year.next_fit("spring", 1) == (1, 0)
    assert year.after(0, 4.0) == (1, 0)
    assert year.after(0, 40.0) == (1, 0)


def test_no_visit_has_no_wait(walked):
    """An empty table keeps its columns and gains those of the waits."""
    ground, nearby = walked.ground, pd.DataFrame()
    out = effort.with_cautions(
        walked.visits.iloc[:0], walked.methods, nearby, ground.blocks, ground.rates,
        ground.settings,
    )  # fmt: skip
    assert {"stock_wait_days", "hay_wait_days"} <= set(out.columns)
    assert not len(out)
