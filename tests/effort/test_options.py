"""Options and their visits: the contract, the order of things, and money."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from clearing import effort
from clearing.effort.balance import finish_years, paid
from clearing.property import Crew, Money
from clearing.rates import for_settings
from clearing.tables import columns
from tests.small_ground import GLYPHOSATE, IMAZAPYR, SETTINGS, small_ground


def test_options_and_visits_have_the_columns_of_the_contract(walked):
    """The tables are the ones that the planner reads, and every visit has its option."""
    assert walked.options.columns.tolist() == columns("options")
    assert walked.visits.columns.tolist() == columns("visits")
    assert walked.options["option_id"].is_unique
    assert walked.visits["visit_id"].is_unique
    assert set(walked.visits["option_id"]) <= set(walked.options["option_id"])


def test_visits_stand_in_seasons_that_have_hours(walked):
    """No visit in a season that the rates do not know, and none before its option starts."""
    assert set(walked.visits["season"]) <= set(walked.ground.rates.seasons["season"])
    start = walked.visits["option_id"].map(walked.options.set_index("option_id")["start_year"])
    assert (walked.visits["year"] >= start).all()


def test_recipes_are_used_in_their_months_only(walked):
    """A first spray lies in a season that the recipe's row of the methods names."""
    rows = walked.methods[walked.methods["recipe_id"] != ""]
    seasons = rows.groupby("recipe_id")["seasons"].first()
    sprays = walked.visits[walked.visits["recipe_id"] != ""]
    sprays = sprays[~sprays["job"].isin(["follow_up", "upkeep"])]
    for visit in sprays.drop_duplicates(["recipe_id", "season"]).itertuples():
        assert visit.season in seasons[visit.recipe_id].split(), visit.recipe_id


def test_dead_stems_are_felled_four_months_after_the_hack(walked):
    """Four months lie between the seasons of hack and felling (ditomaso_kyser_2007)."""
    months = walked.ground.rates.seasons.set_index("season")["months"]
    both = walked.visits[walked.visits["method"] == "hack_then_fell"]
    fell = both[both["job"] == "fell_dead"].set_index("option_id")
    hack = (
        both[both["job"] == "hack_and_squirt"].drop_duplicates("option_id").set_index("option_id")
    )
    assert len(fell)
    for option, visit in fell.iterrows():
        first = hack.loc[option]
        ended = 12 * first["year"] + months[first["season"]][-1]
        begun = 12 * visit["year"] + months[visit["season"]][0]
        assert begun - ended - 1 >= 4


def test_no_mowing_comes_between_regrowth_and_its_spray(walked):
    """In each year the mowing's season is not before the follow-up's."""
    order = walked.ground.rates.seasons.set_index("season")["order"]
    visits = walked.visits.assign(order=walked.visits["season"].map(order))
    keys = ["option_id", "year"]
    mow = visits[visits["job"] == "mow"].set_index(keys)["order"]
    spray = visits[visits["job"].isin(["follow_up", "upkeep"])].set_index(keys)["order"]
    both = mow.to_frame("mow").join(spray.rename("spray"), how="inner")
    assert len(both)
    assert (both["mow"] > both["spray"]).all()


def test_each_range_holds_its_middle(walked):
    """Low, middle and high of hours, mix, product and cost stand in order."""
    for low, middle, high in [
        ("hours_low", "hours", "hours_high"),
        ("mix_low_l", "mix_l", "mix_high_l"),
        ("product_low_l", "product_l", "product_high_l"),
        ("cost_low", "cost", "cost_high"),
    ]:
        assert (walked.visits[low] <= walked.visits[middle] + 1e-9).all(), low
        assert (walked.visits[middle] <= walked.visits[high] + 1e-9).all(), high


def test_waiting_is_never_free(walked):
    """Leaving a strip with stems costs its clearing afterwards."""
    idle = walked.options[walked.options["method"] == "not_now"]
    assert len(idle) == len(walked.ground.strips)
    assert (idle["run_off"] > 0).all()
    assert (idle[["hours", "cost", "worth"]] == 0).all(axis=None)


def test_family_time_costs_no_cash_and_hired_time_is_paid(walk, walked):
    """The same hours are the owner's own for a family, and wages for a hired crew."""
    hired = walk(small_ground(crew=Crew(who="hired", wage_per_hour=18.0)))
    keys = walked.visits.merge(hired.visits, on="visit_id", suffixes=("", "_hired"))
    assert (keys["own_hours"] == keys["hours"]).all()
    assert (keys["own_hours_hired"] == 0).all()
    paid_more = keys["cost_hired"] - keys["cost"]
    assert paid_more.to_numpy() == pytest.approx(18.0 * keys["hours"].to_numpy())


def test_cost_of_an_option_is_its_visits_discounted(walked):
    """Cash and own time of the visits inside the years, each over (1 + r)^years."""
    spent = paid(walked.visits, walked.ground.settings)
    inside = spent[spent["year"] < 2031].groupby("option_id")["paid"].sum()
    dated = walked.options.dropna(subset=["start_year"]).set_index("option_id")
    assert inside.reindex(dated.index).to_numpy() == pytest.approx(dated["cost"].to_numpy())


def test_brush_and_slope_never_shorten_the_work(walk, walked):
    """The same options in a thicket on a slope that is still mowed take at least as long."""
    ground = small_ground()
    hard = replace(ground, blocks=ground.blocks.assign(brush="thicket", slope_pct=20.0))
    there = walk(hard).options.set_index("option_id")["hours"]
    here = walked.options.set_index("option_id")["hours"]
    shared = here.index.intersection(there.index)
    assert len(shared) > 20
    assert (there[shared] >= here[shared] - 1e-9).all()


def test_an_option_over_the_label_s_limit_is_taken_out_with_the_clause(walk, walked):
    """With a limit of a tenth of a pound nothing is sprayed, and the clause is named."""
    own = replace(GLYPHOSATE, limits={"kg_ae_per_ha_year": 1e-4})
    tight = walk(small_ground(herbicides=(own,)))
    assert set(tight.options["method"]) == {"not_now"}
    said = effort.over_words(tight.options.attrs["removed"])
    assert said
    assert all("your label of glyphosate_4" in line for line in said)
    assert not walked.options.attrs["removed"]
    used = walked.visits.groupby(["option_id", "herbicide", "year"])["ae_kg_per_ha"].sum()
    assert used.xs("glyphosate_4", level="herbicide").max() <= 9.0


def test_acid_of_a_visit_is_its_product(walked):
    """Kilograms of acid are litres of product times the label's strength."""
    strength = {each.name: each.ae_kg_per_l for each in walked.ground.rates.products}
    sprays = walked.visits[walked.visits["product_l"] > 0]
    by_hand = sprays["product_l"] * sprays["herbicide"].map(strength)
    assert sprays["ae_kg"].to_numpy() == pytest.approx(by_hand.to_numpy(), rel=1e-6)


def test_a_place_without_stems_needs_nothing(walk):
    """Where nothing grows there is one option a strip, and it costs nothing."""
    empty = walk(small_ground(density=0.0))
    assert set(empty.options["method"]) == {"not_now"}
    assert empty.options["run_off"].sum() == 0
    assert not len(empty.visits)


def test_worth_counts_from_the_first_mowing_and_needs_a_value(walk, walked):
    """Grass is worth something from its first mowing on; without a value nothing is."""
    grass = walked.options[(walked.options["strip_id"] == "a") & (walked.options["hours"] > 0)]
    assert (grass["worth"] > 0).equals(grass["mow_year"].notna())
    assert walk(small_ground(money=Money())).options["worth"].sum() == 0


def test_more_stems_take_more_hours(walk, walked):
    """Half as many stems never take longer in the first treatment."""
    thin = walk(small_ground(density=0.5)).visits
    jobs = ["hack_and_squirt", "cut_and_spray", "foliar"]
    keys = ["option_id", "job", "herbicide", "recipe_id"]
    few = thin[thin["job"].isin(jobs)].groupby(keys)["hours"].sum()
    many = walked.visits[walked.visits["job"].isin(jobs)].groupby(keys)["hours"].sum()
    both = few.to_frame("few").join(many.rename("many"), how="inner")
    assert len(both) > 20
    assert (both["few"] <= both["many"] + 1e-9).all()


def test_the_settings_of_the_test_are_the_ones_planned_with(walked):
    """The small place is the one described: four years from 2027 on."""
    assert set(walked.options["start_year"].dropna().astype(int)) == {2027, 2028, 2029, 2030}
    assert for_settings(SETTINGS).products == walked.ground.rates.products


def test_the_first_mowing_takes_the_mower_longer_where_brush_stood(walk):
    """On brushy ground the first mowing goes at 3.2 km/h, later ones at the open 4.8 km/h."""
    ground = small_ground()
    brushy = replace(ground, blocks=ground.blocks.assign(brush="brushy"))
    visits = walk(brushy).visits
    mow = visits[(visits["job"] == "mow") & visits["strip_id"].isin(["a", "b"])]
    first = mow["year"] == mow.groupby("option_id")["year"].transform("min")
    speed = {at: ground.rates.figure(f"brush_{at}", "mow_kmh").value for at in ("open", "brushy")}
    ratio = mow[first]["machine_hours"].mean() / mow[~first]["machine_hours"].mean()
    assert ratio == pytest.approx(speed["open"] / speed["brushy"])


def test_mowing_a_thicket_down_goes_with_the_ground(walk, walked):
    """Half as many stems take the mower as long, and no time stands at the stems."""
    down = walked.visits[walked.visits["job"] == "mow_down"].set_index("option_id")
    thin = walk(small_ground(density=0.5)).visits
    thin = thin[thin["job"] == "mow_down"].set_index("option_id")
    both = down.index.intersection(thin.index)
    assert len(both)
    assert (down["stem_hours"] == 0).all()
    assert (down["machine_hours"] > 0).all()
    pd.testing.assert_series_equal(down.loc[both, "hours"], thin.loc[both, "hours"])


def test_nobody_waits_where_nobody_saws_or_all_do(walk):
    """Idle hours stand with work behind the saw, and only where some of the crew have one."""
    visits = walk(small_ground(crew=Crew(people=3, sawyers=1))).visits
    assert set(visits[visits["idle_hours"] > 1e-9]["job"]) == {"cut_and_spray", "fell_dead"}
    for sawyers in (0, 3):
        same = walk(small_ground(crew=Crew(people=3, sawyers=sawyers))).visits
        assert same["idle_hours"].sum() == 0


def test_parts_of_a_job_on_one_day_set_up_once(walked):
    """Two mixes of one job in one season of one option: a set-up between them, not two."""
    first = walked.visits[walked.visits["job"].isin(["hack_and_squirt", "foliar"])]
    keys = ["option_id", "year", "season", "job"]
    found = first.groupby(keys)["setup_hours"].agg(["sum", "size"])
    once = {job: walked.ground.rates.figure(job, "setup_h").value for job in set(first["job"])}
    assert (found["size"] > 1).any()
    expected = found.index.get_level_values("job").map(once)
    assert found["sum"].to_numpy() == pytest.approx(expected.to_numpy(dtype=float))


def test_without_a_leaf_spray_follow_ups_go_at_the_pace_of_hand_work(walk, walked):
    """With a product for stumps alone nothing is sprayed later, and pulling takes longer."""
    stumps = replace(GLYPHOSATE, methods=("hack_and_squirt", "cut_and_spray"))
    visits = walk(small_ground(herbicides=(stumps,))).visits
    later = visits[visits["job"].isin(["follow_up", "upkeep"])]
    sprayed = walked.visits[walked.visits["job"].isin(["follow_up", "upkeep"])]
    assert len(later)
    assert (later[["mix_l", "product_l"]] == 0).all(axis=None)
    assert (later["herbicide"] == "").all()
    least = walked.ground.rates.figure("hand_work", "base_s").value / 3600.0
    some = later[later["stems"] > 1]
    assert (some["stem_hours"] >= least * some["stems"] - 1e-9).all()
    pace, was = (each["stem_hours"].sum() / each["stems"].sum() for each in (some, sprayed))
    assert pace > 2 * was


def test_hauling_runs_the_saw_for_a_share_of_its_time(walked):
    """Dragging is not sawing: fuel for the handbook's share of the hours at the stems."""
    haul = walked.visits[walked.visits["job"] == "haul_tops"]
    rates = walked.ground.rates
    fuel = rates.figure("saw", "cost_per_h").value * rates.figure("haul_tops", "saw_share").value
    assert len(haul)
    assert haul["machine_cost"].to_numpy() == pytest.approx(fuel * haul["stem_hours"].to_numpy())


def test_follow_ups_keep_off_what_the_use_of_the_block_bars(walk):
    """Where dairy cows graze, a product with a wait of 300 days is in no follow-up either."""
    slow = replace(GLYPHOSATE, limits=GLYPHOSATE.limits | {"dairy_days": 300.0})
    cuts = replace(IMAZAPYR, methods=("hack_and_squirt", "cut_and_spray"))
    used = {}
    for stock in ("beef", "dairy"):
        ground = small_ground(herbicides=(slow, cuts))
        ground = replace(ground, blocks=ground.blocks.assign(stock=stock))
        later = walk(ground).visits.query("job == 'follow_up'")
        assert len(later)
        used[stock] = "glyphosate_4" in set(later["herbicide"])
    assert used == {"beef": True, "dairy": False}


def test_a_strip_is_finished_when_it_stays_clean_for_three_years():
    """Done at the end of the plan counts only with clean years after it; a late sprout undoes it.

    A spring without sprouts in the middle of the plan is no finish either.
    """
    case = ("a", "cut:x", 2027)
    years = range(2028, 2036)

    def finish(*clean: int) -> float:
        rows = [(*case, year, year in clean) for year in years]
        table = pd.DataFrame(rows, columns=["strip_id", "method_id", "start_year", "year", "done"])
        return finish_years(table, last=2032).loc[case]

    assert finish(*range(2030, 2036)) == 2030
    assert finish(2029, *range(2031, 2036)) == 2031
    assert finish(2032, 2033, 2034) == 2032
    assert np.isnan(finish(2032, 2033))
    assert finish(*range(2029, 2035)) == 2029  # what comes back years after is upkeep
