"""Write the day cards: one strip of the first season on half a sheet, large enough to read."""

from collections.abc import Mapping

from clearing.property import Results
from clearing.report.block_pages import cut
from clearing.report.caution_groups import first_cautions
from clearing.report.facts import Summary, VisitFacts
from clearing.report.facts_printed import DayCard, MixRow, WayIn
from clearing.report.mixing import NONE, mixing_table, sorts_by_mix
from clearing.report.visit_facts import plain_rows, season_order
from clearing.report.words import sentence
from clearing.report.work_rows import CONFIRM_FIRST, hours_of, in_order, volumes_of

CAUTIONS = 3  # cautions on a card; the others stand on the block's page; own choice
MOST_JOBS = 8  # jobs on a card; own choice
FELLING = ("cut_and_spray", "fell_dead")
HANDLERS = "Only protected handlers are on the ground while you spray."
KEEP_AWAY = "two_lengths"
TOLD_ELSEWHERE = (KEEP_AWAY, "handlers_only")


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
    pages: Mapping[str, int], general: int,
) -> tuple[DayCard, ...]:  # fmt: skip
    """Return a card for every strip of the first season.

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

    References
    ----------
    own reasoning
    """
    order, us = season_order(results.rates), summary.units == "us"
    block_names = {strip.strip_id: strip.block_name for strip in summary.strips}
    rows = {str(row["visit_id"]): row for row in plain_rows(results.plan.visits)}
    sorts = sorts_by_mix(results)
    by_strip: dict[str, list[VisitFacts]] = {}
    for visit in in_order(first_season(summary), order):
        by_strip.setdefault(visit.strip_id, []).append(visit)
    cards = []
    for strip, own in sorted(by_strip.items(), key=lambda item: item[0]):
        sprayed = [rows[one.visit_id] for one in own if rows[one.visit_id]["mix_l"] > 0]
        mixing = mixing_table(sprayed, results, sorts)
        jobs = [_job(number, one, us) for number, one in enumerate(own, start=1)]
        more = len(jobs) - MOST_JOBS
        page = pages[own[0].block_id]
        cards.append(DayCard(
            where=f"{strip}  {cut(block_names[strip], 40)}",
            when=own[0].when,
            hours=hours_of(own, theirs).words,
            way_in=ways[strip],
            jobs=tuple(jobs[:MOST_JOBS] + ([f"and {more} more, page {page}"] if more > 0 else [])),
            mixes=tuple(map(_mix, mixing.rows)) + mixing.to_confirm,
            a_day=" ".join(dict.fromkeys(one.rounds for one in own if one.rounds)),
            away=_away(own),
            mind=first_cautions(own, CAUTIONS, TOLD_ELSEWHERE),
            more=f"The others: page {page}, and page {general} for every visit.",
        ))  # fmt: skip
    return tuple(cards)


def _job(number: int, visit: VisitFacts, us: bool) -> str:
    """Return one job in a line: order, stems, product and strength."""
    _, _, strength = volumes_of([visit], us)
    parts = [f"{number}  {sentence(visit.job)}"]
    parts += [visit.stems] if visit.stems else []
    if visit.herbicide:
        parts.append(f"{visit.herbicide}, {strength or CONFIRM_FIRST}")
    return ": ".join([parts[0], "; ".join(parts[1:])]) if parts[1:] else parts[0]


def _mix(row: MixRow) -> str:
    """Return one tank in a line."""
    poured = [f"{row.product} of {row.herbicide}"]
    poured += [] if row.carrier == "none" else [row.carrier]
    poured += [f"{row.surfactant} of surfactant"] if row.surfactant != NONE else []
    poured += [f"{row.dye} of dye"] if row.dye != NONE else []
    reach = f"; {row.stems_a_tank} a tank" if row.stems_a_tank != NONE else ""
    of = f" of {row.species}" if row.species else ""
    return f"{sentence(row.use)}{of}, tank of {row.tank}: {', '.join(poured)}{reach}."


def _away(visits: list[VisitFacts]) -> str:
    """Return who must stay away."""
    texts = {one.key: one.text for visit in visits for one in visit.cautions}
    lines = [HANDLERS] if any(visit.herbicide for visit in visits) else []
    lines += [texts[KEEP_AWAY]] if KEEP_AWAY in texts else []
    return " ".join(lines) or "Nobody who does not work here."
