"""Own time, wages, contractors and cost share: who does the work, and who pays."""

import datetime

import pytest

from clearing import effort
from clearing.effort.hours import PARTS
from clearing.property import Crew
from clearing.settings import settings_from
from clearing.units import HA_PER_ACRE
from tests.small_ground import small_ground

PAID = ["wages", "product_cost", "machine_cost", "other_cost"]
GOOD = {"property": {"first_year": 2027}, "targets": {"species": ["callery pear"]}}
PROGRAM = {"name": "county", "dollars_per_ha": 300.0, "goals": ("pasture",), "blocks": (),
           "finish_by": datetime.date(2028, 12, 31)}  # fmt: skip


@pytest.mark.parametrize("who", ["family", "hired", "contractor"])
def test_parts_of_cost_and_hours_sum_to_the_whole(walk, who):
    """Wages, product, machine and other are the cost; the parts of the hours are the hours."""
    crew = Crew(who=who, wage_per_hour=18.0)
    visits = walk(small_ground(crew=crew, contractor={"mowing_per_acre": 85.0})).visits
    assert visits[PAID].sum(axis=1).to_numpy() == pytest.approx(visits["cost"].to_numpy())
    assert visits[list(PARTS)].sum(axis=1).to_numpy() == pytest.approx(visits["hours"].to_numpy())
    assert (visits[PAID] >= 0).all(axis=None)
    assert (visits["wages"] == 0).all() == (who == "family")


def test_a_job_given_away_costs_its_price_and_none_of_the_crew_s_hours(walk, walked):
    """85 dollars an acre of mowing: no hours of ours, theirs kept, everything else as it was."""
    prices = {"mowing_per_acre": 85.0}
    given = walk(small_ground(contractor=prices, hires=("mowing",)))
    mow = given.visits[given.visits["job"] == "mow"]
    acres = mow["strip_id"].map(given.ground.strips.set_index("strip_id")["area_ha"]) / HA_PER_ACRE
    assert mow["cost"].to_numpy() == pytest.approx((85.0 * acres).to_numpy())
    assert (mow[["hours", "own_hours", "machine_hours", "hours_high"]] == 0).all(axis=None)
    own = walked.visits[walked.visits["job"] == "mow"]
    assert mow["their_hours"].sum() == pytest.approx(own["hours"].sum())
    others = [v[~v["job"].isin(["mow", "mow_down"])] for v in (given.visits, walked.visits)]
    rest, was = (visits["cost"].sum() for visits in others)
    assert rest == pytest.approx(was)


def test_a_price_without_hires_changes_no_visit(walk, walked):
    """What others would ask is for comparing only."""
    priced = walk(small_ground(contractor={"mowing_per_acre": 85.0, "felling_per_stem": 9.0}))
    assert priced.visits["cost"].sum() == pytest.approx(walked.visits["cost"].sum())
    assert (priced.visits["their_hours"] == 0).all()


def test_a_contractor_s_crew_does_what_has_a_price_and_wages_pay_the_rest(walk):
    """Who = contractor: hacking by the hour is theirs, all else is hired."""
    crew = Crew(who="contractor", wage_per_hour=18.0)
    visits = walk(small_ground(crew=crew, contractor={"hack_and_squirt_per_hour": 60.0})).visits
    theirs = visits["job"] == "hack_and_squirt"
    asked = 60.0 * visits.loc[theirs, "their_hours"]
    assert visits.loc[theirs, "cost"].to_numpy() == pytest.approx(asked.to_numpy())
    wages = 18.0 * visits.loc[~theirs, "hours"]
    assert visits.loc[~theirs, "wages"].to_numpy() == pytest.approx(wages.to_numpy())
    assert (visits["own_hours"] == 0).all()


def test_prices_an_acre_and_a_hectare_are_the_same_money():
    """85 dollars an acre are 210.04 a hectare (an acre is 0.40468564224 ha)."""
    stated = GOOD | {"contractor": {"mowing_per_acre": 85, "hires": ["mowing"]}}
    other = GOOD | {"contractor": {"mowing_per_ha": 85 / 0.40468564224, "hires": ["mowing"]}}
    (one, _), (two, _) = settings_from(stated), settings_from(other)
    assert effort.contract.price_list(one)["mow"][1] == pytest.approx(210.0396, abs=1e-3)
    assert effort.contract.price_list(one)["mow"][1] == pytest.approx(
        effort.contract.price_list(two)["mow"][1]
    )


def test_a_program_an_acre_and_one_a_hectare_are_the_same_money():
    """120 dollars an acre are 296.53 a hectare, and a year stands for its last day."""
    programs = [
        {"name": "county", "dollars_per_acre": 120, "finish_by": 2031},
        {"name": "county", "dollars_per_ha": 120 / 0.40468564224, "finish_by": "2031-12-31"},
    ]
    (one, _), (two, _) = (settings_from(GOOD | {"cost_share": [each]}) for each in programs)
    amounts = [each.cost_share[0].pop("dollars_per_ha") for each in (one, two)]
    assert amounts == pytest.approx([296.526, 296.526], abs=1e-3)
    assert one.cost_share == two.cost_share


@pytest.mark.parametrize(
    ("contractor", "said"),
    [
        ({"mowwing_per_acre": 85}, "did you mean 'mowing_per_acre'?"),
        ({"mowing_per_mile": 85}, "units per_acre, per_ha, per_hour, per_stem"),
        ({"mowing_per_acre": -1}, "write a number from 0"),
        ({"mowing_per_acre": 85, "mowing_per_hour": 60}, "mowing has a price already; keep one"),
        ({"hires": ["mowing"]}, "give its price too, such as mowing_per_acre"),
        ({"hires": ["mowin"]}, "did you mean 'mowing'?"),
    ],
)
def test_what_is_wrong_with_a_price_is_named(contractor, said):
    """Job, unit, sign, doubles, and a job given away without a price."""
    settings, problems = settings_from(GOOD | {"contractor": contractor})
    assert settings is None
    assert said in problems[0]


@pytest.mark.parametrize(
    ("program", "said"),
    [
        ({"dollars_per_acre": -5}, "county: dollars_per_acre is -5; write a number from 0"),
        (
            {},
            "county: dollars_per_acre is missing; write what it pays, either an acre or a hectare",
        ),
        ({"dollars_per_acre": 5, "goals": ["lawn"]}, "county: goals is 'lawn'; write goals out of"),
        ({"dollars_per_acre": 5, "finish_by": "soon"}, "write a date such as 2031-12-31"),
    ],
)
def test_what_is_wrong_with_a_program_is_named(program, said):
    """Amount, goals and date of a cost share, under its own name."""
    settings, problems = settings_from(GOOD | {"cost_share": [{"name": "county", **program}]})
    assert settings is None
    assert said in problems[0]


def test_a_program_pays_the_year_after_the_first_mowing_in_time(walk):
    """300 dollars a hectare of pasture mowed by 2028, a year later; woods and late ones nothing."""
    there = walk(small_ground(cost_share=(PROGRAM,)))
    place = effort.places(there.ground.strips, there.ground.blocks, there.ground.rates)
    paid = effort.paid_back(there.options, place, there.ground.settings).set_index("option_id")
    options = there.options.set_index("option_id")
    grass = options["strip_id"].map(place["goal"]) == "pasture"
    in_time = grass & (options["mow_year"] <= 2028)
    assert set(paid.index) == set(options.index[in_time])
    assert (paid["year"] == options.loc[paid.index, "mow_year"] + 1).all()
    clear = options.loc[paid.index, "clear_share"].to_numpy(dtype=float)
    assert paid["amount"].to_numpy() == pytest.approx(300.0 * 0.3 * clear)
    rate = there.ground.settings.money.discount_rate
    inside = paid[paid["year"] <= 2030]
    now = inside["amount"] / (1 + rate) ** (inside["year"] - 2027)
    assert options.loc[inside.index, "paid_back"].to_numpy() == pytest.approx(now.to_numpy())
    assert options["paid_back"].drop(inside.index).sum() == 0


def test_a_program_for_other_blocks_pays_nothing(walk):
    """Blocks and goals of a program keep the others out."""
    elsewhere = {**PROGRAM, "blocks": ("w",)}
    assert walk(small_ground(cost_share=(elsewhere,))).options["paid_back"].sum() == 0


def test_cost_of_a_hectare_and_a_stem_are_the_option_s(walked):
    """Cash and own time of the same years, undiscounted, over area and over the first stems."""
    place = effort.places(walked.ground.strips, walked.ground.blocks, walked.ground.rates)
    units = effort.unit_costs(walked.options, walked.visits, place, 2028, 18.0)
    row = walked.options[walked.options["hours"] > 0].iloc[0]
    area = place.loc[row["strip_id"], "area_ha"]
    own = walked.visits[walked.visits["option_id"] == row["option_id"]]
    first = own[own["job"].isin(effort.compare.FIRST_JOBS)]["stems"].sum()
    inside = own[own["year"] <= 2028]
    spent = inside["cost"].sum() + 18.0 * inside["own_hours"].sum()
    got = units.set_index("option_id").loc[row["option_id"]]
    assert got["per_ha"] * area == pytest.approx(spent)
    assert got["per_stem"] * first == pytest.approx(spent)
    assert got["cash_per_ha"] * area == pytest.approx(inside["cost"].sum())
    assert (units["cash_per_ha"] <= units["per_ha"] + 1e-9).all()


def test_a_price_by_the_stem_gives_no_ground_work_away(walk, walked):
    """Mowing, seeding and marking by the stem: nobody asks anything, and the crew does it."""
    prices = {"mowing_per_stem": 1.0, "seeding_per_stem": 1.0, "marking_per_stem": 1.0}
    given = walk(small_ground(contractor=prices, hires=("mowing", "seeding", "marking"))).visits
    assert given["cost"].sum() == pytest.approx(walked.visits["cost"].sum())
    assert given["hours"].sum() == pytest.approx(walked.visits["hours"].sum())
    assert (given["their_hours"] == 0).all()


def test_the_parts_of_a_job_pay_for_their_ground_once(walk):
    """By the acre a visit never costs more than its strip, whatever mixes are in the tanks."""
    visits = walk(small_ground(contractor={"foliar_per_ha": 400.0, "hack_and_squirt_per_ha": 400.0},
                               hires=("foliar", "hack_and_squirt")))  # fmt: skip
    area = visits.ground.strips.set_index("strip_id")["area_ha"]
    own = visits.visits[visits.visits["job"].isin(["foliar", "hack_and_squirt"])]
    keys = ["option_id", "strip_id", "year", "season", "job"]
    found = own.groupby(keys, as_index=False).agg(
        cost=("cost", "sum"), rows=("cost", "size"), ha=("treated_ha", "sum")
    )
    assert (found["rows"] > 1).any()
    assert (found["cost"] <= 400.0 * found["strip_id"].map(area) + 1e-6).all()
    assert found["cost"].to_numpy() == pytest.approx(400.0 * found["ha"].to_numpy())


def test_methods_are_set_beside_the_chosen_one(walk):
    """One row a kind, the chosen one without extra, contractor's price where there is one."""
    there = walk(small_ground(contractor={"hack_and_squirt_per_stem": 2.0}))
    own = there.options[there.options["start_year"] == 2027]
    chosen = own.sort_values("cost").drop_duplicates("strip_id")["option_id"]
    place = effort.places(there.ground.strips, there.ground.blocks, there.ground.rates)
    known = (place, there.ground.settings)
    table = effort.compare_methods(there.options, there.visits, set(chosen), *known)
    assert not table.duplicated(["strip_id", "method"]).any()
    assert (table.loc[table["chosen"], "extra"] == 0).all()
    assert set(table.loc[table["chosen"], "option_id"]) == set(chosen)
    hacked = table[table["contractor_jobs"] == "hack_and_squirt"]
    assert len(hacked)
    assert (hacked["contractor"] > 0).all()
    assert table[table["contractor_jobs"] == ""]["contractor"].isna().all()
