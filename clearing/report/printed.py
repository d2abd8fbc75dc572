"""Build all words and numbers of the printed work plan from the results and their summary."""

from clearing.property import Results
from clearing.report.block_pages import block_page
from clearing.report.caution_groups import by_job, every_visit
from clearing.report.day_cards import day_cards
from clearing.report.facts import Summary
from clearing.report.facts_printed import PaperYear, People, Printed
from clearing.report.hand_lines import log_heads
from clearing.report.practice import crew_words, practice_sheet
from clearing.report.strengths import parts_of
from clearing.report.way_in import ways_in
from clearing.report.words import listed, said

PAPER = {"us": "us-letter", "metric": "a4"}
PROPERTY_PAGES = 4  # the place and its years; people and purchases; charts; cautions, limits
POISON_LINE_US = "1-800-222-1222 (US poison help; from memory, check before the season)"
NO_HOURS = "–"
NO_WORK = "No work in any season of these years."


def printed_facts(results: Results, summary: Summary) -> Printed:
    """Return everything that the work plan prints, in the owner's units and words.

    Parameters
    ----------
    results : Results
        What the walk gave.
    summary : Summary
        Every number and word of the report.

    References
    ----------
    own reasoning
    """
    us = summary.units == "us"
    visits = results.plan.visits
    theirs = visits.set_index("visit_id")["their_hours"].to_dict() if len(visits) else {}
    ways = ways_in(results, summary.strips)
    parts = parts_of(results)
    blocks = tuple(
        block_page(results, block, PROPERTY_PAGES + number, theirs, ways, parts)
        for number, block in enumerate(summary.blocks, start=1)
    )
    pages = {block.block_id: block.page for block in blocks}
    all_visits = [visit for row in summary.year_rows for visit in row.visits]
    return Printed(
        paper=PAPER[summary.units],
        years=_years(summary),
        people=people(results, summary),
        every_visit=every_visit(all_visits),
        by_job=by_job(all_visits),
        blocks=blocks,
        cards=day_cards(results, summary, theirs, ways, pages, PROPERTY_PAGES, parts),
        practice=practice_sheet(
            results, summary, {block.block_id: block.way_in for block in blocks}, pages, parts
        ),
        log_heads=log_heads(us),
        poison_line=POISON_LINE_US if us else "",
        property_pages=PROPERTY_PAGES,
    )


def people(results: Results, summary: Summary) -> People:
    """Return who works and the hours of each season of each year against what there is.

    Seasons without any work are named in a sentence.

    References
    ----------
    own reasoning
    """
    rows = summary.ahead.seasons
    used = dict.fromkeys(row.season_key for row in rows if row.hours.value > 0)
    names = {row.season_key: row.season for row in rows}
    idle = [name for key, name in names.items() if key not in used]
    known = {(row.year, row.season_key): row for row in rows}
    table = []
    for year in summary.years if used else ():
        cells = []
        for key in used:
            row = known[(year, key)]
            limit = f" of {said(row.limit)}" if row.limit is not None else ""
            cells.append(f"{row.hours.number}{limit}" if row.hours.value > 0 or limit else NO_HOURS)
        table.append((str(year), *cells))
    return People(
        crew_words(results.property.settings.crew), tuple(names[key] for key in used),
        tuple(table), f"No work in {listed(idle)}." if idle and used else NO_WORK if idle else "",
    )  # fmt: skip


def _years(summary: Summary) -> tuple[PaperYear, ...]:
    """Return the years at a glance."""
    return tuple(
        PaperYear(row.year, row.sentence, row.hours.number, row.hours_ready.partition(" ")[0],
                  row.cost.short, row.cost_ready, row.cost_limit)
        for row in summary.year_rows
    )  # fmt: skip
