"""Pour the summary into the printed work plan: a page for the property, one a block, day cards."""

import json
import tempfile
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import matplotlib
import typst

from clearing.property import Results
from clearing.report import charts, look
from clearing.report.facts import BlockFacts, Summary, VisitFacts
from clearing.report.picture import PhotoPicture
from clearing.report.profile import HOW_TO_READ, profile_png
from clearing.report.summary import ON_HAND
from clearing.report.words import listed
from clearing.report.work_rows import (
    PAGE_LETTERS,
    cautions_of,
    day_cards,
    every_visit,
    fitting,
    work_rows,
)

PAPER = {"us": "us-letter", "metric": "a4"}
OVERVIEW_IN, BLOCK_IN = (7.2, 3.0), (7.2, 2.45)
CHART_IN, WIDE_CHART_IN = 2.6, 7.2
BESIDE, ABREAST = 2, 3  # species that fit beside the work; more stand below it, so many in a row
MONEY_THERE_IS = (
    "There is: the year's budget, what earlier years left over where it carries over, and what "
    "cost share paid back by then."
)
MOST_ROWS = 10  # rows of work that fit on a block's page
MOST_CARDS = 4
MOST_LEFT_OUT = 12
MOST_ZONES = 5


def workplan_pdf(results: Results, summary: Summary, picture: PhotoPicture | None) -> bytes:
    """Return the work plan as PDF; the same plan gives the same bytes.

    Parameters
    ----------
    results : Results
        What the walk gave; for the pictures.
    summary : Summary
        Every number and word, in the owner's units.
    picture : PhotoPicture or None
        The photo under the pictures.

    References
    ----------
    own reasoning
    """
    template = resources.files("clearing.report") / "templates" / "workplan.typ"
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    with tempfile.TemporaryDirectory() as desk:
        home = Path(desk)
        (home / "workplan.typ").write_text(template.read_text(encoding="utf-8"), encoding="utf-8")
        visits = results.plan.visits
        theirs = visits.set_index("visit_id")["their_hours"].to_dict() if len(visits) else {}
        plan = plan_data(summary, theirs)
        (home / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
        (home / "overview.jpg").write_bytes(charts.ground_jpeg(results, picture, None, OVERVIEW_IN))
        for block, page in zip(summary.blocks, plan["blocks"], strict=True):
            ground = charts.ground_jpeg(results, picture, block.block_id, BLOCK_IN)
            (home / page["picture"]).write_bytes(ground)
            if page["chart"]:
                inches, abreast = (WIDE_CHART_IN, ABREAST) if page["wide"] else (CHART_IN, 1)
                stems = profile_png(page["chart_alt"], block.sizes, inches, abreast)
                (home / page["chart"]).write_bytes(stems)
        return bytes(
            typst.compile(
                str(home / "workplan.typ"), root=str(home), format="pdf", timestamp=0,
                font_paths=[str(fonts)], ignore_system_fonts=True,
            )
        )  # fmt: skip


def plan_data(summary: Summary, theirs: Mapping[str, float]) -> dict[str, Any]:
    """Return all words of the work plan, page by page, ready for JSON.

    Parameters
    ----------
    summary : Summary
        Every number and word, in the owner's units.
    theirs : mapping
        Visit -> a contractor's hours [h].

    References
    ----------
    own reasoning
    """
    us = summary.units == "us"
    return {
        "title": f"Work plan, {summary.property_name}",
        "paper": PAPER[summary.units],
        "look": {"ink": look.INK, "line": look.LINE, "keep_out": look.KEEP_OUT,
                 "accent": look.ACCENT, "quiet": look.QUIET},
        "property_name": summary.property_name,
        "headline": summary.headline,
        "lead": summary.lead,
        "overview_alt": f"Map of the blocks of {summary.property_name}",
        "overview_words": (
            "Hatched: hack-and-squirt, left to die standing. Flat tint: cut-and-spray. Dots: "
            "foliar spray. Dashed outline: not in these years. Rings: keep trees."
        ),
        "years": [
            [str(row.year), row.sentence, row.hours.number, row.hours_ready.partition(" ")[0],
             row.cost.short, row.cost_ready, row.cost_limit]
            for row in summary.year_rows
        ],
        "money_words": MONEY_THERE_IS,
        "purchases": [
            [str(row.year), row.herbicide, row.containers, row.containers_ready, row.cost]
            for row in summary.purchases
            if not row.containers.startswith("none")
        ],
        "on_hand": ON_HAND if ON_HAND in summary.products else "",
        "to_confirm": [line.partition(" Until then")[0] for line in summary.to_confirm],
        "not_decided": list(summary.not_decided),
        "status_words": summary.status_words,
        "rules": [[one.rule, one.more, one.cash, one.hours, one.finish] for one in summary.rules],
        "rule_words": summary.rule_words,
        "rule_note": summary.rule_note,
        "helps": " ".join([*summary.helps, summary.help_note]).strip(),
        "basis": " ".join([*summary.unsure[:1], *summary.keep_back]),
        "blocks": [_block(one, us, i, theirs) for i, one in enumerate(summary.blocks)],
        "cards": day_cards(_first_visits(summary), summary.strips, us, theirs)[:MOST_CARDS],
        "every_visit": every_visit([visit for row in summary.year_rows for visit in row.visits]),
        "paid_back": summary.paid_back,
        "not_offered": list(summary.not_offered)[:MOST_LEFT_OUT],
        "seen": list(summary.seen),
        "sources": [
            {"text": source.citation, "counts": source.counts} for source in summary.sources
        ],
    }  # fmt: skip


def _block(block: BlockFacts, us: bool, number: int, theirs: Mapping[str, float]) -> dict[str, Any]:
    """Return the words of one block's page."""
    visits = [visit for strip in block.strips for visit in strip.visits if not visit.run_off]
    rows = work_rows(visits, us, theirs)
    hidden = len(rows) - MOST_ROWS
    more = f"and {hidden} more {'row' if hidden == 1 else 'rows'} of later years, in visits.csv"
    treated = [strip for strip in block.strips if strip.start_year is not None]
    first = min((strip.start_year for strip in treated if strip.start_year), default=None)
    starting = [strip for strip in treated if strip.start_year == first]
    heading = (
        f"{listed([one.strip_id for one in starting])}: {starting[0].method}, {starting[0].when}"
        if starting
        else "Not in these years"
    )
    stems = "; ".join(f"{row.name}: {row.stems.words}" for row in block.stems)
    basis = f"{stems}. {block.basis[:1].upper()}{block.basis[1:]}."
    facts = [block.goal, block.area.words, block.hours.words]
    told = dict.fromkeys(line for one in block.strips for line in (*one.zones, *one.left))
    zones = list(told)[:MOST_ZONES]
    return {
        "title": f"{block.block_id}  {block.name}",
        "facts": " · ".join(facts if visits else facts[:2]),
        "picture": f"block-{number}.jpg",
        "alt": f"Picture of block {block.block_id} with its strips",
        "first": heading,
        "why": (starting or list(block.strips))[0].why,
        "visits": rows[:MOST_ROWS],
        "more": more if hidden > 0 else "",
        "chart": f"stems-{number}.png" if block.sizes else "",
        "wide": len(block.sizes) > BESIDE,
        "chart_alt": f"Stems of block {block.block_id} by size with their range",
        "chart_words": HOW_TO_READ if block.sizes else "",
        "stems": basis,
        "zones": zones,
        "cautions": fitting(cautions_of(visits), PAGE_LETTERS),
    }  # fmt: skip


def _first_visits(summary: Summary) -> list[VisitFacts]:
    """Return the visits of the first season in which anything is done."""
    for year in summary.year_rows:
        if year.visits:
            season = year.visits[0].season
            return [visit for visit in year.visits if visit.season == season]
    return []
