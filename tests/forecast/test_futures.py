"""What becomes of a strip: untreated, treated well or badly, followed up, done."""

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from clearing.forecast import look_ahead
from clearing.forecast.futures import follow_up_kill
from clearing.forecast.growth import BANK, STAGES, next_year, starting_bank, vital_rates
from clearing.rates import load
from clearing.tables import columns
from tests.small_ground import GLYPHOSATE, SIZES, small_ground

RATES = load()
SPECIES = ["callery_pear", "tree_of_heaven", "tallow", "chinese_privet", "mimosa", "black_locust"]
SHARE = st.floats(0.0, 1.0)
STANDS = st.lists(st.floats(0.0, 3000.0), min_size=6, max_size=6)
CASE = ["strip_id", "method_id", "start_year"]
JOBS = {"cut_and_spray": "cut_and_spray", "hack_and_leave": "hack_and_squirt", "not_now": "left"}
# what follow-ups reach: everything but seeds and what was left standing
ABOVE_GROUND = STAGES[1:]


def methods_of(stems: list[float], kill: float, method: str = "cut_and_spray") -> pd.DataFrame:
    """Return the methods of strip a: one zone, pears, all classes treated alike."""
    kill = 0.0 if method == "not_now" else kill
    fixed = {
        "strip_id": "a", "method_id": method, "method": method, "zone_id": "a:1",
        "species": "callery_pear", "job": JOBS[method], "recipe_id": "", "herbicide": "",
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


def one_step(species: str, stand: list[float], bank: float, mowed: bool = False):
    """Return a hectare's stems and those of the next year."""
    state = np.array([[bank, *stand, 0.0]])
    vital = vital_rates(species, RATES)
    return state, next_year(state, vital, np.array([1.0]), np.array([mowed])), vital


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
    assert len(futures) == (2 * 4 + 1) * 8 * len(STAGES)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(SPECIES), STANDS, st.floats(0, 1e8), st.booleans())
@example("callery_pear", [0.0] * 6, 1e8, False)
@example("mimosa", [0.0, 0.0, 0.0, 0.0, 5999.0, 5999.0], 1e8, True)
def test_a_year_makes_no_negative_stems_and_does_not_pass_the_ceiling(species, stand, bank, mowed):
    """However full the seed bank: at most the ceiling, or what stood there already."""
    state, after, vital = one_step(species, stand, bank, mowed)
    assert (after >= 0).all()
    most = max(vital.ceiling_per_ha, state[0, 1:].sum())
    assert after[0, 1:].sum() <= most * (1 + 1e-9)


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(SPECIES), st.floats(10.0, 3000.0))
def test_untreated_stems_do_not_fall_to_zero(species, density):
    """Forty years after trees that bear, stems stand at a quarter of the ceiling or more."""
    vital = vital_rates(species, RATES)
    state = np.array([[0.0, 0, 0, 0, 0, density, density, 0]])
    state[:, BANK] = starting_bank(state, vital)
    for _ in range(40):
        state = next_year(state, vital, np.array([1.0]), np.array([False]))
    assert state[0, 3:7].sum() >= density
    assert state[0, 1:].sum() <= max(vital.ceiling_per_ha, 2 * density) * (1 + 1e-9)


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(SPECIES), st.floats(1.0, 1e9))
def test_a_seed_bank_decays_without_trees(species, bank):
    """Bare ground: each year fewer seeds, and a twentieth or less after the bank's stated life."""
    vital = vital_rates(species, RATES)
    seeds = [bank]
    state = np.array([[bank, 0, 0, 0, 0, 0, 0, 0.0]])
    for _ in range(int(np.ceil(vital.bank_years))):
        state = next_year(state, vital, np.array([1.0]), np.array([True]))
        state[:, 1:] = 0.0  # whatever comes up is pulled
        seeds.append(state[0, BANK])
    assert all(later < earlier for earlier, later in itertools.pairwise(seeds))
    assert seeds[-1] <= 0.05 * bank * (1 + 1e-9)


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(SPECIES), STANDS, st.floats(0, 1e7))
def test_a_mowed_sward_holds_seedlings_back(species, stand, bank):
    """Mowed ground has fewer seedlings next year than the same ground unmowed, by the figure."""
    unmowed, mowed = (one_step(species, stand, bank, m)[1][0, 1] for m in (False, True))
    held = RATES.figure(species, "grass_suppression").value
    assert mowed == pytest.approx((1 - held) * unmowed)


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


@settings(max_examples=12, deadline=None)
@given(STANDS, SHARE, st.sampled_from(["cut_and_spray", "hack_and_leave", "not_now"]))
def test_ranges_hold_the_middle_and_nothing_is_negative(stand, kill, method):
    """0 <= low <= stems <= high in each row; dead stems and seed sent out are nought or more."""
    futures = futures_of(methods_of(stand, 0.9 * kill, method), years=3)
    assert (futures["stems_low"] >= 0).all()
    assert (futures["stems_low"] <= futures["stems"]).all()
    assert (futures["stems"] <= futures["stems_high"]).all()
    assert (futures[["standing_dead", "seed_out"]] >= 0).all().all()


def test_the_first_treatment_kills_by_its_recipe():
    """The year after, resprouts of what the recipe left and growth alone stand; no old tree."""
    stems = [0.0, 0.0, 0.0, 0.0, 1000.0, 0.0]
    after = futures_of(methods_of(stems, 0.8), years=1)
    year = after[(after["start_year"] == 2027) & (after["year"] == 2028)].set_index("stage")
    up = vital_rates("callery_pear", RATES).up[7]
    assert year.loc["resprout", "stems"] == pytest.approx(200 * (1 - up))
    assert year.loc["under_1in", "stems"] == pytest.approx(200 * up)
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
    """With a laxer wish the same strip is done no later."""
    table = methods_of([400.0, 300.0, 200.0, 100.0, 40.0, 10.0], 0.9)
    first = []
    for wish in (20.0, 2000.0):
        ground = small_ground(years=6, seedlings_per_ha=wish)
        strips = ground.strips[ground.strips["strip_id"] == "a"]
        future = look_ahead(table, strips, ground.blocks, ground.rates, ground.settings)
        own = future[(future["start_year"] == 2027) & future["done"]]
        first.append(own["year"].min())
    assert first[1] < first[0]


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


def test_stems_that_nothing_may_treat_stay_and_bear_seed():
    """Half of the trees left by a rule: they stand in every later year and send seed out."""
    stems = [0.0, 0.0, 0.0, 0.0, 100.0, 0.0]
    treated, left = methods_of(stems, 1.0), methods_of(stems, 0.0)
    left = left.assign(zone_id="a:2", job="left", kill=0.0, kill_low=0.0, kill_high=0.0)
    future = futures_of(pd.concat([treated, left], ignore_index=True))
    own = future[(future["start_year"] == 2027) & (future["stage"] == "6_10in")]
    assert (own["stems"] >= 100.0).all()
    assert own.set_index("year").loc[2028, "stems"] == pytest.approx(100.0)
    assert (own["seed_out"] > 0).all()


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
    assert follow_up_kill("callery_pear", bare.rates)[0] == pulled.value
    assert follow_up_kill("callery_pear", plain.rates)[0] > pulled.value
