"""Say the next day's work out of the written plan, the log and the settings; no planner runs."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from clearing.errors import InputError
from clearing.property import Crew, Property
from clearing.rates import Rates
from clearing.report import names, words
from clearing.report.facts_next import DayJob, NextDay
from clearing.report.facts_printed import WayIn
from clearing.report.field_text import one_line
from clearing.report.hand_lines import POISON_LINE_US
from clearing.report.kit import OwnKit
from clearing.report.next_due import AHEAD, LATE, Due, due_visits, strip_ha
from clearing.report.next_fill import Held, Taken, fill_day, held_back, ready_visits
from clearing.report.next_late import late_lines, overdue_line
from clearing.report.next_load import loaded
from clearing.report.next_mind import minded
from clearing.report.next_reentry import KeptOut, kept_out, left_lines, out_lines, strip_said
from clearing.report.practice import SPRAYS
from clearing.report.season_days import day_words
from clearing.report.visit_facts import confirmed_names, strength_words
from clearing.report.words import cut
from clearing.tables import did_you_mean, name_list
from clearing.units import HA_PER_ACRE

NOTHING = "Nothing of the plan is left to do."
NOTHING_HERE = "Nothing of the plan is left to do in {where}."
NEAR_M = 400.0  # between two ways in, for a crew to go on from one strip to the other; own choice
EARTH_M = 6371008.8  # mean radius; own choice of a round earth for such short ways
HOURS_A_DAY = 6.0  # where the settings give none for the season; as [crew] has it
NAME = 40  # letters of a name; own choice
LOG_HEADS = (  # of the lines written by hand in the field: word, unit in the US, metric unit
    ("date", "", ""), ("strip", "", ""), ("area done", "acres", "ha"), ("job", "", ""),
    ("people", "", ""), ("hours of all", "", ""), ("herbicide", "", ""),
    ("registration", "", ""), ("product", "fl oz", "L"), ("mix", "gal", "L"), ("target", "", ""),
    ("site", "", ""), ("stems", "", ""), ("wind", "mph", "km/h"), ("wind from", "", ""),
    ("heat", "°F", "°C"),
    ("start", "", ""), ("end", "", ""), ("applied by", "", ""), ("notes", "", ""),
)  # fmt: skip
OLD_YEARS = 1  # a plan whose first year lies further back is told to be old; own choice
OLD = "This plan is {years} years old, its first year is {first}: plan again first."
ALL = 0.995  # share from which it is said as all; own choice


@dataclass(frozen=True)
class Asked:
    """What the owner asked for: people, hours each [h], day, strip or block; none takes its own."""

    day: dt.date
    people: int | None = None
    hours: float | None = None
    strip: str | None = None


def next_day(
    said: Mapping[str, Any], place: Property, rates: Rates, asked: Asked, again: Sequence[str] = ()
) -> NextDay:
    """Return the next day's work of a written plan.

    Parameters
    ----------
    said : mapping
        plan.json.
    place : Property
        Settings, blocks and log as they are now.
    rates : Rates
        As the settings have them.
    asked : Asked
        Day, people, hours, strip.
    again : sequence of str
        Why the plan should be made again first, in sentences.

    Raises
    ------
    InputError
        No strip or block has the name that was asked for.

    References
    ----------
    own reasoning
    """
    told, us = said["told"], place.settings.us
    due = due_visits(said, place.records, rates, asked.day)
    where = _asked_strips(asked.strip, told)
    own = [one for one in due if where is None or one.strip_id in where]
    people = asked.people or place.settings.crew.people
    out = kept_out(place.records, told, rates, asked.day)
    held = Held(frozenset(out), alone=people == 1)
    season = next((one.season for one in ready_visits(own, asked.day, held)), "")
    each = asked.hours if asked.hours is not None else _hours(place.settings.crew, season)
    ways = {one["strip_id"]: WayIn(**one) for page in told["paper"]["blocks"]
            for one in (page["way_in"], *page["ways"])}  # fmt: skip
    taken = fill_day(own, people * each, asked.day, lambda a, b: _near(a, b, told, ways),
                     held)  # fmt: skip
    kit = OwnKit(place, rates, _blocks(place))
    load = loaded(taken, said, kit)
    mind = minded(taken, told, kit, no_go=bool(load.no_go))
    jobs = _told_apart([_job(one, told, kit) for one in taken], told)
    back = held_back(own, asked.day, held)
    sprayed = [job.strip_id for job in jobs if job.job_key in SPRAYS]
    nothing = "" if own else NOTHING if where is None else (
        NOTHING_HERE.format(where=cut(str(asked.strip), NAME))
    )  # fmt: skip
    return NextDay(
        property_name=words.isolated(one_line(place.settings.name)),
        units=place.settings.units,
        day=asked.day.isoformat(),
        title=_title(taken, jobs, asked.day, us),
        crew=f"{people} {'person' if people == 1 else 'people'}, "
             f"{words.said(each, 3)} {'hour' if each == 1 else 'hours'} each",
        season=_season(taken, told, us, asked.day),
        again=(*_old(said, asked.day), *again),
        keep_out=out_lines(out, back, sprayed, told, us),
        left=left_lines(back, sprayed, told),
        jobs=jobs,
        rest=_rest(own, taken, told, asked.day, held),
        ways=tuple(ways[one] for one in dict.fromkeys(job.strip_id for job in jobs) if one in ways),
        load=load.lines, mixes=load.mixes, tanks=load.tanks, order=load.order, no_go=load.no_go,
        go=mind.go, gear=mind.gear, away=mind.away, mind=mind.mind,
        late=late_lines(own, told, us, asked.day),
        overdue=tuple(overdue_line(one, told, us, asked.day) for one in own if one.stands == LATE),
        contractor=tuple(_theirs(one, told, out) for one in own
                         if one.their_hours > 0 and one.stands != AHEAD),
        log_heads=tuple((word, here if us else there) for word, here, there in LOG_HEADS),
        poison_line=POISON_LINE_US if us else "",
        nothing=nothing,
    )  # fmt: skip


def _old(said: Mapping[str, Any], day: dt.date) -> tuple[str, ...]:
    """Return that a plan is old, where its first year lies far back."""
    first = min((int(one["year"]) for one in said["years"]), default=day.year)
    years = day.year - first
    return (OLD.format(years=years, first=first),) if years > OLD_YEARS else ()


def _told_apart(jobs: Sequence[DayJob], told: Mapping[str, Any]) -> tuple[DayJob, ...]:
    """Return the jobs, with species and strength where two of them read alike."""
    same = [(job.strip_id, job.job_key, job.herbicide_key) for job in jobs]
    return tuple(
        replace(job, of=_of(job.visit_id, told)) if same.count(key) > 1 else job
        for job, key in zip(jobs, same, strict=True)
    )


def _of(visit: str, told: Mapping[str, Any]) -> str:
    """Return the species that a visit treats, each with its strength, or blank."""
    parts = told["doing"].get(visit, {}).get("parts", ())
    said = [
        f"{words.listed(sorted(map(names.species_name, one['species'])))} "
        f"({strength_words(one['percent'], one['carrier'])})"
        for one in parts if one["species"]
    ]  # fmt: skip
    return words.listed(said)


def _blocks(place: Property) -> pd.DataFrame:
    """Return the blocks with goal, stock and hay, blank where the owner left them out."""
    rows = pd.DataFrame(place.blocks.drop(columns="geometry", errors="ignore"))
    for column, usual in (("goal", "pasture"), ("stock", "none"), ("hay", False)):
        if column not in rows:
            rows[column] = usual
        rows[column] = rows[column].where(rows[column].notna(), usual)
    return rows


def _hours(crew: Crew, season: str) -> float:
    """Return the hours a day of each of the crew in a season [h]."""
    a_day = crew.hours_per_day
    if not isinstance(a_day, dict):
        return a_day
    return a_day.get(season) or max(a_day.values(), default=HOURS_A_DAY) or HOURS_A_DAY


def _asked_strips(wanted: str | None, told: Mapping[str, Any]) -> set[str] | None:
    """Return the strips of a strip or block by its id or name; none when none was asked for."""
    if wanted is None:
        return None
    strips, same = told["strips"], wanted.strip().casefold()
    for keys in (("strip_id",), ("block_id",), ("name",), ("block_name",)):
        found = {one for one, row in strips.items()
                 if any(str(row[key]).casefold() == same for key in keys)}  # fmt: skip
        if found:
            return found
    known = list(dict.fromkeys([*strips, *(row["block_id"] for row in strips.values())]))
    near = did_you_mean(wanted, known)
    problem = f"--strip is {wanted!r}; the plan has strips and blocks {name_list(known)}{near}"
    raise InputError([problem], "plan.json")


def _near(one: str, other: str, told: Mapping[str, Any], ways: Mapping[str, WayIn]) -> bool:
    """Return whether a crew goes on from one strip to another: same block, or ways in near."""
    strips = told["strips"]
    if strips[one]["block_id"] == strips[other]["block_id"]:
        return True
    if one not in ways or other not in ways:
        return False
    a, b = ways[one], ways[other]
    north = math.radians(b.latitude - a.latitude)
    east = math.radians(b.longitude - a.longitude) * math.cos(math.radians(a.latitude))
    return EARTH_M * math.hypot(north, east) <= NEAR_M


def _job(one: Taken, told: Mapping[str, Any], kit: OwnKit) -> DayJob:
    """Return one job of the day in words."""
    due, row = one.due, told["visits"][one.due.visit_id]
    strip, block = told["strips"][due.strip_id], told["blocks"].get(due.block_id, {})
    us, name = kit.property.settings.us, str(block.get("name") or strip["block_name"])
    ready = not due.herbicide or due.herbicide in confirmed_names(kit.rates)
    left = max(due.left - one.share, 0.0)
    after = "" if one.finishes else (
        f"{_percent(left)} of it, about {words.said(left * due.hours[0])} hours, is left after it"
    )  # fmt: skip
    rounds = str(row["rounds"]).partition(";")[0].rstrip(".") if ready else ""
    doing = told["doing"].get(due.visit_id, {})
    machine = float(doing.get("machine_hours", 0.0)) * one.share
    return DayJob(
        visit_id=due.visit_id, strip_id=due.strip_id, strip=strip_said(due.strip_id, told),
        block=f"{cut(due.block_id, NAME)}, {words.isolated(cut(one_line(name), NAME))}",
        job=names.plain(names.JOBS, due.job), job_key=due.job,
        herbicide=names.herbicide_name(due.herbicide), herbicide_key=due.herbicide, of="",
        planned=row["when"], hours=one.hours, share=one.share, share_low=one.low,
        share_high=one.high, left_after=left, how_far=_how_far(one, told, us), after=after,
        rounds=f"{rounds}." if rounds else "",
        machine=f"about {words.said(machine)} mower hours" if machine > 0 else "",
        waits=row["waits"],
        no_go=not ready,
    )  # fmt: skip


def _how_far(one: Taken, told: Mapping[str, Any], us: bool) -> str:
    """Return how far to get: all, or the share of the strip in acres and stems, with its range."""
    due = one.due
    stems = float(told["doing"].get(due.visit_id, {}).get("stems", 0.0))
    some = words.stems(*(stems * one.share,) * 3).short if stems >= 1 else ""
    hours = f"about {words.said(one.hours)} {'hour' if words.said(one.hours) == '1' else 'hours'}"
    if one.finishes:
        slow = "" if one.low >= ALL * one.share else f" ({_slow(one.low)} when it goes slowly)"
        what = "all of it" if due.left >= ALL else f"the {_percent(due.left)} that is left"
        return f"{what}{f', {some}' if some else ''}, {hours}{slow}"
    whole = strip_ha(told, due.strip_id)
    unit = "acres" if us else "ha"
    low, mid, high = (whole * part / (HA_PER_ACRE if us else 1.0)
                      for part in (one.low, one.share, one.high))  # fmt: skip
    spread = f" ({words.said(low)} to {words.said(high)})" if one.high > one.low else ""
    of = f"of {words.area(whole, us).words}"
    more = f", about {some}" if some else ""
    return (
        f"about {_percent(one.share)} of the strip: {words.said(mid)}{spread} {unit} {of}{more}; "
        f"{hours}"
    )


def _slow(share: float) -> str:
    return _percent(share) if share > 0 else "not reached"


def _percent(share: float) -> str:
    return words.percent(100.0 * share).short


def _title(taken: Sequence[Taken], jobs: Sequence[DayJob], day: dt.date, us: bool) -> str:
    """Return what the day is, in a few words."""
    if not taken:
        return f"Next day of work, {day_words(day, us)}"
    what = words.listed(list(dict.fromkeys(job.job for job in jobs)))
    strips = [cut(one, NAME) for one in dict.fromkeys(job.strip_id for job in jobs)]
    return f"{words.sentence(what)} in strip{'s' * (len(strips) > 1)} {words.listed(strips)}"


def _season(taken: Sequence[Taken], told: Mapping[str, Any], us: bool, day: dt.date) -> str:
    """Return when the season opens, where the day does not lie in it."""
    if not taken or taken[0].due.open_on(day):
        return ""
    due, row = taken[0].due, told["visits"][taken[0].due.visit_id]
    opens = day_words(due.next_span[0], us)
    moved = f", {due.moved} {'year' if due.moved == 1 else 'years'} later since its strip was"
    more = f"{moved} treated later" if due.moved else ""
    return (
        f"Planned for {row['when']}{more}. On {day_words(day, us)} that season is not open; "
        f"the next open day is {opens}."
    )


def _theirs(one: Due, told: Mapping[str, Any], out: Mapping[str, KeptOut]) -> str:
    """Return what a contractor does, in a sentence, and that he keeps out of sprayed ground."""
    row = told["visits"][one.visit_id]
    return (
        f"Strip {strip_said(one.strip_id, told)}: {row['job']}, {row['when']}, about "
        f"{words.said(one.their_hours * one.left)} hours of a contractor's"
        f"{'; not before its re-entry time has passed' if one.strip_id in out else ''}."
    )


def _rest(
    own: Sequence[Due], taken: Sequence[Taken], told: Mapping[str, Any], day: dt.date, held: Held
) -> str:
    """Return what comes after the day, in a sentence."""
    gone = {one.due.visit_id for one in taken if one.finishes}
    begun = [one.due for one in taken if not one.finishes]
    ready = [one for one in ready_visits(own, day, held) if one.visit_id not in gone]
    later = [one for one in own if one.visit_id not in gone and not one.missed
             and one not in ready and one.hours[0] > 0]  # fmt: skip
    after = [*begun, *(one for one in (*ready, *later) if one not in begun)]
    if not after or not taken:
        return ""
    row = told["visits"][after[0].visit_id]
    verb = "the rest of " if after[0] in begun else ""
    return (
        f"After this day: {verb}{row['job']} in strip {strip_said(after[0].strip_id, told)}, "
        f"planned for {row['when']}."
    )
