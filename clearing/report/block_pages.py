"""Put one block on one page: next job, work, stems, tanks, go or no-go, cautions, way in."""

from collections.abc import Mapping

from clearing.property import Results
from clearing.report.caution_groups import caution_groups
from clearing.report.facts import BlockFacts, StripFacts, VisitFacts
from clearing.report.facts_printed import BlockPage, WayIn
from clearing.report.go_lines import TOLD_HERE, go_lines, no_go_lines
from clearing.report.mixing import Sorts, mixing_of
from clearing.report.visit_facts import season_order
from clearing.report.words import sentence
from clearing.report.work_rows import in_order, strips_said, work_rows

MOST_ROWS = 12  # rows of work that fit on a block's page; own choice
MOST_ZONES = 6  # sentences about ground with rules of its own; own choice
CHARTED = 2  # species whose stems stand as a chart; more stand in a table; own choice
MOST_NAME = 60  # letters of a name in a heading; the whole name stands on the map; own choice
NOT_NOW = "Not in these years"
NO_CLASS = "–"


def block_page(
    results: Results,
    block: BlockFacts,
    page: int,
    theirs: Mapping[str, float],
    ways: Mapping[str, WayIn],
    sorts: Sorts | None = None,
) -> BlockPage:
    """Return the page of one block.

    Parameters
    ----------
    results : Results
        What the walk gave.
    block : BlockFacts
        The block in words.
    page : int
        Its page in the work plan.
    theirs : mapping
        Visit -> a contractor's hours [h].
    ways : mapping
        Strip -> its way in.
    sorts : mapping, optional
        What `mixing.sorts_by_mix` gives.

    References
    ----------
    own reasoning
    """
    order = season_order(results.rates)
    visits = [visit for strip in block.strips for visit in strip.visits if not visit.run_off]
    visits = in_order(visits, order)
    rows = work_rows(visits, results.property.settings.us, theirs, order)
    hidden = len(rows) - MOST_ROWS
    first = _first(block, visits)
    go = go_lines(results, visits)
    told = TOLD_HERE if go and not no_go_lines(results, visits) else ()
    stems = "; ".join(f"{sentence(row.name)}: {row.stems.words}" for row in block.stems)
    facts = [block.goal, block.area.words, *([block.hours.words] if visits else [])]
    return BlockPage(
        block_id=block.block_id,
        page=page,
        title=f"{block.block_id}  {cut(block.name)}",
        facts=" · ".join(facts),
        next_job=_next(block, visits),
        why=first.why if first else "",
        work=tuple(rows[:MOST_ROWS]),
        more=f"and {hidden} more {'row' if hidden == 1 else 'rows'} of later years, in visits.csv"
        if hidden > 0
        else "",
        stems=f"{stems}. {sentence(block.basis)}." if stems else f"{sentence(block.basis)}.",
        sizes=_size_table(block) if len(block.sizes) > CHARTED else (),
        zones=_zones(block),
        mixing=mixing_of(results, block.block_id, sorts),
        go=go,
        no_go=no_go_lines(results, visits),
        cautions=caution_groups(visits, told),
        way_in=ways[first.strip_id if first else block.strips[0].strip_id],
    )


def cut(name: str, letters: int = MOST_NAME) -> str:
    """Return a name, cut with an ellipsis where it is too long for a heading.

    References
    ----------
    own reasoning
    """
    return name if len(name) <= letters else f"{name[: letters - 1]}…"


def _first(block: BlockFacts, visits: list[VisitFacts]) -> StripFacts | None:
    """Return the strip in which something is done first, the first strip when nothing is."""
    strips = {strip.strip_id: strip for strip in block.strips}
    if visits:
        return strips[visits[0].strip_id]
    return block.strips[0] if block.strips else None


def _next(block: BlockFacts, visits: list[VisitFacts]) -> str:
    """Return what is done next here, where and when."""
    if not visits:
        return NOT_NOW
    first = visits[0]
    strips = {strip.strip_id: strip for strip in block.strips}
    now = list(dict.fromkeys(one.strip_id for one in visits if one.when == first.when))
    alike = [one for one in now if strips[one].method == strips[now[0]].method]
    begins = strips[now[0]].when == first.when
    what = strips[now[0]].method if begins else first.job
    which = strips_said(alike)
    whole = len(block.strips) == 1
    return f"{sentence(what)}, {first.when}" if whole else f"{which}: {what}, {first.when}"


def _zones(block: BlockFacts) -> tuple[str, ...]:
    """Return the ground with rules of its own and what is left, each sentence once."""
    told = list(dict.fromkeys(line for one in block.strips for line in (*one.left, *one.zones)))
    more = len(told) - MOST_ZONES
    return tuple([*told[:MOST_ZONES], f"and {more} more, on the map"] if more > 0 else told)


def _size_table(block: BlockFacts) -> tuple[tuple[str, ...], ...]:
    """Return the stems by size as rows of text, heads first; range under the number."""
    labels = {row.size_class: row.label for one in block.sizes for row in one.sizes}
    rows = [("stems, with range", *labels.values())]
    for one in block.sizes:
        known = {row.size_class: row for row in one.sizes}
        cells = [
            _alone(known[size].stems.words) if size in known else NO_CLASS
            for size in labels
        ]  # fmt: skip
        rows.append((cut(sentence(one.name), 40), *cells))
    return tuple(rows)


def _alone(words: str) -> str:
    """Return a number of stems with its range, without the word for them."""
    return words.removeprefix("about ").replace(" stems", "").replace(" stem", "")
