"""Say the plan in a few lines for the terminal, or in figures for another program."""

from typing import Any

from clearing.report import words
from clearing.report.facts import Summary


def summary_lines(summary: Summary, detail: bool = False) -> list[tuple[str, str]]:
    """Return what a person wants to read first, as label and value.

    Parameters
    ----------
    summary : Summary
        From ``summarise``.
    detail : bool
        Whether to say how near the plan is to the best.

    References
    ----------
    own reasoning
    """
    lines = [
        ("Plan", summary.headline),
        ("Ground", f"{summary.area_planned.words} of {summary.area.words} in blocks"),
        *((words.sentence(one.name), one.stems.words) for one in summary.stems),
        ("Hours", summary.hours.words),
        *(("Product", line) for line in summary.products),
        ("Cash", summary.cost.words),
        *([("Paid back", summary.paid_back)] if summary.paid_back else []),
        ("Finish", str(summary.finish_year or "not all in these years")),
        *([("Standing", summary.left_words)] if summary.left_words else []),
    ]
    lines += [(str(year.year), year.sentence) for year in summary.year_rows if year.visits]
    lines += _log_lines(summary)
    lines += [("Confirm", line.partition(" Until then")[0]) for line in summary.to_confirm]
    if summary.not_offered:
        lines.append(("Left out", f"{len(summary.not_offered)} ways by label or poor kill; the map "
                                  "and plan.json say which and why."))  # fmt: skip
    lines += [("Mind", line) for line in summary.warnings]
    lines += [("Rules", summary.rule_words)] if summary.rule_words else []
    stopped = [("Proof", summary.status_words)] if summary.status == "stopped" else []
    if not detail:
        return [*lines, *stopped]
    more = [("More of it", line) for line in summary.helps]
    sure = [("Reserve", line) for line in summary.keep_back]
    return [*lines, *more, *sure, ("Proof", summary.status_words)]


def _log_lines(summary: Summary) -> list[tuple[str, str]]:
    """Return what the log says, or what changed since the last plan where there is no log."""
    log = summary.log
    if log.short and log.done:
        return [("Log", line) for line in log.short]
    if log.since is not None and log.since.changes:
        return [("Changed", log.since.changed), ("Changed", log.since.totals.words[0])]
    return []


def summary_figures(summary: Summary, detail: bool = False) -> dict[str, Any]:
    """Return the plan's figures in the owner's units, ready for JSON.

    References
    ----------
    own reasoning
    """
    figures: dict[str, Any] = {
        "property": summary.property_name,
        "units": summary.units,
        "status": summary.status,
        "area": summary.area.value,
        "area_planned": summary.area_planned.value,
        "finish_year": summary.finish_year,
        "stems": {one.species: _ends(one.stems) for one in summary.stems},
        "hours": _ends(summary.hours),
        "cost": _ends(summary.cost),
        "years": [
            {"year": year.year, "hours": year.hours.value, "cost": year.cost.value}
            for year in summary.year_rows
        ],
        "to_confirm": list(summary.to_confirm),
        "warnings": list(summary.warnings),
    }
    return figures | {"proof": summary.status_words} if detail else figures


def _ends(amount: words.Amount) -> list[float]:
    """Return value, low and high of an amount."""
    return [amount.value, amount.low, amount.high]
