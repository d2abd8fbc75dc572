"""Match the pieces of work in the log with the visits of the last plan."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from clearing import effort, records
from clearing.property import LastPlan, Results
from clearing.records.jobs import job_key
from clearing.records.logged_work import SAME_JOB
from clearing.records.season_now import OVER
from clearing.tables import cell_text

YEARLY = ("follow_up", "mow")  # due each year anew; all else is done once, in whatever year
NOTED_BY_NOBODY = ("mark", "call_utility")  # not asked after where the log lacks them
WHOLE = 0.95  # share of a strip from which it counts as whole; own choice
Three = tuple[float, float, float]
MEASURES = {"hours": ("hours", "hours_low", "hours_high"),
            "product_l": ("product_l", "product_low_l", "product_high_l"),
            "cost": ("cost", "cost_low", "cost_high")}  # fmt: skip


@dataclass(frozen=True)
class Pair:
    """A piece of logged work and what the last plan foretold of it, strip by strip."""

    job: str
    year: int
    took: dict[str, float]
    foretold: dict[str, dict[str, list[Three]]]
    herbicide: str


@dataclass(frozen=True)
class Pairs:
    """What both have, and what only one of them has.

    ``met`` are the rows of the last plan's visits that work was found for; ``missing`` strip, job
    and year that are over and have no work; ``fresh`` the strips that were treated a first time
    since.
    """

    both: tuple[Pair, ...] = ()
    beyond: int = 0
    going: int = 0
    missing: tuple[tuple[str, str, int], ...] = ()
    met: frozenset[int] = frozenset()
    fresh: frozenset[str] = frozenset()


def strip_then(name: str, last: LastPlan) -> str:
    """Return the strip of the last plan that a strip of today lies in, blank where none does.

    4a-2 is its own name where the last plan had it, else 4a, else the last of 4a's parts then:
    what was left of it is what is cut anew.

    References
    ----------
    own reasoning
    """
    if name in last.strips:
        return name
    stem, dash, number = name.rpartition("-")
    stem = stem.rstrip("-")
    if not dash or not number.isdigit():
        return ""
    if stem in last.strips:
        return stem
    parts = [(int(other.rpartition("-")[2]), other) for other in last.strips
             if other.rpartition("-")[0].rstrip("-") == stem
             and other.rpartition("-")[2].isdecimal()]  # fmt: skip
    return max(parts)[1] if parts else ""


def begun_in(results: Results) -> dict[str, int]:
    """Return the year of the first treatment of each strip that the log has begun.

    References
    ----------
    own reasoning
    """
    begun: dict[str, int] = {}
    work, parts = results.work_done, stems_of(results)
    first = work[work["job"].isin(effort.FIRST_JOBS)] if len(work) else work
    for row in first.itertuples():
        for name in set(row.strips) - set(parts):  # of parts the log's row may mean their strip
            begun[name] = min(begun.get(name, int(row.year)), int(row.year))
    options, over = results.plan.options, results.over
    if len(over) and len(options):
        held = options["strip_id"].isin(set(over["strip_id"])) & options["start_year"].notna()
        begun |= {str(row.strip_id): int(row.start_year) for row in options[held].itertuples()}
    return begun


def is_over(year: int, season: str, results: Results) -> bool:
    """Return whether a season of a year lies behind the plan.

    References
    ----------
    own reasoning
    """
    settings = results.property.settings
    gone = settings.season_gone.get(season, 0.0) >= OVER
    return year < settings.first_year or (year == settings.first_year and gone)


def pair_up(results: Results, last: LastPlan) -> Pairs:
    """Return the work logged since the last plan beside what it foretold.

    Work that is done once is the same in whatever year it was done; of a strip that was done in
    part the last plan's figures are taken by area.

    Parameters
    ----------
    results : Results
        What the walk gave.
    last : LastPlan
        The last plan.

    References
    ----------
    own reasoning
    """
    fresh = _fresh(results, last)
    visits = last.visits.assign(job=last.visits["job"].replace(SAME_JOB))
    area = results.strips.set_index("strip_id")["area_ha"].astype(float).to_dict()
    begun, told = begun_in(results), _products(results)
    both: list[Pair] = []
    met: set[int] = set()
    beyond = going = 0
    for piece in fresh.sort_values("year", kind="stable").itertuples() if len(fresh) else ():
        shares = _shares(piece, last, area, begun)
        own = visits[(visits["job"] == piece.job) & visits["strip_id"].isin(shares)]
        own = _of_year(own[~own.index.isin(met)], piece.job, piece.year)
        met |= set(own.index)
        if not piece.finished:
            going += 1
        elif not shares or set(shares) != set(own["strip_id"]) or not all(shares.values()):
            beyond += 1
        else:
            took = {name: float(getattr(piece, name)) for name in ("hours", "product_l")}
            foretold = {name: _parts(own, shares, name) for name in took}
            used = sorted(set(own.loc[own["product_l"] > 0, "herbicide"]))
            words = told.get((piece.strips, piece.job, piece.year), set())
            one = len(used) == 1 and _same(words, used[0], results)
            both.append(Pair(piece.job, int(piece.year), took, foretold, used[0] if one else ""))
    first = fresh[fresh["job"].isin(effort.FIRST_JOBS)]["strips"] if len(fresh) else ()
    began = frozenset(name for strips in first for name in strips)
    missing = _missing(visits, met, results)
    return Pairs(tuple(both), beyond, going, missing, frozenset(met), began)


def _of_year(own: pd.DataFrame, job: str, year: int) -> pd.DataFrame:
    """Return the visits of a year; of work that is done once, else those of the first year."""
    if job in YEARLY or not len(own):
        return own[own["year"] == year]
    due = (own["year"] == year).groupby(own["strip_id"]).transform("any")
    first = own.groupby("strip_id")["year"].transform("min")
    return own[own["year"] == first.where(~due, year)]


def _fresh(results: Results, last: LastPlan) -> pd.DataFrame:
    """Return the pieces of work of which no row was known to the last plan."""
    work, log = results.work_done, records.in_force(results.property.records)
    known = log[log["record_id"].map(cell_text).isin(last.known)]
    if not len(work) or not len(known):
        return work
    old = records.work_done(known, results.strips, _begun(results), results.rates)
    keys = set(zip(old["strips"], old["job"], old["year"], strict=True))
    named = zip(work["strips"], work["job"], work["year"], strict=True)
    return work[[key not in keys for key in named]]


def _begun(results: Results) -> records.Done:
    """Return what was begun, and in which year, as far as the work of the log tells it."""
    begun: dict[str, int] = {}
    for row in results.work_done.itertuples():
        if row.job in effort.FIRST_JOBS:
            for name in row.strips:
                begun[name] = min(begun.get(name, int(row.year)), int(row.year))
    table = pd.DataFrame(
        {"strip_id": list(begun), "start_year": pd.Series(list(begun.values()), dtype=int)}
    )
    return records.Done(table, {}, stems_of(results), ())


def stems_of(results: Results) -> dict[str, str]:
    """Return the strip that each part was cut from, by its name.

    References
    ----------
    own reasoning
    """
    blocks = {str(name) for name in results.blocks["block_id"]}
    stems = {}
    for name in results.strips["strip_id"].astype(str):
        stem, dash, number = name.rpartition("-")
        stem = stem.rstrip("-")
        if dash and number.isdigit() and stem not in blocks:
            stems[name] = stem
    return stems


def finder(results: Results) -> Callable[[object], tuple[str, ...]]:
    """Return what finds the strips that a row of the log means, each place looked up once.

    References
    ----------
    own reasoning
    """
    stems, seen = stems_of(results), dict[str, tuple[str, ...]]()

    def find(cell: object) -> tuple[str, ...]:
        place = cell_text(cell)
        if place not in seen:
            seen[place] = tuple(sorted(records.strips_named(place, results.strips, stems)))
        return seen[place]

    return find


def _shares(
    piece: object, last: LastPlan, area: Mapping[str, float], begun: Mapping[str, int]
) -> dict[str, float]:
    """Return for each strip of the last plan what share of it a piece of work was on."""
    job, year = str(getattr(piece, "job", "")), int(getattr(piece, "year", 0))
    done: dict[str, float] = {}
    for name in getattr(piece, "strips", ()):
        then = strip_then(name, last)
        if not then:
            return {}
        here = begun.get(name) == year if job in effort.FIRST_JOBS else name in begun
        here = here or not begun
        done[then] = done.get(then, 0.0) + (area.get(name, 0.0) if here else 0.0)
    out = {}
    for then, hectares in done.items():
        whole = float(str(last.strips[then]["area_ha"]))
        share = min(hectares / whole, 1.0) if whole > 0 else 0.0
        out[then] = 1.0 if share >= WHOLE else share
    return out


def _parts(own: pd.DataFrame, shares: Mapping[str, float], name: str) -> dict[str, list[Three]]:
    """Return value, low and high of each strip's visits, by the share that was worked on."""
    parts: dict[str, list[Three]] = {}
    for strip, *ends in own[["strip_id", *MEASURES[name]]].itertuples(index=False, name=None):
        scaled = np.array(ends, dtype=float) * shares[strip]
        parts.setdefault(str(strip), []).append((scaled[0], scaled[1], scaled[2]))
    return parts


def _products(results: Results) -> dict[tuple[tuple[str, ...], str, int], set[str]]:
    """Return what products the log names for each piece of work."""
    parts: dict[tuple[tuple[str, ...], str, int], set[str]] = {}
    find = finder(results)
    for row in records.in_force(results.property.records).to_dict("records"):
        words, day = cell_text(row["herbicide"]), pd.Timestamp(row["date"])
        if words and not pd.isna(day):
            job = job_key(row["job"])
            key = (find(row["strip_id"]), SAME_JOB.get(job, job), day.year)
            parts.setdefault(key, set()).add(words)
    return parts


def _same(told: set[str], herbicide: str, results: Results) -> bool:
    """Return whether the log names no other product than the last plan."""
    return all(herbicide in records.products_meant(words, results.rates) for words in told)


def _missing(
    visits: pd.DataFrame, met: set[int], results: Results
) -> tuple[tuple[str, str, int], ...]:
    """Return what of the last plan is over and has no work in the log: strip, job, year."""
    left = visits[~visits.index.isin(met) & ~visits["job"].isin(NOTED_BY_NOBODY)]
    rows = left[["strip_id", "job", "year", "season"]].itertuples(index=False, name=None)
    return tuple(sorted({(strip, job, int(year)) for strip, job, year, season in rows
                         if is_over(int(year), season, results)}))  # fmt: skip
