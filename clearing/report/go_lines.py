"""List what to look at before spraying: go or no-go, each line with its figure and its source."""

from collections.abc import Iterable

from clearing import treatment
from clearing.rates import Figure
from clearing.report import names, words
from clearing.report.caution_facts import heat_words, wind_words
from clearing.report.facts_printed import GoLine
from clearing.report.kit import Kit, Sprayed
from clearing.sources import source_rows
from clearing.treatment.limits import WAIT_ITEMS

LEAVES = ("foliar", "follow_up", "upkeep")
STUMPS = "cut_and_spray"
TOLD_HERE = ("wind", "heat", "rain", "stump_time")  # cautions whose figures stand in these lines
LABELS = "label_fields"
AWAY = ", away from people, water and gardens"
UNREAD = {"memory": "from memory, your label decides", "assumed": "assumed, your label decides"}


def go_lines(results: Kit, visits: Iterable[Sprayed], block_id: str = "") -> tuple[GoLine, ...]:
    """Return the lines of the products that some visits spray, those of confirmed labels alone.

    A line that is the same for several products stands once.

    Parameters
    ----------
    results : Results or OwnKit
        For the rates and the products.
    visits : iterable of Sprayed
        Visits of one block or strip.
    block_id : str
        The block, for the waits of its stock and hay.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    jobs = _jobs_of(visits)
    joined: dict[tuple[str, str, bool], list[str]] = {}
    for known in treatment.known_products(results.rates):
        if known.name in jobs and known.key and known.product.confirmed:
            lines = _of_product(results, known, jobs[known.name])
            for line in (*lines, *_waits(results, known, block_id)):
                joined.setdefault(line, []).append(names.herbicide_name(known.name))
    order = list(dict.fromkeys(what.split(" ")[0] for what, _, _ in joined))
    return tuple(
        GoLine(what, words.listed(products), known, own)
        for (what, known, own), products in sorted(
            joined.items(), key=lambda item: order.index(item[0][0].split(" ")[0])
        )
    )


def no_go_lines(results: Kit, visits: Iterable[Sprayed]) -> tuple[str, ...]:
    """Return a sentence for each product whose label nobody confirmed.

    References
    ----------
    own reasoning
    """
    jobs = _jobs_of(visits)
    confirmed = {
        known.name for known in treatment.known_products(results.rates)
        if known.product.confirmed and known.key
    }  # fmt: skip
    return tuple(
        f"{words.sentence(names.herbicide_name(name))}: no go until the label is read and confirmed"
        for name in jobs if name not in confirmed
    )  # fmt: skip


def _jobs_of(visits: Iterable[Sprayed]) -> dict[str, set[str]]:
    """Return the jobs of each product."""
    jobs: dict[str, set[str]] = {}
    for visit in visits:
        if visit.herbicide_key:
            jobs.setdefault(visit.herbicide_key, set()).add(visit.job_key)
    return jobs


def _of_product(
    results: Kit, known: treatment.Known, jobs: set[str]
) -> list[tuple[str, str, bool]]:
    """Return what to look at, where it is from, and whether the owner's label says it."""
    us = results.property.settings.us

    def line(item: str) -> treatment.DayLine:
        return treatment.day_line(known, item, results.rates)

    def told(what: str, one: treatment.DayLine) -> tuple[str, str, bool]:
        return what, whose_label(known) if one.figure is None else figure_from(one.figure), one.own

    lines = []
    if jobs & set(LEAVES):
        heat, dry = line("max_temp_f"), line("rain_free_h")
        lines += [told(*one) for one in _winds(line("wind_min_mph"), line("wind_max_mph"), us)]
        lines += [
            told(f"Heat below {heat_words(heat.value, us)}", heat),
            told(f"Dry for {_hours(dry.value)} after it", dry),
        ]
    if STUMPS in jobs:
        stump, water = line("stump_minutes"), results.rates.figure("any", "stump_minutes")
        if not stump.own and water.value < stump.value:
            stump = treatment.DayLine(stump.item, water.value, water)
        lines.append(told(f"Stump wetted within {stump.value:g} minutes of the cut", stump))
    again = line("rei_hours")
    lines.append(told(
        f"Nobody back in for {_hours(again.value)} without what handlers wear", again
    ))  # fmt: skip
    if known.by_water():
        lines.append(("Water: the distance that the label asks at its edge and at wells",
                      whose_label(known), True))  # fmt: skip
    else:
        lines.append(("Water: none of it at the water's edge or at wells",
                      f"{whose_label(known)} does not name them", True))  # fmt: skip
    return lines


def _winds(
    low: treatment.DayLine, high: treatment.DayLine, us: bool
) -> list[tuple[str, treatment.DayLine]]:
    """Return what to look at of the wind: one line, or two where only one end is the label's."""
    if low.own == high.own:
        return [(f"Wind {wind_words(low.value, high.value, us)}{AWAY}", high)]
    least, most = wind_words(low.value, high.value, us).split(" to ")
    unit = most.partition(" ")[2]
    return [(f"Wind at most {most}{AWAY}", high), (f"Wind at least {least} {unit}", low)]


def _waits(results: Kit, known: treatment.Known, block_id: str) -> list[tuple[str, str, bool]]:
    """Return how long stock and hay wait on a block, where stock grazes and hay is cut."""
    rows = results.blocks[results.blocks["block_id"] == block_id]
    if not len(rows):
        return []
    waits = treatment.waits_of(known, rows.iloc[0].to_dict(), results.rates)
    out = []
    for wait, what in ((waits.stock, "Stock stays off"), (waits.hay, "Hay waits")):
        if wait.days > 0:
            own = wait.clause.startswith("your label")
            said = (
                whose_label(known)
                if own
                else figure_from(_wait_figure(results, known, wait.clause))
            )
            days = f"{wait.days:g} {'day' if wait.days == 1 else 'days'}"
            out.append((f"{what} for {days} after it", said, own))
    return out


def _wait_figure(results: Kit, known: treatment.Known, clause: str) -> Figure:
    """Return the handbook's figure that a clause about a wait tells."""
    items = (item for item in WAIT_ITEMS if f"({item.removesuffix('_days')}; " in clause)
    return results.rates.figure(known.key, next(items, "graze_days"))


def whose_label(known: treatment.Known) -> str:
    """Return the owner's label in words.

    References
    ----------
    own reasoning
    """
    product = known.product
    label = ", ".join(part for part in (product.registration, product.label_date) if part)
    return f"your label ({label})" if label else "your label"


def _hours(value: float) -> str:
    return f"{value:g} {'hour' if value == 1 else 'hours'}"


def figure_from(figure: Figure) -> str:
    """Return where a figure is from, in words.

    References
    ----------
    own reasoning; the figure carries its own source
    """
    if figure.seen in UNREAD:
        return UNREAD[figure.seen]
    rows = source_rows([figure.source]).to_dict("records")
    title = rows[0]["title"].partition(":")[0] if rows else figure.source
    title = "labels read" if figure.source == LABELS else title
    return f"{title}: {figure.locator}"
