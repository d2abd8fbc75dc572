"""Choose one option for each strip, and lay the plan out in the owner's terms."""

from dataclasses import replace

import numpy as np
import pandas as pd

from clearing.property import FieldPlan, Settings
from clearing.rates import Rates
from clearing.schedule.explain import explain, shortfalls
from clearing.schedule.instance import Instance
from clearing.schedule.jugs import jug_tables, not_opened
from clearing.schedule.limits import field_limits, field_uses, with_income
from clearing.schedule.odds import yearly_odds
from clearing.schedule.plan import Plan, Status
from clearing.schedule.purchases import yearly_purchases
from clearing.schedule.solve import solve

WORDS = {Status.BEST: "best", Status.STOPPED: "stopped", Status.NONE: "none"}


def choose(
    options: pd.DataFrame,
    visits: pd.DataFrame,
    rates: Rates,
    settings: Settings,
    gap: float = 1e-3,
    seconds: float = 60,
    income: pd.DataFrame | None = None,
) -> FieldPlan:
    """Return the plan: one option a strip at the least discounted cost less worth.

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
    income : DataFrame, optional
        option_id, year, amount of the cost share; `options.paid_back` holds its worth.

    References
    ----------
    highs
    """
    offered = options
    if settings.clear_by is not None:
        late = options["finish_year"].fillna(np.inf) > settings.clear_by
        offered = options[~late | (options["hours"] == 0) & (options["method"] != "not_now")]
    lost = sorted(set(options["strip_id"]) - set(offered["strip_id"]))
    limits = field_limits(settings, rates.seasons)
    uses = field_uses(visits, settings, income)
    uses = uses[uses["option"].isin(offered["option_id"])]
    groups = offered.assign(
        group=offered["strip_id"],
        option=offered["option_id"],
        cost=offered["cost"] + offered["run_off"] - offered["worth"] - offered["paid_back"],
    )[["group", "option", "cost"]]
    last = settings.first_year + settings.years - 1
    ahead = visits[(visits["year"] <= last) & visits["option_id"].isin(offered["option_id"])]
    jugs, jug_uses, jug_limits = jug_tables(ahead, rates, settings)
    by_group = uses.assign(group=uses["option"].map(groups.set_index("option")["group"]))
    instance = Instance.from_tables(
        *(pd.concat(pair, ignore_index=True) if len(pair[1]) else pair[0]
          for pair in ((groups, jugs), (by_group, jug_uses), (limits, jug_limits)))
    )  # fmt: skip
    if lost:
        sentences = [
            f"strip {name} cannot be cleared by {settings.clear_by} by any method; "
            "give it a year more"
            for name in lost
        ]
        return _no_plan(sentences, limits, ())
    answer = solve(instance, gap, seconds)
    if answer.cost is None:
        stopped = [f"the planner was stopped after {seconds:g} seconds before it found any plan; "
                   "give it more time with --seconds"]  # fmt: skip
        reasons = shortfalls(instance) if answer.status is Status.NONE else stopped
        return _no_plan(reasons, limits, answer.log)
    if len(jugs):
        groups = groups[~groups["option"].isin(not_opened(answer.chosen, ahead))]
        answer = replace(answer, chosen=answer.chosen[answer.chosen["group"].isin(groups["group"])])
    kept = by_group[by_group["option"].isin(groups["option"])]
    plain = Instance.from_tables(groups, kept, limits)
    return _laid_out(answer, plain, (options, visits, income), rates, settings)


def _laid_out(
    answer: Plan,
    instance: Instance,
    tables: tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame | None],
    rates: Rates,
    settings: Settings,
) -> FieldPlan:
    """Return the plan's tables."""
    options, visits, income = tables
    chosen = options[options["option_id"].isin(answer.chosen["option"])]
    why = explain(answer, instance, options, rates, settings)
    own = visits[visits["option_id"].isin(chosen["option_id"])]
    own = own.merge(why[["strip_id", "why"]], on="strip_id", how="left")
    season_order = rates.seasons.set_index("season")["order"]
    own = own.assign(order=own["season"].map(season_order)).sort_values(
        ["year", "order", "strip_id", "visit_id"]
    )
    own = own.drop(columns="order").reset_index(drop=True)
    last = settings.first_year + settings.years - 1
    inside = own[own["year"] <= last].reset_index(drop=True)
    limits = field_limits(settings, rates.seasons)
    used = instance.uses[instance.uses["option"].isin(answer.chosen["option"])]
    limits["used"] = limits["resource"].map(used.groupby("resource")["amount"].sum()).fillna(0.0)
    return FieldPlan(
        status=WORDS[answer.status],
        options=chosen.sort_values("strip_id").reset_index(drop=True),
        visits=inside,
        run_off=own[own["year"] > last].reset_index(drop=True),
        limits=limits.rename(columns={"high": "limit"}).drop(columns="low"),
        odds=yearly_odds(inside, with_income(limits, income, chosen, settings), settings),
        cost=answer.cost,
        bound=answer.bound,
        gap=answer.gap,
        why=why,
        reasons=(),
        purchases=yearly_purchases(inside, rates, settings),
        solver_log=answer.log,
    )


def _no_plan(reasons: list[str], limits: pd.DataFrame, log: tuple[str, ...]) -> FieldPlan:
    """Return the answer that no plan fits, with the sentences that say why."""
    empty = pd.DataFrame()
    limits = limits.assign(used=0.0).rename(columns={"high": "limit"}).drop(columns="low")
    return FieldPlan(
        "none",
        empty,
        empty,
        empty,
        limits,
        empty,
        None,
        None,
        None,
        empty,
        tuple(reasons),
        empty,
        log,
    )
