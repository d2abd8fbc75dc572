"""Fill one day of a crew with what is due: whole visits, and the share of one that is begun."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from clearing.report.next_due import OPEN, Due
from clearing.report.practice import SPRAYS

BEGIN_HOURS = 0.5  # with less left of the day nothing more is begun [h of people]; own choice
CALL, FELLING = "call_utility", ("cut_and_spray", "fell_dead")  # own choice
ALONE_NEVER = ("hack_and_squirt", *FELLING)  # saw or axe, as the handbook's caution "alone" has it
NO_ENTRY = (CALL,)  # made from the house
KEPT_OUT, SPRAYED_TODAY, ALONE = "kept_out", "sprayed_today", "alone"
LEAST = 1e-9


@dataclass(frozen=True)
class Held:
    """What holds work back on a day.

    Attributes
    ----------
    strips : frozenset of str
        Strips whose re-entry time has not passed: nothing but a handler's own spraying goes there.
    alone : bool
        Whether one person works alone: nothing with a saw or an axe then.
    """

    strips: frozenset[str] = frozenset()
    alone: bool = False

    def why(self, one: Due, sprayed: set[str]) -> str:
        """Return why a visit is left on a day, or blank.

        Parameters
        ----------
        one : Due
            The visit.
        sprayed : set of str
            Strips that are sprayed on the day before it.

        References
        ----------
        own reasoning
        """
        others = one.job not in SPRAYS and one.job not in NO_ENTRY
        if others and one.strip_id in self.strips:
            return KEPT_OUT
        if others and one.strip_id in sprayed:
            return SPRAYED_TODAY
        return ALONE if self.alone and one.job in ALONE_NEVER else ""


FREE = Held()


@dataclass(frozen=True)
class Taken:
    """What of a visit is done on a day.

    Attributes
    ----------
    due : Due
        The visit with what was left of it.
    share : float
        Share of the whole visit to plan on.
    low, high : float
        The same when all of the day goes slowly, and when it goes fast.
    """

    due: Due
    share: float
    low: float
    high: float

    @property
    def hours(self) -> float:
        """Return the hours of people to plan on [h]."""
        return self.share * self.due.hours[0]

    @property
    def finishes(self) -> bool:
        """Return whether nothing of the visit is left after it."""
        return self.share >= self.due.left - LEAST


def fill_day(
    due: Sequence[Due], hours: float, day: dt.date, near: Callable[[str, str], bool],
    held: Held = FREE,
) -> tuple[Taken, ...]:  # fmt: skip
    """Return what a crew does on one day, in order; empty when nothing is left for it.

    The first visit that the day is in season for stands at the head, late ones before the others;
    when there is none, the one whose season comes next. Then its strip goes on, then strips near
    it. A visit that does not fit is begun. What a contractor does is none of the crew's.

    Parameters
    ----------
    due : sequence of Due
        What is left, in the plan's order.
    hours : float
        Hours of all people together [h].
    day : date
        The day.
    near : callable
        Whether two strips lie near each other.
    held : Held
        What holds work back.

    References
    ----------
    own reasoning
    """
    ready = ready_visits(due, day, held)
    if not ready:
        return ()
    first = ready[0]
    strips = [first.strip_id]
    strips += [one.strip_id for one in ready if near(first.strip_id, one.strip_id)]
    place = {strip: number for number, strip in reversed(list(enumerate(strips)))}
    own = sorted((one for one in ready if one.strip_id in place),
                 key=lambda one: place[one.strip_id])  # fmt: skip
    shares = [_shares(own, hours, at) for at in range(3)]  # middle, fast, slow
    out = []
    for visit in own:
        middle, fast, slow = (one.get(visit.visit_id, 0.0) for one in shares)
        if middle > 0:
            low, high = min(slow, middle), max(fast, middle)
            out.append(Taken(visit, middle, low, high))
    return tuple(out)


def ready_visits(due: Sequence[Due], day: dt.date, held: Held = FREE) -> list[Due]:
    """Return the visits that can be on the day, in order, each after those before it on its strip.

    Where the day is in no season of what is left, those of the season that comes first.

    References
    ----------
    own reasoning
    """
    return _sorted_out(due, day, held)[0]


def held_back(due: Sequence[Due], day: dt.date, held: Held) -> list[tuple[Due, str]]:
    """Return the visits that the day would be in season for and that are left, each with why.

    References
    ----------
    own reasoning
    """
    return _sorted_out(due, day, held)[1]


Sorted = tuple[list[Due], list[tuple[Due, str]]]


def _sorted_out(due: Sequence[Due], day: dt.date, held: Held) -> Sorted:
    """Return what can be on the day, and what is held back."""
    crew = [one for one in due if not one.missed and not (one.their_hours > 0 and not one.hours[0])]
    ready, back = _unblocked(crew, lambda one: one.open_on(day), held)
    if ready or back or not crew:
        return ready, back
    heads = {one.strip_id: one for one in reversed(crew)}  # the first of each strip
    soonest = min(one.next_span[0] for one in heads.values())
    return _unblocked(crew, lambda one: one.next_span[0] <= soonest, held)


def _unblocked(crew: Sequence[Due], fits: Callable[[Due], bool], held: Held) -> Sorted:
    """Return the visits that fit, without those of a strip after one that does not.

    On one strip no day has work of two seasons: a follow-up waits for what it follows. Nothing is
    felled on a strip on the day on which the utility is only called, and nothing but spraying is
    done on ground that was sprayed, on the same day or within the label's re-entry time.
    """
    blocked: set[str] = set()
    called: set[str] = set()
    sprayed: set[str] = set()
    season: dict[str, tuple[int, str]] = {}
    out, back = [], []
    for one in crew:
        own = season.setdefault(one.strip_id, (one.year, one.season))
        wires = one.job in FELLING and one.strip_id in called
        if wires or one.strip_id in blocked or own != (one.year, one.season) or not fits(one):
            blocked.add(one.strip_id)
        elif why := held.why(one, sprayed):
            blocked.add(one.strip_id)
            back.append((one, why))
        else:
            out.append(one)
            called |= {one.strip_id} if one.job == CALL else set()
            sprayed |= {one.strip_id} if one.job in SPRAYS else set()
    return sorted(out, key=lambda one: one.stands == OPEN), back  # late ones first; a stable sort


def _shares(own: Sequence[Due], hours: float, at: int) -> Mapping[str, float]:
    """Return the share of each visit that is done, by one end of its hours."""
    out: dict[str, float] = {}
    rest = hours
    for one in own:
        need = one.hours[at] * one.left
        if rest < BEGIN_HOURS and out:
            break
        done = min(need, rest)
        out[one.visit_id] = one.left * (done / need) if need > 0 else one.left
        rest -= done
        if done < need:
            break
    return out
