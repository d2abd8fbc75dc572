"""Set the cautions beside the jobs they belong to: those of the place, those of the work."""

from collections.abc import Iterable, Mapping

from clearing.report import names
from clearing.report.caution_facts import ON_EVERY_VISIT
from clearing.report.facts import Caution, VisitFacts
from clearing.report.facts_printed import CautionGroup
from clearing.report.go_lines import TOLD_HERE
from clearing.report.words import listed, sentence

ANYWHERE = (  # cautions of a kind of work that read the same on every block, the first ones first
    "water_edge", "steep", "alone", "cut_depth", "dead_felling", "basal_dry", "burn", "chip", "mow",
    "axe", "cuts_first", "mow_down", "never_between", "own_things", "dripline", "manure", "thorns",
    "heat_people",
)  # fmt: skip
FIRST = (  # what kills and what is of the place, before all else; own choice
    "power_line", "fall_reach", "under_dead", "standing_dead", "water_edge", "near_water",
    "near_crop", "steep", "saw", "two_lengths", "stump_time", "dead_felling",
)  # fmt: skip
MANY = 3  # a caution of more jobs than this is told of all work; own choice
ALL_WORK = "all of this work"


def caution_groups(visits: list[VisitFacts], told: Iterable[str] = ()) -> tuple[CautionGroup, ...]:
    """Return the cautions of visits by job, each text once, without those of every visit.

    A caution stands with the jobs that it is picked for; one of many jobs stands with all of them.

    Parameters
    ----------
    visits : list of VisitFacts
        Visits of one block, in the order of work.
    told : iterable of str
        Cautions whose figures stand elsewhere on the page.

    References
    ----------
    own reasoning
    """
    left_out = {*ON_EVERY_VISIT, *told}
    jobs: dict[str, dict[str, None]] = {}
    known: dict[str, Caution] = {}
    for visit in visits:
        for one in visit.cautions:
            if one.key not in left_out:
                jobs.setdefault(one.text, {})[visit.job_key] = None
                known.setdefault(one.text, one)
    place = {job: number for number, job in enumerate(names.JOBS)}
    groups: dict[tuple[str, ...], list[Caution]] = {}
    for text, own in _widest(jobs, known).items():
        key = tuple(sorted(own, key=lambda job: place.get(job, len(place))))
        groups.setdefault(key if len(key) <= MANY else (), []).append(known[text])
    ordered = sorted(
        groups.items(),
        key=lambda item: (
            all(one.key != FIRST[0] for one in item[1]), not item[0],
            [place.get(job, len(place)) for job in item[0]],
        ),
    )  # fmt: skip
    return tuple(_group(key, own) for key, own in ordered)


def by_job(visits: list[VisitFacts]) -> tuple[CautionGroup, ...]:
    """Return what holds for each kind of work on every block, and what the go lines tell in short.

    References
    ----------
    own reasoning
    """
    wanted = {"saw", *ANYWHERE, *TOLD_HERE}
    out = []
    for group in caution_groups(visits):
        own = {one.text for visit in visits for one in visit.cautions if one.key in wanted}
        lines = tuple(line for line in (*group.lines, *group.anywhere) if line in own)
        if lines:
            out.append(CautionGroup(group.jobs, (), lines))
    return tuple(out)


def every_visit(visits: list[VisitFacts]) -> tuple[str, ...]:
    """Return the cautions that hold on every visit, in words.

    References
    ----------
    own reasoning
    """
    known = {one.text: one.key for visit in visits for one in visit.cautions}
    return tuple(text for key in ON_EVERY_VISIT for text, own in known.items() if own == key)


def first_cautions(visits: list[VisitFacts], number: int, told: Iterable[str]) -> tuple[str, ...]:
    """Return the first cautions of visits: what kills and what is of the place, then the work.

    References
    ----------
    own reasoning
    """
    left_out = {*told}
    known = {one.text: one for visit in visits for one in visit.cautions if one.key not in left_out}
    rank = {key: place for place, key in enumerate(FIRST)}
    ordered = sorted(
        known.values(),
        key=lambda one: (one.key in ON_EVERY_VISIT, rank.get(one.key, len(rank)), one.order),
    )
    kinds = {one.key: one.text for one in reversed(ordered)}  # one text a kind
    return tuple(kinds[key] for key in dict.fromkeys(one.key for one in ordered))[:number]


def _widest(
    jobs: dict[str, dict[str, None]], known: Mapping[str, Caution]
) -> dict[str, dict[str, None]]:
    """Return the cautions without those that another of the same kind tells with more words."""
    words = {text: set(text.replace(",", " ").split()) for text in jobs}
    out = {text: dict(own) for text, own in jobs.items()}
    for text in jobs:
        wider = [
            other for other in out
            if other != text and known[other].key == known[text].key and words[text] < words[other]
        ]  # fmt: skip
        if wider:
            out[wider[0]] |= out.pop(text)
    return out


def _group(jobs: tuple[str, ...], own: list[Caution]) -> CautionGroup:
    """Return one group: of the place what kills first, those of the work by weight."""
    rank: Mapping[str, int] = {key: place for place, key in enumerate(ANYWHERE)}
    first = {key: place for place, key in enumerate(FIRST)}
    here = sorted(
        (one for one in own if one.key not in rank),
        key=lambda one: (first.get(one.key, len(first)), one.order),
    )
    work = sorted((one for one in own if one.key in rank), key=lambda one: rank[one.key])
    said = listed([names.plain(names.JOBS, job) for job in jobs]) if jobs else ALL_WORK
    return CautionGroup(
        sentence(said), tuple(one.text for one in here), tuple(one.text for one in work)
    )
