"""Put one block on one page: next job, work, stems, tanks, go or no-go, cautions, way in."""

from collections.abc import Mapping

from clearing.property import Results
from clearing.report.block_stems import basis_said, size_table, stems_said
from clearing.report.caution_groups import caution_groups
from clearing.report.facts import BlockFacts, StripFacts, VisitFacts
from clearing.report.facts_printed import BlockPage, WayIn
from clearing.report.go_lines import TOLD_HERE, go_lines, no_go_lines
from clearing.report.mixing import mixing_of
from clearing.report.strength_parts import Parts
from clearing.report.visit_facts import season_order
from clearing.report.words import cut, listed, sentence
from clearing.report.work_rows import in_order, strips_said, work_rows

MOST_ROWS = 14  # rows of work on a block's page before later years are closed; own choice
NOT_NOW = "No work in these years"


def block_page(
    results: Results, block: BlockFacts, page: int, theirs: Mapping[str, float],
    ways: Mapping[str, WayIn], parts: Parts,
) -> BlockPage:  # fmt: skip
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
    parts : mapping
        What `strengths.parts_of` gives.

    References
    ----------
    own reasoning
    """
    order, us = season_order(results.rates), results.property.settings.us
    visits = [visit for strip in block.strips for visit in strip.visits if not visit.run_off]
    visits = in_order(visits, order)
    first = _first(block, visits)
    go, no_go = go_lines(results, visits, block.block_id), no_go_lines(results, visits)
    told = TOLD_HERE if go and not no_go else ()
    facts = [block.goal, block.area.words, *([block.hours.words] if visits else [])]
    next_job, others = _next(block, visits)
    here = first.strip_id if first else ""
    return BlockPage(
        block_id=block.block_id,
        page=page,
        title=f"{block.block_id}  {cut(block.name)}",
        facts=" · ".join(facts),
        next_job=next_job,
        others=others,
        idle=not visits,
        why=first.why if first else "",
        work=tuple(work_rows(visits, us, theirs, order, parts, MOST_ROWS)),
        work_short=tuple(work_rows(visits, us, theirs, order, parts, 1)),
        stems=stems_said(block),
        basis=basis_said(block),
        sizes=size_table(block),
        zones=_zones(block),
        left=_left(block),
        mixing=mixing_of(results, block.block_id, parts),
        go=go,
        no_go=no_go,
        cautions=caution_groups(visits, told),
        way_in=ways[here],
        ways=tuple(ways[one.strip_id] for one in block.strips if one.strip_id != here),
    )


def _first(block: BlockFacts, visits: list[VisitFacts]) -> StripFacts | None:
    """Return the strip in which something is done first, the first strip when nothing is."""
    strips = {strip.strip_id: strip for strip in block.strips}
    if visits:
        return strips[visits[0].strip_id]
    return block.strips[0] if block.strips else None


def _next(block: BlockFacts, visits: list[VisitFacts]) -> tuple[str, str]:
    """Return what is done next here, where and when, and what the other strips begin with."""
    if not visits:
        return NOT_NOW, ""
    strips = {strip.strip_id: strip for strip in block.strips}
    begins: dict[tuple[str, str], list[str]] = {}
    for visit in visits:
        if not any(visit.strip_id in own for own in begins.values()):
            strip = strips[visit.strip_id]
            what = strip.method if strip.when == visit.when else visit.job
            begins.setdefault((what, visit.when), []).append(visit.strip_id)
    idle = [one for one in strips if not any(one in own for own in begins.values())]
    (what, when), *later = begins
    if len(strips) == 1:
        return f"{sentence(what)}, {when}", ""
    same = f"{strips_said(begins[what, when])}: {what}, {when}"
    told = [f"{strips_said(begins[key])}: {key[0]}, {key[1]}" for key in later]
    told += [f"{strips_said(idle)}: no work in these years"] if idle else []
    return (f"First {same}" if told else same), (f"Then {'; '.join(told)}." if told else "")


def _zones(block: BlockFacts) -> tuple[str, ...]:
    """Return the ground with rules of its own: a sentence a kind, with each strip's part."""
    kinds: dict[str, list[str]] = {}
    for strip in block.strips:
        for line in strip.zones:
            kind, _, area = line.removesuffix(".").rpartition(": ")
            where = f" in {strip.strip_id}" if len(block.strips) > 1 else ""
            kinds.setdefault(kind, []).append(f"{area}{where}")
    return tuple(f"{kind}: {listed(areas)}." for kind, areas in kinds.items())


def _left(block: BlockFacts) -> tuple[str, ...]:
    """Return what is left standing and why: a sentence a strip and reason."""
    several = len(block.strips) > 1
    return tuple(
        f"{strip.strip_id}: {line[:1].lower()}{line[1:]}" if several else line
        for strip in block.strips for line in strip.left
    )  # fmt: skip
