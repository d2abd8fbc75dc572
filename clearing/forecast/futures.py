"""Lay out what becomes of every strip under every method and start year."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.forecast.growth import (
    BANK,
    OVER_AN_INCH,
    RESPROUT,
    SEEDLING,
    STAGES,
    Vital,
    next_year,
    starting_bank,
    vital_rates,
)
from clearing.property import Settings
from clearing.rates import Rates
from clearing.tables import columns
from clearing.treatment import known_products
from clearing.treatment.recipes import best, recipe_book

BEYOND = 4  # years after the last one that are looked at for what is still to be done; own choice
DONE_STEMS_PER_HA = 1.0  # expected stems over an inch that count as none; own choice
LEAVING_JOBS = ("left", "call_utility")  # stems that this crew does not treat
MOWN_GOALS = ("pasture", "silvopasture")
CASE = ["strip_id", "method_id", "start_year"]


@dataclass(frozen=True)
class Cases:
    """Strip, method and start year of each case, with what the method does to one species.

    ``start`` is a year, or a year never reached for not_now. Arrays ``stems`` and ``kill`` are
    (scenarios, cases, stages): middle, low, high.
    """

    frame: pd.DataFrame
    start: np.ndarray
    area_ha: np.ndarray
    stems: np.ndarray
    kill: np.ndarray
    follow_kill: np.ndarray


def look_ahead(
    methods: pd.DataFrame,
    strips: gpd.GeoDataFrame,
    blocks: gpd.GeoDataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return the stems of each strip, method and start year through the years.

    Each species runs as a yearly stage-structured population; the first treatment kills by its
    recipes, survivors come back as resprouts, follow-ups go on yearly until ``done_when`` holds,
    then upkeep for the life of the seed bank. Low: few stems and good kill; high: many and poor.

    Parameters
    ----------
    methods : DataFrame
        As ``walk/methods``.
    strips, blocks : GeoDataFrame
        As ``walk/strips`` and ``walk/blocks``.
    rates : Rates
        Handbook figures.
    settings : Settings
        Years, done_when.

    Returns
    -------
    DataFrame
        As ``walk/futures``; the years reach four past the last.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    grown = _gathered(methods)
    years = np.arange(settings.first_year, settings.first_year + settings.years + BEYOND)
    base = _cases(grown, strips, blocks, settings)
    runs = {}
    for species in sorted(grown["species"].unique()):
        vital = vital_rates(species, rates)
        runs[species] = (vital, _species_cases(base, grown, species, rates))
    work, flags, paths = _run(runs, base, years, settings)
    frames = [
        _long(base, species, runs[species][0], paths[species], (work, *flags), years)
        for species in runs
    ]
    return pd.concat(frames, ignore_index=True)[columns("futures")]


def _gathered(methods: pd.DataFrame) -> pd.DataFrame:
    """Return stems, treated share and kill by strip, method, species and class over all zones."""
    frame = methods.copy()
    treated = ~frame["job"].isin(LEAVING_JOBS)
    for level in ("", "_low", "_high"):
        stems = frame[f"stems{level}"].to_numpy(dtype=float)
        frame[f"w{level}"] = stems
        kill = frame["kill" if level == "" else f"kill{level}"].to_numpy(dtype=float)
        frame[f"killed{level}"] = stems * kill * treated
        frame[f"touched{level}"] = stems * treated
    hacked = frame["job"].isin(["hack_and_squirt"]) & ~frame["fell_after"].astype(bool)
    frame["standing"] = frame["stems"].to_numpy(dtype=float) * hacked
    sums = ["w", "w_low", "w_high", "killed", "killed_low", "killed_high", "touched", "standing"]
    keys = ["strip_id", "method_id", "method", "species", "size_class"]
    return frame.groupby(keys, as_index=False)[sums].sum()


def _cases(
    grown: pd.DataFrame, strips: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, settings: Settings
) -> pd.DataFrame:
    """Return one row a strip, method and start year (never for not_now)."""
    pairs = grown[["strip_id", "method_id", "method"]].drop_duplicates()
    starts = pd.DataFrame(
        {"start_year": range(settings.first_year, settings.first_year + settings.years)}
    )
    not_now = pairs["method"] == "not_now"
    cases = pd.concat(
        [pairs[~not_now].merge(starts, how="cross"), pairs[not_now].assign(start_year=np.nan)],
        ignore_index=True,
    )
    cases = cases.merge(strips[["strip_id", "block_id", "area_ha"]], on="strip_id")
    return cases.merge(blocks[["block_id", "goal", "ready_year", "tops"]], on="block_id")


def _species_cases(base: pd.DataFrame, grown: pd.DataFrame, species: str, rates: Rates) -> Cases:
    """Return the cases of one species as arrays."""
    own = grown[grown["species"] == species].set_index(["strip_id", "method_id", "size_class"])
    shape = (3, len(base), len(STAGES))
    stems, kill = np.zeros(shape), np.zeros(shape)
    for stage in range(1, RESPROUT):
        keys = pd.MultiIndex.from_arrays(
            [base["strip_id"], base["method_id"], [STAGES[stage]] * len(base)]
        )
        row = own.reindex(keys)
        for level, suffix in enumerate(("", "_low", "_high")):
            stems[level, :, stage] = row[f"w{suffix}"].fillna(0.0)
            share = row[f"killed{suffix}"] / row[f"w{suffix}"].where(row[f"w{suffix}"] > 0)
            kill[level, :, stage] = share.fillna(0.0)
    touched = _touched(base, own)
    follow = follow_up_kill(species, rates)
    kill = kill[[0, 2, 1]]  # the low path has the good kill, the high path the poor one
    return Cases(
        base, base["start_year"].to_numpy(dtype=float), base["area_ha"].to_numpy(dtype=float),
        stems, np.stack([kill, np.broadcast_to(touched, shape)]), np.array(follow),
    )  # fmt: skip


def _touched(base: pd.DataFrame, own: pd.DataFrame) -> np.ndarray:
    """Return the share of each stage's stems that the first treatment reaches (cases, stages)."""
    touched = np.zeros((len(base), len(STAGES)))
    for stage in range(1, RESPROUT):
        keys = pd.MultiIndex.from_arrays(
            [base["strip_id"], base["method_id"], [STAGES[stage]] * len(base)]
        )
        row = own.reindex(keys)
        touched[:, stage] = (row["touched"] / row["w"].where(row["w"] > 0)).fillna(1.0)
    return touched


def follow_up_kill(species: str, rates: Rates) -> tuple[float, float, float]:
    """Return the share of resprouts and seedlings that one follow-up kills.

    By the best leaf spray of the owner's products; without one by pulling: middle, then high (low
    path), then low.

    References
    ----------
    own reasoning; the recipe carries its own source
    """
    book, _ = recipe_book([species], known_products(rates), rates)
    chosen = best(book.get((species, "foliar"), []))
    if chosen is not None:
        recipe = chosen.recipe
        return float(recipe["kill"]), float(recipe["kill_high"]), float(recipe["kill_low"])
    pulled = rates.figure(species, "hand_pull_kill")
    return pulled.value, pulled.high, pulled.low


Paths = dict[str, tuple[np.ndarray, np.ndarray]]


def _run(
    runs: dict[str, tuple[Vital, Cases]], base: pd.DataFrame, years: np.ndarray, settings: Settings
) -> tuple[np.ndarray, tuple[np.ndarray, np.ndarray], Paths]:
    """Return work, mowable and done (years, cases), and each species' stems and standing dead."""
    n, start = len(base), base["start_year"].to_numpy(dtype=float)
    area = base["area_ha"].to_numpy(dtype=float)
    states = {name: _start_state(cases, vital) for name, (vital, cases) in runs.items()}
    left = {name: np.zeros_like(state) for name, state in states.items()}
    paths = {name: np.zeros((len(years), 3, n, len(STAGES))) for name in runs}
    dead = {name: np.zeros((len(years), n)) for name in runs}
    work = np.full((len(years), n), "none", dtype=object)
    mowable, held = np.zeros((2, len(years), n), dtype=bool)
    bank_years = max(vital.bank_years for vital, _ in runs.values())
    for t, year in enumerate(years):
        for name in runs:
            paths[name][t] = states[name]
            paths[name][t][..., OVER_AN_INCH] += left[name][..., OVER_AN_INCH]
        done = _done({name: states[name][0] for name in runs}, area, settings)
        held[t] = done & (year > start)
        work[t] = _work(year, start, held[t], bank_years)
        mowable[t] = _mowable(year, base, runs)
        for name, (vital, cases) in runs.items():
            state, aside, killed = _worked(states[name], cases, work[t])
            left[name] += aside
            if t + 1 < len(years):
                still = np.exp(-3.0 / max(vital.stand_years, 0.5))
                dead[name][t + 1] = dead[name][t] * still + killed * _stands(base)
            grass = mowable[t] & (work[t] != "first")
            states[name] = np.stack([next_year(s, vital, area, grass) for s in state])
            states[name][..., BANK] += (left[name] @ vital.bearing) * vital.bank_survival
    return work, (mowable, held), {name: (paths[name], dead[name]) for name in runs}


def _start_state(cases: Cases, vital: Vital) -> np.ndarray:
    """Return the stems of the first year with the seed bank that they keep up."""
    state = cases.stems.copy()
    for level in range(3):
        state[level, :, BANK] = starting_bank(state[level], vital)
    return state


def _done(states: dict[str, np.ndarray], area: np.ndarray, settings: Settings) -> np.ndarray:
    """Return whether ``done_when`` holds for all species together."""
    big = sum(state[:, OVER_AN_INCH].sum(axis=1) for state in states.values())
    small = sum(state[:, [SEEDLING, 2, RESPROUT]].sum(axis=1) for state in states.values())
    big_limit = np.maximum(settings.stems_over_1in * area, DONE_STEMS_PER_HA * area)
    return (big <= big_limit) & (small <= settings.seedlings_per_ha * area)


def _work(year: int, start: np.ndarray, done: np.ndarray, bank_years: float) -> np.ndarray:
    """Return what this year does to each case."""
    work = np.full(len(start), "none", dtype=object)
    work[year > start] = "follow_up"
    work[(year > start) & done] = "upkeep"
    work[(year > start + bank_years + 1) & done] = "none"
    work[year == start] = "first"
    return work


def _stands(base: pd.DataFrame) -> np.ndarray:
    """Return the share of killed stems that is left standing, by method."""
    return base["method"].isin(["hack_and_leave", "split", "basal_bark"]).to_numpy(dtype=float)


def _mowable(year: int, base: pd.DataFrame, runs: dict[str, tuple[Vital, Cases]]) -> np.ndarray:
    """Return whether each case can be mowed.

    Cut flush the year after, or when the tops that were left are gone; hacked when it is soft.
    """
    soft = max(vital.mow_after_years for vital, _ in runs.values())
    method = base["method"]
    gone = max(vital.tops_gone_years for vital, _ in runs.values())
    left = base["tops"] == "leave"
    wait = np.where(left & (method == "cut_and_spray"), gone, 1.0)
    wait = np.where(method.isin(["hack_and_leave", "split", "basal_bark"]), soft, wait)
    wait = np.where(method == "hack_then_fell", np.where(left, 1.0 + gone, 2.0), wait)
    ready = year >= base["ready_year"].to_numpy()
    goal = base["goal"].isin(MOWN_GOALS).to_numpy()
    return goal & ready & (year >= base["start_year"].to_numpy(dtype=float) + wait)


def _worked(
    state: np.ndarray, cases: Cases, work: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the stems after this year's work, those left aside, and the killed over an inch."""
    kill, touched = cases.kill
    first, follow = work == "first", np.isin(work, ["follow_up", "upkeep"])
    after, aside = state.copy(), np.zeros_like(state)
    killed = state * kill
    alive = state * touched - killed  # treated and not dead: they come back as resprouts
    aside[:, first] = (state - state * touched)[:, first]
    aside[..., [BANK, RESPROUT]] = 0.0
    after[:, first] = 0.0
    after[:, first, BANK] = state[:, first, BANK]
    after[:, first, RESPROUT] = state[:, first, RESPROUT] + np.clip(alive[:, first], 0.0, None).sum(
        axis=2
    )
    share = 1.0 - cases.follow_kill[:, None, None] * follow[None, :, None]
    after[..., 1:] *= share
    dead = np.where(first[:, None], killed[0], 0.0)[:, OVER_AN_INCH].sum(axis=1)
    return after, aside, dead


def _long(
    base: pd.DataFrame,
    species: str,
    vital: Vital,
    path: tuple[np.ndarray, np.ndarray],
    by_year: tuple[np.ndarray, np.ndarray, np.ndarray],
    years: np.ndarray,
) -> pd.DataFrame:
    """Return the paths of one species as ``walk/futures`` rows."""
    stems, dead = path
    work, mowable, done = by_year
    n, stages = len(base), len(STAGES)
    size = len(years) * n * stages

    def spread(values: np.ndarray) -> np.ndarray:
        return np.broadcast_to(values[..., None], (len(years), n, stages)).reshape(size)

    seeds = stems[:, 0] @ vital.bearing
    leaving = np.clip(
        vital.leaving_m / (2.0 * np.sqrt(base["area_ha"].to_numpy(dtype=float) * 1e4 / np.pi)), 0, 1
    )
    frame = pd.DataFrame(
        {
            column: np.broadcast_to(
                base[column].to_numpy()[None, :, None], (len(years), n, stages)
            ).reshape(size)
            for column in CASE
        }
    )
    frame["year"] = np.repeat(years, n * stages)
    frame["species"] = species
    frame["stage"] = np.tile(np.array(STAGES, dtype=object), len(years) * n)
    middle, low, high = (stems[:, level].reshape(size) for level in range(3))
    frame["stems"] = middle
    frame["stems_low"] = np.minimum(low, middle)
    frame["stems_high"] = np.maximum(high, middle)
    frame["standing_dead"] = spread(dead)
    frame["work"] = spread(work)
    frame["seed_out"] = spread(seeds * leaving[None, :])
    frame["mowable"] = spread(mowable)
    frame["done"] = spread(done)
    return frame
