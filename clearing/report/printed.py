"""Build all words and numbers of the printed work plan from the results and their summary."""

from clearing.property import Results
from clearing.report import words
from clearing.report.block_pages import block_page
from clearing.report.caution_groups import by_job, every_visit
from clearing.report.day_cards import day_cards
from clearing.report.facts import Summary
from clearing.report.facts_printed import LogPage, PaperYear, People, Printed
from clearing.report.hand_lines import POISON_LINE_US, log_heads
from clearing.report.practice import crew_words, practice_sheet
from clearing.report.strengths import parts_of
from clearing.report.way_in import ways_in
from clearing.report.words import listed, said

PAPER = {"us": "us-letter", "metric": "a4"}
PROPERTY_PAGES = 4  # the place and its years; people and purchases; charts; cautions, limits
MOST_LEARNED = 10  # lines of what the log taught; own choice
MOST_CHANGES = 30  # strips that changed; own choice
MOST_FORETOLD = 12  # lines of what was foretold; own choice
MOST_DONE = 30  # strips done that are named; own choice
MOST_NAME = 30  # letters of a strip's name in this table; own choice
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
    log = log_page(summary)
    before = PROPERTY_PAGES + (log is not None)
    blocks = tuple(
        block_page(results, block, before + number, theirs, ways, parts)
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
        log=log,
    )


def log_page(summary: Summary) -> LogPage | None:
    """Return what was done, what it taught and what changed, none where there is no log.

    References
    ----------
    own reasoning
    """
    log, since = summary.log, summary.log.since
    if not log.done:
        return None
    learned = tuple(
        (words.cut(one.what), one.was_words, one.now_words, one.basis.removeprefix("weight "))
        for one in log.learned[:MOST_LEARNED]
    )
    note = _more(len(log.learned) - MOST_LEARNED)
    if since is None:
        return LogPage((log.done,), (), learned, note, (), (), ())
    changes = tuple(
        (words.cut(one.name, MOST_NAME), _plan_words(one.method_then, one.when_then),
         _plan_words(one.method_now, one.when_now), one.why)
        for one in since.changes if one.kind != "done"
    )  # fmt: skip
    foretold = [*(one.words for one in since.foretold), *(one.words for one in since.kills)]
    left = _more(len(foretold) - MOST_FORETOLD)
    done = [words.cut(one.name, MOST_NAME) for one in since.changes if one.kind == "done"]
    some = done if len(done) <= MOST_DONE else [*done[:MOST_DONE], f"{len(done) - MOST_DONE} more"]
    return LogPage(
        tuple(line for line in (log.done, since.pieces) if line),
        (*foretold[:MOST_FORETOLD], *([words.sentence(left)] if left else [])),
        learned, note, changes[:MOST_CHANGES],
        tuple(_more(len(changes) - shown) for shown in range(len(changes[:MOST_CHANGES]) + 1)),
        (since.changed, *([f"Done: {words.listed(some)}."] if done else []), *since.totals.words),
    )  # fmt: skip


def _more(number: int) -> str:
    """Return how many lines are left out, blank where none is."""
    return f"and {number} more in plan.json" if number > 0 else ""


def _plan_words(method: str, when: str) -> str:
    """Return method and season of a strip; one of them where they say the same."""
    return method if method == when else ", ".join(part for part in (method, when) if part) or "–"


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
