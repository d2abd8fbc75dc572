"""Pour the facts into the printed work plan: the property, a page a block, cards, practice."""

import json
from dataclasses import asdict
from typing import Any

from clearing.property import Results
from clearing.report import charts, look, year_charts
from clearing.report.block_stems import charted
from clearing.report.facts import Summary
from clearing.report.facts_printed import Printed
from clearing.report.picture import PhotoPicture
from clearing.report.pressed import pressed, pressed_in_parts
from clearing.report.printed import printed_facts
from clearing.report.profile import profile_svg
from clearing.report.standing import MONEY_THERE_IS
from clearing.report.summary import ON_HAND
from clearing.report.way_in import qr_svg
from clearing.report.words import cut

TEMPLATES = (
    "workplan.typ", "pieces.typ", "property_pages.typ", "log_pages.typ", "block_pages.typ",
    "cards.typ", "practice.typ",
)  # fmt: skip
OVERVIEW, BLOCK = charts.Frame(4.4, 1.1, 1.6), charts.Frame(3.0, 0.6, 1.2)
ACROSS = charts.Frame(2.6, 1.6, 3.0)  # a long thin block, over the width of the page
OVERVIEW_WORDS = (
    "Hatched: hack-and-squirt, left to die standing. Flat tint: cut-and-spray. Dots: leaf spray. "
    "Dashed outline: not in these years. Falling hatch: ground with rules of its own. Rings: trees "
    "that stay."
)
MOST_LEFT_OUT = 12  # of what labels rule out; own choice
MOST_PURCHASES = 14  # rows of what to buy; own choice
PARTS = ("property", "blocks", "cards", "practice", "sources")
MOST_AT_ONCE = 16  # blocks that are pressed in one go: about 1.3 GB; own choice
BLOCKS_A_PART, CARDS_A_PART, SHEETS_A_PART = 10, 120, 60  # of a larger plan; own choice
CARDS_A_PAGE = 2
PRACTICE_A_PAGE = 3
FREE = "$0"


def workplan_pdf(
    results: Results,
    summary: Summary,
    picture: PhotoPicture | None,
    printed: Printed | None = None,
) -> bytes:
    """Return the work plan as PDF; the same plan gives the same bytes.

    Parameters
    ----------
    results : Results
        What the walk gave; for the pictures.
    summary : Summary
        Every number and word, in the owner's units.
    picture : PhotoPicture or None
        The photo under the pictures.
    printed : Printed, optional
        What `printed_facts` gives for them.

    References
    ----------
    own reasoning
    """
    printed = printed_facts(results, summary) if printed is None else printed
    plan, files = _poured(results, summary, printed), _pictures(results, summary, printed, picture)
    plan["charts"] = [
        {"name": name, "file": f"{name}.svg", "words": year_charts.chart_words(name, summary)}
        for name in year_charts.CHARTS if f"{name}.svg" in files
    ]  # fmt: skip
    parts = _parts(plan)
    if len(parts) == 1:
        return pressed(TEMPLATES, {**files, "plan.json": json.dumps(parts[0])})
    told = [{"plan.json": json.dumps(part)} for part in parts]
    return pressed_in_parts(TEMPLATES, files, told)


def _parts(plan: dict[str, Any]) -> list[dict[str, Any]]:
    """Return what is pressed at a time: all at once, or so many blocks, cards and sheets each."""
    own = plan["printed"]
    if len(own["blocks"]) <= MOST_AT_ONCE and len(own["cards"]) <= CARDS_A_PART:
        return [plan | {"parts": [*PARTS], "first_page": 1}]
    sheets, page, out = own["practice"], 1, []
    lists = {
        "property": [(own, own["property_pages"] + (own["log"] is not None))],
        "blocks": [
            (own | {"blocks": few}, len(few)) for few in _some(own["blocks"], BLOCKS_A_PART)
        ],
        "cards": [
            (own | {"cards": few}, -(-len(few) // CARDS_A_PAGE))
            for few in _some(own["cards"], CARDS_A_PART)
        ],
        "practice": [
            (own | {"practice": sheets | {"blocks": few}}, -(-len(few) // PRACTICE_A_PAGE))
            for few in _some(sheets["blocks"], SHEETS_A_PART)
        ],
        "sources": [(own, 1)],
    }
    for name in PARTS:
        for printed, pages in lists[name]:
            out.append(plan | {"printed": printed, "parts": [name], "first_page": page})
            page += pages
    return out


def _some(rows: list[Any], number: int) -> list[list[Any]]:
    """Return rows, so many at a time."""
    return [rows[at : at + number] for at in range(0, len(rows), number)]


def page_counts(printed: Printed) -> dict[str, int]:
    """Return how many pages each part of the work plan has, in order.

    References
    ----------
    own reasoning
    """
    blocks = len(printed.blocks)
    return {
        "property": printed.property_pages + (printed.log is not None),
        "blocks": blocks,
        "cards": -(-len(printed.cards) // CARDS_A_PAGE),
        "practice": -(-blocks // PRACTICE_A_PAGE),
        "sources": 1,
    }


def _pictures(
    results: Results, summary: Summary, printed: Printed, picture: PhotoPicture | None
) -> dict[str, bytes]:
    """Return every picture of the plan, file name to bytes."""
    flat = charts.flat_ground(results)
    out = {"overview.jpg": charts.ground_jpeg(results, picture, None, OVERVIEW, flat)}
    for number, (block, page) in enumerate(zip(summary.blocks, printed.blocks, strict=True)):
        frame = ACROSS if _long(flat, block.block_id) else BLOCK
        ground = charts.ground_jpeg(results, picture, block.block_id, frame, flat)
        out[f"block-{number}.jpg"] = ground
        out[f"qr-{number}.svg"] = qr_svg(page.way_in.geo).encode()
        if charted(block):
            out[f"stems-{number}.svg"] = profile_svg(
                _stems_alt(number, summary), charted(block)
            ).encode()
    for number, card in enumerate(printed.cards):
        out[f"qr-card-{number}.svg"] = qr_svg(card.way_in.geo).encode()
    for name in year_charts.CHARTS:
        drawn = year_charts.chart_svg(name, summary)
        if drawn:
            out[f"{name}.svg"] = drawn.encode()
    return out


def _stems_alt(number: int, summary: Summary) -> str:
    return f"Stems of block {summary.blocks[number].block_id} by size with their range"


def _long(ground: charts.Ground, block_id: str) -> bool:
    """Return whether a block is so long from west to east that its picture goes over the page."""
    blocks = ground.blocks
    west, south, east, north = blocks[blocks["block_id"] == block_id].total_bounds
    return bool(east - west > ACROSS.narrowest * (north - south))


def _purchases(summary: Summary) -> list[list[str]]:
    """Return what to buy or to be ready to buy; a price of nothing is a dash."""
    rows = [
        row for row in summary.purchases
        if not (row.containers.startswith("none") and row.containers_ready.startswith("none"))
    ]  # fmt: skip
    return [
        [str(row.year), row.herbicide, row.containers, row.containers_ready,
         "–" if row.cost.removeprefix("about ") == FREE else row.cost]
        for row in rows
    ]  # fmt: skip


def _block_rows(results: Results, summary: Summary, facts: dict[str, Any]) -> None:
    """Add to the pages of the blocks what their pictures are called and how they lie."""
    flat = charts.flat_ground(results)
    for number, (block, page) in enumerate(zip(summary.blocks, facts["blocks"], strict=True)):
        notes = dict.fromkeys(row["note"] for row in page["mixing"]["rows"] if row["note"])
        page |= {
            "number": number,
            "picture": f"block-{number}.jpg",
            "across": _long(flat, block.block_id),
            "alt": f"Picture of block {block.block_id} with its strips",
            "chart": f"stems-{number}.svg" if charted(block) else "",
            "chart_alt": _stems_alt(number, summary),
            "mixing_notes": " ".join(notes),
        }


def _poured(results: Results, summary: Summary, printed: Printed) -> dict[str, Any]:
    """Return all that the templates pour, ready for JSON."""
    facts = asdict(printed)
    _block_rows(results, summary, facts)
    for number, card in enumerate(facts["cards"]):
        card["number"] = number
    purchases = _purchases(summary)
    working = any(row.visits for row in summary.year_rows)
    more = len(purchases) - MOST_PURCHASES
    return {
        "title": f"Work plan, {summary.property_name}",
        "footer": cut(summary.property_name, 50),
        "look": {"ink": look.INK, "line": look.LINE, "keep_out": look.KEEP_OUT,
                 "accent": look.ACCENT, "quiet": look.QUIET},
        "printed": facts,
        "summary": {
            "property_name": cut(summary.property_name, 80),
            "headline": summary.headline, "lead": summary.lead, "paid_back": summary.paid_back,
            "status_words": summary.status_words, "rule_note": summary.rule_note,
            "basis": " ".join(
                [*summary.unsure[:1], *summary.keep_back, summary.left_words]
            ).strip(),
            "not_decided": summary.not_decided, "seen": summary.seen,
        },
        "overview_alt": f"Map of the blocks of {cut(summary.property_name, 80)}",
        "overview_words": OVERVIEW_WORDS,
        "money_words": MONEY_THERE_IS,
        "caution_page": str(printed.property_pages),
        "practice_a_page": PRACTICE_A_PAGE,
        "purchases": purchases[:MOST_PURCHASES],
        "purchases_more": f"and {more} more in purchases.csv" if more > 0 else "",
        "on_hand": ON_HAND if ON_HAND in summary.products else "",
        "to_confirm": [line.partition(" Until then")[0] for line in summary.to_confirm],
        "rules": [
            [one.rule, one.more, one.cash, one.hours, one.finish]
            for one in summary.rules if working
        ],
        "reasons": list(summary.reasons),
        "helps": " ".join([*summary.helps, summary.help_note]).strip(),
        "not_offered": list(summary.not_offered)[:MOST_LEFT_OUT],
        "sources": [
            {"text": source.citation, "counts": source.counts} for source in summary.sources
        ],
    }  # fmt: skip
