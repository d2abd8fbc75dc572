"""Say what to mind on a day: go or no-go with blanks, what to wear, who stays away, the rest."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from clearing.report.caution_facts import ON_EVERY_VISIT
from clearing.report.caution_groups import FIRST
from clearing.report.facts_next import Measure
from clearing.report.facts_printed import GoLine
from clearing.report.go_lines import TOLD_HERE, go_lines
from clearing.report.kit import OwnKit
from clearing.report.next_fill import Taken
from clearing.report.words import listed

GEAR = ("protect_yourself", "eyes", "saw", "axe", "thorns")
AWAY = ("power_line", "handlers_only", "two_lengths", "near_crop", "reentry", "stock", "hay")
REENTRY = "Nobody back in"  # a go line; with the owner's own figure other labels' is left out
UNITS = {  # first word of a line -> unit of what was measured: us, metric
    "Wind": ("mph", "km/h"), "Heat": ("°F", "°C"), "Dry": ("h dry", "h dry"),
    "Stump": ("min", "min"),
}  # fmt: skip


@dataclass(frozen=True)
class Mind:
    """What to mind."""

    go: tuple[Measure, ...]
    gear: tuple[str, ...]
    away: tuple[str, ...]
    mind: tuple[str, ...]


@dataclass(frozen=True)
class _Visit:
    """A visit as the go lines look at it."""

    job_key: str
    herbicide_key: str


def minded(taken: Sequence[Taken], told: Mapping[str, Any], kit: OwnKit, no_go: bool) -> Mind:
    """Return the go or no-go table, gear, who stays away, and the other cautions of a day.

    Parameters
    ----------
    taken : sequence of Taken
        What is done.
    told : mapping
        ``told`` of plan.json.
    kit : OwnKit
        Settings, rates and blocks as they are now.
    no_go : bool
        Whether a product is not confirmed: then the figures of its wind, heat and rain stand in
        the cautions alone.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    lines: dict[tuple[str, str, bool], list[str]] = {}
    for block in dict.fromkeys(one.due.block_id for one in taken):
        visits = [_Visit(one.due.job, one.due.herbicide) for one in taken
                  if one.due.block_id == block]  # fmt: skip
        for line in go_lines(kit, visits, block):
            own = lines.setdefault((line.what, line.known, line.own), [])
            own += [line.products] if line.products not in own else []
    go = tuple(
        _measure(GoLine(what, listed(own), known, mine), kit.property.settings.us)
        for (what, known, mine), own in lines.items()
    )
    texts = _texts(taken, told)
    said = [one.line.products for one in go if one.line.own and one.line.what.startswith(REENTRY)]
    mine = {product for own in said for product in own.split(" and ")}
    texts["reentry"] = [
        text for text in texts.get("reentry", ()) if not any(product in text for product in mine)
    ]  # fmt: skip
    left_out = {*GEAR, *AWAY, *(TOLD_HERE if go and not no_go else ())}
    rank = {key: place for place, key in enumerate(FIRST)}
    others = sorted(
        ((key, text) for key, own in texts.items() for text in own if key not in left_out),
        key=lambda item: (item[0] in ON_EVERY_VISIT, rank.get(item[0], len(rank))),
    )
    return Mind(
        go,
        tuple(text for key in GEAR for text in texts.get(key, ())),
        tuple(text for key in AWAY for text in texts.get(key, ())),
        tuple(text for _, text in others),
    )


def _measure(line: GoLine, us: bool) -> Measure:
    """Return a line with the unit of its blank; a line that is only ticked has none."""
    units = UNITS.get(line.what.split(" ")[0], ("", ""))
    return Measure(line, units[0 if us else 1])


def _texts(taken: Sequence[Taken], told: Mapping[str, Any]) -> dict[str, list[str]]:
    """Return the cautions of the day's visits by their key, each text once."""
    out: dict[str, list[str]] = {}
    for one in taken:
        for at in told["visits"][one.due.visit_id]["cautions"]:
            row = told["cautions"][at]
            own = out.setdefault(row["caution"], [])
            own += [row["text"]] if row["text"] not in own else []
    return out
