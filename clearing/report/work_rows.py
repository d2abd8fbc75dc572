"""Join visits into the rows of the printed work plan, in the order of work."""

from collections.abc import Mapping

from clearing.report import names
from clearing.report.facts import VisitFacts
from clearing.report.facts_printed import WorkRow
from clearing.report.strip_facts import total_hours
from clearing.report.visit_facts import strength_words
from clearing.report.words import Amount, beside, listed, volume
from clearing.units import L_PER_FLOZ, L_PER_GAL

REPEATED = ("follow_up", "upkeep", "mow")  # one row for all their years
LITRES = {"gal": L_PER_GAL, "fl oz": L_PER_FLOZ, "L": 1.0, "mL": 0.001}
CONFIRM_FIRST = "confirm the label first"
MOST_STRIPS = 6  # strips that a row names one by one; own choice


def work_rows(
    visits: list[VisitFacts], us: bool, theirs: Mapping[str, float], order: Mapping[str, int]
) -> list[WorkRow]:
    """Return one row a time and job over all strips, in the order of work.

    Parameters
    ----------
    visits : list of VisitFacts
        Visits of one block.
    us : bool
        Gallons and fluid ounces; else litres.
    theirs : mapping
        Visit -> a contractor's hours [h]; they stand beside the own ones.
    order : mapping
        Season -> its place in the year.

    References
    ----------
    own reasoning
    """
    turn = {job: place for place, job in enumerate(names.JOBS)}  # marking comes first
    groups: dict[tuple[object, ...], list[VisitFacts]] = {}
    for visit in in_order(visits, order):
        year = 0 if visit.job_key in REPEATED else visit.year
        key = (year, visit.season_key, visit.job_key, visit.herbicide)
        groups.setdefault(key, []).append(visit)
    ordered = sorted(
        groups.values(),
        key=lambda own: (
            min(visit.year for visit in own), order.get(own[0].season_key, 0),
            turn.get(own[0].job_key, len(turn)),
        ),
    )  # fmt: skip
    return [_row(number, own, us, theirs) for number, own in enumerate(ordered, start=1)]


def in_order(visits: list[VisitFacts], order: Mapping[str, int]) -> list[VisitFacts]:
    """Return visits by year, season and job; what stood earlier stays earlier.

    References
    ----------
    own reasoning
    """
    turn = {job: place for place, job in enumerate(names.JOBS)}
    return sorted(
        visits,
        key=lambda one: (
            one.year, order.get(one.season_key, 0), turn.get(one.job_key, len(turn)),
        ),
    )  # fmt: skip


def hours_of(visits: list[VisitFacts], theirs: Mapping[str, float]) -> Amount:
    """Return the hours of visits, a contractor's beside them.

    References
    ----------
    own reasoning
    """
    return beside(total_hours(visits), sum(theirs.get(one.visit_id, 0.0) for one in visits))


def strips_said(strips: list[str]) -> str:
    """Return strips in words, the first few and how many more.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> strips_said(["2a", "2b"]), strips_said([str(n) for n in range(9)])
    ('2a and 2b', '0, 1, 2, 3, 4, 5 and 3 more')
    """
    more = len(strips) - MOST_STRIPS
    return listed(strips) if more <= 0 else listed([*strips[:MOST_STRIPS], f"{more} more"])


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


def volumes_of(visits: list[VisitFacts], us: bool) -> tuple[str, str, str]:
    """Return mix, product and strength of several visits, or what to confirm first, or blanks.

    References
    ----------
    own reasoning
    """
    if not visits[0].herbicide:
        return "", "", ""
    if not all(visit.confirmed for visit in visits):
        return "", "", CONFIRM_FIRST
    mix, product = (sum(_litres(visits, what)) for what in ("mix", "product"))
    if not mix > 0:
        return "", "", ""
    said = [volume((litres,) * 3, us).short for litres in (mix, product)]
    if visits[0].job_key in REPEATED:
        return said[0], said[1], _strength(100.0 * product / mix, visits[0])
    each = dict.fromkeys(_strength(visit.percent, visit) for visit in visits if visit.mix)
    return said[0], said[1], _joined(list(each))


def _strength(percent: float, visit: VisitFacts) -> str:
    """Return a strength in words, the surfactant left to the mixing table."""
    return strength_words(percent, visit.carrier.partition(" with ")[0])


def _joined(strengths: list[str]) -> str:
    """Return strengths in words, what carries them said once where it is the same."""
    tails = {one.partition(" % ")[2] for one in strengths}
    if len(strengths) > 1 and len(tails) == 1 and "" not in tails:
        return f"{listed([one.partition(' % ')[0] for one in strengths])} % {tails.pop()}"
    return listed(strengths)


def _row(number: int, own: list[VisitFacts], us: bool, theirs: Mapping[str, float]) -> WorkRow:
    """Return one row."""
    mix, product, strength = volumes_of(own, us)
    return WorkRow(
        number=number,
        when=f"{own[0].season} {span(sorted({visit.year for visit in own}))}",
        strips=strips_said(list(dict.fromkeys(visit.strip_id for visit in own))),
        job=own[0].job,
        herbicide=own[0].herbicide,
        strength=strength,
        mix=mix,
        product=product,
        hours=hours_of(own, theirs),
    )


def _litres(visits: list[VisitFacts], what: str) -> list[float]:
    """Return the mix or product of each visit [l]."""
    amounts = [getattr(visit, what) for visit in visits]
    return [one.value * LITRES[one.unit] for one in amounts if one is not None]
