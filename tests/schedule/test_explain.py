"""Why each strip is done so and then: the next best, its cost, and what keeps a cheaper way out."""

import itertools

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing.schedule import Instance
from clearing.schedule.board import board_of, cost_by, rows_of, swaps, used_by
from clearing.schedule.option_words import other_words

OWN = {"method": "foliar", "method_id": "foliar:glyphosate_4", "start_season": "fall",
       "start_year": 2027}  # fmt: skip
OTHERS = [
    ({"start_year": 2028}, "the same in fall 2028 instead"),
    ({"start_season": "early_winter"}, "the same in early winter 2027 instead"),
    ({"method_id": "foliar:imazapyr_2"}, "the same with imazapyr 2 instead of glyphosate 4"),
    ({"method_id": "foliar:imazapyr_2", "start_year": 2029},
     "the same with imazapyr 2 instead of glyphosate 4, in fall 2029"),
    ({"method": "cut_and_spray", "method_id": "cut_and_spray:glyphosate_4"},
     "cut-and-spray at the same time"),
    ({"method": "cut_and_spray", "method_id": "cut_and_spray:triclopyr_ester_4",
      "start_year": 2028}, "cut-and-spray with triclopyr ester 4 in fall 2028"),
    ({"method": "not_now", "method_id": "not_now", "start_year": np.nan},
     "to leave it for these years"),
]  # fmt: skip


def drawn(seed: int, groups: int = 4, options: int = 3) -> tuple[Instance, pd.DataFrame]:
    """Return an instance of drawn numbers with pairs between its groups, and a drawn choice."""
    draw = np.random.default_rng(seed)
    names = [f"g{i}" for i in range(groups)]
    rows = [(g, f"{g}o{o}", draw.uniform(0, 100)) for g in names for o in range(options)]
    table = pd.DataFrame(rows, columns=["group", "option", "cost"])
    uses = table[["group", "option"]].merge(pd.DataFrame({"resource": ["r", "s"]}), how="cross")
    uses["amount"] = draw.uniform(-2, 9, len(uses))
    marks = table[["group", "option"]].merge(pd.DataFrame({"mark": [2027, 2028]}), how="cross")
    marks = marks[draw.random(len(marks)) < 0.5]
    both = [(a, b, m) for a, b in itertools.permutations(names, 2) for m in (2027, 2028)]
    pairs = pd.DataFrame(
        [(f"{a}>{b} {m}", a, m, b, m, draw.uniform(0, 40)) for a, b, m in both],
        columns=["pair", "group", "mark", "other", "other_mark", "cost"],
    )
    pair_uses = pairs[["pair"]].assign(resource="r", amount=draw.uniform(0, 3, len(pairs)))
    limits = pd.DataFrame({"resource": ["r", "s"], "low": [None, None], "high": [20.0, 20.0]})
    chosen = table.groupby("group").sample(1, random_state=seed)[["group", "option"]]
    instance = Instance.from_tables(table, uses, limits, marks, pairs, pair_uses)
    return instance, chosen.reset_index(drop=True)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_arrays_cost_a_choice_as_the_instance_does(seed):
    """Cost and use of a choice, pairs among them, agree with `Instance.cost_of`."""
    instance, chosen = drawn(seed)
    board = board_of(instance)
    rows = rows_of(board, chosen)
    cost, used = instance.cost_of(chosen)
    assert cost_by(board, rows) == pytest.approx(cost)
    wanted = used.reindex(list(board.resources)).fillna(0.0).to_numpy()
    assert used_by(board, rows) == pytest.approx(wanted)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_a_swap_changes_cost_and_use_as_a_new_choice_does(seed):
    """Each option of each group, all others held: the difference is that of the whole choice."""
    instance, chosen = drawn(seed)
    board = board_of(instance)
    rows = rows_of(board, chosen)
    cost, use = swaps(board, rows)
    base, base_used = cost_by(board, rows), used_by(board, rows)
    for row in range(len(board.options)):
        other = rows.copy()
        own = other[board.group[row]]
        other[board.group[row]] = row
        assert cost[row] - cost[own] == pytest.approx(cost_by(board, other) - base)
        added = (use[[row]] - use[[own]]).toarray().ravel()
        assert added == pytest.approx(used_by(board, other) - base_used)


@pytest.mark.parametrize(("change", "words"), OTHERS)
def test_the_next_best_is_told_by_what_differs(change, words):
    """Season, year, product or method: only what is another stands in the words."""
    assert other_words(OWN, OWN | change) == words


def test_no_two_options_of_a_strip_read_like_the_same():
    """Whatever differs in method, product, season or year differs in words."""
    kinds = [("foliar", "glyphosate_4"), ("foliar", "imazapyr_2"), ("cut_and_spray", "imazapyr_2")]
    options = [
        {"method": m, "method_id": f"{m}:{p}", "start_season": s, "start_year": y}
        for (m, p), s, y in itertools.product(kinds, ("fall", "summer"), (2027, 2028))
    ]
    for own in options:
        said = [other_words(own, other) for other in options if other is not own]
        assert len(set(said)) == len(options) - 1
