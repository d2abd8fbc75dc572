"""The planner's core: properties that hold for any instance, other solvers, and being stopped."""

import itertools
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import LinearConstraint, milp

from clearing.schedule import Instance, Status, solve
from tests.schedule.small_cores import best_by_hand, small, weigh
from tests.schedule.test_solver import harvest

SEEDS = range(25)


def wide(seed: int, groups: int = 24, options: int = 40, share: float = 0.9) -> Instance:
    """Return an instance that takes a while: groups with pairs in a ring, eight tight limits."""
    draw = np.random.default_rng(seed)
    names = [(f"g{g:02d}", f"g{g:02d}-{o}") for g in range(groups) for o in range(options)]
    table = pd.DataFrame(names, columns=["group", "option"])
    mark = draw.integers(0, 5, len(table))
    table["cost"] = draw.uniform(50, 150, len(table)).round(2) + 12.0 * mark
    amount = draw.uniform(5, 60, (len(table), 8)).round(1) * (draw.random((len(table), 8)) < 0.4)
    row, column = np.nonzero(amount)
    uses = table.iloc[row][["group", "option"]].assign(resource=column, amount=amount[row, column])
    high = share * groups * np.median(amount.mean(axis=1))
    limits = pd.DataFrame({"resource": range(8), "low": np.nan, "high": high * np.full(8, 0.6)})
    marks = table[["group", "option"]].merge(pd.DataFrame({"mark": range(5)}), how="cross")
    marks = marks[marks["mark"] >= np.repeat(mark, 5)]
    rows = [(f"{g}{h}{m}", f"g{g:02d}", m, f"g{h % groups:02d}", m, float(draw.integers(1, 9)))
            for g, m in itertools.product(range(groups), range(5))
            for h in (g + 1, g + 2)]  # fmt: skip
    pairs = pd.DataFrame(rows, columns=["pair", "group", "mark", "other", "other_mark", "cost"])
    return Instance.from_tables(table, uses, limits, marks, pairs)


def picked(plan) -> dict[str, str]:
    """Return group -> option of a plan."""
    return dict(zip(plan.chosen["group"], plan.chosen["option"], strict=True))


@pytest.mark.parametrize("seed", SEEDS)
def test_more_of_a_limit_never_costs_more(seed):
    """Each high raised by 3 in turn, pairs among it: the proved cost does not rise."""
    case = small(seed, pairs=True)
    base = solve(case.instance(), gap=0).cost
    for resource in case.limits["resource"]:
        more = case.limits["high"] + 3.0 * (case.limits["resource"] == resource)
        cost = solve(replace(case, limits=case.limits.assign(high=more)).instance(), gap=0).cost
        assert base is None or cost <= base + 1e-9


@pytest.mark.parametrize("seed", SEEDS)
def test_more_options_never_cost_more(seed):
    """Without the last option of each group the proved cost is no less."""
    case = small(seed, pairs=True)
    few = ~case.options["option"].str.endswith("-3")
    names = case.options.loc[few, "option"]
    less = replace(
        case,
        options=case.options[few],
        uses=case.uses[case.uses["option"].isin(names)],
        marks=case.marks[case.marks["option"].isin(names)],
    )
    cost = solve(less.instance(), gap=0).cost
    assert cost is None or solve(case.instance(), gap=0).cost <= cost + 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_other_names_change_nothing_but_names(seed):
    """Groups named the other way round: the same options are chosen, at the same cost and bound."""
    one = wide(seed, groups=8)
    other = {name: f"h{99 - int(name[1:]):02d}" for name in one.options["group"].unique()}
    turned = [
        table.assign(**{c: table[c].map(other) for c in ("group", "other") if c in table})
        for table in (one.options, one.uses, one.limits, one.marks, one.pairs, one.pair_uses)
    ]
    first, second = solve(one, gap=0.01), solve(Instance.from_tables(*turned), gap=0.01)
    assert {other[group]: option for group, option in picked(first).items()} == picked(second)
    assert (second.cost, second.bound) == (pytest.approx(first.cost), pytest.approx(first.bound))


@pytest.mark.parametrize("seed", range(4))
def test_order_of_rows_changes_nothing(seed):
    """All six tables shuffled: the same plan, within a gap where many would do."""
    one = wide(seed, groups=8)
    tables = (one.options, one.uses, one.limits, one.marks, one.pairs, one.pair_uses)
    mixed = [table.sample(frac=1, random_state=seed + 7) for table in tables]
    first, second = solve(one, gap=0.01), solve(Instance.from_tables(*mixed), gap=0.01)
    pd.testing.assert_frame_equal(first.chosen, second.chosen)
    assert (first.cost, first.bound) == (second.cost, second.bound)


@pytest.mark.parametrize("seed", SEEDS)
def test_dominated_options_do_not_change_the_optimum(seed):
    """A costlier, hungrier twin of each option is dropped, and the proved cost stays."""
    case = small(seed, pairs=True)
    case = replace(case, limits=case.limits.assign(low=np.nan))
    base = solve(case.instance(), gap=0)
    twin = {name: name + "+" for name in case.options["option"]}
    named = [table.assign(option=table["option"].map(twin))
             for table in (case.options, case.uses, case.marks)]  # fmt: skip
    named[0]["cost"] += 1.0
    named[1]["amount"] += 0.5
    both = [pd.concat(pair) for pair in zip((case.options, case.uses, case.marks), named,
                                            strict=True)]  # fmt: skip
    more = replace(case, options=both[0], uses=both[1], marks=both[2])
    plan = solve(more.instance(), gap=0)
    assert plan.cost == (None if base.cost is None else pytest.approx(base.cost))
    assert plan.dropped == base.dropped + len(case.options)


def test_of_two_like_options_the_first_by_name_is_kept():
    """Three options alike in all: the plan takes the first, and two are dropped."""
    options = pd.DataFrame({"group": "g", "option": ["c", "a", "b"], "cost": 2.0})
    uses = pd.DataFrame({"option": ["a", "b", "c"], "resource": "r", "amount": 1.0})
    limits = pd.DataFrame({"resource": ["r"], "low": [None], "high": [5.0]})
    plan = solve(Instance.from_tables(options, uses, limits))
    assert (picked(plan), plan.dropped) == ({"g": "a"}, 2)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_relaxed_bound_is_below_the_cost_of_whole_options(seed):
    """Shares only help; and where there is a plan there is one in shares."""
    instance = small(seed, pairs=True).instance()
    whole, shares = solve(instance, gap=0), solve(instance, relax=True)
    assert whole.cost is None or shares.cost <= whole.cost + 1e-7


@pytest.mark.parametrize("seed", SEEDS)
def test_prices_are_what_one_more_unit_saves_in_the_relaxation(seed):
    """cost(high + d) >= cost(high) - price x d for each limit: the price is a slope of it."""
    case = small(seed, pairs=True)
    plan = solve(case.instance(), relax=True)
    for row in plan.prices.itertuples():
        assert row.price >= 0.0
        for more in (0.01, 1.0):
            high = case.limits["high"] + more * (case.limits["resource"] == row.resource)
            more_of_it = replace(case, limits=case.limits.assign(high=high))
            wider = solve(more_of_it.instance(), relax=True)
            assert wider.cost >= plan.cost - row.price * more - 1e-6


@pytest.mark.parametrize("seed", SEEDS)
def test_cost_of_a_choice_is_what_the_tables_say(seed):
    """Cost and use of a drawn choice, charged pairs among it, equal the sum in plain Python."""
    case = small(seed, pairs=True)
    draw = np.random.default_rng(seed)
    pick = {f"g{g}": f"g{g}-{draw.integers(0, 4)}" for g in range(4)}
    chosen = pd.DataFrame({"group": pick.keys(), "option": pick.values()})
    cost, used = case.instance().cost_of(chosen)
    found = weigh(case, pick)
    assert cost == pytest.approx(found.cost)
    assert used.to_dict() == pytest.approx(found.used)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_plan_to_begin_from_changes_no_optimum(seed):
    """Begun from a drawn choice, fitting or not: the proved cost is that of enumeration."""
    case = small(seed, pairs=True)
    best = best_by_hand(case)
    start = pd.DataFrame({"group": [f"g{g}" for g in range(4)],
                          "option": [f"g{g}-{seed % 4}" for g in range(4)]})  # fmt: skip
    plan = solve(case.instance(), gap=0, start=start)
    assert plan.cost == (None if best is None else pytest.approx(best.cost))


def test_another_model_agrees_on_the_harvest_in_whole_stands():
    """Forest Model I with whole stands: the core and a model of its own in scipy, to the cent."""
    instance = harvest()
    names = pd.MultiIndex.from_frame(instance.options[["group", "option"]])
    limits = instance.limits.set_index("resource")
    table = instance.uses.pivot_table(index="resource", columns=["group", "option"],
                                      values="amount", fill_value=0.0)  # fmt: skip
    use = table.reindex(index=limits.index, columns=names, fill_value=0.0).to_numpy()
    stands = names.get_level_values(0)
    one = np.array([stands == name for name in stands.unique()], dtype=float)
    low, high = limits["low"].fillna(-np.inf), limits["high"].fillna(np.inf)
    other = milp(instance.options["cost"].to_numpy(), integrality=np.ones(len(names)),
                 bounds=(0, 1), options={"mip_rel_gap": 0.0},
                 constraints=[LinearConstraint(one, 1, 1),
                              LinearConstraint(use, low, high)])  # fmt: skip
    assert solve(instance, gap=0).cost == pytest.approx(other.fun, abs=0.005)


def test_a_plan_stopped_by_the_clock_says_so():
    """A tenth of a second is too little: the status is STOPPED, and the log says time."""
    plan = solve(wide(1, groups=40, options=60), gap=0, seconds=0.1)
    assert plan.status is Status.STOPPED
    assert "(time)" in plan.log[-1]


def test_ctrl_c_gives_the_best_plan_so_far_with_its_gap():
    """SIGINT while it works: STOPPED, a full choice, a bound below the cost, no traceback."""
    main = threading.main_thread().ident
    timer = threading.Timer(4.0, lambda: signal.pthread_kill(main, signal.SIGINT))
    timer.start()
    began = time.monotonic()
    plan = solve(wide(1), gap=0, seconds=120)
    assert time.monotonic() - began < 60
    assert plan.status is Status.STOPPED
    assert len(plan.chosen) == 24
    assert 0 < plan.gap < np.inf
    assert "Ctrl-C" in plan.log[-1]


def test_ctrl_c_while_it_is_told_of_progress_stops_it_too():
    """KeyboardInterrupt out of the owner's own progress: STOPPED with a gap."""

    def told(seconds: float, cost: float, bound: float, gap: float) -> None:
        if cost < np.inf and seconds > 2:
            raise KeyboardInterrupt

    plan = solve(wide(1), gap=0, seconds=120, progress=told)
    assert plan.status is Status.STOPPED
    assert plan.gap > 0


def test_progress_tells_a_bound_that_rises_and_a_cost_that_falls():
    """Each word: bound <= cost, and neither gets worse."""
    words: list[tuple[float, float]] = []
    solve(wide(2), gap=0.01, seconds=20, progress=lambda _, *word: words.append(word[:2]))
    costs, bounds = (np.array(column) for column in zip(*words, strict=True))
    assert (bounds <= costs + 1e-6).all()
    assert (np.diff(costs[np.isfinite(costs)]) <= 1e-6).all()
    assert (np.diff(bounds) >= -1e-6).all()


def test_ctrl_c_in_a_script_prints_a_plan_and_no_traceback():
    """A process of its own that is sent SIGINT ends by itself with the plan's status."""
    script = (
        "from tests.schedule.test_core import wide, solve\n"
        "print('ready', flush=True)\n"
        "plan = solve(wide(1), gap=0, seconds=120)\n"
        "print(plan.status.name, len(plan.chosen), plan.gap > 0)\n"
    )
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE, text=True) as process:  # fmt: skip
        assert process.stdout is not None
        assert process.stdout.readline().strip() == "ready"
        time.sleep(4.0)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert (out.split(), err) == (["STOPPED", "24", "True"], "")


@pytest.mark.parametrize(("table", "change", "said"), [
    ("options", {"cost": np.inf}, "not a finite number"),
    ("uses", {"option": "nobody"}, "uses name options that are not there"),
    ("marks", {"option": "nobody"}, "marks name options that are not there"),
    ("pairs", {"cost": -1.0}, "cost of pairs is negative"),
    ("pairs", {"other": "nobody"}, "pairs name groups that are not there"),
    ("pair_uses", {"amount": -1.0}, "amount that pairs use is negative"),
    ("pair_uses", {"pair": "nobody"}, "uses name pairs that are not there"),
    ("limits", {"low": 1e9}, "low of limits is above the high"),
    ("limits", {"resource": "r"}, "limits stand twice"),
])  # fmt: skip
def test_tables_that_cannot_be_meant_are_named(table, change, said):
    """Each fault is a ValueError that says what is wrong."""
    case = small(1, pairs=True)
    with pytest.raises(ValueError, match=said):
        replace(case, **{table: getattr(case, table).assign(**change)}).instance()


def test_all_faults_are_told_at_once():
    """A doubled option, a negative pair and an endless use come in one message."""
    case = small(1, pairs=True)
    case = replace(
        case,
        options=pd.concat([case.options, case.options.head(1)]),
        uses=case.uses.assign(amount=np.nan),
        pairs=case.pairs.assign(cost=-1.0),
    )
    with pytest.raises(ValueError, match=r"options stand twice.*not a finite.*negative"):
        case.instance()
