"""Say what changed since the last plan: work that was done, strips that moved and why, totals."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from clearing import effort, schedule
from clearing.property import LastPlan, Results
from clearing.report import names, words
from clearing.report.facts import StripFacts
from clearing.report.foretold import foretold_rows, kills_found
from clearing.report.inputs import inputs_of, land_of
from clearing.report.log_facts import Learned, SinceLast, StripChange, Totals, read_back
from clearing.report.pieces import (
    MEASURES,
    Pairs,
    Three,
    begun_in,
    is_over,
    pair_up,
    strip_then,
)
from clearing.report.strip_facts import total_cost, total_hours
from clearing.report.visit_facts import season_words

LEAST_CHANGE = 0.05  # of a figure that moves a strip; own choice
LOWER_KILL = 0.02  # by which a kill must have fallen to be a reason; own choice
KINDS = {"done": "done", "part": "done in part", "missed": "missed",
         "other": "changed in method or season"}  # fmt: skip
PACES = ("at_stem", "search_h_per_ha")  # that take most of a visit; own choice


@dataclass(frozen=True)
class _Then:
    """A strip by the last plan: its method, when, and the season of its first treatment."""

    name: str
    method: str
    when: str
    year: int | None
    season: str
    ahead: bool  # whether its first treatment still lay ahead


@dataclass(frozen=True)
class Beside:
    """What the reasons are looked up in."""

    results: Results
    last: LastPlan
    pairs: Pairs
    lessons: tuple[Learned, ...]

    @cached_property
    def begun(self) -> dict[str, int]:
        """Return the year of the first treatment of each strip begun."""
        return begun_in(self.results)

    @cached_property
    def same_land(self) -> bool:
        """Return whether settings and layers are as they were."""
        return self.last.land == land_of(self.results)

    @cached_property
    def parts(self) -> dict[str, list[str]]:
        """Return the strips of today that lie in each strip of the last plan."""
        out: dict[str, list[str]] = {}
        for name in self.results.strips["strip_id"].astype(str):
            then = strip_then(name, self.last)
            if then:
                out.setdefault(then, []).append(name)
        return out


def since_last(
    results: Results, strips: list[StripFacts], lessons: tuple[Learned, ...]
) -> SinceLast | None:
    """Return what changed since the last plan, none where there was none.

    A last plan that was made of the same inputs hands on its own words, so that planning twice
    gives the same files.

    Parameters
    ----------
    results : Results
        What the walk gave.
    strips : list of StripFacts
        Strips as they are told.
    lessons : tuple of Learned
        What the log taught.

    References
    ----------
    own reasoning
    """
    last = results.property.last
    if last is None:
        return None
    if last.inputs == inputs_of(results):
        return None if last.since_last is None else read_back(SinceLast, last.since_last)
    pairs = pair_up(results, last)
    beside = Beside(results, last, pairs, lessons)
    changes = _changes(beside, strips)
    return SinceLast(
        foretold=foretold_rows(pairs, results.property.settings.us),
        kills=kills_found(results, last),
        compared=len(pairs.both),
        beyond=pairs.beyond,
        missing=len(pairs.missing),
        going=pairs.going,
        pieces=_pieces(pairs),
        changes=changes,
        changed=_changed(changes),
        totals=_totals(beside, strips),
    )


def _pieces(pairs: Pairs) -> str:
    """Return how much of the work can be compared, in one sentence."""
    told = []
    if pairs.beyond:
        told.append(f"{pairs.beyond} in the log that the last plan had not")
    if pairs.missing:
        told.append(f"{len(pairs.missing)} that it had and the log has not")
    if pairs.going:
        told.append(f"{pairs.going} that may still go on")
    if not told and not pairs.both:
        return ""
    some = f"{len(pairs.both)} {'piece' if len(pairs.both) == 1 else 'pieces'} of work compared"
    return words.sentence("; ".join([some, *told])) + "."


def _changes(beside: Beside, strips: list[StripFacts]) -> tuple[StripChange, ...]:
    """Return each strip that changed, once, with its reason."""
    out, now = [], {strip.strip_id for strip in strips}
    for strip in strips:
        then = _then(strip_then(strip.strip_id, beside.last), beside.last)
        season = _season_now(strip.strip_id, beside.results)
        if then is None:
            new = "It was not among the strips of the last plan."
            out.append(_row(strip, None, "new", new))
            continue
        found = _log_reason(strip.strip_id, then, beside)
        same = (then.method, then.year, then.season) == (strip.method_key, strip.start_year, season)
        same = same or (not then.ahead and then.method == strip.method_key)
        if not found and same:
            continue
        kind, why = found or _plan_reason(strip, then, beside)
        out.append(_row(strip, then, kind, why))
    for name, one in beside.last.strips.items():
        if name not in now and name not in beside.parts:
            method = names.METHODS.get(str(one["method"]), (str(one["method"]),))[0]
            year = one["start_year"]
            out.append(StripChange(
                name, name, method, str(one["when"]), year if isinstance(year, int) else None,
                "", "", None, "gone", "It is no longer among the strips.",
            ))  # fmt: skip
    return tuple(out)


def _row(strip: StripFacts, then: _Then | None, kind: str, why: str) -> StripChange:
    """Return one changed strip."""
    method = "" if then is None else names.METHODS.get(then.method, (then.method,))[0]
    return StripChange(
        strip.strip_id, strip.name, method, then.when if then else "", then.year if then else None,
        strip.method, strip.when, strip.start_year, kind, why,
    )  # fmt: skip


def _then(name: str, last: LastPlan) -> _Then | None:
    """Return a strip by the last plan, none where it had no such strip."""
    if not name:
        return None
    one, visits = last.strips[name], last.visits
    first = visits[(visits["strip_id"] == name) & visits["job"].isin(effort.FIRST_JOBS)]
    year = one["start_year"]
    own = first[first["year"] == year]
    return _Then(
        name, str(one["method"]), str(one["when"]), year if isinstance(year, int) else None,
        str(own["season"].iloc[0]) if len(own) else "", year is None or len(own) > 0,
    )  # fmt: skip


def _season_now(strip: str, results: Results) -> str:
    """Return the season key in which a strip's first treatment is planned, or was done."""
    options = results.plan.options
    own = options[options["strip_id"] == strip] if len(options) else options
    season = own["start_season"].iloc[0] if len(own) else ""
    return "" if pd.isna(season) else str(season)


def _log_reason(strip: str, then: _Then, beside: Beside) -> tuple[str, str] | None:
    """Return what the log says of a strip: done, done in part, or missed."""
    parts, year = beside.parts.get(then.name, [strip]), beside.begun.get(strip)
    began = beside.pairs.fresh
    if then.ahead and year is not None and len(parts) == 1 and strip in began:
        return "done", f"Done in {year}: {_jobs_of(strip, year, beside)}."
    area = beside.results.strips.set_index("strip_id")["area_ha"].astype(float)
    if (
        then.ahead
        and len(parts) > 1
        and any(part in beside.begun and part in began for part in parts)
    ):
        share = 100.0 * float(area[strip]) / float(area[parts].sum())
        said = f"{words.said(share)} % of what was strip {words.isolated(then.name)}"
        if year is not None:
            return "part", f"Done in {year} on {said}: {_jobs_of(strip, year, beside)}."
        return "rest", f"The rest is done; this is {said} and still to do."
    gone = then.ahead and then.year is not None and is_over(then.year, then.season, beside.results)
    if gone and year is None:
        season = season_words(beside.results.rates, then.season)[0]
        return "missed", f"Planned for {season} {then.year}, and the log has no work on it."
    return None


def _jobs_of(strip: str, year: int, beside: Beside) -> str:
    """Return the first treatments of a strip in words."""
    work = beside.results.work_done
    own = work[work["strips"].map(lambda strips: strip in strips) & (work["year"] == year)]
    jobs = [job for job in names.JOBS if job in set(own["job"]) & set(effort.FIRST_JOBS)]
    return words.listed([names.plain(names.JOBS, job) for job in jobs]) or "first treatment"


def _plan_reason(strip: StripFacts, then: _Then, beside: Beside) -> tuple[str, str]:
    """Return why a strip that nobody has begun changed: kills, paces, stems, else what is left."""
    visits = beside.last.visits
    own = visits[visits["strip_id"] == then.name]
    recipes = set(own["recipe_id"])
    poor = [one for one in beside.lessons if one.kind == "kill" and one.item in recipes
            and one.now < _known_then(one, beside.last) - LOWER_KILL]  # fmt: skip
    if poor:
        worst = min(poor, key=lambda one: (one.change, one.item, one.season))
        now, was = worst.now_words, worst.was_words
        return "kill", f"Fewer stems died than was thought. {worst.what}: {now}, not {was}."
    largest = _largest(strip, own, beside)
    if largest is not None:
        kind = "stems" if largest.kind == "stems" else "pace"
        many = f"{words.said(largest.rows)} {'piece' if largest.rows == 1 else 'pieces'} of work"
        return kind, f"{largest.words[:-1]}, from {many}."
    if not beside.same_land:
        return "land", "Settings or the land were changed since the last plan."
    return "moved", "It moved with the others, which share its hours and money."


def _largest(strip: StripFacts, own: pd.DataFrame, beside: Beside) -> Learned | None:
    """Return the lesson of a strip's jobs, ground or block that moved its hours most."""
    hours = own.groupby("job")["hours"].sum().to_dict()
    for visit in strip.visits:
        hours.setdefault(visit.job_key, visit.hours.value)
    blocks = beside.results.blocks.set_index("block_id")
    known = strip.block_id in blocks.index and "brush" in blocks
    brush = f"brush_{blocks.at[strip.block_id, 'brush']}" if known else ""

    def moved(one: Learned) -> float:
        """Return by how many hours a lesson moved the strip's work, either way."""
        if one.kind == "pace" and one.item in PACES:
            own = hours.get(one.subject, 0.0)
        elif one.kind == "mower" and one.subject == brush:
            own = hours.get("mow", 0.0) + hours.get("mow_down", 0.0)
        else:
            mine = one.kind == "ground" and one.subject == brush
            mine = mine or (one.kind == "stems" and one.subject == strip.block_id)
            own = sum(hours.values()) if mine else 0.0
        far = _far(one, beside.last)
        return float(own) * far if far >= LEAST_CHANGE else 0.0

    best = max(beside.lessons, default=None,
               key=lambda one: (moved(one), one.kind, one.subject, one.item))  # fmt: skip
    return best if best is not None and moved(best) > 0 else None


def _known_then(one: Learned, last: LastPlan) -> float:
    """Return what the last plan had for a figure: as it had learned it, else as it was."""
    learned = last.learned.get((one.kind, one.subject, one.item, one.season))
    return one.was if learned is None else learned[0]


def _far(one: Learned, last: LastPlan) -> float:
    """Return by what share a figure rose or fell since the last plan."""
    then = _known_then(one, last)
    return max(one.now / then, then / one.now) - 1.0 if one.now > 0 and then > 0 else 0.0


def _changed(changes: tuple[StripChange, ...]) -> str:
    """Return how many strips changed and how, in one sentence."""
    counts: dict[str, int] = {}
    for one in changes:
        if one.kind == "rest":  # told with the part that was done
            continue
        kind = one.kind if one.kind in KINDS else "other"
        counts[kind] = counts.get(kind, 0) + 1
    told = [(counts[kind], said) for kind, said in KINDS.items() if kind in counts]
    if not told:
        return "Since the last plan no strip changed."
    number, said = told[0]
    first = f"{number} {'strip' if number == 1 else 'strips'} {said}"
    return f"Since the last plan: {', '.join([first, *(f'{n} {said}' for n, said in told[1:])])}."


def _totals(beside: Beside, strips: list[StripFacts]) -> Totals:
    """Return what lies ahead by both plans: of the last one, what is not over and not logged."""
    results, last = beside.results, beside.last
    visits = last.visits[~last.visits.index.isin(beside.pairs.met)]
    over = [is_over(int(year), season, results)
            for year, season in zip(visits["year"], visits["season"], strict=True)]  # fmt: skip
    ahead = visits[~pd.Series(over, index=visits.index, dtype=bool)]
    now = [visit for strip in strips for visit in strip.visits if not visit.run_off]
    hours, cost = (_together(ahead, name) for name in ("hours", "cost"))
    hours_then, cost_then = words.hours(*hours), words.cost(*cost)
    hours_now, cost_now = total_hours(now), total_cost(now)
    ends = [strip.finish_year for strip in strips if strip.start_year is not None]
    finish = None if not ends or None in ends else max(end for end in ends if end is not None)
    said = (
        f"Still ahead: {hours_now.words}; the last plan had {hours_then.words}.",
        f"Cash still ahead: {cost_now.words}; the last plan had {cost_then.words}.",
        f"All clear: {_finish(finish)}; the last plan said {_finish(last.finish_year)}.",
    )
    return Totals(hours, _three(hours_now), cost, _three(cost_now), last.finish_year, finish, said)


def _together(visits: pd.DataFrame, name: str) -> Three:
    """Return value, low and high of visits of the last plan."""
    parts: dict[str, list[Three]] = {}
    for strip, *ends in visits[["strip_id", *MEASURES[name]]].itertuples(index=False, name=None):
        parts.setdefault(str(strip), []).append((float(ends[0]), float(ends[1]), float(ends[2])))
    value, low, high = schedule.together(parts)
    return float(value), float(low), float(high)


def _three(amount: Any) -> Three:
    """Return value, low and high of an amount."""
    return float(amount.value), float(amount.low), float(amount.high)


def _finish(year: int | None) -> str:
    """Return a finish year in words."""
    return "not in these years" if year is None else str(year)
