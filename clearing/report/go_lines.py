"""List what to look at before spraying: go or no-go, each line with its figure and its source."""

from collections.abc import Iterable

from clearing import treatment
from clearing.property import Results
from clearing.rates import Figure
from clearing.report import names, words
from clearing.report.caution_facts import heat_words, wind_words
from clearing.report.facts import VisitFacts
from clearing.report.facts_printed import GoLine
from clearing.sources import source_rows

LEAVES = ("foliar", "follow_up", "upkeep")
STUMPS = "cut_and_spray"
TOLD_HERE = ("wind", "heat", "rain", "stump_time")  # cautions whose figures stand in these lines
LABELS = "label_fields"
UNREAD = {"memory": "from memory, your label decides", "assumed": "assumed, your label decides"}


def go_lines(results: Results, visits: Iterable[VisitFacts]) -> tuple[GoLine, ...]:
    """Return the lines of the products that some visits spray, those of confirmed labels alone.

    A line that is the same for several products stands once.

    Parameters
    ----------
    results : Results
        For the rates and the products.
    visits : iterable of VisitFacts
        Visits of one block or strip.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    jobs = _jobs_of(visits)
    us = results.property.settings.us
    joined: dict[tuple[str, str], list[str]] = {}
    for known in treatment.known_products(results.rates):
        if known.name in jobs and known.key and known.product.confirmed:
            for line in _of_product(results, known, jobs[known.name], us):
                joined.setdefault(line, []).append(names.herbicide_name(known.name))
    order = list(dict.fromkeys(what.split(" ")[0] for what, _ in joined))
    return tuple(
        GoLine(what, words.listed(products), known)
        for (what, known), products in sorted(
            joined.items(), key=lambda item: order.index(item[0][0].split(" ")[0])
        )
    )


def no_go_lines(results: Results, visits: Iterable[VisitFacts]) -> tuple[str, ...]:
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


def _jobs_of(visits: Iterable[VisitFacts]) -> dict[str, set[str]]:
    """Return the jobs of each product."""
    jobs: dict[str, set[str]] = {}
    for visit in visits:
        if visit.herbicide_key:
            jobs.setdefault(visit.herbicide_key, set()).add(visit.job_key)
    return jobs


def _of_product(
    results: Results, known: treatment.Known, jobs: set[str], us: bool
) -> list[tuple[str, str]]:
    """Return what to look at and where it is from, for one product."""

    def figure(item: str) -> Figure:
        return results.rates.figure(known.key, item)

    lines = []
    if jobs & set(LEAVES):
        wind, heat, dry = figure("wind_max_mph"), figure("max_temp_f"), figure("rain_free_h")
        span = wind_words(figure("wind_min_mph").value, wind.value, us)
        lines += [
            (f"Wind {span}, away from people, water and gardens", _from(wind)),
            (f"Heat below {heat_words(heat.value, us)}", _from(heat)),
            (f"Dry for {dry.value:g} hours after it", _from(dry)),
        ]
    if STUMPS in jobs:
        minutes, water = figure("stump_minutes"), results.rates.figure("any", "stump_minutes")
        least = min(minutes, water, key=lambda one: one.value)
        lines.append((f"Stump wetted within {least.value:g} minutes of the cut", _from(least)))
    again = figure("rei_hours")
    lines.append((f"Nobody back in for {again.value:g} hours without what handlers wear",
                  _from(again)))  # fmt: skip
    label = ", ".join(
        part for part in (known.product.registration, known.product.label_date) if part
    )
    whose = f"your label ({label})" if label else "your label"
    if known.by_water():
        lines.append(("Water: the distance that the label asks at its edge and at wells", whose))
    else:
        lines.append(("Water: none of it at the water's edge or at wells",
                      f"{whose} does not name them"))  # fmt: skip
    return lines


def _from(figure: Figure) -> str:
    """Return where a figure is from, in words."""
    if figure.seen in UNREAD:
        return UNREAD[figure.seen]
    rows = source_rows([figure.source]).to_dict("records")
    title = rows[0]["title"].partition(":")[0] if rows else figure.source
    title = "labels read" if figure.source == LABELS else title
    return f"{title}: {figure.locator}"
