"""Say what of the plan is late: each visit in a sentence, and all of it in two lines for paper."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from clearing.report import words
from clearing.report.next_due import LATE, Due
from clearing.report.next_reentry import strip_said
from clearing.report.season_days import day_words
from clearing.report.words import cut, listed

FEW = 8  # strips named in a line of paper; own choice
NAME = 40  # letters of a name; own choice
ALL = 0.995  # share from which it is said as all; own choice


def overdue_line(one: Due, told: Mapping[str, Any], us: bool, day: dt.date) -> str:
    """Return one visit that is late, in a sentence.

    Parameters
    ----------
    one : Due
        The visit.
    told : mapping
        What plan.json tells.
    us : bool
        How a day is written.
    day : date
        The day asked for.

    References
    ----------
    own reasoning
    """
    row = told["visits"][one.visit_id]
    some = "" if one.left >= ALL else f" with {words.percent(100.0 * one.left).short} of it"
    head = (
        f"Strip {strip_said(one.strip_id, told)}: {row['job']}, planned for {row['when']}, is "
        f"not in the log{some}"
    )
    if one.missed:
        return f"{head}; the next one of its kind takes its place."
    if one.open_on(day):
        return f"{head}; its season is open now."
    return f"{head}; its season opens again on {day_words(one.next_span[0], us)}."


def late_lines(
    due: Sequence[Due], told: Mapping[str, Any], us: bool, day: dt.date
) -> tuple[str, ...]:
    """Return what is late in two lines at the most: what is in season now, and what waits.

    A visit whose place the next of its kind takes is not counted.

    Parameters
    ----------
    due : sequence of Due
        What is left.
    told : mapping
        What plan.json tells.
    us : bool
        How a day is written.
    day : date
        The day asked for.

    References
    ----------
    own reasoning
    """
    late = [one for one in due if one.stands == LATE and not one.missed]
    now = [one for one in late if one.open_on(day)]
    wait = [one for one in late if not one.open_on(day)]
    out = [_line(now, told, "their season is open now; plan again")] if now else []
    if wait:
        first = day_words(min(one.next_span[0] for one in wait), us)
        out.append(_line(wait, told, f"in season again from {first} on; plan again"))
    return tuple(out)


def _line(late: Sequence[Due], told: Mapping[str, Any], then: str) -> str:
    """Return some late visits in one line: strips, how many jobs, since when."""
    strips = list(dict.fromkeys(one.strip_id for one in late))
    named = [cut(one, NAME) for one in strips[:FEW]]
    named += [f"{len(strips) - FEW} more"] if len(strips) > FEW else []
    oldest = min(late, key=lambda one: one.span[0])
    jobs = f"{len(late)} {'job' if len(late) == 1 else 'jobs'}"
    return (
        f"Strip{'s' * (len(strips) > 1)} {listed(named)}: {jobs} since "
        f"{told['visits'][oldest.visit_id]['when']}; {then}."
    )
