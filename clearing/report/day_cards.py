"""Write the day cards: one strip of the first season on half a sheet, large enough to read."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from clearing.property import Results
from clearing.report.caution_groups import first_cautions
from clearing.report.facts import Summary, VisitFacts
from clearing.report.facts_printed import DayCard, WayIn
from clearing.report.fitting import high_pt
from clearing.report.mixing import mix_said, mixing_table
from clearing.report.strength_parts import Parts
from clearing.report.visit_facts import plain_rows, season_order
from clearing.report.words import cut
from clearing.report.work_rows import CONFIRM_FIRST, hours_of, in_order, job_said, volumes_of

CAUTIONS = 3  # cautions on a card; the others stand on the block's page; own choice
HANDLERS = "Only protected handlers are on the ground while you spray."
KEEP_AWAY = "two_lengths"
TOLD_ELSEWHERE = (KEEP_AWAY, "handlers_only")
WIRES = "power_line"
A_TANK = "Into a tank (the label's rate wins)"
CONFIRM = "Confirm before mixing"
# a card on the smaller of letter and A4 in each direction, and its columns [pt]; own choices
LEAST_PT = 11.0
WIDE, HIGH, HEAD_WIDE = 526.0, 345.0, 450.0
LEFT, RIGHT = 272.0, 243.0
GAP = 3.0  # more than the height of its lines that an item takes


def first_season(summary: Summary) -> list[VisitFacts]:
    """Return the visits of the first season in which anything is done.

    References
    ----------
    own reasoning
    """
    for year in summary.year_rows:
        if year.visits:
            season = year.visits[0].season_key
            return [visit for visit in year.visits if visit.season_key == season]
    return []


def day_cards(
    results: Results, summary: Summary, theirs: Mapping[str, float], ways: Mapping[str, WayIn],
    pages: Mapping[str, int], general: int, parts: Parts,
) -> tuple[DayCard, ...]:  # fmt: skip
    """Return a card for every strip of the first season; more than one where it is too full.

    Parameters
    ----------
    results, summary : Results, Summary
        What the walk gave, and its words.
    theirs : mapping
        Visit -> a contractor's hours [h].
    ways : mapping
        Strip -> its way in.
    pages : mapping
        Block -> its page.
    general : int
        Page of the cautions that hold on every visit.
    parts : mapping
        What `strengths.parts_of` gives.

    References
    ----------
    own reasoning
    """
    order, us = season_order(results.rates), summary.units == "us"
    block_names = {strip.strip_id: strip.block_name for strip in summary.strips}
    rows = {str(row["visit_id"]): row for row in plain_rows(results.plan.visits)}
    by_strip: dict[str, list[VisitFacts]] = {}
    for visit in in_order(first_season(summary), order):
        by_strip.setdefault(visit.strip_id, []).append(visit)
    cards: list[DayCard] = []
    for strip, own in sorted(by_strip.items(), key=lambda item: item[0]):
        sprayed = [rows[one.visit_id] for one in own if rows[one.visit_id]["mix_l"] > 0]
        mixing = mixing_table(sprayed, results, parts)
        page = pages[own[0].block_id]
        confirm = [f"Confirm first. {one}" if mixing.rows else one for one in mixing.to_confirm]
        cards += _fitting(DayCard(
            where=f"{strip}  {cut(block_names[strip], 40)}",
            when=own[0].when,
            hours=hours_of(own, theirs).words,
            way_in=ways[strip],
            jobs=tuple(_job(place, one, own, us, parts) for place, one in enumerate(own, start=1)),
            mixes=(*map(mix_said, mixing.rows), *confirm),
            a_day=" ".join(dict.fromkeys(one.rounds for one in own if one.rounds)),
            away=_away(own),
            mind=first_cautions(own, CAUTIONS, TOLD_ELSEWHERE),
            more=f"The others: page {page}, and page {general} for every visit.",
            mixing=A_TANK if mixing.rows else CONFIRM if confirm else "",
        ), _wires(own))  # fmt: skip
    return tuple(cards)


def _wires(visits: list[VisitFacts]) -> str:
    """Return the caution of a power line, or blank."""
    texts = [one.text for visit in visits for one in visit.cautions if one.key == WIRES]
    return texts[0] if texts else ""


def _fitting(card: DayCard, wires: str) -> list[DayCard]:
    """Return a card as it is, or as several where its letters would be too small.

    Who must stay away and the power line stand on each; the first cautions as far as there is room.
    """
    way = f"{card.way_in.place}, {card.way_in.walk}. Public road: {card.way_in.road}."
    head = 16.0 + high_pt(card.where, HEAD_WIDE, 20.0) + high_pt(f"Way in {way}", HEAD_WIDE, 12.0)
    room = HIGH - max(head, 66.0) - high_pt("head", LEFT, LEAST_PT)
    jobs, mixes, mind = (
        [(one, high_pt(f"– {one}", wide, LEAST_PT) + GAP) for one in own]
        for own, wide in ((card.jobs, LEFT), (card.mixes, LEFT), (card.mind, RIGHT))
    )
    day = high_pt(f"A day: {card.a_day}", LEFT, LEAST_PT) + GAP if card.a_day else 0.0
    always = high_pt(f"Stay away: {card.away}", RIGHT, LEAST_PT) + 4 * GAP
    always += high_pt(card.more, RIGHT, LEAST_PT)
    always += high_pt(f"– {wires}", RIGHT, LEAST_PT) + GAP if wires else 0.0
    mind = [one for one in mind if one[0] != wires]
    whole = sum(high for _, high in (*jobs, *mixes)) + day
    whole += high_pt("head", LEFT, LEAST_PT) + GAP if mixes else 0.0
    minds = _chunks(mind, room - always)
    if whole <= room and len(minds) < 2:
        return [card]
    tanks = _chunks([*mixes, *([("", day)] if day else [])], room)
    left = [(own, ()) for own in _chunks(jobs, room)] + [((), own) for own in tanks if own]
    left = [*left, *([left[0]] * (len(minds) - len(left)))]
    made = []
    for place, (own, poured) in enumerate(left):
        minded = minds[min(place, len(minds) - 1)] if minds else ()
        made.append(replace(
            card, jobs=own, mixes=tuple(one for one in poured if one),
            mind=(wires, *minded) if wires else minded,
            a_day=card.a_day if "" in poured else "", mixing=card.mixing if any(poured) else "",
            part=f"{place + 1} of {len(left)}",
        ))  # fmt: skip
    return made


def _chunks(items: Sequence[tuple[str, float]], room: float) -> list[tuple[str, ...]]:
    """Return texts in as many pieces as their heights need, in their order."""
    out: list[list[str]] = []
    used = room
    for text, high in items:
        if not out or used + high > room:
            out.append([])
            used = 0.0
        out[-1].append(text)
        used += high
    return [tuple(own) for own in out]


def _job(number: int, visit: VisitFacts, own: list[VisitFacts], us: bool, parts: Parts) -> str:
    """Return one job in a line: order, species where strengths differ, stems, product, strength."""
    _, _, strength = volumes_of([visit], us, parts)
    said = f"{number}  {job_said(visit, own, parts)}"
    more = [visit.stems] if visit.stems else []
    if visit.herbicide:
        more.append(f"{visit.herbicide}, {strength or CONFIRM_FIRST}")
    return f"{said}: {'; '.join(more)}" if more else said


def _away(visits: list[VisitFacts]) -> str:
    """Return who must stay away."""
    texts = {one.key: one.text for visit in visits for one in visit.cautions}
    lines = [HANDLERS] if any(visit.herbicide for visit in visits) else []
    lines += [texts[KEEP_AWAY]] if KEEP_AWAY in texts else []
    return " ".join(lines) or "Nobody who does not work here."
