"""Choose one option for each strip, and lay the plan out in the owner's terms."""

from dataclasses import dataclass, replace
from time import monotonic

import pandas as pd

from clearing.effort import with_arrivals
from clearing.property import FieldPlan, Settings
from clearing.rates import Rates
from clearing.schedule.explain import explain
from clearing.schedule.field import (
    Around,
    Field,
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
from clearing.schedule.reserve import all_hold, excess, given_back, reserves, tightened
from clearing.schedule.solver import solve
from clearing.schedule.thumb import by_rules, keeps, rules_of_thumb
from clearing.schedule.watch import share
from clearing.schedule.wishes import Wish, wish_of

WORDS = {Status.BEST: "best", Status.STOPPED: "stopped", Status.NONE: "none"}
ROUNDS = 4  # times that limits are tightened for a plan with a reserve; own choice
SPAN = 0.5  # share of the time left for a round that is not the last; own choice
LEAST_SECONDS = 5.0  # for what more of each limit would save; own choice


@dataclass(frozen=True)
class Made:
    """Return one plan: in the owner's terms, as the core gave it, and what it was made of."""

    plan: FieldPlan
    answer: Plan
    posed: Field


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

    With it comes what more of each limit would save, and what rules of thumb cost; see `decide`.

    Parameters
    ----------
    options, visits : DataFrame
        As ``walk/options`` and ``walk/visits``.
    rates : Rates
        Seasons with their hours; products.
    settings : Settings
        Years, budget, wishes.
    gap, seconds : float
        When to stop; see `decide`. What more of each limit would save takes what is left of the
        time, at least LEAST_SECONDS.
    around : Around, optional
        Money back, seed between strips, draws, strips already begun, order of rules of thumb.

    References
    ----------
    highs
    """
    around = around or Around()
    began = monotonic()
    plan, made, own = _decided((options, visits, around), rates, settings, gap, seconds)
    if made is None or own is None:
        return plan
    left = max(seconds - (monotonic() - began), LEAST_SECONDS)
    relaxed = solve(made.posed.instance, seconds=left, relax=True)
    prices = limit_prices(relaxed.prices, made.posed.limits, rates, settings)
    free = made.posed.plain.options.groupby("group")["cost"].min().sum()  # were there no limits
    prices["saves"] = prices["saves"].clip(upper=max(float(plan.cost or 0.0) - float(free), 0.0))
    return replace(plan, prices=prices, thumb=_ruled(made, own, visits, around, (rates, settings)))


def decide(
    options: pd.DataFrame,
    visits: pd.DataFrame,
    rates: Rates,
    settings: Settings,
    gap: float = 1e-3,
    seconds: float = 60,
    around: Around | None = None,
) -> FieldPlan:
    """Return the plan alone, without prices of limits and rules of thumb.

    Where the owner asked for a reserve ([plan] confidence) limits are tightened by what the draws
    say and the plan is made again, at most ROUNDS times; a season that then holds with room to
    spare gets some of it back. Of all these plans the one is kept that holds in most seasons and
    years, then lies least over, then is cheapest. Its bound and gap are those of the problem with
    the tightened limits: no other plan within what is left when the reserve is kept back is better
    by more. Without a reserve they are those of the owner's own limits.

    Cost and bound are in dollars of the strips alone, without the tokens that `few.OPENING` puts on
    a kind of product: the bound is that of plans which open no more kinds than this one.

    Parameters
    ----------
    options, visits, rates, settings : as `choose`
    gap : float
        When to stop; see `solve`.
    seconds : float
        Safety net for all rounds together [s]: each takes at most the share SPAN of what is left,
        the last all of it.
    around : Around, optional
        As `choose`.

    References
    ----------
    highs
    """
    tables = (options, visits, around or Around())
    return _decided(tables, rates, settings, gap, seconds)[0]


def _decided(
    tables: tuple[pd.DataFrame, pd.DataFrame, Around],
    rates: Rates,
    settings: Settings,
    gap: float,
    seconds: float,
) -> tuple[FieldPlan, Made | None, Field | None]:
    """Return the plan, how it was made (None where there is none), and the owner's own problem."""
    options, visits, around = tables
    limits = owners_limits(settings, rates)
    offered, lost = offered_options(options, settings, around.begun)
    if lost:
        return _no_plan(too_late(options, lost, settings.clear_by or 0), limits, ()), None, None
    own = posed = field_instance(offered, visits, rates, settings, around, limits)
    offered = offered[offered["option_id"].isin(own.plain.options["option"])]
    rounds, tight, start = ROUNDS if settings.keeps_reserve else 1, limits, around.start
    made: list[Made] = []
    began, span = monotonic(), seconds
    for turn in range(rounds):
        left = seconds - (monotonic() - began)
        if turn and left <= 0:
            break
        span = left if turn == rounds - 1 else left * SPAN
        start = begun_with(posed, rates, settings, around, start)
        answer = solve(posed.instance, gap, span, start=start, progress=around.told)
        if answer.cost is None:
            break  # an earlier plan stands; its reserve says which seasons do not hold
        made.append(Made(_laid_out(answer, posed, tables, rates, settings), answer, posed))
        held = _asked_reserve(made[-1].plan, settings)
        last, tight = tight, tightened(limits, tight, held)
        if not settings.keeps_reserve or (all_hold(held) and not given_back(last, tight)):
            break
        posed = field_instance(offered, visits, rates, settings, around, tight)
        start = answer.chosen
    if not made:
        reasons = _reasons(answer, posed, tables, span, rates, settings)
        return _no_plan(reasons, limits, answer.log), None, None
    best = min(made, key=lambda one: (*excess(_asked_reserve(one.plan, settings)), one.plan.cost))
    return replace(best.plan, shortfall=own.shortfall), best, own


def _asked_reserve(plan: FieldPlan, settings: Settings) -> pd.DataFrame:
    """Return the rows of the plan's reserve with the chance that the owner asked for."""
    return plan.reserve[plan.reserve["confidence"] == settings.confidence]


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
    wishes = wishes_of(posed, settings)
    why = explain(replace(answer, chosen=strips), posed.plain, options, rates, settings, wishes)
    own = visits[visits["option_id"].isin(chosen["option_id"])]
    own = with_arrivals(own, charged_rows(around.arrivals, answer.charged))
    own = own.merge(why[["strip_id", "why"]], on="strip_id", how="left")
    season_order = rates.seasons.set_index("season")["order"]
    number = own["visit_id"].str.extract(r"#(\d+)$")[0].astype(float)  # their order in the option
    own = own.assign(order=own["season"].map(season_order), number=number)
    own = own.sort_values(["year", "order", "strip_id", "number", "visit_id"])
    own = own.drop(columns=["order", "number"]).reset_index(drop=True)
    last = settings.first_year + settings.years - 1
    inside = own[own["year"] <= last].reset_index(drop=True)
    limits = owners_limits(settings, rates)
    cost, used = posed.plain.cost_of(strips)
    bound = (answer.bound or 0.0) - ((answer.cost or 0.0) - cost)  # without tokens of kinds opened
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
        cost=cost,
        bound=min(bound, cost),
        gap=share(cost, bound),
        why=why,
        reasons=(),
        purchases=yearly_purchases(inside, rates, settings),
        solver_log=answer.log,
        reserve=reserves(inside, room, settings, draws),
        shortfall=posed.shortfall,
        dropped=answer.dropped,
    )


def _ruled(
    made: Made,
    own: Field,
    visits: pd.DataFrame,
    around: Around,
    figures: tuple[Rates, Settings],
) -> pd.DataFrame:
    """Return what rules of thumb cost within the owner's own limits; they keep no reserve."""
    if around.order is None:
        return made.plan.thumb
    rates, settings = figures
    strips = made.answer.chosen[made.answer.chosen["group"].isin(own.plain.options["group"])]
    inside = visits[visits["year"] < settings.first_year + settings.years]
    wishes = wishes_of(own, settings)
    tried = by_rules(own.plain, own.offered, around.order, rates.seasons, wishes)
    return rules_of_thumb(tried, strips, (own.offered, inside, around.order))


def wishes_of(posed: Field, settings: Settings) -> tuple[Wish, ...]:
    """Return the wishes for few kinds at a time as rules of thumb and reasons keep them.

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

    Where the known one does not keep the limits (any more), a rule's is taken if there is one. With
    yes or no for each kind of product and block; None where nothing is known.

    References
    ----------
    own reasoning
    """
    if around.order is not None and (start is None or not keeps(posed.plain, start)):
        wishes = wishes_of(posed, settings)
        ruled = by_rules(posed.plain, posed.offered, around.order, rates.seasons, wishes).best()
        start = start if ruled is None else ruled
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
        return [f"the planner was stopped after {seconds:.3g} seconds before it found any plan; "
                "give it more time with --seconds"]  # fmt: skip
    options, visits, around = tables

    def again(clear_by: int | None) -> Instance | None:
        asked = replace(settings, clear_by=clear_by)
        offered, lost = offered_options(options, asked, around.begun)
        if lost:
            return None
        return field_instance(offered, visits, rates, asked, around, posed.limits).instance

    last = settings.first_year + settings.years - 1
    return what_stands_in_the_way(
        posed.instance, Asked(settings.clear_by, last, again, settings.money.carry_over)
    )


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
