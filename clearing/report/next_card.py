"""Print the next day in letters of 11 points or more, with lines to write the log."""

import json
from dataclasses import replace
from typing import Any

from clearing.report import look
from clearing.report.facts_next import LABEL_LAW, NextDay
from clearing.report.next_words import Part, parts_of_day
from clearing.report.pressed import pressed
from clearing.report.words import cut, isolated

PAPER = {"us": "us-letter", "metric": "a4"}
GO = "Go or no-go, before you spray"  # a table of its own
AT_THE_END = ("Mind", "Late", "A contractor's", "Then")
THEIRS, FEW = "A contractor's", 6  # lines of theirs; the others stand on the page; own choice
BOXED = ("Plan again first", "Keep out", "Left for another day", "Not yet", "No go", "Stay away")
NAME = 60  # letters of the name of the place; own choice
AROUND = "\u2068\u2069"  # signs that keep a name apart


def next_day_pdf(day: NextDay) -> bytes:
    """Return the card as PDF; same day, same bytes.

    One sheet, front and back, mostly; nothing to mind is left out for want of room.

    Parameters
    ----------
    day : NextDay
        Everything that is said.

    References
    ----------
    own reasoning
    """
    return pressed(("next_day.typ",), {"day.json": json.dumps(_poured(day))})


def _place(day: NextDay) -> str:
    """Return the name of the place, cut, and still apart from what stands around it."""
    return isolated(cut(day.property_name.strip(AROUND), NAME))


def _few(part: Part, day: NextDay) -> tuple[str, ...]:
    """Return a part's lines: late work in two, a contractor's cut, all of the others."""
    if part.head == "Late":
        return day.late
    over = len(part.lines) - FEW
    if part.head != THEIRS or over <= 0:
        return part.lines
    return (*part.lines[:FEW], f"and {over} more on the page for the phone, next_day.html")


def _poured(day: NextDay) -> dict[str, Any]:
    """Return all that the template pours, ready for JSON: items in the order of weight."""
    parts = [replace(one, lines=_few(one, day)) for one in parts_of_day(day) if one.head != GO]
    place_of = {head: number for number, head in enumerate(AT_THE_END, start=1)}
    parts.sort(key=lambda one: place_of.get(one.head, 0))  # the others stay in front, in order
    items = [
        {
            "head": part.head if place == 0 else "",
            "part": part.head,
            "text": line,
            "box": part.head in BOXED,
        }
        for part in parts
        for place, line in enumerate(part.lines)
    ]
    return {
        "title": day.nothing or day.title,
        "document": f"Next day, {_place(day)}",
        "place": _place(day),
        "crew": f"{day.day}: {day.crew}" if day.jobs else day.day,
        "paper": PAPER[day.units],
        "look": {"ink": look.INK, "line": look.LINE, "keep_out": look.KEEP_OUT,
                 "quiet": look.QUIET},
        "items": items,
        "go_head": GO,
        "go": [
            {"what": one.line.what, "more": f"{one.line.products}; {one.line.known}",
             "own": one.line.own, "unit": one.unit}
            for one in day.go
        ],
        "log": [list(one) for one in day.log_heads] if day.jobs else [],
        "log_lines": len(day.jobs),  # one set of blanks a job
        "law": LABEL_LAW,
        "poison": day.poison_line or "______________________",
    }  # fmt: skip
