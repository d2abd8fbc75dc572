"""Join visits into the rows of the printed work plan, in the order of work."""

from collections.abc import Mapping

from clearing.report import names
from clearing.report.facts import VisitFacts
from clearing.report.facts_printed import WorkRow
from clearing.report.strength_parts import Part, Parts
from clearing.report.strip_facts import total_hours
from clearing.report.visit_facts import strength_words
from clearing.report.words import LITRES, Amount, beside, listed, sentence, volume

REPEATED = ("follow_up", "upkeep", "mow")  # one row for all their years
CONFIRM_FIRST = "confirm the label first"
MOST_STRIPS = 6  # strips that a row names one by one; own choice
MOST_KINDS = 3  # species that a strength names; own choice
OTHERS = "all other kinds"
NEAR_YEARS = 2  # first years of work in a block whose rows are never closed; own choice


def work_rows(
    visits: list[VisitFacts], us: bool, theirs: Mapping[str, float], order: Mapping[str, int],
    parts: Parts | None = None,
    most: int = 0,
) -> list[WorkRow]:  # fmt: skip
    """Return one row a time and job over all strips, in the order of work.

    Where there are more than asked for, those of later years are closed into one last row; the
    rows that begin in the first two years of work always stand.

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
    parts : mapping, optional
        What `strengths.parts_of` gives.
    most : int
        Rows to keep to, nought for as many as there are.

    References
    ----------
    own reasoning
    """
    turn = {job: place for place, job in enumerate(names.JOBS)}
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
    parts = {} if parts is None else parts
    near = sorted({visit.year for visit in visits})[:NEAR_YEARS]
    kept = sum(min(visit.year for visit in own) in near for own in ordered)
    kept = len(ordered) if not 0 < most < len(ordered) else max(kept, most - 1)
    rows = [_row(number, own, us, theirs, parts)
            for number, own in enumerate(ordered[:kept], start=1)]  # fmt: skip
    later = [visit for own in ordered[kept:] for visit in own]
    return [*rows, _closing(len(rows) + 1, later, theirs)] if later else rows


def _closing(number: int, own: list[VisitFacts], theirs: Mapping[str, float]) -> WorkRow:
    """Return the row that all work of later years is closed into."""
    jobs = list(dict.fromkeys(visit.job for visit in own))
    return WorkRow(
        number=number, when=span(sorted({visit.year for visit in own})),
        strips=strips_said(list(dict.fromkeys(visit.strip_id for visit in own))),
        job=listed(jobs), herbicide=listed(list(dict.fromkeys(
            visit.herbicide for visit in own if visit.herbicide))),
        strength="", mix="", product="", hours=hours_of(own, theirs),
    )  # fmt: skip


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


def volumes_of(visits: list[VisitFacts], us: bool, parts: Parts) -> tuple[str, str, str]:
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
    return said[0], said[1], strengths_said(visits, parts)


def strengths_said(visits: list[VisitFacts], parts: Parts) -> str:
    """Return the strengths of visits in words; where they differ, each with its species.

    References
    ----------
    own reasoning
    """
    whose: dict[str, set[str]] = {}
    for visit in visits:
        if visit.mix:
            for part in parts.get(visit.visit_id) or (_own_part(visit),):
                carrier = "oil" if part.carrier == "oil" else "water"
                whose.setdefault(strength_words(part.percent, carrier), set()).update(part.species)
    if len(whose) < 2:
        return "".join(whose)
    if len(set().union(*whose.values())) > MOST_KINDS:  # the mixing table names them
        return _joined(dict.fromkeys(whose, ""))
    return _joined({
        strength: listed(sorted(names.species_name(one) for one in own))
        for strength, own in whose.items()
    })  # fmt: skip


def job_said(visit: VisitFacts, alike: list[VisitFacts], parts: Parts) -> str:
    """Return a visit's job, with its species where the same job has other strengths beside it.

    References
    ----------
    own reasoning
    """
    own = parts.get(visit.visit_id, ())
    beside = [part for one in alike if one.job_key == visit.job_key
              for part in parts.get(one.visit_id, ())]  # fmt: skip
    whose = own[0].whose if len(own) == 1 and len({one.percent for one in beside}) > 1 else ""
    counts = [len(part.species) for part in beside]
    if whose and len(own[0].species) > MOST_KINDS and counts.count(max(counts)) == 1:
        whose = OTHERS if len(own[0].species) == max(counts) else whose
    return sentence(visit.job) + (f", {whose}" if whose else "")


def _own_part(visit: VisitFacts) -> Part:
    """Return a visit's mix as one strength for nobody in particular."""
    return Part((), visit.percent, visit.carrier.partition(" with ")[0], 0.0, "")


def _joined(whose: Mapping[str, str]) -> str:
    """Return strengths with their species, what carries them said once where it is the same."""
    of = {one: f" ({species})" if species else "" for one, species in whose.items()}
    tails = {one.partition(" % ")[2] for one in whose}
    if len(tails) == 1 and "" not in tails:
        heads = [f"{one.partition(' % ')[0]} %{of[one]}" for one in whose]
        return f"{listed(heads)} {tails.pop()}"
    return listed([f"{one}{of[one]}" for one in whose])


def _row(
    number: int, own: list[VisitFacts], us: bool, theirs: Mapping[str, float], parts: Parts
) -> WorkRow:
    """Return one row."""
    mix, product, strength = volumes_of(own, us, parts)
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
