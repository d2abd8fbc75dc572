"""Find what of the written plan is left to do: the log's rows off its visits, and when each is on.

No number of hours is made here; a visit is left in whole or by the share of ground not yet done.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from clearing.actives import folded
from clearing.rates import Rates
from clearing.records import in_force, products_meant
from clearing.report import names
from clearing.report.season_days import Span, next_span, season_spans
from clearing.tables import cell_text
from clearing.units import HA_PER_ACRE

DONE_FROM = 0.95  # share of its ground from which a visit counts as done; own choice
LEAST = 1e-6  # share under which nothing is left
REPEATED = ("follow_up", "upkeep", "mow")  # a later one takes the place of one that was missed
FIRST = ("hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "hand_work", "mow_down")
MARK = "mark"
AHEAD, OPEN, LATE = "ahead", "open", "late"
EVER = tuple(range(1, 13))


@dataclass(frozen=True)
class Due:
    """A visit of the plan of which something is left.

    Attributes
    ----------
    visit_id, strip_id, block_id, job, herbicide, season : str
        As in the plan; season is its key.
    year : int
        Planned year, later where the strip was treated later than planned.
    hours : tuple of float
        The whole visit: middle, low, high [h of people].
    their_hours : float
        A contractor's hours of the whole visit [h]; the crew has none then.
    left : float
        Share of the visit that is not done.
    span : tuple of date
        First day of the planned season, and the day after its last.
    stands : str
        ahead, open or late on the day asked for.
    next_span : tuple of date
        The span that the day lies in, else the next in which the season is open again.
    missed : bool
        Whether a later visit of the same kind is due already and takes its place.
    moved : int
        Years by which it is later than planned, since its strip was treated later.
    """

    visit_id: str
    strip_id: str
    block_id: str
    job: str
    herbicide: str
    season: str
    year: int
    hours: tuple[float, float, float]
    their_hours: float
    left: float
    span: Span
    stands: str
    next_span: Span
    missed: bool = False
    moved: int = 0

    def open_on(self, day: dt.date) -> bool:
        """Return whether the season is one that the day lies in, the planned one or a later."""
        return self.stands != AHEAD and self.next_span[0] <= day


def due_visits(
    said: Mapping[str, Any], logged: pd.DataFrame, rates: Rates, day: dt.date
) -> list[Due]:
    """Return the visits of the plan that are not done, in the plan's order.

    Parameters
    ----------
    said : mapping
        plan.json.
    logged : DataFrame
        The log, in metric.
    rates : Rates
        Seasons; products, to know which one a row of the log means.
    day : date
        The day asked for.

    References
    ----------
    own reasoning
    """
    told = said["told"]
    rows = [
        {**told["visits"][row["visit_id"]], "visit_id": row["visit_id"]}
        for row in said["visits"]
        if row["visit_id"] in told["visits"]
    ]
    months = {
        str(row["season"]): tuple(int(month) for month in row["months"]) or EVER
        for row in rates.seasons.to_dict("records")
    }
    left, late = _left(rows, told, logged, rates)
    out = [_due(row, told, (left[row["visit_id"]], late), months, day) for row in rows
           if left[row["visit_id"]] > LEAST]  # fmt: skip
    order = {name: place for place, name in enumerate(months)}
    turn = {job: place for place, job in enumerate(names.JOBS)}
    place = {strip: number for number, strip in enumerate(told["strips"])}
    out.sort(key=lambda one: (
        one.year, order.get(one.season, 0), place.get(one.strip_id, 0), turn.get(one.job, 99)
    ))  # fmt: skip
    return [_with_missed(one, out) for one in out]


def _due(
    row: Mapping[str, Any], told: Mapping[str, Any], done: tuple[float, Mapping[str, int]],
    months: Mapping[str, tuple[int, ...]], day: dt.date,
) -> Due:  # fmt: skip
    """Return one visit with its days."""
    own = months.get(row["season_key"], EVER)
    moved = done[1].get(row["strip_id"], 0) if row["job_key"] in REPEATED else 0
    spans = season_spans(int(row["year"]) + moved, own)
    span = next((one for one in spans if one[1] > day), spans[-1])
    span = (spans[0][0], spans[-1][1]) if day < spans[0][0] or day >= spans[-1][1] else span
    stands = AHEAD if day < spans[0][0] else LATE if day >= spans[-1][1] else OPEN
    hours = row["hours"]
    return Due(
        visit_id=row["visit_id"], strip_id=row["strip_id"], block_id=row["block_id"],
        job=row["job_key"], herbicide=row["herbicide_key"], season=row["season_key"],
        year=int(row["year"]) + moved, hours=(hours["value"], hours["low"], hours["high"]),
        their_hours=float(told["doing"].get(row["visit_id"], {}).get("their_hours", 0.0)),
        left=done[0], span=span, stands=stands, moved=moved,
        next_span=spans[0] if stands == AHEAD else next_span(day, own),
    )  # fmt: skip


def _with_missed(one: Due, all_of: Sequence[Due]) -> Due:
    """Return a visit, as missed where the next of its kind on the strip has begun."""
    later = [
        other for other in all_of
        if other.strip_id == one.strip_id and other.job == one.job and other.stands != AHEAD
        and other.span[0] > one.span[0]
    ]  # fmt: skip
    if one.job not in REPEATED or one.stands != LATE or not later:
        return one
    return replace(one, missed=True)


def _left(
    rows: Sequence[Mapping[str, Any]], told: Mapping[str, Any], logged: pd.DataFrame, rates: Rates
) -> tuple[dict[str, float], dict[str, int]]:
    """Return the share of each visit that is left, and years that a strip was treated late."""
    late: dict[str, int] = {}
    left = {row["visit_id"]: 1.0 for row in rows}
    known = set(map(str, told.get("log_known", ())))
    begun: set[tuple[str, int]] = set()
    for entry in in_force(logged).to_dict("records") if len(logged) else ():
        when = pd.Timestamp(entry["date"])
        job = folded(cell_text(entry["job"]))
        old = cell_text(entry["record_id"]) in known
        places = strips_of(cell_text(entry["strip_id"]), told, exact=old and job in FIRST)
        share = _share(entry, places, told)
        for strip in places:
            own = [row for row in rows if row["strip_id"] == strip and row["job_key"] == job]
            own = _meant(own, entry, told, rates)
            for name in _of_year(own, when.year, job):
                left[name] = max(left[name] - share, 0.0)
                if job in FIRST:
                    planned = next(int(row["year"]) for row in own if row["visit_id"] == name)
                    late[strip] = max(late.get(strip, 0), when.year - planned)
            if job in FIRST:
                begun.add((strip, when.year))
    for row in rows:
        name = row["visit_id"]
        if row["job_key"] == MARK and any(
            strip == row["strip_id"] and year >= row["year"] for strip, year in begun
        ):
            left[name] = 0.0  # who has treated has marked before
        if left[name] <= 1.0 - DONE_FROM:
            left[name] = 0.0
    return left, late


def strips_of(name: str, told: Mapping[str, Any], exact: bool = False) -> list[str]:
    """Return the strips that a row of the log means: its own, its parts, or those of a block.

    A first treatment that the plan was made with is off its strips already, so that its row is
    not laid on their parts once more.

    References
    ----------
    own reasoning
    """
    strips = told["strips"]
    if name in strips:
        return [name]
    if exact:
        return []
    parts = [one for one in strips
             if one.rpartition("-")[0] == name and one.rpartition("-")[2].isdigit()]  # fmt: skip
    return parts or [key for key, one in strips.items() if one["block_id"] == name]


def _share(entry: Mapping[str, Any], strips: Sequence[str], told: Mapping[str, Any]) -> float:
    """Return the share of some strips' ground that a row covers; one where it names no area."""
    given = pd.to_numeric(pd.Series([entry.get("area_ha")]), errors="coerce").iloc[0]
    if pd.isna(given) or not strips:
        return 1.0
    whole = sum(strip_ha(told, name) for name in strips)
    return min(float(given) / whole, 1.0) if whole > 0 else 1.0


def strip_ha(told: Mapping[str, Any], strip: str) -> float:
    """Return the area of a strip [ha].

    References
    ----------
    nist_hb44
    """
    area = told["strips"][strip]["area"]
    return float(area["value"]) * (HA_PER_ACRE if area["unit"].startswith("acre") else 1.0)


def _meant(
    own: list[Mapping[str, Any]], entry: Mapping[str, Any], told: Mapping[str, Any], rates: Rates
) -> list[Mapping[str, Any]]:
    """Return the visits that a row means by its product and its target, where it tells them."""
    product = products_meant(cell_text(entry.get("herbicide")), rates)
    same = [row for row in own if row["herbicide_key"] in product]
    own = same or own
    target = folded(cell_text(entry.get("target")))
    return [row for row in own if target and target in _species(row["visit_id"], told)] or own


def _species(visit: str, told: Mapping[str, Any]) -> set[str]:
    """Return the species that a visit treats: keys and common names."""
    parts = told["doing"].get(visit, {}).get("parts", ())
    keys = {one for part in parts for one in part["species"]}
    return {folded(word) for key in keys for word in (key, names.species_name(key))}


def _of_year(own: Sequence[Mapping[str, Any]], year: int, job: str) -> list[str]:
    """Return the visits that work of one year is laid on: of that year, else the last before it.

    What is done once may be done before its year; what comes again may not.
    """
    years = sorted({int(row["year"]) for row in own})
    before = [one for one in years if one <= year]
    after = [] if job in REPEATED else [one for one in years if one > year]
    wanted = before[-1] if before else after[0] if after else None
    return [row["visit_id"] for row in own if int(row["year"]) == wanted]
