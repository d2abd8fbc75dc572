"""Choose how many of the crew go to a visit: who saws, who wets and drags, and who would wait."""

from dataclasses import dataclass

import numpy as np
import pandas as pd


@dataclass(frozen=True)
class Load:
    """Person-hours of outings [h], one array each: what a crew has to do there.

    cut: behind the saw; hand: the same cuts with hand saws (inf where nobody would); rest: all
    else at the stems; walk: past all stems once; refill; other: over the ground, and set-up;
    there_h: way in and out of one person for one day.
    """

    cut: np.ndarray
    hand: np.ndarray
    rest: np.ndarray
    walk: np.ndarray
    refill: np.ndarray
    other: np.ndarray
    there_h: np.ndarray


@dataclass(frozen=True)
class Rules:
    """Who there is, and how long: people, chain saws among them, least people beside a saw."""

    people: int
    saws: int
    least: int
    hours_a_day: float
    break_share: float


def crew_hours(load: Load, people: int, saws: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the walking and the waiting of so many people with so many saws [person-hours].

    The work lasts as long as the slower side of it, (cut + walk) / S or
    (rest + walk + refills) / (P - S), and all P are there as long. Where all or none have a saw,
    everybody treats what he cut, and nobody waits.

    References
    ----------
    own reasoning
    """
    if saws in (0, people):
        return load.walk, np.zeros(len(load.walk))
    sawing = (load.cut + load.walk) / saws
    wetting = (load.rest + load.walk + load.refill) / (people - saws)
    done = load.cut + load.rest + 2.0 * load.walk + load.refill
    return 2.0 * load.walk, np.maximum(people * np.maximum(sawing, wetting) - done, 0.0)


def best_crew(load: Load, rules: Rules) -> pd.DataFrame:
    """Return how the visit is done in the fewest person-hours; ties go to more people.

    Work with a saw: q of the people with min(S, q) saws, at least ``least`` of them (or all there
    are) so that somebody is in call; the others work elsewhere. Where hand saws take fewer hours
    the chain saw stays at home. Other work: as many as it pays to send, so nobody waits.

    Returns
    -------
    DataFrame
        by_hand; walk, idle, way_in [person-hours]; people (who come); one row an outing.

    References
    ----------
    own reasoning
    """
    split = (load.cut > 0) & (rules.saws > 0)
    zero = np.zeros(len(split))
    stems = np.where(split, load.hand, load.cut) + load.rest
    way_in, best = _visit(stems + load.walk, zero, load, 1, rules)
    days = np.divide(way_in, load.there_h, out=zero + 1.0, where=load.there_h > 0)
    came = np.clip(np.round(days), 1, rules.people)
    found = {"by_hand": split, "walk": load.walk, "idle": zero, "way_in": way_in, "people": came}
    if not split.any():
        return pd.DataFrame(found)
    for people in range(min(rules.least, rules.people), rules.people + 1):
        walk, idle = crew_hours(load, people, min(rules.saws, people))
        way_in, total = _visit(load.cut + load.rest + walk, idle, load, people, rules)
        take = split & (total <= best + 1e-9)
        best = np.where(take, total, best)
        new: dict[str, np.ndarray | int] = {
            "by_hand": ~split,
            "walk": walk,
            "idle": idle,
            "way_in": way_in,
            "people": people,
        }
        found = {name: np.where(take, new[name], found[name]) for name in found}
    return pd.DataFrame(found | {"by_hand": found["by_hand"] & split})


def _visit(
    work: np.ndarray, idle: np.ndarray, load: Load, people: int, rules: Rules
) -> tuple[np.ndarray, np.ndarray]:
    """Return the way in of all who come on all days, and the person-hours of the whole visit."""
    busy = work + load.refill + load.other
    finite = np.where(np.isfinite(busy), busy, 0.0)
    days = np.ceil((finite + idle) / (people * rules.hours_a_day) - 1e-9)
    way_in = people * days * load.there_h
    return way_in, (busy + way_in) / (1.0 - rules.break_share) + idle
