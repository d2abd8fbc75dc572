"""Run every case through the years: work, growth, seed, in three scenarios at once."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from clearing.forecast.cases import Cases, Kind
from clearing.forecast.found import Found, as_found
from clearing.forecast.growth import (
    BANK,
    OVER_AN_INCH,
    RESPROUT,
    SMALL,
    STAGES,
    SUCKER,
    UNDER,
    next_year,
    next_year_of_left,
    starting_bank,
)
from clearing.forecast.standing import standing_share
from clearing.property import GRASS_GOALS, Settings
from clearing.rates import Rates

SLOW = ("hack_and_leave", "split", "basal_bark")  # dead stems stand where they were


@dataclass(frozen=True)
class Paths:
    """What becomes of the cases.

    work, mowable and done are (years, cases); by species, stems (years, scenarios, cases, stages)
    before the year's work, dead that still stand (years, cases, stages), and seeds shed after it
    in the middle scenario (years, cases).
    """

    work: np.ndarray
    mowable: np.ndarray
    done: np.ndarray
    stems: dict[str, np.ndarray]
    dead: dict[str, np.ndarray]
    seeds: dict[str, np.ndarray]


def run(
    cases: Cases,
    rates: Rates,
    settings: Settings,
    reach: Mapping[str, np.ndarray] | None = None,
    work: np.ndarray | None = None,
    found: Found | None = None,
) -> Paths:
    """Return the paths of all cases.

    Each year's work goes by the middle scenario and is the same in all three, so that they differ
    in stems, kill and rates alone. What is treated in a year sheds no seed in it. Stems that this
    crew does not treat (left by a rule or to the utility) grow on, crowd, count in the stems and
    shed seed; ``done`` goes by the others alone, since no visit of the crew could change them.

    Parameters
    ----------
    cases : Cases
        As `lay_out` gives them.
    rates : Rates
        Handbook figures.
    settings : Settings
        done_when.
    reach : dict, optional
        Species -> (cases, cases): share of the seeds of each column that fall on each row.
    work : array (years, cases), optional
        What is done each year, where that is known.
    found : Found, optional
        What was counted after treatment, and years in which no follow-up was made.

    References
    ----------
    own reasoning
    """
    years, n, stages = cases.years, len(cases.frame), len(STAGES)
    kinds, area = cases.kinds, cases.area_ha
    states = {name: _start_state(kind) for name, kind in kinds.items()}
    left = {name: np.zeros_like(state) for name, state in states.items()}
    stems = {name: np.zeros((len(years), 3, n, stages)) for name in kinds}
    killed = {name: np.zeros((n, stages)) for name in kinds}
    seeds = {name: np.zeros((len(years), n)) for name in kinds}
    done_work = np.full((len(years), n), "none", dtype=object)
    held = np.zeros((len(years), n), dtype=bool)
    mowable = _mowable(cases, rates)
    least = rates.figure("any", "done_stems_per_ha").value
    bank_years = max((kind.vital[0].bank_years for kind in kinds.values()), default=0.0)
    for t, year in enumerate(years):
        for name in kinds:
            if found is not None:
                states[name] = as_found(states[name], left[name], found, (name, t), area)
            stems[name][t] = states[name] + left[name]
        own = [states[name][0] for name in kinds]
        held[t] = _done(own, area, settings, least) & (year > cases.start + 1)
        done_work[t] = _work(year, cases.start, held[t], bank_years) if work is None else work[t]
        if found is not None:
            done_work[t][found.skipped[t] & (done_work[t] != "first")] = "none"
        grass = mowable[t] & (done_work[t] != "first")
        for name, kind in kinds.items():
            state, aside, dead = _worked(states[name], kind, done_work[t])
            left[name] += aside
            killed[name] += dead
            seeds[name][t] = (state[0] + left[name][0]) @ kind.vital[0].bearing
            states[name], left[name] = _grown(
                state, left[name], kind, (area, grass), (reach or {}).get(name)
            )
    still = {name: _standing(cases, each, rates, name) for name, each in killed.items()}
    return Paths(done_work, mowable, held, stems, still, seeds)


def _start_state(kind: Kind) -> np.ndarray:
    """Return the stems of the first year with the seed bank that they keep up."""
    state = kind.stems.copy()
    for level, vital in enumerate(kind.vital):
        state[level, :, BANK] = starting_bank(state[level], vital)
    return state


def _grown(
    state: np.ndarray,
    left: np.ndarray,
    kind: Kind,
    ground: tuple[np.ndarray, np.ndarray],
    reach: np.ndarray | None,
) -> tuple[np.ndarray, np.ndarray]:
    """Return next year's stems that the crew may treat and those left aside, in one crowd.

    Together they are a year of the whole strip, with the seed of other cases.
    """
    area, grass = ground
    out, aside = np.empty_like(state), np.zeros_like(left)
    some = bool(left.any())
    for level, vital in enumerate(kind.vital):
        whole = state[level] + left[level]
        arrived = 0.0 if reach is None else reach @ (whole @ vital.bearing)
        out[level] = next_year(whole, vital, area, grass, arrived)
        if some:
            aside[level] = next_year_of_left(left[level], vital, area, grass)
    return np.maximum(out - aside, 0.0), aside


def _done(
    states: list[np.ndarray], area: np.ndarray, settings: Settings, least: float
) -> np.ndarray:
    """Return whether ``done_when`` holds for all species together.

    Stems are expected numbers: a wish of none over an inch holds at ``least`` a hectare. It counts
    from the second spring after the first treatment: sprouts need a year to show, and the year
    after the first treatment is a follow-up in any case.
    """
    big = sum(state[:, OVER_AN_INCH].sum(axis=1) for state in states)
    small = sum(state[:, SMALL].sum(axis=1) for state in states)
    big_limit = np.maximum(settings.stems_over_1in, least) * area
    return (big <= big_limit) & (small <= settings.seedlings_per_ha * area)


def _work(year: int, start: np.ndarray, done: np.ndarray, bank_years: float) -> np.ndarray:
    """Return what this year does to each case."""
    work = np.full(len(start), "none", dtype=object)
    work[year > start] = "follow_up"
    work[(year > start) & done] = "upkeep"
    work[(year > start + bank_years + 1) & done] = "none"
    work[year == start] = "first"
    return work


def _mowable(cases: Cases, rates: Rates) -> np.ndarray:
    """Return whether each case can be mowed, by year (years, cases).

    Grass on slopes that a mower is planned for; cut flush the year after, or when the tops that
    were left are gone; hacked when it is soft.
    """
    base, vital = cases.frame, [kind.vital[0] for kind in cases.kinds.values()]
    soft = max((each.mow_after_years for each in vital), default=0.0)
    gone = max((each.tops_gone_years for each in vital), default=0.0)
    method, left = base["method"], base["tops"] == "leave"
    wait = np.where(left & (method == "cut_and_spray"), gone, 1.0)
    wait = np.where(method.isin(SLOW), soft, wait)
    wait = np.where(method == "hack_then_fell", np.where(left, 1.0 + gone, 2.0), wait)
    steep = base["slope_pct"].astype(float) >= rates.figure("any", "mow_most_slope_pct").value
    grass = (base["goal"].isin(GRASS_GOALS) & ~steep).to_numpy()
    ready = cases.years[:, None] >= base["ready_year"].to_numpy()
    return grass & ready & (cases.years[:, None] >= cases.start + wait)


def _worked(
    state: np.ndarray, kind: Kind, work: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the stems after this year's work, those left aside, and the killed that stand.

    Treated and not dead, a stem comes back as a clump of resprouts and, over an inch, by suckers.
    """
    first, follow = work == "first", np.isin(work, ["follow_up", "upkeep"])
    after, aside = state.copy(), np.zeros_like(state)
    if first.any():
        own = state[:, first]
        touched = kind.touched[first]
        alive = own * np.clip((touched - kind.kill[:, first]) * kind.back, 0.0, touched)
        alive[..., BANK] = 0.0
        aside[:, first] = own * (1.0 - touched)
        aside[..., [BANK, RESPROUT, SUCKER]] = 0.0
        after[:, first, UNDER - 1 : RESPROUT] = 0.0
        after[:, first, RESPROUT] = own[..., RESPROUT] + alive.sum(axis=2)
        big = alive[..., OVER_AN_INCH].sum(axis=2)
        each = np.array([vital.suckers_per_stem for vital in kind.vital])
        after[:, first, SUCKER] = own[..., SUCKER] + big * each[:, None]
    share = 1.0 - kind.follow_kill[:, :, None] * follow[None, :, None]
    after[..., 1:] *= share
    dead = np.where(first[:, None], state[0] * kind.kill[0] * kind.stands, 0.0)
    return after, aside, dead


def _standing(cases: Cases, killed: np.ndarray, rates: Rates, species: str) -> np.ndarray:
    """Return the dead over an inch that still stand (years, cases, stages)."""
    since = cases.years[:, None] - cases.start[None, :] - 1.0
    mid = rates.sizes.set_index("size_class")["mid_cm"].astype(float)
    out = np.zeros((len(cases.years), *killed.shape))
    for stage in range(*OVER_AN_INCH.indices(len(STAGES))):
        share = standing_share(species, mid[STAGES[stage]], np.maximum(since, 0.0), rates)
        out[..., stage] = np.where(since >= 0, share, 0.0) * killed[:, stage]
    return out
