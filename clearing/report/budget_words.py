"""Say what other budgets, or hours, would give: a table for the terminal and a sentence."""

from typing import Any

from clearing.report import words

HEADS = {"money": "a year", "hours": "crew a year"}
SAME_AREA = 0.05  # acres or hectares that make no difference; own choice
WIDTH = 80
NO_PLAN = {"none": "no plan fits", "not_found": "no plan found in time"}
Rows = list[dict[str, Any]]


def budget_lines(rows: Rows, us: bool) -> list[str]:
    """Return the table of solved plans as lines of at most 80 characters, and what it shows.

    Parameters
    ----------
    rows : list of dict
        As `clearing.budgets.compare` gives them.
    us : bool
        Acres or hectares.

    References
    ----------
    own reasoning
    """
    unit = "acres" if us else "ha"
    heads = (*_first_heads(rows), "cash", "hours", "clear by", f"clear {unit}",
             f"grass {unit}", "gap")  # fmt: skip
    table = [heads, *(_cells(row, us) for row in rows)]
    wide = [max(len(line[at]) for line in table if at < len(line)) for at in range(len(heads))]
    lines = ["  ".join(cell.rjust(size) for cell, size in zip(line, wide, strict=False))
             for line in table]  # fmt: skip
    for at, row in enumerate(rows, start=1):
        lines[at] += f"  {NO_PLAN.get(row['status'], '')}".rstrip()
    return [*lines, "", *folded(budget_sentence(rows, us)), *folded(note(rows))]


def folded(text: str, width: int = WIDTH) -> list[str]:
    """Return a text as lines of at most so many characters, broken between words.

    References
    ----------
    own reasoning
    """
    lines, line = [], ""
    for word in text.split():
        if line and len(line) + 1 + len(word) > width:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    return [*lines, line] if line else lines


def note(rows: Rows) -> str:
    """Return how to read the table.

    References
    ----------
    own reasoning
    """
    stopped = any(row["status"] == "stopped" for row in rows)
    end = " A plan that was stopped shows how far it may lie from the best." if stopped else ""
    return ("Cash and hours inside the years of the plan. Clear: done in these years. Grass: mowed "
            "by the last year. Gap: no other plan beats it by more." + end)  # fmt: skip


def budget_sentence(rows: Rows, us: bool) -> str:
    """Return what the plans together show, in one or two sentences.

    References
    ----------
    own reasoning
    """
    fits = [row for row in rows if row["status"] not in NO_PLAN]
    if not fits:
        late = any(row["status"] == "not_found" for row in rows)
        return "No plan was found in time." if late else "No plan fits at any of these."
    missing = len(rows) > len(fits) and rows[0]["status"] == "none"
    start = f"Below {there_is(fits[0])} no plan fits. " if missing else ""
    unit = "acres" if us else "ha"
    if len(fits) == 1:
        return f"{start}{there_is(fits[0])} clears {_area(fits[0][f'cleared_{unit}'])} {unit}."
    least, most = fits[0], fits[-1]
    enough = next(row for row in fits if _same_ground(row, most, unit))
    soonest = next(row for row in fits if row["finish_year"] == most["finish_year"])
    if enough is not least:
        grown = f"From {_amount(least)} to {there_is(enough)} {_grown(least, enough, unit)}."
        return f"{start}{grown}{_and_then(enough, soonest)}"
    if soonest is not least:
        return (f"{start}From {_amount(least)} to {there_is(soonest)} the ground is clear "
                f"{_ends(soonest)} instead of {_ends(least)}.")  # fmt: skip
    other = "hours" if least["by"] == "money" else "money"
    return (f"{start}From {there_is(least)} on, the same ground is cleared by the same year: not "
            f"{least['by']} but {other}, seasons or wishes decide.")  # fmt: skip


def _grown(least: dict[str, Any], enough: dict[str, Any], unit: str) -> str:
    """Return what ground more comes of it: clear, and in grass."""
    clear, grass = ((_area(least[f"{kind}_{unit}"]), _area(enough[f"{kind}_{unit}"]))
                    for kind in ("cleared", "grass"))  # fmt: skip
    if clear[0] == clear[1]:
        return f"{grass[0]} {unit} in grass become {grass[1]}"
    also = f", and {grass[0]} in grass become {grass[1]}" if grass[0] != grass[1] else ""
    return f"{clear[0]} clear {unit} become {clear[1]}{also}"


def _and_then(enough: dict[str, Any], soonest: dict[str, Any]) -> str:
    """Return what still more of it would do."""
    if enough["finish_year"] == soonest["finish_year"] or soonest["share"] < enough["share"]:
        return f" More than {there_is(enough)} clears no more, and no sooner."
    return (f" With {there_is(soonest)} it is clear {_ends(soonest)} instead of "
            f"{_ends(enough)}.")  # fmt: skip


def there_is(row: dict[str, Any]) -> str:
    """Return what there is in a year, in words.

    References
    ----------
    own reasoning
    """
    return f"{_amount(row)} a year"


def _amount(row: dict[str, Any]) -> str:
    """Return the budget in dollars, or the hours."""
    return f"${row['budget']:,.0f}" if row["by"] == "money" else f"{row['crew_hours']:,.0f} hours"


def finish_words(row: dict[str, Any]) -> str:
    """Return by when all is clear, in a word.

    References
    ----------
    own reasoning
    """
    return str(row["finish_year"]) if row["finish_year"] else "not all"


def _same_ground(one: dict[str, Any], two: dict[str, Any], unit: str) -> bool:
    """Return whether two plans clear and mow as much ground."""
    return all(abs(one[f"{kind}_{unit}"] - two[f"{kind}_{unit}"]) < SAME_AREA
               for kind in ("cleared", "grass"))  # fmt: skip


def _ends(row: dict[str, Any]) -> str:
    year = row["finish_year"]
    return f"by {year}" if year else "later than the years of the plan"


def _area(value: float) -> str:
    return f"{value:,.0f}" if value >= words.AREA_FIGURES_FROM else f"{value:.1f}"


def _first_heads(rows: Rows) -> tuple[str, str]:
    by = rows[0]["by"] if rows else "money"
    return "share", HEADS[by]


def _cells(row: dict[str, Any], us: bool) -> tuple[str, ...]:
    """Return one row of the table in words."""
    first = f"${row['budget']:,.0f}" if row["by"] == "money" else f"{row['crew_hours']:,.0f} h"
    head = (f"{100 * row['share']:.0f} %", first)
    if row["status"] in NO_PLAN:
        return head
    unit = "acres" if us else "ha"
    gap = f"{100 * row['gap']:.2f} %" + ("*" if row["status"] == "stopped" else "")
    return (*head, words.money(row["cost"]), words.said(row["hours"]), finish_words(row),
            _area(row[f"cleared_{unit}"]), _area(row[f"grass_{unit}"]), gap)  # fmt: skip
