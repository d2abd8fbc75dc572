"""Join visits into the rows and cards of the printed work plan."""

from collections.abc import Mapping
from typing import Any

from clearing.report.caution_facts import ON_EVERY_VISIT
from clearing.report.facts import Caution, StripFacts, VisitFacts
from clearing.report.strip_facts import total_hours
from clearing.report.visit_facts import strength_words
from clearing.report.words import Amount, beside, listed, sentence, volume
from clearing.units import L_PER_FLOZ, L_PER_GAL

REPEATED = ("follow_up", "upkeep", "mow")  # one row for all their years
LITRES = {"gal": L_PER_GAL, "fl oz": L_PER_FLOZ, "L": 1.0, "mL": 0.001}
CARD_LETTERS = 1230  # letters of jobs and cautions that fit on a day card
PAGE_LETTERS = 2600  # letters of cautions that fit on a block's page


def work_rows(visits: list[VisitFacts], us: bool, theirs: Mapping[str, float]) -> list[list[str]]:
    """Return when, strips, job with its mix, and hours: one row a time and job over all strips.

    A contractor's hours, by visit, stand beside the own ones.

    References
    ----------
    own reasoning
    """
    groups: dict[tuple[object, ...], list[VisitFacts]] = {}
    for visit in visits:
        year = 0 if visit.job_key in REPEATED else visit.year
        strength = "" if visit.job_key in REPEATED else strength_words(visit.percent, visit.carrier)
        key = (year, visit.season_key, visit.job_key, visit.herbicide, strength)
        groups.setdefault(key, []).append(visit)
    ordered = sorted(groups.values(), key=lambda own: min(visit.year for visit in own))
    return [
        [
            f"{own[0].season} {span(sorted({visit.year for visit in own}))}",
            listed(list(dict.fromkeys(visit.strip_id for visit in own))),
            own[0].job + mix_of(own, us),
            _hours(own, theirs).number,
        ]
        for own in ordered
    ]


def _hours(visits: list[VisitFacts], theirs: Mapping[str, float]) -> Amount:
    """Return the hours of visits, a contractor's beside them."""
    return beside(total_hours(visits), sum(theirs.get(one.visit_id, 0.0) for one in visits))


def day_cards(
    visits: list[VisitFacts],
    strips: tuple[StripFacts, ...],
    us: bool,
    theirs: Mapping[str, float],
) -> list[Any]:
    """Return one card a strip for the visits of one season.

    References
    ----------
    own reasoning
    """
    names = {strip.strip_id: strip.block_name for strip in strips}
    by_strip: dict[str, list[VisitFacts]] = {}
    for visit in visits:
        by_strip.setdefault(visit.strip_id, []).append(visit)
    cards = []
    for strip, own in by_strip.items():
        jobs = [sentence(row[2]) for row in work_rows(own, us, theirs)]
        jobs += dict.fromkeys(visit.rounds for visit in own if visit.rounds)
        room = CARD_LETTERS - sum(len(job) + 20 for job in jobs)
        cards.append(
            {
                "when": own[0].when,
                "hours": _hours(own, theirs).words,
                "where": f"{strip} {names[strip]}",
                "jobs": jobs,
                "mind": fitting(cautions_of(own), room),
            }
        )
    return cards


def cautions_of(visits: list[VisitFacts]) -> list[Caution]:
    """Return the cautions of visits, each text once, without those of every visit.

    References
    ----------
    own reasoning
    """
    known = {one.text: one for visit in visits for one in visit.cautions}
    own = [one for one in known.values() if one.key not in ON_EVERY_VISIT]
    return sorted(own, key=lambda one: one.order)


def every_visit(visits: list[VisitFacts]) -> list[str]:
    """Return the cautions that hold on every visit, in words.

    References
    ----------
    own reasoning
    """
    known = {one.text: one.key for visit in visits for one in visit.cautions}
    return [text for key in ON_EVERY_VISIT for text, own in known.items() if own == key]


def fitting(cautions: list[Caution], letters: int) -> list[str]:
    """Return cautions until the room is used up; what is left out is counted in the last line.

    References
    ----------
    own reasoning
    """
    lines: list[str] = []
    for number, one in enumerate(cautions):
        letters -= len(one.text) + 20
        if letters < 0:
            return [*lines, f"and {len(cautions) - number} more beside this work on the map"]
        lines.append(one.text)
    return lines


def span(years: list[int]) -> str:
    """Return years in words, running ones as a span.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> span([2028, 2029, 2030]), span([2028, 2030])
    ('2028 to 2030', '2028 and 2030')
    """
    runs: list[list[int]] = []
    for year in years:
        if runs and year == runs[-1][-1] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    return listed([f"{run[0]} to {run[-1]}" if len(run) > 1 else str(run[0]) for run in runs])


def mix_of(visits: list[VisitFacts], us: bool) -> str:
    """Return mix and product of several visits, what to confirm first, or nothing.

    References
    ----------
    own reasoning
    """
    herbicide = visits[0].herbicide
    if not herbicide:
        return ""
    if not all(visit.confirmed for visit in visits):
        return f": {herbicide}, confirm the label first"
    mix, product = (_volume(visits, what, us) for what in ("mix", "product"))
    both = [sum(_litres(visits, what)) for what in ("product", "mix")]
    strength = strength_words(100.0 * both[0] / both[1], visits[0].carrier) if both[1] > 0 else ""
    return f": {mix} of mix with {product} of {herbicide} ({strength})"


def _litres(visits: list[VisitFacts], what: str) -> list[float]:
    """Return the mix or product of each visit [l]."""
    amounts = [getattr(visit, what) for visit in visits]
    return [one.value * LITRES[one.unit] for one in amounts if one is not None]


def _volume(visits: list[VisitFacts], what: str, us: bool) -> str:
    """Return the mix or product of several visits in words."""
    litres = sum(_litres(visits, what))
    return volume((litres, litres, litres), us).short
