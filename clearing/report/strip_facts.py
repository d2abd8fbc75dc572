"""Put each strip into words: what, when, why, hours, mix, cautions, cost."""

from dataclasses import dataclass, replace
from typing import Any, cast

import pandas as pd

from clearing import schedule, units, zones
from clearing.forecast.cases import LEAVING_JOBS
from clearing.property import Results
from clearing.rates import Rates
from clearing.report import names, words
from clearing.report.facts import Caution, OtherMethod, StripFacts, StripYear, VisitFacts
from clearing.report.other_ways import others_of, unit_words_of
from clearing.report.states import State, strip_states
from clearing.report.visit_facts import (
    blank,
    plain_rows,
    season_order,
    season_words,
    visit_rows,
    year_or_none,
)

NO_VISITS = pd.DataFrame(columns=["year", "season", "job", "stems"])
TINY_AREA = 0.05  # zones smaller than this, in acres or ha, are not told
NEAR_M = 5.0  # a strip nearer than this to its way in is said to lie at it


@dataclass(frozen=True)
class Chosen:
    """What the plan chose for one strip."""

    option: dict[str, Any]
    reason: dict[str, Any]
    visits: list[VisitFacts]
    table: pd.DataFrame
    years: tuple[int, ...]


@dataclass(frozen=True)
class Beside:
    """What stands beside the plan's choice of each strip: other ways, and what a unit costs."""

    others: dict[str, tuple[OtherMethod, ...]]
    unit_words: dict[str, str]


def strip_rows(results: Results, years: tuple[int, ...]) -> list[StripFacts]:
    """Return the facts of every strip, in the order of the strips.

    References
    ----------
    own reasoning
    """
    plan = results.plan
    options = {row["strip_id"]: row for row in plain_rows(plan.options)}
    reasons = {row["strip_id"]: row for row in plain_rows(plan.why)}
    visits = visit_rows(results, plan.visits) + visit_rows(results, plan.run_off, run_off=True)
    by_strip: dict[str, list[VisitFacts]] = {}
    for visit in visits:
        by_strip.setdefault(visit.strip_id, []).append(visit)
    block_names = dict(zip(results.blocks["block_id"], results.blocks["name"], strict=True))
    ruled, left, stay = _zone_words(results), _left_words(results, options), stems_left(results)
    beside = Beside(others_of(results), unit_words_of(results))
    out = []
    for row in plain_rows(results.strips.drop(columns="geometry")):
        strip = row["strip_id"]
        own = plan.visits[plan.visits["strip_id"] == strip] if len(plan.visits) else NO_VISITS
        chosen = Chosen(
            options.get(strip, {}), reasons.get(strip, {}), by_strip.get(strip, []), own, years
        )
        row["block_name"] = block_names.get(row["block_id"], row["block_id"])
        standing = (left.get(strip, ()), stay.get(strip, words.stems(0, 0, 0)))
        made = _strip(row, chosen, results, ruled.get(strip, ()), standing)
        others = beside.others.get(strip, ()) if made.start_year is not None else ()
        out.append(replace(made, others=others, unit_words=beside.unit_words.get(strip, "")))
    return out


def _strip(
    row: dict[str, Any],
    chosen: Chosen,
    results: Results,
    ruled: tuple[str, ...],
    standing: tuple[tuple[str, ...], words.Amount],
) -> StripFacts:
    """Return the facts of one strip; ``standing`` is what nothing treats, in words and stems."""
    left, stay = standing
    us = results.property.settings.us
    method = blank(chosen.option.get("method", "not_now")) or "not_now"
    treated = method != "not_now"
    finish = year_or_none(chosen.option.get("finish_year"))
    now = [visit for visit in chosen.visits if not visit.run_off]
    said, means = names.METHODS.get(method, (method.replace("_", " "), ""))
    order = season_order(results.rates)
    stand = results.rates.figure("any", "stand_years").value
    states = strip_states(chosen.table, order, chosen.years, treated, finish, stand)
    return StripFacts(
        strip_id=row["strip_id"],
        block_id=row["block_id"],
        name=str(row["name"]),
        block_name=str(row["block_name"]),
        area=words.area(row["area_ha"], us),
        method=said,
        method_key=method,
        method_means=means,
        when=_when(chosen.option, results) if treated else "not in these years",
        start_year=year_or_none(chosen.option.get("start_year")) if treated else None,
        finish=_finish(finish, chosen.years, treated, but_for(stay)),
        finish_year=finish if treated else None,
        why=words.sentence(blank(chosen.reason.get("why"))),
        next_best=_next_best(chosen.reason, results),
        hours=total_hours(now),
        cost=total_cost(now),
        way_in=_way_in(row["way_in_m"], us, drawn=has_access(results)),
        visits=tuple(chosen.visits),
        years=tuple(_strip_year(state, now) for state in states),
        cautions=_each_once(now),
        zones=ruled,
        left=left if treated else (),
        left_stems=stay if treated else words.stems(0, 0, 0),
        others=(),
        unit_words="",
    )


def total_hours(visits: list[VisitFacts]) -> words.Amount:
    """Return the hours of visits; ranges as `schedule.together` joins them.

    References
    ----------
    own reasoning
    """
    return words.hours(*_joined(visits, "hours"))


def total_cost(visits: list[VisitFacts]) -> words.Amount:
    """Return the cost of visits; ranges as `schedule.together` joins them.

    References
    ----------
    own reasoning
    """
    return words.cost(*_joined(visits, "cost"))


def _joined(visits: list[VisitFacts], what: str) -> tuple[float, float, float]:
    """Return hours or cost of visits together: value, low, high."""
    parts: dict[str, list[tuple[float, float, float]]] = {}
    for visit in visits:
        amount = getattr(visit, what)
        parts.setdefault(visit.strip_id, []).append((amount.value, amount.low, amount.high))
    return schedule.together(parts)


def _when(option: dict[str, Any], results: Results) -> str:
    """Return season and year of the first treatment."""
    season, _ = season_words(results.rates, str(option["start_season"]))
    return f"{season} {int(option['start_year'])}"


def but_for(stay: words.Amount) -> str:
    """Return what a clear piece of ground still bears, blank where nothing stays.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> but_for(words.stems(374, 200, 700)), but_for(words.stems(0, 0, 0))
    (' but for about 370 stems left standing', '')
    """
    return f" but for about {stay.short} left standing" if round(stay.value) > 0 else ""


def _finish(finish: int | None, years: tuple[int, ...], treated: bool, stays: str) -> str:
    """Return when the strip is done, in words."""
    if not treated:
        return ""
    if finish is None:
        return f"not done by {years[-1]}: follow-ups go on"
    return f"clear from {finish} on{stays}, then upkeep only"


def has_access(results: Results) -> bool:
    """Return whether a gate, road or trail is drawn from which a crew can come.

    References
    ----------
    own reasoning
    """
    return (
        bool(results.features["kind"].isin(zones.ACCESS).any()) if len(results.features) else False
    )


def _way_in(metres: float, us: bool, drawn: bool) -> str:
    """Return the walk to the strip in words."""
    if not drawn:
        return "no gate or road is drawn to reckon the walk from"
    if metres < NEAR_M:
        return "at the road or gate"
    return f"{words.length(metres, us)} on foot from the nearest road or gate"


def _next_options(results: Results) -> dict[str, dict[str, Any]]:
    """Return the options that are the next best of some strip, looked up once."""
    if "next_options" not in results.kept:
        asked = results.options["option_id"].isin(results.plan.why["next_best"])
        rows = plain_rows(results.options[asked])
        results.kept["next_options"] = {str(row["option_id"]): row for row in rows}
    return cast(dict[str, dict[str, Any]], results.kept["next_options"])


def _next_best(reason: dict[str, Any], results: Results) -> str:
    """Return the next best choice of the strip and what it costs more."""
    other, extra = blank(reason.get("next_best")), reason.get("next_best_extra")
    if not other or extra is None or pd.isna(extra):
        return ""
    option = _next_options(results).get(other)
    if option is None or "next best" in blank(reason.get("why")):
        return ""
    said = names.METHODS.get(option["method"], (str(option["method"]),))[0]
    when = "" if option["method"] == "not_now" else f" in {_when(option, results)}"
    dearer = f"comes {words.money(extra)} dearer" if extra >= 1 else "costs about the same"
    return f"The next best, {said}{when}, {dearer} over the years, worth of the ground counted."


def _strip_year(state: State, visits: list[VisitFacts]) -> StripYear:
    """Return one year of a strip in words."""
    jobs: list[str] = []
    for visit in visits:
        said = f"{visit.job} in {visit.season}"
        if visit.year == state.year and said not in jobs:
            jobs.append(said)
    idle = {
        "untouched": "nothing yet",
        "standing_dead": "dead stems stand",
        "cut": "cut, no work this year",
        "follow_up": "no work this year",
        "grass": "in grass",
        "clear": "clear",
        "not_now": "not in these years",
    }
    text = words.listed(jobs) if jobs else idle[state.key]
    return StripYear(state.year, state.key, state.age, state.work, words.sentence(text))


def _each_once(visits: list[VisitFacts]) -> tuple[Caution, ...]:
    """Return the cautions of visits, each text once, in order."""
    seen: dict[str, Caution] = {}
    for visit in visits:
        for caution in visit.cautions:
            seen.setdefault(caution.text, caution)
    return tuple(sorted(seen.values(), key=lambda one: one.order))


def _zone_words(results: Results) -> dict[str, tuple[str, ...]]:
    """Return for each strip its zones that carry rules, in sentences."""
    us = results.property.settings.us
    areas: dict[tuple[str, str, str], float] = {}
    for row in plain_rows(results.zones.drop(columns="geometry")):
        if row["flags"] != "open":
            key = (row["strip_id"], row["flags"], blank(row["near"]))
            areas[key] = areas.get(key, 0.0) + float(row["area_ha"])
    out: dict[str, tuple[str, ...]] = {}
    for (strip, flags, near), hectares in sorted(areas.items()):
        area = words.area(hectares, us)
        if area.value < TINY_AREA:
            continue
        said = words.listed([names.plain(names.ZONES, flag) for flag in flags.split("+")])
        of = f" ({near})" if near else ""
        out[strip] = (*out.get(strip, ()), f"{words.sentence(said)}{of}: {area.short}.")
    return out


def thick_classes(rates: Rates) -> frozenset[str]:
    """Return the size classes of stems of an inch and more.

    References
    ----------
    own reasoning
    """
    sizes = rates.sizes
    thick = sizes["dbh_low_cm"].astype(float) >= units.CM_PER_IN
    return frozenset(sizes.loc[thick, "size_class"])


def stems_left(results: Results) -> dict[str, words.Amount]:
    """Return for each treated strip the stems of an inch and more that nothing in the plan treats.

    References
    ----------
    own reasoning
    """
    options = {row["strip_id"]: row["method_id"] for row in plain_rows(results.plan.options)}
    methods, thick = results.methods, thick_classes(results.rates)
    own = methods["method_id"] == methods["strip_id"].map(options)
    left = methods["job"].isin(LEAVING_JOBS) & methods["size_class"].isin(thick)
    sums = methods[own & left].groupby("strip_id")[["stems", "stems_low", "stems_high"]].sum()
    return {str(strip): words.stems(*row) for strip, row in
            zip(sums.index, sums.itertuples(index=False, name=None), strict=True)}  # fmt: skip


def _left_words(results: Results, options: dict[str, dict[str, Any]]) -> dict[str, tuple[str, ...]]:
    """Return for each strip the stems that its chosen method leaves, and why."""
    methods = results.methods
    chosen = methods["strip_id"].map({s: row["method_id"] for s, row in options.items()})
    left = methods["job"].isin(LEAVING_JOBS) & (methods["stems"] > 0)
    rows = methods[left & (methods["method_id"] == chosen)].fillna({"why_not": ""})
    keys = ["strip_id", "species", "job", "why_not"]
    sums = rows.groupby(keys)[["stems", "stems_low", "stems_high"]].sum()
    counts = zip(sums.index, sums.itertuples(index=False, name=None), strict=True)
    out: dict[str, tuple[str, ...]] = {}
    for (strip, species, job, why), (value, low, high) in sorted(counts):
        if round(value) == 0:  # what may stand there is told with the zones
            continue
        said = names.plain(names.JOBS, job) + (f": {why}" if why else "")
        many = words.sentence(words.stems(value, low, high).words)
        text = f"{many} of {names.species_name(species)}: {said}."
        out[strip] = (*out.get(strip, ()), text)
    return out
