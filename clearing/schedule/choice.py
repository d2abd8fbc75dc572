"""Choose one option for each strip, and lay the plan out in the owner's terms."""

from dataclasses import replace

import pandas as pd

from clearing.effort import with_arrivals
from clearing.property import FieldPlan, Settings
from clearing.rates import Rates
from clearing.schedule.explain import explain
from clearing.schedule.field import (
    Around,
    Field,
    closed_to,
    field_instance,
    offered_options,
    owners_limits,
    pair_names,
)
from clearing.schedule.impossible import Asked, too_late, what_stands_in_the_way
from clearing.schedule.instance import Instance
from clearing.schedule.limits import with_income
from clearing.schedule.odds import yearly_odds
from clearing.schedule.plan import Plan, Status
from clearing.schedule.prices import limit_prices
from clearing.schedule.purchases import yearly_purchases
from clearing.schedule.reserve import all_hold, reserves, tightened
from clearing.schedule.solve import solve
from clearing.schedule.thumb import Wish, by_rules, rules_of_thumb, wish_of

WORDS = {Status.BEST: "best", Status.STOPPED: "stopped", Status.NONE: "none"}
ROUNDS = 4  # times that limits are tightened for a plan with a reserve; own choice


def choose(
    options: pd.DataFrame,
    visits: pd.DataFrame,
    rates: Rates,
    settings: Settings,
    gap: float = 1e-3,
    seconds: float = 60,
    around: Around | None = None,
) -> FieldPlan:
    """Return the plan: one option a strip at the least discounted cost less worth.

    Where the owner asked for a reserve ([plan] confidence) limits are tightened by what the draws
    say and the plan is made again, until every season and year holds with that chance, or as near
    to it as any plan comes.

    Parameters
    ----------
    options, visits : DataFrame
        As ``walk/options`` and ``walk/visits``.
    rates : Rates
        Seasons with their hours; products.
    settings : Settings
        Years, budget, wishes.
    gap, seconds : float
        When to stop; see `solve`.
    around : Around, optional
        Money back, seed between strips, draws, strips already begun.

    References
    ----------
    highs
    """
    around = around or Around()
    limits = owners_limits(settings, rates)
    offered, lost = offered_options(options, settings, around.begun)
    if lost:
        return _no_plan(too_late(options, lost, settings.clear_by or 0), limits, ())
    tables = (options, visits, around)
    tight, start = limits, around.start
    best: tuple[FieldPlan, Plan, Field] | None = None
    for _ in range(ROUNDS if settings.keeps_reserve else 1):
        posed = field_instance(offered, visits, rates, settings, around, tight)
        start = begun_with(posed, rates, settings, around, start)
        answer = solve(posed.instance, gap, seconds, start=start, progress=around.told)
        if answer.cost is None and best is None:
            reasons = _reasons(answer, posed, tables, seconds, rates, settings)
            return _no_plan(reasons, limits, answer.log)
        if answer.cost is None:
            break  # the last plan stands; its reserve says which seasons do not hold
        best = (_laid_out(answer, posed, tables, rates, settings), answer, posed)
        held = best[0].reserve[best[0].reserve["confidence"] == settings.confidence]
        if not settings.keeps_reserve or all_hold(held):
            break
        start, tight = answer.chosen, tightened(limits, tight, held)
    assert best is not None  # the first round gave a plan, or returned
    return _weighed(best, (visits, around), rates, settings)


def _laid_out(
    answer: Plan,
    posed: Field,
    tables: tuple[pd.DataFrame, pd.DataFrame, Around],
    rates: Rates,
    settings: Settings,
) -> FieldPlan:
    """Return the plan's tables."""
    options, visits, around = tables
    known = posed.plain.options["group"].unique()
    strips = answer.chosen[answer.chosen["group"].isin(known)]
    chosen = options[options["option_id"].isin(strips["option"])]
    closed = closed_to(posed.few, answer.chosen)
    why = explain(replace(answer, chosen=strips), posed.plain, options, rates, settings, closed)
    own = visits[visits["option_id"].isin(chosen["option_id"])]
    own = with_arrivals(own, charged_rows(around.arrivals, answer.charged))
    own = own.merge(why[["strip_id", "why"]], on="strip_id", how="left")
    season_order = rates.seasons.set_index("season")["order"]
    own = own.assign(order=own["season"].map(season_order)).sort_values(
        ["year", "order", "strip_id", "visit_id"]
    )
    own = own.drop(columns="order").reset_index(drop=True)
    last = settings.first_year + settings.years - 1
    inside = own[own["year"] <= last].reset_index(drop=True)
    limits = owners_limits(settings, rates)
    _, used = posed.plain.cost_of(strips)
    limits["used"] = limits["resource"].map(used).fillna(0.0)
    draws = None if around.draw is None else around.draw(chosen)
    room = with_income(limits, around.income, chosen, settings)
    return FieldPlan(
        status=WORDS[answer.status],
        options=chosen.sort_values("strip_id").reset_index(drop=True),
        visits=inside,
        run_off=own[own["year"] > last].reset_index(drop=True),
        limits=limits.rename(columns={"high": "limit"}).drop(columns="low"),
        odds=yearly_odds(inside, room, settings, draws),
        cost=answer.cost,
        bound=answer.bound,
        gap=answer.gap,
        why=why,
        reasons=(),
        purchases=yearly_purchases(inside, rates, settings),
        solver_log=answer.log,
        reserve=reserves(inside, room, settings, draws),
        shortfall=answer.shortfall,
        dropped=answer.dropped,
    )


def _weighed(
    best: tuple[FieldPlan, Plan, Field],
    tables: tuple[pd.DataFrame, Around],
    rates: Rates,
    settings: Settings,
) -> FieldPlan:
    """Return the plan with what one more of each limit would save, and what rules of thumb cost."""
    visits, around = tables
    plan, answer, posed = best
    relaxed = solve(posed.instance, relax=True)
    prices = limit_prices(relaxed.prices, posed.limits, rates, settings)
    if around.order is None:
        return replace(plan, prices=prices)
    own = posed.plain.options["group"].unique()
    strips = answer.chosen[answer.chosen["group"].isin(own)]
    last = settings.first_year + settings.years - 1
    inside = visits[visits["year"] <= last]
    tried = by_rules(
        posed.plain, posed.offered, around.order, rates.seasons, wishes_of(posed, settings)
    )
    thumb = rules_of_thumb(tried, strips, (posed.offered, inside, around.order))
    return replace(plan, prices=prices, thumb=thumb)


def wishes_of(posed: Field, settings: Settings) -> tuple[Wish, ...]:
    """Return the wishes for few kinds at a time as rules of thumb keep them.

    References
    ----------
    own reasoning
    """
    products, blocks = posed.few
    return (
        *wish_of(products, settings.most_products_a_year),
        *wish_of(blocks, settings.most_blocks_a_season),
    )


def begun_with(
    posed: Field,
    rates: Rates,
    settings: Settings,
    around: Around,
    start: pd.DataFrame | None,
) -> pd.DataFrame | None:
    """Return a plan to begin from: the one that is known, else the best by a rule of thumb.

    With yes or no for each kind of product and block; None where no rule keeps the limits.

    References
    ----------
    own reasoning
    """
    if start is None and around.order is not None:
        wishes = wishes_of(posed, settings)
        start = by_rules(posed.plain, posed.offered, around.order, rates.seasons, wishes).best()
    if start is None:
        return None
    strips = start[start["group"].isin(posed.plain.options["group"])]
    return pd.concat(
        [strips[["group", "option"]], *(each.opened(strips) for each in posed.few)],
        ignore_index=True,
    )


def _reasons(
    answer: Plan,
    posed: Field,
    tables: tuple[pd.DataFrame, pd.DataFrame, Around],
    seconds: float,
    rates: Rates,
    settings: Settings,
) -> list[str]:
    """Return sentences that say why there is no plan."""
    if answer.status is not Status.NONE:
        return [f"the planner was stopped after {seconds:g} seconds before it found any plan; "
                "give it more time with --seconds"]  # fmt: skip
    options, visits, around = tables

    def again(clear_by: int | None) -> Instance | None:
        asked = replace(settings, clear_by=clear_by)
        offered, lost = offered_options(options, asked, around.begun)
        if lost:
            return None
        return field_instance(offered, visits, rates, asked, around, posed.limits).instance

    last = settings.first_year + settings.years - 1
    return what_stands_in_the_way(posed.instance, Asked(settings.clear_by, last, again))


def charged_rows(arrivals: pd.DataFrame | None, charged: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of seed between strips that a plan brings about.

    References
    ----------
    own reasoning
    """
    if arrivals is None or not len(arrivals):
        return pd.DataFrame()
    return arrivals[pair_names(arrivals).isin(charged["pair"])]


def _no_plan(reasons: list[str], limits: pd.DataFrame, log: tuple[str, ...]) -> FieldPlan:
    """Return the answer that no plan fits, with the sentences that say why."""
    empty = pd.DataFrame()
    limits = limits.assign(used=0.0).rename(columns={"high": "limit"}).drop(columns="low")
    return FieldPlan(
        "none", empty, empty, empty, limits, empty, None, None, None, empty, tuple(reasons),
        empty, log,
    )  # fmt: skip
