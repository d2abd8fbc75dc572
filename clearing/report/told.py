"""Give what map and work plan say as plain dictionaries: each number beside its words."""

from dataclasses import fields, is_dataclass
from typing import Any

from clearing.property import Results
from clearing.report.facts import Caution, StripFacts, Summary, VisitFacts
from clearing.report.facts_printed import Printed
from clearing.report.front import front_card
from clearing.report.plot_facts import plot_facts
from clearing.report.tree_facts import tree_facts
from clearing.report.words import Amount
from clearing.report.year_bars import year_bars
from clearing.report.year_charts import CHARTS
from clearing.report.year_pictures import year_picture

APART = ("visits", "strips", "cautions", "blocks", "year_rows", "sources", "years", "ahead")


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

    References
    ----------
    own reasoning
    """
    pictures = {name: year_picture(name, summary) for name in CHARTS}
    return {
        "front": plain(front_card(results, summary)),
        "bars": plain(year_bars(summary)),
        "trees": plain(tree_facts(results), ("kind", "thickness", "crown", "radii_m")),
        "plots": plain(plot_facts(results)),
        "paper": plain(printed),
        "pictures": {name: plain(one) for name, one in pictures.items() if one is not None},
    }


def plain(value: Any, apart: tuple[str, ...] = ()) -> Any:
    """Return facts as dictionaries, lists, texts and numbers; some fields may be left out.

    Parameters
    ----------
    value : Any
        A dataclass, or what stands in one.
    apart : tuple of str
        Fields of the outermost dataclass that are left out.

    References
    ----------
    own reasoning
    """
    if isinstance(value, Amount):
        return {"value": value.value, "low": value.low, "high": value.high, "unit": value.unit,
                "words": value.words, "number": value.number}  # fmt: skip
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in fields(value)
                if one.name not in apart}  # fmt: skip
    if isinstance(value, dict):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    return value


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
