"""Add up the hours of a visit: at the stems, between them, refilling, getting there, resting."""

from typing import NamedTuple

import numpy as np
import pandas as pd

from clearing.effort.crews import Load, Rules, best_crew
from clearing.effort.pace import spread, tour_m
from clearing.property import Settings
from clearing.rates import Figure, Rates

ENDS = ("", "_low", "_high")
ITEMS = {"": "value", "_low": "low", "_high": "high"}
FLIPPED = {"value": "value", "low": "high", "high": "low"}
PARTS = (
    "stem_hours", "walk_hours", "refill_hours", "way_in_hours", "setup_hours", "break_hours",
    "idle_hours",
)  # fmt: skip
BUSY = tuple(part for part in PARTS if part != "break_hours")  # what breaks come on top of
SAWN = ("haul_tops", "burn_tops", "chip_tops")  # jobs with a saw for a share of their time
NO_CUT = {f"cut{end}": 0.0 for end in ENDS}
NO_GROUND = {f"ground_h{end}": 0.0 for end in ENDS}
NO_STEMS = {f"{name}{end}": 0.0 for name in ("stems", "seconds") for end in ENDS}


def with_hours(works: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the works with their hours [person-hours], the parts of them, and the range.

    hours = at the stems + between them + refills + way in + set-up + breaks + waiting. Works of one
    outing share set-up, way in, the way past all stems and the waiting, by their stems. The range
    has four causes that are independent of each other: how many stems there are, the paces of the
    job, how one gets over the ground, and how much one rests.

    Parameters
    ----------
    works : DataFrame
        job; stems; seconds (at the stems on open level ground [s]); cut (share of them behind the
        saw [s]); hand (what takes its place with hand saws [s]); ground_h (hours over the ground);
        each with low and high, those of seconds, cut, hand and ground_h being paces for the middle
        number of stems. tour_ha (ground walked from stem to stem [ha]), mix [l], area_ha, pace,
        walk_m_s, way_in_m. outing: the same whole number for works of one job and day (missing:
        each its own). paced_as: the job whose figures stand (missing: its own). What else is
        missing counts nought, but for hand: nobody would.
    rates : Rates
        Figures of the jobs.
    settings : Settings
        Crew.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    blank = {**NO_CUT, **NO_GROUND, **NO_STEMS, "tour_ha": 0.0, "mix": 0.0}
    blank |= {f"hand{end}": np.inf for end in ENDS}
    frame = works.assign(**{name: value for name, value in blank.items() if name not in works})
    if "outing" not in frame:
        frame["outing"] = np.arange(len(frame))
    known = Figures(frame.get("paced_as", frame["job"]), rates)
    middle = hour_parts(frame, Ends(), known, settings)
    out = frame.drop(columns=[*(f"hand{end}" for end in ENDS), "outing"])
    out = out.drop(columns="paced_as", errors="ignore")
    out = out.assign(**{name: middle[name] for name in (*PARTS, "saw_hours", "people")})
    out["hours"] = middle[list(PARTS)].sum(axis=1)
    some = out["hours"].where(out["hours"] > 0)
    for end in ENDS[1:]:
        apart = [Ends(**{cause: end}) for cause in Ends._fields]
        sums = [hour_parts(frame, one, known, settings)[list(PARTS)].sum(axis=1) for one in apart]
        out[f"hours{end}"] = spread(out["hours"], *((each / some).fillna(1.0) for each in sums))
    return out


class Ends(NamedTuple):
    """What of the hours is taken at its low or high end ("_low", "_high"), not at its middle ("").

    Stems: how many there are. Job: its paces, refills and set-up. Walk: getting over the ground.
    Rest: breaks.
    """

    stems: str = ""
    job: str = ""
    walk: str = ""
    rest: str = ""


def hour_parts(
    frame: pd.DataFrame, ends: Ends, known: "Figures", settings: Settings
) -> pd.DataFrame:
    """Return the parts of the hours with each cause of their range at an end or at the middle.

    Parameters
    ----------
    frame : DataFrame
        As `with_hours` takes it, nothing missing.
    ends : Ends
        What is taken at which end.
    known : Figures
        Figures of the jobs.
    settings : Settings
        Crew.

    Returns
    -------
    DataFrame
        The parts, saw_hours [h], which are among those at the stems, and people, who come.

    References
    ----------
    own reasoning; campbell_2017 for walking
    """
    figure, walk = _End(known, ITEMS[ends.job]), _End(known, ITEMS[ends.walk])
    trips = Outings(frame)
    more = _ratio(frame[f"stems{ends.stems}"], frame["stems"])
    count = more * frame["pace"] / 3600.0
    at_stems, cut, hand = (
        frame[f"{name}{ends.job}"] * count for name in ("seconds", "cut", "hand")
    )
    hand = hand.where(cut > 0, 0.0)
    out = pd.DataFrame(index=frame.index)
    out["refill_hours"] = _refills(frame, frame["mix"] * more, figure, walk)
    out["setup_hours"] = figure.each("setup_h") * trips.share
    ground = frame[f"ground_h{ends.job}"]
    speed = trips.first(frame["walk_m_s"])
    tour = tour_m(trips.sum(frame[f"stems{ends.stems}"]), trips.sum(frame["tour_ha"]), known.rates)
    there_h = 2.0 * trips.first(frame["way_in_m"]) / speed / 3600.0
    load = Load(
        cut=trips.sum(cut),
        hand=trips.sum(hand),
        rest=trips.sum(at_stems - cut),
        walk=tour / speed * walk.one("walk", "tour_slack") / 3600.0,
        refill=trips.sum(out["refill_hours"]),
        other=trips.sum(ground + out["setup_hours"]),
        there_h=there_h * walk.one("walk", "load_factor"),
    )
    rest = _End(known, ITEMS[ends.rest]).one("any", "break_share")
    crew = best_crew(load, _rules(known.rates, settings, rest))
    by_hand = crew["by_hand"].to_numpy(dtype=bool)[trips.of]
    out["stem_hours"] = (at_stems - cut + hand).where(by_hand, at_stems)
    out["walk_hours"] = trips.split(crew["walk"]) + ground
    out["idle_hours"] = trips.split(crew["idle"])
    out["people"] = crew["people"].to_numpy(dtype=float)[trips.of]
    out["way_in_hours"] = trips.split(crew["way_in"])
    sawn = np.where(frame["job"].isin(SAWN), at_stems * figure.each("saw_share"), cut)
    out["saw_hours"] = np.where(by_hand | (settings.crew.sawyers < 1), 0.0, sawn)
    busy = ["stem_hours", "walk_hours", "refill_hours", "setup_hours", "way_in_hours"]
    out["break_hours"] = out[busy].sum(axis=1) * rest / (1.0 - rest)
    return out


def _rules(rates: Rates, settings: Settings, break_share: float) -> Rules:
    """Return who there is, and how long."""
    crew = settings.crew
    a_day = crew.hours_per_day
    a_day = max(a_day.values(), default=6.0) if isinstance(a_day, dict) else a_day
    return Rules(
        people=crew.people,
        saws=min(crew.sawyers, crew.people),
        least=int(rates.figure("saw", "least_people").value),
        hours_a_day=max(a_day, 1.0),
        break_share=break_share,
    )


def _refills(frame: pd.DataFrame, mix: pd.Series, figure: "_End", walk: "_End") -> pd.Series:
    """Return the hours of refilling after the first fill, with the way to the vehicle and back."""
    times = (mix / figure.each("refill_l", bigger_is_quicker=True) - 1.0).clip(lower=0.0)
    inside_m = walk.one("walk", "mean_way") * np.sqrt(frame["area_ha"] * 1e4)
    way_s = 2.0 * (frame["way_in_m"] + inside_m) / frame["walk_m_s"]
    way_s *= walk.one("walk", "load_factor")
    return times * (figure.each("refill_min") * 60.0 + way_s) / 3600.0


def _ratio(end: pd.Series, middle: pd.Series) -> pd.Series:
    """Return an end over its middle, 1 where there is no middle."""
    return (end / middle.where(middle > 0)).fillna(1.0)


class Outings:
    """Add works of one outing up, and split what they share by their stems."""

    def __init__(self, frame: pd.DataFrame) -> None:
        _, self.at, self.of = np.unique(
            frame["outing"].to_numpy(), return_index=True, return_inverse=True
        )
        stems = frame["stems"].to_numpy(dtype=float)
        total, each = self.sum(frame["stems"])[self.of], np.bincount(self.of)[self.of]
        self.share = np.divide(stems, total, out=1.0 / each, where=total > 0)

    def sum(self, column: pd.Series) -> np.ndarray:
        """Return the sum of a column for each outing."""
        return np.bincount(self.of, column.to_numpy(dtype=float), minlength=len(self.at))

    def first(self, column: pd.Series) -> np.ndarray:
        """Return what is the same for all works of each outing."""
        return column.to_numpy(dtype=float)[self.at]

    def split(self, amount: pd.Series) -> np.ndarray:
        """Return the part of each work in what belongs to its outing."""
        return amount.to_numpy(dtype=float)[self.of] * self.share


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
