"""The tops go where the owner wants them, and grass is sown in its window after the wait."""

import pytest

from clearing.effort.dates import calendar
from clearing.effort.later import sowing_seasons
from clearing.rates import for_settings
from tests.effort.conftest import priced
from tests.small_ground import SETTINGS, replace, small_ground

JOBS = {"haul": "haul_tops", "burn": "burn_tops", "chip": "chip_tops", "leave": None}


def visits_with(**block):
    """Return the visits of the small place with block values replaced."""
    ground = small_ground()
    return priced(replace(ground, blocks=ground.blocks.assign(**block))).visits


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
