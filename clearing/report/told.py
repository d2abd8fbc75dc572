"""Give what map and work plan say as plain dictionaries: each number beside its words."""

from typing import Any

import pandas as pd

from clearing import records
from clearing.property import Results
from clearing.report.facts import Caution, StripFacts, Summary, VisitFacts
from clearing.report.facts_printed import Printed
from clearing.report.front import front_card
from clearing.report.inputs import tally_of
from clearing.report.plain_facts import plain
from clearing.report.plot_facts import plot_facts
from clearing.report.strengths import parts_of
from clearing.report.tree_facts import tree_facts
from clearing.report.visit_facts import blank, plain_rows
from clearing.report.year_bars import year_bars
from clearing.report.year_charts import CHARTS
from clearing.report.year_pictures import year_picture
from clearing.tables import cell_text

DONE_BY = ("stems", "machine_hours", "their_hours")
MIXED = ("mix_l", "mix_low_l", "mix_high_l", "product_l")
APART = ("visits", "strips", "cautions", "blocks", "year_rows", "sources", "years", "ahead", "log")


def told(summary: Summary) -> dict[str, Any]:
    """Return everything a summary says: the place, and blocks, strips and visits by their id.

    Amounts are value, low, high, unit and words. Cautions stand once in ``cautions``; strips and
    visits name them by their place in that list.

    References
    ----------
    own reasoning
    """
    book: dict[tuple[str, str], int] = {}
    strips = {one.strip_id: _strip(one, summary, book) for one in summary.strips}
    visits = {one.visit_id: _visit(one, book) for strip in summary.strips for one in strip.visits}
    sources = {
        (one.key, one.text): one.source
        for strip in summary.strips
        for visit in strip.visits
        for one in visit.cautions
    }
    return {
        "place": plain(summary, APART) | {"ahead": plain(summary.ahead, ("strips",))},
        "log": {"done": summary.log.done, "short": plain(summary.log.short)},
        "years": [plain(year, ("visits",)) for year in summary.year_rows],
        "blocks": {block.block_id: plain(block, APART) for block in summary.blocks},
        "strips": strips,
        "visits": visits,
        "cautions": [
            {"caution": key, "text": text, "source": sources.get((key, text), "")}
            for key, text in book
        ],
    }


def forms_told(results: Results, summary: Summary, printed: Printed) -> dict[str, Any]:
    """Return what the forms say beyond the summary: front, trees and plots of the map, and paper.

    Under ``doing`` stands what `clearing next` shares out over days, visit by visit; under
    ``log_known`` the rows of the log that this plan was made with, under ``tally_known`` the sum of
    its counts.

    References
    ----------
    own reasoning
    """
    pictures = {name: year_picture(name, summary) for name in CHARTS}
    return {
        "doing": _doing(results, summary),
        "log_known": known_rows(results.property.records),
        "tally_known": tally_of(results.property.tally),
        "front": plain(front_card(results, summary)),
        "bars": plain(year_bars(summary)),
        "trees": plain(tree_facts(results), ("kind", "thickness", "crown", "radii_m")),
        "plots": plain(plot_facts(results)),
        "paper": plain(printed),
        "pictures": {name: plain(one) for name, one in pictures.items() if one is not None},
    }


def known_rows(log: pd.DataFrame) -> list[str]:
    """Return the numbers of the rows of the log that are in force.

    References
    ----------
    own reasoning
    """
    return [cell_text(one) for one in records.in_force(log)["record_id"]] if len(log) else []


def _doing(results: Results, summary: Summary) -> dict[str, Any]:
    """Return stems, machine and contractor's hours of each visit, and its mix by strength.

    Nothing stands here of the mix of a product whose label is not confirmed.
    """
    ready = {one.visit_id for strip in summary.strips for one in strip.visits if one.confirmed}
    parts = parts_of(results)
    out: dict[str, dict[str, Any]] = {}
    for row in plain_rows(results.plan.visits):
        name = str(row["visit_id"])
        out[name] = {item: float(row[item]) for item in DONE_BY}
        if row["mix_l"] > 0 and name in ready:
            out[name] |= {item: float(row[item]) for item in MIXED} | {
                "recipe_id": blank(row["recipe_id"]),
                "parts": [plain(one) for one in parts.get(name, ())],
            }
    return out


def _strip(strip: StripFacts, summary: Summary, book: dict[tuple[str, str], int]) -> dict[str, Any]:
    """Return one strip with what stands on it in each year."""
    return plain(strip, APART) | {
        "years": plain(strip.years),
        "ahead": plain(summary.ahead.strips.get(strip.strip_id, ())),
        "cautions": _places(strip.cautions, book),
        "visits": [visit.visit_id for visit in strip.visits],
    }


def _visit(visit: VisitFacts, book: dict[tuple[str, str], int]) -> dict[str, Any]:
    """Return one visit; the ids of its strip and block stand in it."""
    return plain(visit, ("visit_id", *APART)) | {"cautions": _places(visit.cautions, book)}


def _places(cautions: tuple[Caution, ...], book: dict[tuple[str, str], int]) -> list[int]:
    """Return the places of cautions in the book, which takes in the new ones."""
    return [book.setdefault((one.key, one.text), len(book)) for one in cautions]
