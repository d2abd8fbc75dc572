"""Turn results into one frozen summary of plain values and ready sentences."""

from clearing import schedule, treatment
from clearing.property import RANGES, Results
from clearing.report import names, words
from clearing.report.ahead import what_is_ahead
from clearing.report.block_facts import block_rows, stems_of, their_hours
from clearing.report.decided import (
    HELP_NOTE,
    cascade_lines,
    help_lines,
    reserve_lines,
    risk_lines,
    rule_note,
    rule_rows,
    rule_sentence,
    shortfall_lines,
)
from clearing.report.facts import BlockFacts, StripFacts, Summary
from clearing.report.figures_used import seen_lines, source_list, used_figures
from clearing.report.log_says import log_says
from clearing.report.standing import NOT_DECIDED
from clearing.report.strip_facts import strip_rows, total_cost, total_hours
from clearing.report.year_facts import dear_containers, purchase_rows, year_rows

SMALL_GAP = 0.01  # percent; a smaller distance from the best is not told as a number; own choice
ON_HAND = "What is on hand counts at what it costs to replace."


def summarise(results: Results) -> Summary:
    """Return everything the report says, in the owner's units and words; worked out once.

    References
    ----------
    own reasoning
    """
    known = results.kept.get("summary")
    if not isinstance(known, Summary):
        known = results.kept["summary"] = _made(results)
    return known


def _made(results: Results) -> Summary:
    """Return the summary, worked out."""
    settings, plan = results.property.settings, results.plan
    years = tuple(range(settings.first_year, settings.first_year + settings.years))
    strips = strip_rows(results, years)
    blocks = block_rows(results, strips)
    year_list = year_rows(results, strips, years)
    visits = [visit for strip in strips for visit in strip.visits]
    planned = [visit for visit in visits if not visit.run_off]
    treated = {strip.strip_id for strip in strips if strip.start_year is not None}
    planned_ha = results.strips.loc[results.strips["strip_id"].isin(treated), "area_ha"].sum()
    areas = dict(zip(results.blocks["block_id"], results.blocks["area_ha"], strict=True))
    run_off = total_cost([visit for visit in visits if visit.run_off])
    stems = stems_of(results.totals, areas)
    used = used_figures(results)
    return Summary(
        property_name=settings.name,
        units=settings.units,
        area_unit="acres" if settings.us else "ha",
        years=years,
        status=plan.status,
        headline=_headline(results, strips, planned_ha, years),
        lead=_lead(results, strips, planned_ha, years),
        status_words=status_words(results),
        area=words.area(results.blocks["area_ha"].sum(), settings.us),
        area_planned=words.area(planned_ha, settings.us),
        hours=words.beside(total_hours(planned), their_hours(results)),
        cost=total_cost(planned),
        run_off_cost=run_off,
        finish_year=_finish_year(strips),
        stems=stems,
        blocks=tuple(blocks),
        year_rows=tuple(year_list),
        purchases=tuple(purchase_rows(results)),
        products=_products(results),
        unsure=_unsure(results, blocks, run_off),
        to_confirm=tuple(treatment.to_confirm(results.rates, settings)),
        not_decided=NOT_DECIDED,
        warnings=(*shortfall_lines(results), *results.warnings, *dear_containers(results)),
        reasons=plan.reasons,
        sources=source_list(used),
        seen=seen_lines(used),
        not_offered=tuple(
            words.sentence(names.in_words(line)) + "." for line in results.not_offered
        ),
        paid_back=paid_back_words(results),
        rules=rule_rows(results),
        rule_words=rule_sentence(results),
        rule_note=rule_note(results),
        helps=help_lines(results),
        help_note=HELP_NOTE if help_lines(results) else "",
        keep_back=reserve_lines(results),
        left_words=left_sentence(strips),
        ahead=what_is_ahead(results, strips, years),
        log=log_says(results, strips),
    )


def left_sentence(strips: list[StripFacts]) -> str:
    """Return how many stems of an inch and more stay that nothing treats, blank when none does.

    References
    ----------
    own reasoning
    """
    stay = {one.strip_id: [(one.left_stems.value, one.left_stems.low, one.left_stems.high)]
            for one in strips if round(one.left_stems.value) > 0}  # fmt: skip
    if not stay:
        return ""
    many = words.sentence(words.stems(*schedule.together(stay)).words)
    where = f"in {len(stay)} {'strip' if len(stay) == 1 else 'strips'}"
    return (
        f"{many} an inch and thicker stay standing {where}, where the crew may not treat them: the "
        "cards of these strips say why."
    )


def status_words(results: Results) -> str:
    """Return how near the plan is to the best there is, in one sentence.

    References
    ----------
    own reasoning
    """
    plan = results.plan
    if plan.status == "none":
        return "No plan fits what was asked."
    tiny = plan.gap is not None and 100 * plan.gap < SMALL_GAP
    gap = f"{words.said(100 * plan.gap)} %" if plan.gap is not None else ""
    gap = f"{SMALL_GAP} %" if tiny else gap
    if plan.status == "best":
        near = f"no other plan can beat it by {'as much as' if tiny else 'more than'} {gap}"
        near = near if plan.gap else "none can beat it"
        return f"This is the best plan under what was asked: {near}."
    far = f"; it may lie {'less than ' if tiny else ''}{gap} from the best" if gap else ""
    return f"The search was stopped before it was done{far}."


def paid_back_words(results: Results) -> str:
    """Return what programs pay back for the chosen options inside the years, in one sentence.

    References
    ----------
    own reasoning
    """
    plan, settings = results.plan, results.property.settings
    if not len(results.income) or not len(plan.options):
        return ""
    last = settings.first_year + settings.years - 1
    rows = results.income[results.income["option_id"].isin(plan.options["option_id"])]
    inside = rows[(rows["year"] <= last) & (rows["amount"] > 0)]
    if not len(inside):
        return "No cost share comes back within the years of the plan."
    first, end = int(inside["year"].min()), int(inside["year"].max())
    when = str(first) if first == end else f"{first} to {end}"
    programs = words.listed(sorted(inside["name"].unique()))
    total = words.money(float(inside["amount"].sum()))
    return f"{words.sentence(programs)} pays back about {total} after the work, {when}."


def _finish_year(strips: list[StripFacts]) -> int | None:
    """Return the year in which the last treated strip is done, none when one is not."""
    ends = [strip.finish_year for strip in strips if strip.start_year is not None]
    return None if not ends or None in ends else max(end for end in ends if end is not None)


def _headline(
    results: Results, strips: list[StripFacts], planned_ha: float, years: tuple[int, ...]
) -> str:
    """Return the first sentence: acres, year and hours."""
    settings = results.property.settings
    if results.plan.status == "none":
        return f"No plan fits {settings.name} yet."
    visits = [visit for strip in strips for visit in strip.visits if not visit.run_off]
    if not visits:
        return f"Nothing is planned from {years[0]} to {years[-1]}."
    area = words.area(planned_ha, settings.us).short
    hours = words.beside(total_hours(visits), their_hours(results)).short
    finish = _finish_year(strips)
    end = f"to clear by {finish}" if finish is not None else f"taken on by {years[-1]}"
    return f"{area} {end}, about {hours}."


def _lead(
    results: Results, strips: list[StripFacts], planned_ha: float, years: tuple[int, ...]
) -> str:
    """Return the second sentence: money, and the ground that waits."""
    settings = results.property.settings
    if results.plan.status == "none":
        return "What stands in the way is listed below."
    visits = [visit for strip in strips for visit in strip.visits if not visit.run_off]
    waiting = results.strips["area_ha"].sum() - planned_ha
    tail = f" {words.area(waiting, settings.us).short} wait." if waiting > 0.01 else ""
    span = f"over {len(years)} years, {years[0]} to {years[-1]}"
    return f"{words.sentence(total_cost(visits).words)} of cash {span}.{tail}"


def _products(results: Results) -> tuple[str, ...]:
    """Return each herbicide and how much of it in all, in sentences."""
    us, visits = results.property.settings.us, results.plan.visits
    if not len(visits):
        return ()
    used = visits[visits["product_l"] > 0]
    columns = ["product_l", "product_low_l", "product_high_l"]
    out = []
    for herbicide, part in used.groupby("herbicide", sort=True):
        by_strip = part.groupby("strip_id")[columns].sum()
        rows = zip(by_strip.index, by_strip.to_numpy(), strict=True)
        parts = {str(name): [tuple(row)] for name, row in rows}
        said = words.volume(schedule.together(parts), us).words
        out.append(f"{words.sentence(names.herbicide_name(str(herbicide)))}: {said} in all.")
    stock = {one.name for one in results.rates.products if one.on_hand_l > 0}
    own = used[~(used["their_hours"] > 0)]  # a contractor brings his own
    return (*out, ON_HAND) if stock & set(own["herbicide"]) else tuple(out)


def _unsure(results: Results, blocks: list[BlockFacts], run_off: words.Amount) -> tuple[str, ...]:
    """Return what is not sure, in sentences."""
    settings = results.property.settings
    sure = f"{words.said(100 * RANGES)} in 100"
    out = [f"Ranges hold the true number about {sure} times."]
    lone = [block.name for block in blocks if block.basis.startswith("from one plot")]
    if lone:
        out.append(f"Only one plot was counted in {words.listed(lone)}: stems there are rough.")
    counted = ("from plots counted", "from one plot")
    rough = [block.name for block in blocks if not block.basis.startswith(counted)]
    if rough:
        out.append(f"No plot was counted in {words.listed(rough)}: stems there are rough.")
    out += [*risk_lines(results), *reserve_lines(results), *cascade_lines(results)]
    if run_off.value > 0:
        last = settings.first_year + settings.years - 1
        out.append(f"After {last} follow-ups and upkeep of {run_off.words} remain.")
    if settings.defaulted:
        given = words.listed([name.replace("_", " ") for name in settings.defaulted])
        out.append(f"Nobody gave {given}; the tool's own figures stand in for them.")
    return tuple(sentence for sentence in out if sentence)
