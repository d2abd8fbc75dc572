"""Say the next day on the terminal, in wrapped lines, and part by part for paper and page."""

import textwrap
from dataclasses import dataclass

from clearing.report.facts_next import DayJob, Measure, NextDay
from clearing.report.facts_printed import WayIn
from clearing.report.words import sentence

MOST_LATE = 12  # visits told as late, the first ones; own choice
NO_GO = "no go yet"
WIDE = 80  # letters a line; own choice
LAST = "The label in your hand is the law; this card does not say that anything is safe to do."


@dataclass(frozen=True)
class Part:
    """One part of what is said: its head, and its lines."""

    head: str
    lines: tuple[str, ...]


def next_lines(day: NextDay) -> list[str]:
    """Return the next day as lines of text, none wider than a terminal.

    References
    ----------
    own reasoning
    """
    out = [*_wrapped(f"{day.property_name}: {day.title}"), ""]
    if day.nothing:
        out = [day.nothing, *[""] * bool(day.again)]
    for part in parts_of_day(day):
        out += [f"{part.head}:", *(line for one in part.lines for line in _wrapped(one, "  - ")),
                ""]  # fmt: skip
    return [*out, *_wrapped(LAST)] if day.jobs or day.keep_out else out


def parts_of_day(day: NextDay) -> tuple[Part, ...]:
    """Return everything that is said of a day, part by part, without parts that are empty.

    References
    ----------
    own reasoning
    """
    parts = (
        Part("Plan again first", day.again),
        Part("Keep out", day.keep_out),
        Part("Left for another day", day.left),
        Part("Not yet", (day.season,) if day.season else ()),
        Part("Work", tuple(job_line(one, day) for one in day.jobs)),
        Part("Way in", tuple(way_line(one) for one in day.ways)),
        Part("No go", day.no_go),
        Part("Load", day.load),
        Part("Into one tank (the label's rate wins)", day.tanks),
        Part("Order of pouring", day.order),
        Part("Go or no-go, before you spray", tuple(go_line(one) for one in day.go)),
        Part("Stay away", away_lines(day)),
        Part("Wear", day.gear),
        Part("Mind", day.mind),
        Part("Late", _few(day.overdue)),
        Part("A contractor's", day.contractor),
        Part("Then", (day.rest,) if day.rest else ()),
    )
    return tuple(one for one in parts if one.lines)


def _few(lines: tuple[str, ...]) -> tuple[str, ...]:
    """Return the first lines, and how many more there are."""
    over = len(lines) - MOST_LATE
    return (*lines[:MOST_LATE], f"and {over} more") if over > 0 else lines


def job_line(job: DayJob, day: NextDay) -> str:
    """Return one job: what, with what, where, how far, what is left, how it goes.

    References
    ----------
    own reasoning
    """
    place = len(day.jobs) > 1
    number = f"{day.jobs.index(job) + 1}. " if place else ""
    with_ = f" of {job.of}" if job.of else ""
    with_ += f" with {job.herbicide}" if job.herbicide else ""
    with_ += f" ({NO_GO})" if job.no_go else ""
    said = [f"{number}{sentence(job.job)}{with_} in strip {job.strip}: {job.how_far}"]
    said += [job.machine] if job.machine else []
    text = "; ".join(said) + "."
    more = [sentence(job.after) + "." if job.after else "", job.rounds]
    return " ".join([text, *(one for one in more if one)])


def way_line(way: WayIn) -> str:
    """Return where the vehicle stands and the walk from there.

    References
    ----------
    own reasoning
    """
    stand = "Leave the road at" if way.drawn else "Way in"
    road = f" Public road: {way.road}." if way.road else ""
    return f"{way.strip_id}: {stand} {way.place}, {way.walk}.{road}"


def go_line(one: Measure) -> str:
    """Return one line to look at, with what is to be filled in.

    References
    ----------
    own reasoning
    """
    line = one.line
    blank = "" if line.own else " Your label: ______."
    found = f" Found: ______ {one.unit}." if one.unit else " Seen to: [ ]"
    return f"{line.what} ({line.products}; {line.known}).{blank}{found}"


def away_lines(day: NextDay) -> tuple[str, ...]:
    """Return who stays away, with the waits after the work.

    References
    ----------
    own reasoning
    """
    waits = dict.fromkeys(one.waits for one in day.jobs if one.waits)
    return (*day.away, *(() if any("your label of" in one for one in day.away) else waits))


def _wrapped(text: str, lead: str = "") -> list[str]:
    """Return a text in lines; the later ones stand under the first word."""
    return textwrap.wrap(
        text, WIDE, initial_indent=lead, subsequent_indent=" " * len(lead), break_on_hyphens=False
    )
