"""The tops go where the owner wants them, and grass is sown in its window after the wait."""

import functools

import pandas as pd
import pytest

from clearing.effort import with_cautions
from clearing.effort.dates import Calendar, calendar
from clearing.effort.later import sowing_seasons
from clearing.rates import for_settings
from tests.effort.conftest import priced
from tests.small_ground import SETTINGS, replace, small_ground

JOBS = {"haul": "haul_tops", "burn": "burn_tops", "chip": "chip_tops", "leave": None}


@functools.cache
def visits_with(**block):
    """Return the visits of the small place with block values replaced: several tests read them."""
    ground = small_ground()
    ground = replace(ground, blocks=ground.blocks.assign(**block))
    walked = priced(ground)
    near = pd.DataFrame(columns=["strip_id", "kind", "name", "species", "distance_m"])
    known = ground.rates, ground.settings
    return with_cautions(walked.visits, walked.methods, near, ground.blocks, *known)


@pytest.mark.parametrize("wish", sorted(JOBS))
def test_the_tops_go_where_the_owner_wants_them(wish):
    """Each word brings its own job and no other; left tops bring none."""
    jobs = set(visits_with(tops=wish)["job"]) & set(JOBS.values())
    assert jobs == ({JOBS[wish]} if JOBS[wish] else set())


def test_without_a_word_tops_are_hauled_from_grass_that_is_mowed_soon():
    """Pasture ready this year is hauled; pasture ready in ten years and woodland are not."""
    soon = visits_with(tops="")
    assert set(soon[soon["job"] == "haul_tops"]["block_id"]) == {"p"}
    assert "haul_tops" not in set(visits_with(tops="", ready_year=2040)["job"])


def test_tops_are_burned_after_they_dried_and_before_the_second_year():
    """No burning in the season of the cut; its caution defers to the county."""
    visits = visits_with(tops="burn")
    burned = visits[visits["job"] == "burn_tops"].set_index("option_id")
    cut = visits[visits["job"] == "cut_and_spray"].drop_duplicates("option_id")
    cut = cut.set_index("option_id").loc[burned.index]
    order = {name: at for at, name in enumerate(calendar(small_ground().rates.seasons).names)}
    gap = (
        (burned["year"] - cut["year"]) * 5 + burned["season"].map(order) - cut["season"].map(order)
    )
    assert (gap > 0).all()
    assert (gap <= 5).all()
    assert burned["cautions"].str.contains("burn").all()


def test_left_tops_keep_the_mower_away_for_longer():
    """Cut and left, the first mowing comes three years after, hauled the year after."""
    first = {}
    for wish in ("leave", "haul"):
        visits = visits_with(tops=wish)
        own = visits[(visits["method"] == "cut_and_spray") & (visits["block_id"] == "p")]
        own = own[own["start_year"] == 2027] if "start_year" in own else own
        mowed = own[own["job"] == "mow"].groupby("option_id")["year"].min()
        cut = own[own["job"] == "cut_and_spray"].groupby("option_id")["year"].min()
        first[wish] = (mowed - cut).dropna().min()
    assert first == {"leave": 3.0, "haul": 1.0}


def test_the_chipper_costs_what_its_hours_cost():
    """Chipping carries the machine's rent under other costs; hauling does not."""
    chip, haul = (visits_with(tops=wish) for wish in ("chip", "haul"))
    assert (chip[chip["job"] == "chip_tops"]["other_cost"] > 0).all()
    assert (haul[haul["job"] == "haul_tops"]["other_cost"] == 0).all()


def test_grass_is_sown_in_its_window_and_region():
    """Cool-season grass in late summer to fall, warm-season grass in spring or early summer."""
    found = {}
    for region in ("upper_south", "gulf_coast"):
        for grass in ("cool", "warm"):
            settings = replace(SETTINGS, region=region, grass=grass)
            found[region, grass] = sowing_seasons(for_settings(settings), settings)
    assert found["upper_south", "cool"] == ["fall"]
    assert "spring" in found["gulf_coast", "warm"]
    assert not set(found["upper_south", "cool"]) & set(found["upper_south", "warm"])


@pytest.mark.parametrize(
    ("sprayed", "window", "days", "sown"),
    [
        ("summer", ["fall"], 21, "fall"),
        ("fall", ["fall"], 21, "fall"),
        ("summer", ["fall", "spring"], 90, "spring"),
        ("fall", ["spring", "fall"], 150, "spring"),
        ("summer", [], 21, ""),
        ("", ["fall"], 0, "fall"),
    ],
)
def test_the_seed_waits_as_long_as_the_label_asks(sprayed, window, days, sown):
    """The first season of the window that ends late enough, else the one longest after."""
    assert calendar(small_ground().rates.seasons).after_spray(sprayed, window, days) == sown


@pytest.mark.parametrize("wish", ["haul", "burn", "chip"])
def test_dead_trees_that_are_felled_are_cleared_away_too(wish):
    """After felling the dead the same job clears their tops, not before."""
    visits = visits_with(tops=wish)
    own = visits[visits["method"] == "hack_then_fell"]
    order = {name: at for at, name in enumerate(calendar(small_ground().rates.seasons).names)}
    date = own["year"] * 5 + own["season"].map(order)
    felled = date[own["job"] == "fell_dead"].groupby(own["option_id"]).max()
    cleared = date[own["job"] == JOBS[wish]].groupby(own["option_id"]).max()
    assert len(felled) > 0
    assert (cleared.reindex(felled.index) >= felled).all()


def test_grass_is_sown_after_the_first_mowing_and_never_before():
    """With grass of either kind the seed follows the mower."""
    for grass in ("cool", "warm"):
        visits = priced(small_ground(grass=grass, years=6)).visits
        order = {name: at for at, name in enumerate(calendar(small_ground().rates.seasons).names)}
        date = visits["year"] * 5 + visits["season"].map(order)
        mown = date[visits["job"] == "mow"].groupby(visits["option_id"]).min()
        sown = date[visits["job"] == "seed"].groupby(visits["option_id"]).min()
        assert len(sown) > 0
        assert (sown >= mown.reindex(sown.index)).all()


def test_no_mowing_is_planned_where_the_slope_is_the_manual_s_to_judge():
    """At 25 percent it is mowed, at 30 it is not, and the ground still has its worth when clear."""
    for slope, mown in ((25.0, True), (30.0, False)):
        ground = small_ground(years=8)
        walked = priced(replace(ground, blocks=ground.blocks.assign(slope_pct=slope)))
        assert ("mow" in set(walked.visits["job"])) == mown
        assert (walked.options["worth"] > 0).any()


def test_a_strip_is_done_in_the_year_from_which_it_stays_done():
    """After the finish year no follow-up is planned, only upkeep."""
    walked = priced(small_ground(years=12))
    finish = walked.visits["option_id"].map(walked.options.set_index("option_id")["finish_year"])
    later = (walked.visits["year"] > finish) & (walked.visits["year"] < 2027 + 12)
    assert walked.options["finish_year"].notna().any()
    assert "follow_up" not in set(walked.visits[later]["job"])


def test_a_wait_after_a_season_over_new_year_is_counted_from_its_last_month():
    """Four months after a winter of December to February are not the spring right after."""
    seasons = Calendar(
        ("spring", "summer", "fall", "winter"), (True,) * 4,
        ((3, 4, 5), (6, 7, 8), (9, 10, 11), (12, 1, 2)),
    )  # fmt: skip
    assert seasons.after(3, 3) == (1, 1)
    assert seasons.after(3, 4) == (1, 2)
    assert seasons.after(0, 4) == (0, 3)
