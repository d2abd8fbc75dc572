"""Plans with a reserve: which of several rounds is kept, their time, and what rules are held to."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from clearing.property import Money
from clearing.rates import for_settings
from clearing.schedule import Around, choose, solve, strip_order
from clearing.schedule.choice import LEAST_SECONDS, ROUNDS, begun_with, decide
from clearing.schedule.field import field_instance, owners_limits
from clearing.schedule.reserve import excess
from clearing.schedule.thumb import keeps
from tests.schedule.test_choice import BASE, option, visit

SURE = replace(
    BASE, money=Money(discount_rate=0.0), confidence=0.8, keeps_reserve=True,
    crew=replace(BASE.crew, people=2),
)  # fmt: skip
STRIPS = tuple(f"{block}{place}" for block in "ab" for place in (1, 2, 3))
ORDER = strip_order(
    pd.DataFrame({"strip_id": STRIPS, "block_id": [name[0] for name in STRIPS], "area_ha": 1.0,
                  "way_in_m": 0.0}),
    pd.DataFrame({"strip_id": STRIPS, "method_id": "m", "stems": 1.0}),
)  # fmt: skip


def unsure_strips(seed: int = 0) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return six strips of unsure hours that may start in each spring; sooner is worth more."""
    draw = np.random.default_rng(seed)
    options, visits = [], []
    for strip in STRIPS:
        hours, wide = draw.uniform(3, 8), draw.uniform(1.1, 2.2)
        ends = {"hours_low": hours / wide, "hours_high": hours * wide}
        for year in (2027, 2028, 2029):
            worth = draw.uniform(80, 120) * (2030 - year)
            options.append(option(strip, f"y{year}", year, 50.0, worth))
            visits.append(visit(f"{strip}/y{year}", year, hours, 50.0, **ends))
        options.append(option(strip, "not_now", None, 0.0, 0.0))
    return pd.DataFrame(options), pd.DataFrame(visits)


def recorded(monkeypatch) -> list[tuple[float, bool, object]]:
    """Return a list that fills with the seconds, whether relaxed, and answer of each solve."""
    calls: list[tuple[float, bool, object]] = []

    def solved(instance, gap=1e-3, seconds=60.0, relax=False, **more):
        answer = solve(instance, gap, seconds, relax, **more)
        calls.append((seconds, relax, answer))
        return answer

    monkeypatch.setattr("clearing.schedule.choice.solve", solved)
    return calls


def held_rows(plan) -> pd.DataFrame:
    """Return the plan's reserve at the chance that was asked for."""
    return plan.reserve[plan.reserve["confidence"] == 0.8]


@pytest.mark.parametrize("seed", range(6))
def test_the_round_that_holds_best_is_kept(seed, monkeypatch):
    """No round that holds in as many seasons is cheaper, and none holds in more."""
    made = []
    monkeypatch.setattr(
        "clearing.schedule.choice.excess",
        lambda table: made.append(excess(table)) or made[-1],
    )
    calls = recorded(monkeypatch)
    plan = decide(*unsure_strips(seed), for_settings(SURE), SURE, gap=0.0)
    assert 1 < len(calls) <= ROUNDS
    assert excess(held_rows(plan)) == min(made)
    alike = [answer.cost for (_, _, answer), over in zip(calls, made, strict=True)
             if over == min(made)]  # fmt: skip
    assert plan.cost == pytest.approx(min(alike))


@pytest.mark.parametrize("seed", [8, 58])
def test_room_to_spare_is_used_in_a_later_round(seed, monkeypatch):
    """A plan that holds with hours left over is not the last word: a cheaper one holds, too."""
    calls = recorded(monkeypatch)
    made = []
    monkeypatch.setattr(
        "clearing.schedule.choice.excess",
        lambda table: made.append(excess(table)) or made[-1],
    )
    plan = decide(*unsure_strips(seed), for_settings(SURE), SURE, gap=0.0)
    assert held_rows(plan)["holds"].all()
    first = next(answer.cost for (_, _, answer), over in zip(calls, made, strict=True)
                 if over == (0, 0.0))  # fmt: skip
    assert plan.cost < first - 1.0


def test_all_rounds_together_take_no_more_than_the_time(monkeypatch):
    """Each solve takes all that it is given: rounds take 40 seconds in all, prices the least."""
    now, spans = [0.0], []

    def solved(instance, gap=1e-3, seconds=60.0, relax=False, **more):
        spans.append((seconds, relax))
        now[0] += seconds
        return solve(instance, gap, relax=relax, **more)

    monkeypatch.setattr("clearing.schedule.choice.monotonic", lambda: now[0])
    monkeypatch.setattr("clearing.schedule.choice.solve", solved)
    choose(*unsure_strips(), for_settings(SURE), SURE, gap=0.0, seconds=40.0)
    assert spans == [(20.0, False), (10.0, False), (5.0, False), (5.0, False),
                     (LEAST_SECONDS, True)]  # fmt: skip


def test_a_tighter_round_begins_from_a_plan_that_keeps_its_limits():
    """The last plan does not fit hours cut by half: the best by a rule of thumb is taken."""
    options, visits = unsure_strips()
    asked, rates = replace(SURE, keeps_reserve=False), for_settings(SURE)
    around = Around(order=ORDER)
    limits = owners_limits(asked, rates)
    half = limits.assign(high=limits["high"].where(limits["kind"] != "hours", limits["high"] / 2))
    wide, tight = (field_instance(options, visits, rates, asked, around, rows)
                   for rows in (limits, half))  # fmt: skip
    last = solve(wide.instance, gap=0.0).chosen
    assert keeps(wide.plain, last)
    assert not keeps(tight.plain, last)
    assert keeps(tight.plain, begun_with(tight, rates, asked, around, last))
    again = begun_with(wide, rates, asked, around, last)
    assert again["option"].tolist() == last["option"].tolist()


def test_rules_of_thumb_are_held_to_the_owner_s_own_limits():
    """With a reserve the plan keeps hours back and the rules do not: they cost as without one."""
    around = Around(order=ORDER)
    costs = [
        choose(*unsure_strips(), for_settings(asked), asked, gap=0.0, around=around)
        .thumb.set_index("rule")["cost"].drop("plan")
        for asked in (SURE, replace(SURE, keeps_reserve=False))
    ]  # fmt: skip
    assert costs[0].tolist() == pytest.approx(costs[1].tolist())
