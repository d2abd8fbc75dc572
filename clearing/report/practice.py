"""Fill the practice sheet: what a brush-management plan for cost share asks of each block."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from clearing.forecast.canopy import canopy_pct, crown_m2
from clearing.forecast.growth import STAGES
from clearing.property import Crew, Results
from clearing.report import names, words
from clearing.report.ahead import chosen_futures
from clearing.report.facts import BlockFacts, Summary, VisitFacts
from clearing.report.facts_printed import Practice, PracticeBlock, WayIn
from clearing.report.strength_parts import LATER, Parts
from clearing.report.visit_facts import blank, season_order
from clearing.report.words import cut
from clearing.report.work_rows import CONFIRM_FIRST, in_order, span, volumes_of
from clearing.units import HA_PER_ACRE

NOTE = (
    "Headings follow brush-management (314) plan forms and job sheets of several states, as read "
    "in copies; state forms differ; your office decides. Blank lines are yours to fill in."
)
WHO = {
    "family": "the family", "hired": "hired crew", "contractor": "a contractor",
}  # fmt: skip
SPRAYS = ("hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "follow_up", "upkeep")
OTHER_WORK = ("call_utility", "mow_down", "hand_work", "fell_dead", "mow", "seed")
Canopies = tuple[float | None, float | None, float | None]


def practice_sheet(
    results: Results, summary: Summary, ways: Mapping[str, WayIn], pages: Mapping[str, int],
    parts: Parts,
) -> Practice:  # fmt: skip
    """Return the practice sheet.

    Parameters
    ----------
    results, summary : Results, Summary
        What the walk gave, and its words.
    ways : mapping
        Block -> way in of the strip that comes first.
    pages : mapping
        Block -> its page in the work plan.
    parts : mapping
        What `strengths.parts_of` gives.

    References
    ----------
    nrcs_314
    """
    told = _canopies(results, summary)
    blocks = [
        _block(
            results, block, told[block.block_id], ways[block.block_id], pages[block.block_id], parts
        )
        for block in summary.blocks
    ]
    return Practice(crew_words(results.property.settings.crew), tuple(blocks), NOTE)


def crew_words(crew: Crew) -> str:
    """Return who works, how many and how long, in a sentence.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> crew_words(Crew("family", 2, 1, 1.0, 6.0))
    'The family: 2 people, 1 of them with a saw, 1 day a week of 6 hours.'
    """
    hours = crew.hours_per_day
    if isinstance(hours, dict):
        ends = sorted({float(value) for value in hours.values()})
        a_day = f"{ends[0]:g} to {ends[-1]:g}" if len(ends) > 1 else f"{ends[0]:g}" if ends else ""
        one = ends == [1.0]
    else:
        a_day, one = f"{hours:g}", hours == 1
    a_day = f" of {a_day} {'hour' if one else 'hours'}" if a_day else ""
    who = words.sentence(WHO.get(crew.who, crew.who))
    people = f"{crew.people} {'person' if crew.people == 1 else 'people'}"
    saws = f", {crew.sawyers} of them with a saw" if crew.sawyers else ""
    saws = ", with a saw" if crew.people == crew.sawyers == 1 else saws
    days = f"{crew.days_per_week:g} {'day' if crew.days_per_week <= 1 else 'days'} a week"
    return f"{who}: {people}{saws}, {days}{a_day}."


def target_canopy(
    rows: pd.DataFrame, kind: str, area_ha: float, results: Results, per_ha: str
) -> float:
    """Return the ground under crowns of the species to clear, without trees that stay [percent].

    Parameters
    ----------
    rows : DataFrame
        species, a column of size classes, and stems.
    kind : str
        Name of the column of size classes or stages.
    area_ha : float
        Ground [ha].
    results : Results
        For the rates.
    per_ha : str
        Name of the column of stems: ``stems_per_ha`` is multiplied by the ground, others are not.

    References
    ----------
    crookston_stage_1999
    """
    crowns = 0.0
    for species, part in rows.groupby("species") if len(rows) else ():
        wide = dict(zip(STAGES, crown_m2(str(species), results.rates), strict=True))
        crowns += float((part[kind].map(wide).fillna(0.0).astype(float) * part[per_ha]).sum())
    if per_ha == "stems_per_ha":
        crowns *= area_ha
    return float(canopy_pct(crowns, area_ha))


def _canopies(results: Results, summary: Summary) -> dict[str, Canopies]:
    """Return for each block: targets now, trees that stay, targets after the plan [percent]."""
    areas = dict(zip(results.blocks["block_id"], results.blocks["area_ha"], strict=True))
    futures, after = chosen_futures(results), summary.years[-1] + 1
    last = futures[futures["year"] == after] if len(futures) else futures
    out: dict[str, Canopies] = {}
    reckoned = len(results.rates.crowns) > 0
    for block, area in areas.items():
        own = results.stocking[results.stocking["block_id"] == block]
        now = then = None
        if reckoned:
            now = target_canopy(own, "size_class", float(area), results, "stems_per_ha")
        strips = results.strips[results.strips["block_id"] == block]
        keep = None
        if "keep_canopy_pct" in strips and strips["area_ha"].sum() > 0:
            weighed = strips["keep_canopy_pct"].astype(float) * strips["area_ha"]
            keep = float(weighed.sum() / strips["area_ha"].sum())
        there = last[last["strip_id"].isin(strips["strip_id"])] if len(last) else last
        if reckoned and len(there):
            then = target_canopy(there, "stage", float(area), results, "stems")
        out[str(block)] = (now, keep, then)
    return out


def _block(
    results: Results, block: BlockFacts, canopy: Canopies, way: WayIn,
    page: int, parts: Parts,
) -> PracticeBlock:  # fmt: skip
    """Return the table of one block."""
    us, order = results.property.settings.us, season_order(results.rates)
    visits = in_order(
        [visit for strip in block.strips for visit in strip.visits if not visit.run_off], order
    )
    treated = {one.strip_id for one in block.strips if one.start_year is not None}
    strips = results.strips[results.strips["strip_id"].isin(treated)]
    now, keep, after = (None if one is None else words.percent(one) for one in canopy)
    checks = sorted({visit.year for visit in visits if visit.job_key in LATER})
    return PracticeBlock(
        block=f"{block.block_id}  {cut(block.name)}",
        goal=block.goal,
        planned=words.area(float(strips["area_ha"].sum()), us),
        canopy=now,
        canopy_keep=keep,
        canopy_after=after,
        after_year=results.property.settings.first_year + results.property.settings.years,
        stems=_stems(results, block.block_id, us),
        stems_unit="an acre" if us else "a hectare",
        aim=_aim(results),
        methods=_methods(visits, us, parts),
        dates=_dates(visits),
        check_year=f"{checks[0]}, with the first follow-up" if checks else "",
        map_reference=f"{way.place}{' (way in)' if way.drawn else ''}; page {page}",
        water=_near(results, block, ("water", "well")),
        power=_near(results, block, ("power_line",)),
    )


def _stems(results: Results, block_id: str, us: bool) -> words.Amount:
    """Return the target stems of a block on an acre or a hectare, seedlings among them."""
    own = results.totals[results.totals["block_id"] == block_id]
    factor = HA_PER_ACRE if us else 1.0
    value, low, high = (float(own[name].sum()) * factor for name in ("stems_per_ha", "low", "high"))
    return words.stems(value, low, high)


def _aim(results: Results) -> str:
    """Return what the plan aims at, in words."""
    settings = results.property.settings
    factor = HA_PER_ACRE if settings.us else 1.0
    large = settings.stems_over_1in * factor
    few = f"at most {words.said(large)} stems" if large > 0 else "no stem"
    size, ground = ("an inch", "an acre") if settings.us else ("2.5 cm", "a hectare")
    small = words.said(settings.seedlings_per_ha * factor)
    return f"{few} over {size}, at most {small} seedlings {ground}"


def _methods(visits: list[VisitFacts], us: bool, parts: Parts) -> tuple[str, ...]:
    """Return each method with its herbicide and the volume over the years."""
    groups: dict[tuple[str, str], list[VisitFacts]] = {}
    for visit in visits:
        if visit.job_key in (*SPRAYS, *OTHER_WORK):
            groups.setdefault((visit.job_key, visit.herbicide), []).append(visit)
    out = []
    for (_, herbicide), own in groups.items():
        _, product, strength = volumes_of(own, us, parts)
        if not herbicide:
            out.append(f"{words.sentence(own[0].job)} ({_years(own)})")
        elif strength == CONFIRM_FIRST or not product:
            out.append(f"{words.sentence(own[0].job)} with {herbicide}: {CONFIRM_FIRST}")
        else:
            out.append(f"{words.sentence(own[0].job)} with {herbicide}: {product} of product "
                       f"({_years(own)})")  # fmt: skip
    return tuple(out) or ("none in these years",)


def _years(visits: list[VisitFacts]) -> str:
    return span(sorted({visit.year for visit in visits}))


def _dates(visits: list[VisitFacts]) -> str:
    """Return when the first treatments are planned, in words."""
    first = [one for one in visits if one.job_key not in (*LATER, "mow", "seed", "mark")]
    return words.listed(list(dict.fromkeys(one.when for one in first))[:3]) or "none in these years"


def _near(results: Results, block: BlockFacts, kinds: tuple[str, ...]) -> str:
    """Return what lies on or near the strips of a block, by the names the owner gave."""
    table: Any = results.nearby
    if not len(table):
        return "none drawn near"
    strips = [strip.strip_id for strip in block.strips]
    own = table[table["strip_id"].isin(strips) & table["kind"].isin(kinds)]
    told = [blank(name).strip() or names.plain(names.FEATURES, kind)
            for name, kind in zip(own["name"], own["kind"], strict=True)]  # fmt: skip
    return words.listed(list(dict.fromkeys(told))) or "none drawn near"
