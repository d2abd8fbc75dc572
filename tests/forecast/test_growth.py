"""One year of a species: its order, its bounds, its seed, and the same year as a matrix."""

import itertools

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from clearing.forecast import growth_rate, project, yearly_matrix
from clearing.forecast.growth import (
    BANK,
    RESPROUT,
    SCENARIOS,
    STAGES,
    UNDER,
    next_year,
    starting_bank,
    vital_rates,
)
from clearing.rates import load

RATES = load()
SPECIES = ["callery_pear", "tree_of_heaven", "tallow", "chinese_privet", "mimosa", "black_locust"]
NAMES = st.sampled_from(SPECIES)
STANDS = st.lists(st.floats(0.0, 3000.0), min_size=6, max_size=6)
HECTARE = np.array([1.0])


def step(state: np.ndarray, species: str, scenario: str = "middle", mowed: bool = False):
    """Return the next year of one hectare."""
    vital = vital_rates(species, RATES, scenario)
    return next_year(state, vital, HECTARE, np.array([mowed]))


def hectare(stand: list[float], bank: float = 0.0, sprouts: tuple[float, float] = (0.0, 0.0)):
    """Return a hectare as a state."""
    return np.array([[bank, *stand, *sprouts]])


@settings(max_examples=60, deadline=None)
@given(NAMES, STANDS, st.floats(0, 1e8), st.floats(0, 5000), st.booleans())
@example("callery_pear", [0.0] * 6, 1e8, 0.0, False)
@example("mimosa", [0.0, 0.0, 0.0, 0.0, 5999.0, 5999.0], 1e8, 0.0, True)
def test_no_stage_grows_past_its_places_and_none_is_negative(species, stand, bank, sprouts, mowed):
    """However full the seed bank: at most the places of a stage, or what stood there already."""
    state = hectare(stand, bank, (sprouts, sprouts))
    after = step(state, species, mowed=mowed)
    most = np.maximum(vital_rates(species, RATES).places, state)
    assert (after >= 0).all()
    assert (after[0, 1:] <= most[0, 1:] * (1 + 1e-9)).all()


@settings(max_examples=60, deadline=None)
@given(NAMES, STANDS, STANDS, st.floats(0, 1e7), st.floats(0, 1e7), st.booleans())
def test_more_of_anything_never_makes_less_of_anything(species, stand, more, bank, seeds, mowed):
    """A year keeps two stands in order, stage by stage, and the scenarios with them."""
    less, full = hectare(stand, bank), hectare(np.add(stand, more).tolist(), bank + seeds)
    assert (step(less, species, mowed=mowed) <= step(full, species, mowed=mowed)).all()
    low, middle, high = (
        step(full, species, name, mowed) for name in ("low", "middle", "high")
    )  # fmt: skip
    assert (low <= middle * (1 + 1e-12)).all()
    assert (middle <= high * (1 + 1e-12)).all()


@settings(max_examples=12, deadline=None)
@given(NAMES, STANDS, st.floats(0, 1e8))
def test_a_thicket_settles_within_its_bounds(species, stand, bank):
    """A hundred years on every stage is bounded, and a decade more changes it by little."""
    state = hectare(stand, bank, (500.0, 500.0))
    most = np.maximum(vital_rates(species, RATES).places, state)
    for _ in range(100):
        state = step(state, species)
        assert (state[0, 1:] <= most[0, 1:] * (1 + 1e-9)).all()
    later = state
    for _ in range(10):
        later = step(later, species)
    assert later[0, 1:].sum() == pytest.approx(state[0, 1:].sum(), rel=0.25, abs=1.0)


@settings(max_examples=30, deadline=None)
@given(NAMES, st.floats(10.0, 3000.0))
def test_untreated_trees_do_not_fall_to_zero(species, density):
    """Forty years after trees that bear, at least as many over an inch as the largest were."""
    state = hectare([0.0, 0, 0, 0, density, density])
    state[:, BANK] = starting_bank(state, vital_rates(species, RATES))
    for _ in range(40):
        state = step(state, species)
    assert state[0, 3:7].sum() >= density


@settings(max_examples=30, deadline=None)
@given(NAMES, st.floats(1.0, 1e9))
def test_a_seed_bank_decays_without_trees(species, bank):
    """Bare ground: each year fewer seeds, and a twentieth or less after the bank's stated life."""
    seeds, state = [bank], hectare([0.0] * 6, bank)
    for _ in range(int(np.ceil(vital_rates(species, RATES).bank_years))):
        state = step(state, species, mowed=True)
        state[:, 1:] = 0.0  # whatever comes up is pulled
        seeds.append(state[0, BANK])
    assert all(later < earlier for earlier, later in itertools.pairwise(seeds))
    assert seeds[-1] <= 0.05 * bank * (1 + 1e-9)


@settings(max_examples=30, deadline=None)
@given(NAMES, STANDS, st.floats(0, 1e7))
def test_a_mowed_sward_holds_seedlings_back(species, stand, bank):
    """Mowed ground has fewer seedlings next year than the same ground unmowed, by the figure."""
    state = hectare(stand, bank)
    unmowed, mowed = (step(state, species, mowed=m)[0, 1] for m in (False, True))
    held = RATES.figure(species, "grass_suppression").value
    assert mowed == pytest.approx((1 - held) * unmowed)


@pytest.mark.parametrize("species", SPECIES)
def test_seed_of_this_year_comes_up_next_spring(species):
    """Bearing trees on clean ground: seedlings = seeds x winter's survivors x germination."""
    vital = vital_rates(species, RATES)
    after = step(hectare([0.0, 0, 0, 0, 0, 1.0]), species)
    seeds = vital.bearing[6] * vital.bank_survival
    assert after[0, BANK] == pytest.approx(seeds)
    assert after[0, 1] == pytest.approx(seeds * vital.seed_to_seedling)


@settings(max_examples=40, deadline=None)
@given(NAMES, STANDS, st.sampled_from(SCENARIOS))
def test_the_matrix_is_the_year_of_uncrowded_ground(species, stand, scenario):
    """Three years by the matrix are three years of the room where there are places enough."""
    wide = np.array([1e9])
    vital = vital_rates(species, RATES, scenario)
    state = hectare(stand, 1e5, (30.0, 20.0))
    path = project(yearly_matrix(species, RATES, scenario), state[0], 3)
    for year in range(1, 4):
        state = next_year(state, vital, wide, np.array([False]))
        assert state[0] == pytest.approx(path[year], rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("species", [*SPECIES, "never_heard_of"])
def test_an_invader_grows_and_no_faster_than_shrubs_do(species):
    """Growth rate over 1 and under the fastest matrices of woody invaders (4.84, abstract read)."""
    rates = [growth_rate(yearly_matrix(species, RATES, name)) for name in ("low", "middle", "high")]
    assert rates == sorted(rates)
    assert 1.0 < rates[1] < 4.84


def test_sprouts_take_the_figures_of_the_handbook():
    """A clump past breast height makes sprouts x leading share stems, never less than one."""
    for species in ("common_buckthorn", "callery_pear"):
        vital = vital_rates(species, RATES)
        sprouts = RATES.figure(species, "sprouts_per_stump").value
        leading = RATES.figure(species, "sprouts_leading_share").value
        after = step(hectare([0.0] * 6, 0.0, (100.0, 0.0)), species)
        assert vital.makes[RESPROUT] == max(1.0, sprouts * leading)
        assert after[0, UNDER] == pytest.approx(100 * vital.up[RESPROUT] * vital.makes[RESPROUT])


def test_places_of_the_stages_are_one_ceiling_shared_out():
    """Shares of the stages add up to 1, and a full stand has the basal area that its note says."""
    shares = [RATES.figure("any", f"places_{s}").value for s in (*STAGES[1:RESPROUT], STAGES[-1])]
    assert sum(shares) == pytest.approx(1.0)
    mid = RATES.sizes.set_index("size_class")["mid_cm"].astype(float)
    places = vital_rates("any", RATES).places[UNDER:RESPROUT]
    area = sum(np.pi / 4 * (mid[s] / 100) ** 2 * n
               for s, n in zip(STAGES[UNDER:RESPROUT], places, strict=True))  # fmt: skip
    assert area == pytest.approx(35.0, abs=1.0)
