"""Three seasons on ground where all hand work takes longer than the handbook says.

The small version of ``tests/benchmarks/bench_seasons.py``: the truth is one and the same here, so
that what was learned can be held against it.
"""

import numpy as np
import pandas as pd
import pytest

from clearing.rates import FIGURE, for_settings
from tests import seasons

SLOWER = 1.7
SECONDS = ("base_s", "per_cm_s", "setup_h", "search_h_per_ha", "hours_per_ha", "refill_min")


@pytest.fixture(scope="module")
def stories():
    """Return the stories of an owner whose plans learn, and of one whose plans do not."""
    place = seasons.small_sample(years=5, blocks=("1", "2", "5"))
    first = seasons.planned_on(place, 0.05, None, True)
    base = for_settings(place.settings)
    slow = base.figures[base.figures["item"].isin(SECONDS)]
    slow = slow.assign(**{name: slow[name] * SLOWER for name in ("value", "low", "high")})
    rates = seasons.replace(
        base, figures=pd.concat([slow[["subject", "item", *FIGURE]], base.figures])
    )
    kill = dict(zip(base.recipes["recipe_id"], base.recipes["kill"], strict=True))
    truth = seasons.Truth(rates, kill, dict.fromkeys(first.strips["strip_id"].astype(str), 1.0))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(seasons, "draw_truth", lambda *given: truth)
        patch.setattr(seasons, "LOGGED", {"hours": 0.0, "product_l": 0.0})
        return [seasons.live(place, 1, 3, learn, 0.05, first) for learn in (True, False)]


def off(story, number: int) -> float:
    """Return by what logarithm the hours of a year missed what was foretold of them."""
    year = story.years[number]
    return abs(np.log(year.took["hours"] / year.foretold["hours"]))


def test_foretold_hours_come_near_within_two_years(stories):
    """Off by half in the first year, by less than half of that in the third."""
    learned, _ = stories
    assert off(learned, 0) > 0.3
    assert off(learned, 2) < 0.5 * off(learned, 0)


def test_a_plan_that_never_learns_stays_as_far_off(stories):
    """The same owner with the handbook alone."""
    _, never = stories
    assert off(never, 2) > 0.6 * off(never, 0)


def test_what_was_learned_is_near_the_truth_and_says_what_it_weighs(stories):
    """Cutting and hacking: between the handbook and 1.7 times it, nearer to the truth."""
    learned = stories[0].last
    table = learned.lessons[learned.lessons["item"] == "base_s"].set_index("subject")
    for job in ("cut_and_spray", "hack_and_squirt"):
        row = table.loc[job]
        assert (1 + SLOWER) / 2 < row["now"] / row["was"] < 1.15 * SLOWER
        assert row["weight"] > 0.5


def test_treated_strips_stay_treated_and_the_plan_moves_on(stories):
    """What was begun is held to its year, and the plan starts after the last season logged."""
    learned = stories[0].last
    assert learned.property.settings.first_year == 2029
    begun = learned.options[learned.options["start_year"] < 2029]
    assert len(set(begun["strip_id"])) >= 2
    assert learned.plan.visits["year"].min() == 2029
