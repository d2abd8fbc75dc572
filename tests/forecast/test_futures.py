"""What becomes of a strip: untreated, treated well or badly, followed up, done."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing.forecast import look_ahead
from clearing.forecast.cases import follow_up_kill
from clearing.forecast.growth import STAGES, vital_rates
from clearing.rates import load
from clearing.tables import columns
from clearing.treatment import known_products
from clearing.treatment.recipes import recipe_book
from tests.small_ground import GLYPHOSATE, SIZES, small_ground

RATES = load()
SHARE = st.floats(0.0, 1.0)
STANDS = st.lists(st.floats(0.0, 3000.0), min_size=6, max_size=6)
CASE = ["strip_id", "method_id", "start_year"]
JOBS = {"cut_and_spray": "cut_and_spray", "hack_and_leave": "hack_and_squirt", "not_now": "left"}
# what follow-ups reach: everything but seeds and what was left standing
ABOVE_GROUND = STAGES[1:]


def methods_of(
    stems: list[float], kill: float, method: str = "cut_and_spray", species: str = "callery_pear"
) -> pd.DataFrame:
    """Return the methods of strip a: one zone, one species, all classes treated alike."""
    kill = 0.0 if method == "not_now" else kill
    fixed = {
        "strip_id": "a", "method_id": method, "method": method, "zone_id": "a:1",
        "species": species, "job": JOBS[method], "recipe_id": "", "herbicide": "",
        "dose_ml": 1.0, "product_ml": 1.0, "kill": kill, "kill_low": 0.8 * kill,
        "kill_high": min(1.1 * kill, 1.0), "fell_after": False, "seasons": "fall", "cautions": "",
        "why_not": "",
    }  # fmt: skip
    rows = [
        fixed | {"size_class": size, "stems": n, "stems_low": 0.5 * n, "stems_high": 2.0 * n}
        for size, n in zip(SIZES, stems, strict=True)
    ]
    return pd.DataFrame(rows)[columns("methods")]


def futures_of(*methods: pd.DataFrame, years: int = 4) -> pd.DataFrame:
    """Return the futures of strip a (0.3 ha of pasture)."""
    ground = small_ground(years=years)
    strips = ground.strips[ground.strips["strip_id"] == "a"]
    table = pd.concat(methods, ignore_index=True)
    return look_ahead(table, strips, ground.blocks, ground.rates, ground.settings)


def by_year(futures: pd.DataFrame, start: int | None = None) -> pd.DataFrame:
    """Return stems above ground by year, for one start."""
    own = futures["start_year"].isna() if start is None else futures["start_year"] == start
    rows = futures[own & futures["stage"].isin(ABOVE_GROUND)]
    return rows.groupby("year")[["stems", "stems_low", "stems_high"]].sum()


@pytest.fixture(scope="module")
def futures():
    """Return the futures of the small place under two methods and none."""
    stems = [400.0, 300.0, 200.0, 100.0, 40.0, 10.0]
    return futures_of(
        methods_of(stems, 0.85), methods_of(stems, 0.7, "hack_and_leave"),
        methods_of(stems, 0.0, "not_now"),
    )  # fmt: skip


def test_every_year_case_and_stage_stands_once(futures):
    """Four years and four beyond, each start and stage; columns are those of the contract."""
    assert futures.columns.tolist() == columns("futures")
    assert not futures.duplicated([*CASE, "year", "species", "stage"]).any()
    assert sorted(futures["year"].unique()) == list(range(2027, 2035))
    assert len(futures) == (2 * 4 + 1) * 8 * (len(STAGES) - 1)  # pears send up no suckers


@settings(max_examples=12, deadline=None)
@given(STANDS.filter(lambda stand: sum(stand) > 1), SHARE, SHARE)
def test_better_kill_never_leaves_more_stems(stand, one, two):
    """Up to the end of the seed bank's life the better kill has no more stems in any year."""
    poor, good = (
        by_year(futures_of(methods_of(stand, kill), years=2), 2027)
        for kill in sorted((0.98 * one, 0.98 * two))
    )
    for column in ("stems", "stems_high"):
        assert (good[column] <= poor[column] * (1 + 1e-9) + 1e-9).all(), column


@settings(max_examples=20, deadline=None)
@given(
    STANDS, SHARE, st.sampled_from(["cut_and_spray", "hack_and_leave", "not_now"]),
    st.sampled_from(["callery_pear", "tree_of_heaven"]),
)  # fmt: skip
def test_scenarios_stand_in_order_and_nothing_is_negative(stand, kill, method, species):
    """0 <= low <= stems <= high in each row, as the paths run; nothing else is below nought."""
    futures = futures_of(methods_of(stand, 0.9 * kill, method, species), years=3)
    assert (futures["stems_low"] >= 0).all()
    assert (futures["stems_low"] <= futures["stems"]).all()
    assert (futures["stems"] <= futures["stems_high"]).all()
    assert (futures[["standing_dead", "seed_out"]] >= 0).all().all()


def test_the_first_treatment_kills_by_its_recipe():
    """The year after, resprouts of what the recipe left and growth alone stand; no old tree."""
    stems = [0.0, 0.0, 0.0, 0.0, 1000.0, 0.0]
    after = futures_of(methods_of(stems, 0.8), years=1)
    year = after[(after["start_year"] == 2027) & (after["year"] == 2028)].set_index("stage")
    vital = vital_rates("callery_pear", RATES)
    up = vital.up[7]
    assert year.loc["resprout", "stems"] == pytest.approx(200 * (1 - up))
    assert year.loc["under_1in", "stems"] == pytest.approx(200 * up * vital.makes[7])
    assert year.loc["6_10in", "stems"] == 0


def test_follow_ups_go_on_until_done_then_upkeep(futures):
    """Nothing before the start, first in it, then follow-up while not done and upkeep once done."""
    treated = futures[futures["start_year"].notna()]
    life = RATES.figure("callery_pear", "seed_bank_years").value
    since, work, done = (treated["year"] - treated["start_year"], treated["work"], treated["done"])
    assert set(work[since < 0]) == {"none"}
    assert set(work[since == 0]) == {"first"}
    assert set(work[(since > 0) & ~done]) == {"follow_up"}
    assert set(work[(since > 0) & done & (since <= life + 1)]) == {"upkeep"}
    assert set(work[(since > life + 1) & done]) <= {"none"}


def test_a_strip_that_waits_never_has_work(futures):
    """not_now: no work, never done, never mowed, and more stems in the end than at the start."""
    waits = futures[futures["start_year"].isna()]
    assert set(waits["work"]) == {"none"}
    assert not waits["done"].any()
    assert not waits["mowable"].any()
    stems = by_year(futures[futures["method_id"] == "not_now"])["stems"]
    assert stems.iloc[-1] > stems.iloc[0] > 0


def test_until_its_start_a_strip_is_the_one_that_waits(futures):
    """Starting in 2029, the stems up to 2029 are those of not now."""
    waits = by_year(futures[futures["method_id"] == "not_now"])
    starts = by_year(futures[futures["method_id"] == "cut_and_spray"], 2029)
    pd.testing.assert_frame_equal(starts.loc[:2029], waits.loc[:2029])
    assert starts.loc[2030, "stems"] < waits.loc[2030, "stems"]


def test_done_is_what_the_settings_say():
    """With a laxer wish for seedlings and stems the same strip is done sooner."""
    table = methods_of([400.0, 300.0, 200.0, 100.0, 40.0, 10.0], 0.9)
    first = []
    for wish, big in ((20.0, 0.0), (2000.0, 200.0)):
        ground = small_ground(years=6, seedlings_per_ha=wish, stems_over_1in=big)
        strips = ground.strips[ground.strips["strip_id"] == "a"]
        future = look_ahead(table, strips, ground.blocks, ground.rates, ground.settings)
        own = future[(future["start_year"] == 2027) & future["done"]]
        first.append(own["year"].min())
    assert first[1] < first[0]


def test_the_year_after_the_first_treatment_is_a_follow_up(futures):
    """Sprouts need a year to show: nothing is done, or upkeep alone, in the spring after."""
    treated = futures[futures["start_year"].notna()]
    after = treated[treated["year"] == treated["start_year"] + 1]
    assert set(after["work"]) == {"follow_up"}
    assert not after["done"].any()


def test_cut_ground_is_mowed_the_next_year_and_hacked_ground_when_it_is_soft(futures):
    """Stumps cut flush wait a year, standing dead the handbook's years."""
    wait = RATES.figure("callery_pear", "mow_after_years").value
    for method, years in (("cut_and_spray", 1), ("hack_and_leave", wait)):
        own = futures[(futures["method_id"] == method) & (futures["start_year"] == 2027)]
        assert own.loc[own["mowable"], "year"].min() == 2027 + years, method


def test_only_hacked_stems_stand_dead(futures):
    """The killed over an inch stand after hacking, thin out by year, and never after cutting."""
    own = futures[futures["start_year"] == 2027].drop_duplicates(["method_id", "year"])
    dead = own.pivot_table(index="year", columns="method_id", values="standing_dead")
    assert (dead["cut_and_spray"] == 0).all()
    assert dead.loc[2028, "hack_and_leave"] == pytest.approx(0.7 * 350)
    assert (dead["hack_and_leave"].loc[2028:].diff().dropna() < 0).all()


def half_left(stems: list[float]) -> pd.DataFrame:
    """Return the futures of strip a with as many stems treated for good as left by a rule."""
    left = methods_of(stems, 0.0).assign(zone_id="a:2", job="left")
    return futures_of(pd.concat([methods_of(stems, 1.0), left], ignore_index=True))


def test_stems_that_nothing_may_treat_stay_and_bear_seed():
    """Half of the trees left by a rule: none is lost in any later year, and they shed seed."""
    future = half_left([0.0, 0.0, 0.0, 0.0, 30.0, 0.0])  # fewer than places for large ones
    own = future[(future["start_year"] == 2027) & future["stage"].isin(["6_10in", "over_10in"])]
    trees = own.groupby("year")["stems"].sum()
    assert trees.loc[2027] == 60.0
    assert (trees.loc[2028:] >= 30.0 * (1 - 1e-9)).all()
    assert (own["seed_out"] > 0).all()


def test_stems_that_nothing_may_treat_grow_and_count_in_every_stage():
    """Stems of two classes left: the year after, by their yearly share, also those under an inch.

    Follow-ups kill none of them, and ``done`` goes by the others alone.
    """
    future = half_left([0.0, 80.0, 0.0, 60.0, 0.0, 0.0])
    year = future[(future["start_year"] == 2027) & (future["year"] == 2028)].set_index("stage")
    up = vital_rates("callery_pear", RATES).up
    assert year.loc["under_1in", "stems"] == pytest.approx(80 * (1 - up[2]))
    assert year.loc["1_3in", "stems"] == pytest.approx(80 * up[2])
    assert year.loc["3_6in", "stems"] == pytest.approx(60 * (1 - up[4]))
    assert year.loc["6_10in", "stems"] == pytest.approx(60 * up[4])
    last = by_year(future, 2027).loc[2034]
    assert last["stems"] >= 140 * (1 - 1e-9)
    own = future[(future["start_year"] == 2027) & (future["year"] > 2027)]
    assert own["done"].any()


def test_stems_left_crowd_out_what_comes_up_beside_them():
    """Ground full of left stems under an inch: resprouts of the treated find no place in it."""
    vital = vital_rates("callery_pear", RATES)
    many = 3 * 0.3 * vital.places[2]
    left = methods_of([0.0, many, 0.0, 0.0, 0.0, 0.0], 0.0).assign(zone_id="a:2", job="left")
    cut = methods_of([0.0, 0.0, 0.0, 0.0, 300.0, 0.0], 0.5)
    thin = {}
    for name, tables in (("alone", [cut]), ("beside", [cut, left])):
        future = futures_of(pd.concat(tables, ignore_index=True))
        own = future[(future["start_year"] == 2027) & (future["stage"] == "under_1in")]
        thin[name] = own.set_index("year").loc[2028, "stems"]
    assert thin["alone"] == pytest.approx(150 * vital.up[7] * vital.makes[7])
    assert thin["beside"] == pytest.approx(many * (1 - vital.up[2]))


def test_a_treated_strip_sheds_nothing_in_its_first_year(futures):
    """Untreated it sheds seed every year, treated in 2029 none in that year, as in the pairs."""
    bank = futures[(futures["stage"] == "seed_bank") & (futures["method_id"] == "cut_and_spray")]
    shed = bank[bank["start_year"] == 2029].set_index("year")["seed_out"]
    assert (shed.loc[:2028] > 0).all()
    assert shed.loc[2029] == 0
    grown = bank[bank["start_year"] == 2029].set_index("year")["stems"]
    vital = vital_rates("callery_pear", RATES)
    assert grown.loc[2030] == pytest.approx(grown.loc[2029] * vital.bank_survival)


def test_a_wish_of_no_stems_holds_at_the_handbook_s_least():
    """One expected stem a hectare passes for none: survivors of 1 in 100 a hectare do, more not."""
    least = RATES.figure("any", "done_stems_per_ha").value
    found = []
    for wish in (0.0, least):
        ground = small_ground(years=6, stems_over_1in=wish)
        strips = ground.strips[ground.strips["strip_id"] == "a"]
        table = methods_of([0.0, 0.0, 0.0, 0.0, 100.0, 0.0], 0.9)
        found.append(look_ahead(table, strips, ground.blocks, ground.rates, ground.settings))
    assert found[0]["done"].equals(found[1]["done"])
    assert found[0]["done"].any()


def test_a_bigger_strip_of_the_same_stand_has_the_same_density():
    """Ten times the ground and stems: ten times every path."""
    stems = np.array([400.0, 300.0, 200.0, 100.0, 40.0, 10.0])
    ground = small_ground()
    strips = ground.strips[ground.strips["strip_id"] == "a"]
    small, big = (
        look_ahead(methods_of([*(stems * by)], 0.8), strips.assign(area_ha=0.3 * by),
                   ground.blocks, ground.rates, ground.settings)
        for by in (1.0, 10.0)
    )  # fmt: skip
    assert big["stems"].tolist() == pytest.approx((10 * small["stems"]).tolist())
    assert big["work"].equals(small["work"])


def test_order_of_rows_does_not_matter():
    """Methods, strips and blocks shuffled: the same stems for each case."""
    ground = small_ground()
    stems = [400.0, 300.0, 200.0, 100.0, 40.0, 10.0]
    table = pd.concat([methods_of(stems, 0.8), methods_of(stems, 0.0, "not_now")])
    other = replace(ground, blocks=ground.blocks[::-1], strips=ground.strips[::-1])
    keys = [*CASE, "year", "species", "stage"]
    one, two = (
        look_ahead(rows, each.strips, each.blocks, each.rates, each.settings)
        .sort_values(keys, ignore_index=True)
        for rows, each in ((table, ground), (table.sample(frac=1, random_state=1), other))
    )  # fmt: skip
    pd.testing.assert_frame_equal(one, two)


def test_without_a_leaf_spray_follow_ups_kill_what_pulling_kills():
    """No product labelled for leaves: the share is that of hand work, not of a spray."""
    plain = small_ground()
    cuts = replace(GLYPHOSATE, methods=("hack_and_squirt", "cut_and_spray"))
    bare = small_ground(herbicides=(cuts,))
    pulled = bare.rates.figure("callery_pear", "hand_pull_kill")
    found = []
    for ground in (bare, plain):
        book, _ = recipe_book(["callery_pear"], known_products(ground.rates), ground.rates)
        found.append(follow_up_kill("callery_pear", book, ground.rates)[0])
    assert found[0] == pulled.value
    assert found[1] > pulled.value


def test_follow_ups_kill_with_what_the_use_of_the_block_leaves():
    """Dairy cows bar the spray by a wait of 300 days: more comes back than where they do not."""
    limits = {**GLYPHOSATE.limits, "dairy_days": 300.0}
    ground = small_ground(herbicides=(replace(GLYPHOSATE, limits=limits),))
    strips = ground.strips[ground.strips["strip_id"] == "a"]
    table = methods_of([0.0, 0.0, 0.0, 300.0, 200.0, 0.0], 0.6)
    left = []
    for stock in ("none", "dairy"):
        blocks = ground.blocks.assign(stock=stock)
        futures = look_ahead(table, strips, blocks, ground.rates, ground.settings)
        left.append(by_year(futures, 2027).loc[2029, "stems"])
    assert left[1] > left[0]


def test_no_mower_is_counted_on_where_the_slope_is_too_steep():
    """From the handbook's slope up no year is mowable, and more seedlings stand for it."""
    ground = small_ground()
    steep = RATES.figure("any", "mow_most_slope_pct").value
    strips = ground.strips[ground.strips["strip_id"] == "a"]
    table = methods_of([400.0, 300.0, 200.0, 100.0, 40.0, 10.0], 0.8)
    flat, sloping = (
        look_ahead(table, strips, ground.blocks.assign(slope_pct=slope), ground.rates,
                   ground.settings)
        for slope in (steep - 1, steep)
    )  # fmt: skip
    assert flat["mowable"].any()
    assert not sloping["mowable"].any()
    assert by_year(sloping, 2027)["stems"].sum() > by_year(flat, 2027)["stems"].sum()


def test_suckers_come_up_of_what_the_treatment_missed():
    """Of 200 survivors over an inch the handbook's suckers a stem, 30 percent still short."""
    vital = vital_rates("tree_of_heaven", RATES)
    table = methods_of([0.0, 0.0, 0.0, 0.0, 1000.0, 0.0], 0.8, species="tree_of_heaven")
    after = futures_of(table, years=1)
    year = after[(after["start_year"] == 2027) & (after["year"] == 2028)].set_index("stage")
    came = 200 * vital.suckers_per_stem
    assert year.loc["root_sucker", "stems"] == pytest.approx(came * (1 - vital.up[8]))
    assert year.loc["under_1in", "stems"] == pytest.approx(came * vital.up[8] + 200 * vital.up[7])
    assert (after["stage"] == "root_sucker").any()


def test_stems_that_only_the_high_end_has_are_treated_too():
    """A class that the count may have missed dies by the same kill in the high scenario."""
    table = methods_of([0.0, 0.0, 0.0, 0.0, 100.0, 0.0], 0.9)
    thin = table["size_class"] == "3_6in"
    table.loc[thin, "stems_high"] = 300.0
    after = futures_of(table, years=1)
    year = after[(after["start_year"] == 2027) & (after["year"] == 2028)].set_index("stage")
    assert year.loc["3_6in", "stems_high"] == 0
    assert year.loc["resprout", "stems_high"] < 0.3 * 500


def test_canopy_closes_over_a_strip_that_waits_and_opens_over_one_that_is_cut(futures):
    """Untreated: more shade and less grass for years; cut: hardly any shade the year after."""
    one = futures.drop_duplicates([*CASE, "year"])
    waits = one[one["start_year"].isna()].set_index("year")
    cut = one[(one["method_id"] == "cut_and_spray") & (one["start_year"] == 2027)]
    cut = cut.set_index("year")
    assert waits.loc[:2030, "canopy_pct"].is_monotonic_increasing
    assert waits.loc[:2030, "forage_pct"].is_monotonic_decreasing
    assert waits["canopy_pct"].between(60, 100).all()
    assert cut.loc[2028, "canopy_pct"] < 0.2 * cut.loc[2027, "canopy_pct"]
    assert cut.loc[2028, "forage_pct"] == 100


def test_trees_that_stay_shade_the_ground_too():
    """Crowns of keep trees, where they are known, add to the canopy and take from the grass."""
    ground = small_ground()
    strips = ground.strips[ground.strips["strip_id"] == "a"]
    table = methods_of([0.0, 0.0, 50.0, 20.0, 0.0, 0.0], 0.9)
    bare, shaded = (
        look_ahead(table, each, ground.blocks, ground.rates, ground.settings)
        for each in (strips, strips.assign(keep_canopy_pct=60.0))
    )
    assert (shaded["canopy_pct"] > 60 - 1e-4).all()
    assert (shaded["canopy_pct"] > bare["canopy_pct"]).all()
    assert (shaded["forage_pct"] <= bare["forage_pct"]).all()
    assert shaded["stems"].equals(bare["stems"])
