"""Say what the log says beside the plan: what was done, what it taught, what changed."""

import numpy as np

from clearing.property import Results
from clearing.report import words
from clearing.report.facts import StripFacts
from clearing.report.lesson_words import learned
from clearing.report.log_facts import Learned, LogSays, SinceLast
from clearing.report.pieces import stems_of
from clearing.report.since_last import LEAST_CHANGE, PACES, since_last

MOST_SHORT = 6  # sentences on the card and in the terminal; own choice
MOST_FORETOLD, MOST_LEARNED = 2, 2  # of them; own choice


def log_says(results: Results, strips: list[StripFacts]) -> LogSays:
    """Return what the log says; what changed since the last plan also where there is no log.

    Parameters
    ----------
    results : Results
        What the walk gave.
    strips : list of StripFacts
        Strips as they are told.

    References
    ----------
    own reasoning
    """
    lessons = learned(results)
    since = since_last(results, strips, lessons)
    done = _done(results)
    return LogSays(done, lessons, since, _short(done, lessons, since))


def _done(results: Results) -> str:
    """Return what was done so far in one sentence, blank where the log has nothing."""
    work = results.work_done
    if not len(work):
        return ""
    pieces = len(work)
    parts = stems_of(results)
    places = len({parts.get(name, name) for strips in work["strips"] for name in strips})
    hours = float(np.nansum(work["hours"].to_numpy(dtype=float)))
    lacking = int(work["hours"].isna().sum())
    where = f"in {places} {'strip' if places == 1 else 'strips'}"
    text = f"Done so far: {pieces} {'piece' if pieces == 1 else 'pieces'} of work {where}"
    text += f", {words.said(hours)} hours in the log" if hours > 0 else ""
    return f"{text}; the hours of {lacking} are not recorded." if lacking else f"{text}."


def _short(done: str, lessons: tuple[Learned, ...], since: SinceLast | None) -> tuple[str, ...]:
    """Return the most of it in a few sentences."""
    out = [done] if done else []
    if since is not None:
        hours = [one.words for one in since.foretold if one.kind == "hours"]
        out += hours[-MOST_FORETOLD:]
    moved = [one for one in lessons if abs(one.change - 1.0) >= LEAST_CHANGE
             and (one.kind not in ("pace", "ground") or one.item in PACES)]  # fmt: skip
    out += [one.words for one in moved[:MOST_LEARNED]]
    if since is not None:
        out += [since.changed, *since.totals.words[:1]]
    return tuple(out[:MOST_SHORT])
