"""What the years bring is the forecast of what the plan does, strip by strip."""

from dataclasses import replace

import pandas as pd
import pytest

from clearing.report import summarise
from clearing.report.ahead import chosen_futures
from clearing.report.strip_facts import has_access, stems_left

COLUMNS = ["strip_id", "method_id", "start_year", "year", "species", "stage", "stems", "stems_low",
           "stems_high", "standing_dead", "canopy_pct"]  # fmt: skip


def told(strip: str, method: str, start: float | None, year: int, thick: float) -> list[tuple]:
    """Return one year of one strip: thick and thin stems, seeds, ten dead ones, shade of 20 %."""
    stems = {"3_6in": thick, "seedling": 2 * thick, "resprout": thick, "seed_bank": 1e6}
    return [(strip, method, start, year, "callery_pear", stage, n, n / 2, 2 * n, 10.0, 20.0)
            for stage, n in stems.items()]  # fmt: skip


def grown(small):
    """Return the small place with a forecast of strip 1a, followed, and of 1b, begun before."""
    rows = told("1a", "hack_and_leave", 2027, 2027, 100) + told("1a", "hack_and_leave", 2027, 2028,
                                                               40)  # fmt: skip
    before = told("1b", "cut_and_spray", 2026, 2027, 30)
    other = told("1b", "cut_and_spray", 2028, 2027, 999)
    options = small.plan.options.copy()
    options.loc[options["strip_id"] == "1b", "start_year"] = 2026
    return replace(
        small,
        followed=pd.DataFrame(rows, columns=COLUMNS),
        futures=pd.DataFrame([*before, *other], columns=COLUMNS),
        plan=replace(small.plan, options=options),
    )


def test_a_strip_begun_before_the_plan_is_in_the_forecast(small):
    """It is not among the strips that seed each other, and comes from its own option."""
    own = chosen_futures(grown(small))
    assert set(own["strip_id"]) == {"1a", "1b"}
    assert own.loc[own["strip_id"] == "1b", "stems"].max() == 1e6
    assert 999 not in set(own["stems"])


def test_thick_and_thin_stems_are_summed_without_seeds(small):
    """Stems of an inch and more apart from seedlings and sprouts; seeds are no stems."""
    ahead = summarise(grown(small)).ahead
    first, second = ahead.strips["1a"]
    assert (first.thick.value, first.thin.value, first.dead.value) == (100, 300, 10)
    assert (second.thick.value, second.thick.low, second.thick.high) == (40, 20, 80)
    assert ahead.place[0].thick.value == 130
    assert ahead.place[0].canopy_pct == 20


def test_ground_counts_from_the_year_of_its_work(small):
    """2 ha are begun in 2027, 1b and 2 follow; 1a is mowed in 2029; without a forecast no stems."""
    ahead = summarise(small).ahead
    assert ahead.place == ()
    acre = 0.40468564224
    assert [row.begun.value for row in ahead.ground] == pytest.approx(
        [2 / acre, 6 / acre, 6 / acre, 6 / acre]
    )
    assert [row.grass.value for row in ahead.ground] == pytest.approx(
        [0, 2 / acre, 4 / acre, 4 / acre]
    )


def test_clear_ground_leaves_out_what_stays_under_stems(small):
    """Half of 1a may not be treated: a hectare of it counts as clear, and the words say so."""
    options = small.plan.options.assign(clear_share=[0.5, 1.0, 1.0, 1.0])
    plan = summarise(replace(small, plan=replace(small.plan, options=options)))
    acre = 0.40468564224
    assert plan.ahead.ground[2].clear.value == pytest.approx(1 / acre)
    assert plan.strips[0].finish == (
        "clear from 2029 on but for about 12 stems left standing, then upkeep only"
    )
    assert plan.left_words.startswith("About 12 stems (9 to 16) an inch and thicker stay standing")


def test_stems_left_are_those_of_the_chosen_method(small):
    """Another method's stems, and thin ones, are not counted."""
    more = small.methods.iloc[[0, 0]].assign(
        method_id=["cut_and_spray", "hack_and_leave"], size_class=["3_6in", "seedling"]
    )
    left = stems_left(replace(small, methods=pd.concat([small.methods, more])))
    assert {name: one.value for name, one in left.items()} == {"1a": 12.0}


def test_without_gate_or_road_no_walk_is_told(small):
    """Where nothing is drawn to come from, the card says so and names no road."""
    bare = replace(small, features=small.features[small.features["kind"] == "water"])
    assert has_access(small)
    assert not has_access(bare)
    assert "no gate or road is drawn" in summarise(bare).strips[0].way_in
