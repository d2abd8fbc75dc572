"""Strips that the log says were treated before the plan, and seed that crosses an edge."""

import pandas as pd
import pytest

from clearing import effort
from clearing.ahead import price_ahead
from clearing.effort.arrivals import own_small, with_the_bank, years_to_upkeep
from clearing.effort.balance import paid
from clearing.forecast.growth import vital_rates
from clearing.property import Crew
from clearing.schedule import Around, choose
from clearing.tables import columns
from tests.records.test_log import log
from tests.small_ground import small_ground, stand_on


def treated(walked, *rows: dict) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return what was begun by a log, and options and visits held to it."""
    ground = walked.ground
    standing, strips = stand_on(ground, log(*rows))
    land = (walked.methods, strips, ground.blocks)
    priced = price_ahead(land, standing, ground.rates, standing.settings)
    return standing.done.begun, priced.options, priced.visits


def test_a_first_treatment_in_the_log_before_the_plan_begins_a_strip(walked):
    """Cutting of 2026 counts for its strip, hacking for all strips of its block.

    The plan goes on from the newest row, here in the summer of its first year.
    """
    begun, _, _ = treated(
        walked,
        {"date": "2026-10-05", "strip_id": "a", "job": "Cut and spray"},
        {"date": "2026-11-05", "strip_id": "a", "job": "foliar"},
        {"date": "2025-07-05", "strip_id": "w", "job": "hack_and_squirt"},
        {"date": "2027-07-05", "strip_id": "b", "job": "hack_and_squirt"},
        {"date": "2026-07-05", "strip_id": "b", "job": "mow"},
    )
    got = [tuple(row) for row in begun[["strip_id", "start_year", "season", "job"]].to_numpy()]
    assert sorted(got) == [
        ("a", 2026, "fall", "cut_and_spray"), ("b", 2027, "summer", "hack_and_squirt"),
        ("c", 2025, "summer", "hack_and_squirt"),
    ]  # fmt: skip


def test_a_strip_begun_has_only_what_follows(walked):
    """Every option of it starts in the year of the log, and none cuts again.

    What else belongs to the cutting and is not in the log (the leaf spray of thin stems, the call
    to the utility) is still ahead. The other strips keep all their options.
    """
    row = {"date": "2026-10-05", "strip_id": "a", "job": "cut_and_spray"}
    _, options, visits = treated(walked, row)
    own = options[options["strip_id"] == "a"]
    assert set(own["start_year"]) == {2026}
    assert set(own["method"]) == {"cut_and_spray"}
    ahead = visits[visits["strip_id"] == "a"]
    assert ahead["year"].min() >= 2027
    later = {"follow_up", "upkeep", "mow", "seed", "fell_dead", "haul_tops"}
    assert set(ahead["job"]) <= later | {"foliar", "call_utility"}
    before = walked.options
    same = before[before["strip_id"] != "a"]["option_id"].tolist()
    assert options[options["strip_id"] != "a"]["option_id"].tolist() == same


def test_what_is_left_of_a_begun_strip_costs_what_its_visits_cost(walked):
    """Hours and discounted cost are those of the visits inside the plan, in its dollars."""
    settings = walked.ground.settings
    row = {"date": "2026-10-05", "strip_id": "a", "job": "cut_and_spray"}
    _, options, visits = treated(walked, row)
    spent = paid(visits[visits["year"] <= 2030], settings).groupby("option_id")["paid"].sum()
    own = options[options["strip_id"] == "a"].set_index("option_id")
    for option, row in own.iterrows():
        assert row["cost"] == pytest.approx(spent.get(option, 0.0))


def test_a_job_that_no_method_of_the_strip_is_begins_nothing(walked):
    """Where the zones leave no such method the strip keeps its options."""
    row = {"date": "2026-10-05", "strip_id": "c", "job": "mow_down"}
    _, options, _ = treated(walked, row)
    kept = options[options["strip_id"] == "c"]["start_year"].dropna()
    methods = walked.methods[walked.methods["strip_id"] == "c"]["method"].unique()
    assert ("mow_then_spray" in methods) == bool((kept < 2027).any())


def test_follow_ups_of_begun_strips_may_pass_the_hours_and_the_shortfall_is_told(walked):
    """A crew of an hour a day cannot keep up: the plan stands, with the hours that lack."""
    ground = small_ground(crew=Crew(people=1, days_per_week=0.1, hours_per_day=0.1))
    rows = {"date": "2026-10-05", "strip_id": "a", "job": "cut_and_spray"}
    _, options, visits = treated(walked, rows)
    around = Around(begun=frozenset({"a"}))
    plan = choose(options, visits, ground.rates, ground.settings, gap=0.0, around=around)
    assert plan.status == "best"
    assert plan.options.set_index("strip_id").loc["a", "start_year"] == 2026
    lacks = plan.shortfall.set_index("resource")["amount"]
    over = plan.limits.set_index("resource")
    passed = (over["used"] - over["limit"]).clip(lower=0.0)
    assert lacks.sum() > 0
    assert lacks.sum() == pytest.approx(passed.sum())


@pytest.mark.parametrize(
    ("herbicide", "products", "meant"),
    [
        ("glyphosate_4", "glyphosate_4 triclopyr_ester_4", "triclopyr_ester_4"),
        ("triclopyr_ester_4", "triclopyr_ester_4", "triclopyr_ester_4"),
        ("glyphosate_4", "glyphosate_4", "glyphosate_4"),
        ("", "", "glyphosate_4 triclopyr_ester_4"),
    ],
)
def test_the_method_is_the_one_whose_products_the_log_has(herbicide, products, meant):
    """Triclopyr with glyphosate by the water is told from glyphosate alone by what was used."""
    rows = [("glyphosate_4", "glyphosate_4"), ("triclopyr_ester_4", "triclopyr_ester_4"),
            ("triclopyr_ester_4", "glyphosate_4")]  # fmt: skip
    methods = pd.DataFrame(
        [("a", f"cut_and_spray:{own}", "cut_and_spray", "cut_and_spray", used, 5.0)
         for own, used in rows],
        columns=["strip_id", "method_id", "method", "job", "herbicide", "stems_high"],
    )  # fmt: skip
    begun = pd.DataFrame([{"strip_id": "a", "job": "cut_and_spray", "jobs": "cut_and_spray",
                           "herbicide": herbicide, "products": products}])  # fmt: skip
    found = effort.begun_methods(methods, begun)["method_id"].unique()
    assert sorted(found) == [f"cut_and_spray:{own}" for own in meant.split()]


def seedlings(walked, *rows: tuple, part: str = "stems") -> pd.DataFrame:
    """Return what seedlings from over an edge cost (strip, from, species, year, seedlings)."""
    ground, methods = walked.ground, walked.methods
    names = ["strip_id", "from_id", "species", "year", "seedlings"]
    where = effort.places(ground.strips, ground.blocks, ground.rates)
    table = pd.DataFrame(rows, columns=names)
    known = (methods, effort.calm_of(walked.futures, ground.settings.first_year))
    priced = effort.price_arrivals(table, known, where, ground.rates, ground.settings)
    return priced[priced["part"] == part].reset_index(drop=True)


def test_seed_over_an_edge_costs_in_proportion_and_adds_up(walked):
    """Twice the seedlings take twice the time, and two strips share it by their seedlings.

    No tank is refilled for so few.
    """
    one = seedlings(walked, ("b", "a", "callery_pear", 2027, 100.0))
    two = seedlings(
        walked, ("b", "a", "callery_pear", 2027, 150.0), ("b", "c", "callery_pear", 2027, 50.0)
    )
    assert one.columns.tolist() == columns("arrivals")
    assert two["hours"].sum() == pytest.approx(2 * one["hours"].sum())
    assert two["hours"].tolist() == pytest.approx([1.5 * one["hours"][0], 0.5 * one["hours"][0]])
    assert (one["due_year"] == 2028).all()


def test_seedlings_take_no_search_and_no_way_in(walked):
    """Walking is in the follow-up already: hours are time at the stems and its breaks."""
    one = seedlings(walked, ("a", "b", "callery_pear", 2027, 100.0)).iloc[0]
    assert one["hours"] == pytest.approx(one["stem_hours"] + one["break_hours"])
    pace = walked.ground.rates.figure("follow_up", "base_s").value
    assert one["stem_hours"] == pytest.approx(100.0 * pace / 3600.0)


def test_own_time_has_its_worth_in_what_seed_costs(walked):
    """Paid = (cash + hours x wage) put into the first year's dollars."""
    one = seedlings(walked, ("b", "a", "callery_pear", 2027, 100.0)).iloc[0]
    money = walked.ground.settings.money
    worth = one["own_hours"] * walked.ground.settings.crew.wage_per_hour
    assert one["paid"] == pytest.approx((one["cost"] + worth) / (1.0 + money.discount_rate))


def test_a_few_seeds_are_left_out(walked):
    """Less than a hundredth of an hour is nobody's errand."""
    assert not len(seedlings(walked, ("b", "a", "callery_pear", 2027, 0.5)))


def test_much_seed_turns_upkeep_into_a_follow_up(walked):
    """A thousand seedlings on 0.3 ha keep a strip from done, so it is searched again; ten do not.

    Only once the strip would have come to upkeep, and shared by who sends them.
    """
    years = range(2027, 2031)
    many = [("a", "b", "callery_pear", year, 750.0) for year in years]
    more = [("a", "c", "callery_pear", year, 250.0) for year in years]
    search = seedlings(walked, *many, *more, part="search")
    assert len(search)
    calm = years_to_upkeep(walked.futures, 2027)["a"]
    assert (search["treated_by"] == search["year"] + 1 - calm).all()
    by_year = search.pivot(index="year", columns="from_id", values="hours")
    assert by_year["b"].to_numpy() == pytest.approx(3.0 * by_year["c"].to_numpy())
    quiet = own_small(walked.futures, 2027).loc["a"]
    limit = walked.ground.settings.seedlings_per_ha * 0.3
    few = [("a", "b", "callery_pear", 2030, 0.9 * (limit - quiet[2031]))]
    assert not len(seedlings(walked, *few, part="search"))


def test_seed_of_earlier_years_lasts_in_the_bank(walked):
    """c(t) = c(t - 1) x what lasts a year + the seedlings of the year (own reasoning)."""
    rates = walked.ground.rates
    rows = [("a", "callery_pear", year, 10.0) for year in (2027, 2028, 2029)]
    seeds = pd.DataFrame(rows, columns=["strip_id", "species", "year", "seedlings"])
    total = with_the_bank(seeds, rates).loc["a"]
    lasts = vital_rates("callery_pear", rates).bank_survival
    assert total[2029] == pytest.approx(10.0 * (1.0 + lasts + lasts**2))
