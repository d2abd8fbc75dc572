"""Say the whole plan to somebody who has never heard of stems an acre: the front of the map."""

import math
from dataclasses import dataclass, field

from clearing.property import Results
from clearing.report import words
from clearing.report.facts import Summary
from clearing.report.ruled import DEAD_FROM
from clearing.units import HA_PER_ACRE

STEP_M = 0.75  # one step of a grown person; own choice
M2_PER_HA = 10_000.0
FEW_STEPS, MANY_STEPS = 2, 150  # said only between; own choice
UNSURE = (
    "The numbers come from counts on a few small circles and from what others measured elsewhere. "
    "Where a range stands beside a number, the truth can lie anywhere in it, and now and then "
    "outside."
)
LABEL = "The label on the container comes before anything that stands here."
OFFICE = (
    "Your county's extension office or your state's forester: which trees these are, which product "
    "and which wait fit your ground."
)
STATE = "Your state's department of agriculture: who may spray, and what must be written down."
UTILITY = "The power company, before anything is touched near its line."
NEIGHBOR = "Your neighbors, before trees die or fall near their side."
FELLER = "A trained feller, for a tree that leans, is rotten, or stands dead near people."


@dataclass(frozen=True)
class FrontCard:
    """The plan in plain words, a few sentences a question."""

    now: tuple[str, ...] = field(metadata={"description": "The place now, in sentences"})
    years: tuple[str, ...] = field(metadata={"description": "What happens, a sentence a year"})
    looks: tuple[str, ...] = field(metadata={"description": "What it will look like, in sentences"})
    costs: tuple[str, ...] = field(metadata={"description": "What it costs, in sentences"})
    unsure: tuple[str, ...] = field(metadata={"description": "What is not sure, in sentences"})
    ask: tuple[str, ...] = field(metadata={"description": "Who to ask, in sentences"})
    log: tuple[str, ...] = field(
        default=(), metadata={"description": "What the log says, in sentences; blank without one"}
    )


def front_card(results: Results, summary: Summary) -> FrontCard:
    """Return the plan in plain words; every number but the steps is the summary's.

    Parameters
    ----------
    results : Results
        What the walk gave; asked only for what lies near.
    summary : Summary
        As `summarise` gives it.

    References
    ----------
    own reasoning
    """
    years = tuple(
        f"{year.year}: {_lower(year.sentence)}" for year in summary.year_rows if year.sentence
    )
    return FrontCard(
        _now(summary),
        years,
        _looks(summary),
        _costs(summary),
        (UNSURE,),
        _ask(results),
        summary.log.short if summary.log.done else (),
    )


def _now(summary: Summary) -> tuple[str, ...]:
    """Return how much ground there is, and what grows there."""
    blocks = len(summary.blocks)
    kinds = words.listed([one.name for one in summary.stems if one.stems.value >= 1])
    parts = f" in {blocks} blocks" if blocks > 1 else ""
    ground = f"{words.sentence(summary.area.short)}{parts}"
    grows = f"{ground} to clear of {kinds}." if kinds else f"{ground}."
    ahead = summary.ahead.place
    if ahead:
        trunks, thin = ahead[0].thick, ahead[0].thin
        many = (
            f"{words.sentence(trunks.words)} are an inch thick and more; "
            f"{thin.words.removeprefix('about ')} are thinner."
        )
        return (grows, many, *_steps(summary, trunks.value, "inch-thick stem"))
    whole = sum(one.stems.value for one in summary.stems)
    kinds_said = [f"{words.sentence(one.name)}: {one.stems.words}." for one in summary.stems]
    return (grows, *kinds_said, *_steps(summary, whole, "stem"))


def _steps(summary: Summary, stems: float, what: str) -> tuple[str, ...]:
    """Return how many steps lie between stems that stand evenly."""
    hectares = summary.area.value * (HA_PER_ACRE if summary.area.unit == "acres" else 1.0)
    if stems < 1 or hectares <= 0:
        return ()
    steps = math.sqrt(hectares * M2_PER_HA / stems) / STEP_M
    if not FEW_STEPS <= round(steps) <= MANY_STEPS:
        return ()
    return (
        f"Spread evenly that is one {what} about every {words.said(round(steps))} steps, whichever "
        "way you walk; in truth they stand in thickets, with open ground between.",
    )


def _looks(summary: Summary) -> tuple[str, ...]:
    """Return what somebody sees who drives by in these years."""
    out = []
    states = [one for strip in summary.strips for one in strip.years]
    when = _brown(summary)
    if when:
        out.append(
            f"Brown, leafless trees stand {when} where trunks were treated and left. They drop "
            "branches and fall without warning: nobody rests, parks or plays under them."
        )
    if any(one.state == "cut" for one in states):
        out.append("Stumps and cut tops lie where trees are felled; for a while it looks worse.")
    if any(visit.job_key == "follow_up" for strip in summary.strips for visit in strip.visits):
        out.append("Sprouts and seedlings come back each year, and are sprayed until they do not.")
    if summary.ahead.ground and summary.ahead.ground[-1].grass.value > 0:
        last = summary.ahead.ground[-1]
        out.append(f"By the end of {last.year} {last.grass.short} are mowed and in grass.")
    out += [summary.left_words] if summary.left_words else []
    out += ["Trees that are marked to stay keep standing.", LABEL]
    return tuple(out)


def _brown(summary: Summary) -> str:
    """Return from when to when dead trees stand, in words, blank when none does."""
    began = [one.year for strip in summary.strips for one in strip.years
             if one.state == "standing_dead"]  # fmt: skip
    dead = [row.year for row in summary.ahead.place if row.dead.value > DEAD_FROM]
    if not began and not dead:
        return ""
    first = min([*began, *(year - 1 for year in dead)])  # a row is the start of its year
    first = max(first, summary.years[0])
    if not dead:
        return f"from {first} on, for years,"
    if dead[-1] > summary.years[-1]:
        return f"from {first} on, past the last year of the plan,"
    return f"from {first} to {max(dead[-1], first)}"


def _costs(summary: Summary) -> tuple[str, ...]:
    """Return what the plan takes of money and time."""
    people = "" if "contractor" in summary.hours.words else " of people"
    said = f"{words.sentence(summary.cost.words)} of cash and {summary.hours.words}{people}"
    out = [f"{said}, over {len(summary.years)} years." if len(summary.years) > 1 else f"{said}."]
    out += [summary.paid_back] if summary.paid_back else []
    if summary.run_off_cost.value >= 1:
        last = summary.years[-1]
        out.append(f"{words.sentence(summary.run_off_cost.words)} of upkeep remain after {last}.")
    return tuple(out)


def _ask(results: Results) -> tuple[str, ...]:
    """Return who to ask; always more than one."""
    kinds = set(results.features["kind"]) if len(results.features) else set()
    out = [OFFICE, STATE, FELLER]
    out += [UTILITY] if "power_line" in kinds else []
    out += [NEIGHBOR] if {"property_line", "neighbour_tree", "building"} & kinds else []
    return tuple(out)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
