"""Add up the hours of a visit: at the stems, between them, refilling, getting there, resting."""

import numpy as np
import pandas as pd

from clearing.effort.pace import both_spreads, tour_m
from clearing.property import Crew, Settings
from clearing.rates import Figure, Rates

ENDS = ("", "_low", "_high")
ITEMS = {"": "value", "_low": "low", "_high": "high"}
FLIPPED = {"value": "value", "low": "high", "high": "low"}
PARTS = (
    "stem_hours", "walk_hours", "refill_hours", "way_in_hours", "setup_hours", "break_hours",
    "idle_hours",
)  # fmt: skip
# the saw runs all the time at these stems; own choice
SAWN = ("fell_dead", "haul_tops", "burn_tops", "chip_tops")
NO_CUT = {f"cut{end}": 0.0 for end in ENDS}
NO_GROUND = {f"ground_h{end}": 0.0 for end in ENDS}
NO_STEMS = {f"{name}{end}": 0.0 for name in ("stems", "seconds") for end in ENDS}


def with_hours(works: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the works with their hours [person-hours], the parts of them, and the range.

    hours = at the stems + between them + refills + way in + set-up + breaks + waiting. The range
    has two causes that are independent of each other: how many stems there are, and the pace, which
    takes every part along at once.

    Parameters
    ----------
    works : DataFrame
        job; stems; seconds (at the stems on open level ground [s]); cut (share of them behind the
        saw [s]); ground_h (hours over the ground); each with low and high, those of seconds, cut
        and ground_h being paces for the middle number of stems. tour_ha (ground walked from stem
        to stem [ha]), mix [l], area_ha, pace, walk_m_s, way_in_m. What is missing counts nought.
    rates : Rates
        Figures of the jobs.
    settings : Settings
        Crew.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    blank = {**NO_CUT, **NO_GROUND, **NO_STEMS, "tour_ha": 0.0, "mix": 0.0}
    frame = works.assign(**{name: 0.0 for name in blank if name not in works})
    known = Figures(frame["job"], rates)
    middle = hour_parts(frame, ("", ""), known, settings)
    out = frame.assign(**{name: middle[name] for name in (*PARTS, "saw_hours")})
    out["hours"] = middle[list(PARTS)].sum(axis=1)
    for end in ENDS[1:]:
        count = hour_parts(frame, ("", end), known, settings)[list(PARTS)].sum(axis=1)
        pace = hour_parts(frame, (end, ""), known, settings)[list(PARTS)].sum(axis=1)
        some = out["hours"].where(out["hours"] > 0)
        out[f"hours{end}"] = both_spreads(
            out["hours"], (count / some).fillna(1.0), (pace / some).fillna(1.0)
        )
    return out


def hour_parts(
    frame: pd.DataFrame, ends: tuple[str, str], known: "Figures", settings: Settings
) -> pd.DataFrame:
    """Return the parts of the hours at one end of the pace and one end of the number of stems.

    Parameters
    ----------
    frame : DataFrame
        As `with_hours` takes it, nothing missing.
    ends : (str, str)
        Suffixes ("", "_low" or "_high") for the pace and for the stems.
    known : Figures
        Figures of the jobs.
    settings : Settings
        Crew.

    Returns
    -------
    DataFrame
        The parts, and saw_hours [h], which are among those at the stems.

    References
    ----------
    own reasoning; campbell_2017 for walking
    """
    pace_end, count_end = ends
    figure = _End(known, ITEMS[pace_end])
    count = _ratio(frame[f"stems{count_end}"], frame["stems"]) * frame["pace"] / 3600.0
    out = pd.DataFrame(index=frame.index)
    at_stems = frame[f"seconds{pace_end}"] * count
    cut = frame[f"cut{pace_end}"] * count
    tour = tour_m(frame[f"stems{count_end}"], frame["tour_ha"], known.rates) / frame["walk_m_s"]
    tour *= figure.one("walk", "tour_slack") / 3600.0
    mix = frame["mix"] * _ratio(frame[f"stems{count_end}"], frame["stems"])
    out["refill_hours"] = _refills(frame, mix, figure)
    shared = crew_hours(cut, at_stems - cut, (tour, out["refill_hours"]), settings.crew)
    out["stem_hours"] = at_stems
    out["walk_hours"] = shared["walk"] + frame[f"ground_h{pace_end}"]
    out["idle_hours"] = shared["idle"]
    sawn = at_stems.where(frame["job"].isin(SAWN), cut)
    out["saw_hours"] = sawn if settings.crew.sawyers else 0.0
    out["setup_hours"] = figure.each("setup_h")
    names = ["stem_hours", "walk_hours", "refill_hours", "setup_hours"]
    a_day = settings.crew.hours_per_day
    a_day = max(a_day.values(), default=6.0) if isinstance(a_day, dict) else a_day
    days = np.ceil((out[names].sum(axis=1) + out["idle_hours"]) / max(a_day, 1.0) - 1e-9)
    there_h = 2.0 * frame["way_in_m"] / frame["walk_m_s"] / 3600.0
    out["way_in_hours"] = days * there_h * figure.one("walk", "load_factor")
    rest = figure.one("any", "break_share")
    out["break_hours"] = out[[*names, "way_in_hours"]].sum(axis=1) * rest / (1.0 - rest)
    return out


def crew_hours(
    cut: pd.Series, rest: pd.Series, beside: tuple[pd.Series, pd.Series], crew: Crew
) -> dict[str, pd.Series]:
    """Return the walking and the waiting of a crew in which some cut and the others wet and drag.

    With S sawyers among P people the work lasts as long as the slower side of it, (cut + walk) / S
    or (rest + walk + refills) / (P - S), and all P are there as long. Where all or none have a
    saw, everybody treats what he cut, and nobody waits.

    Parameters
    ----------
    cut, rest : Series
        Person-hours of cutting (nought: no such split) and of all else at the stems [h].
    beside : (Series, Series)
        Walking past all stems once, and refilling [h].
    crew : Crew
        people, sawyers.

    Returns
    -------
    dict
        walk, idle [person-hours].

    References
    ----------
    own reasoning
    """
    walk, refill = beside
    saws = min(crew.sawyers, crew.people)
    if saws in (0, crew.people):
        return {"walk": walk, "idle": cut * 0.0}
    split = cut > 0
    here, there = (cut + walk) / saws, (rest + walk + refill) / (crew.people - saws)
    done = cut + rest + 2.0 * walk + refill
    idle = (crew.people * np.maximum(here, there) - done).clip(lower=0.0)
    return {"walk": walk.where(~split, 2.0 * walk), "idle": idle.where(split, 0.0)}


def _refills(frame: pd.DataFrame, mix: pd.Series, figure: "_End") -> pd.Series:
    """Return the hours of refilling after the first fill, with the way to the vehicle and back."""
    times = (mix / figure.each("refill_l", bigger_is_quicker=True) - 1.0).clip(lower=0.0)
    inside_m = figure.one("walk", "mean_way") * np.sqrt(frame["area_ha"] * 1e4)
    way_s = 2.0 * (frame["way_in_m"] + inside_m) / frame["walk_m_s"]
    way_s *= figure.one("walk", "load_factor")
    return times * (figure.each("refill_min") * 60.0 + way_s) / 3600.0


def _ratio(end: pd.Series, middle: pd.Series) -> pd.Series:
    """Return an end over its middle, 1 where there is no middle."""
    return (end / middle.where(middle > 0)).fillna(1.0)


class Figures:
    """Look up each figure of the jobs once."""

    def __init__(self, job: pd.Series, rates: Rates) -> None:
        self.codes, self.jobs = pd.factorize(job)
        self.rates = rates
        self.found: dict[tuple[str, str], Figure] = {}

    def of(self, subject: str, name: str) -> Figure:
        """Return one figure with its range."""
        if (subject, name) not in self.found:
            self.found[subject, name] = self.rates.figure(subject, name)
        return self.found[subject, name]


class _End:
    """Read figures at one end (value, low, high), for one subject or by the job of each row."""

    def __init__(self, known: Figures, item: str) -> None:
        self.known, self.item = known, item

    def one(self, subject: str, name: str) -> float:
        """Return a figure."""
        return float(getattr(self.known.of(subject, name), self.item))

    def each(self, name: str, *, bigger_is_quicker: bool = False) -> np.ndarray:
        """Return a figure of the job of each row."""
        item = FLIPPED[self.item] if bigger_is_quicker else self.item
        found = [getattr(self.known.of(str(job), name), item) for job in self.known.jobs]
        return np.array(found, dtype=float)[self.known.codes]
