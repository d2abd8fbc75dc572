"""The crew's own tank and bottle are read in either unit, and hold wherever a tank is filled."""

import pytest

from clearing.rates import for_settings
from clearing.settings import settings_from

GOOD = {
    "property": {"name": "Home", "first_year": 2027, "years": 3},
    "targets": {"species": ["callery_pear"]},
}


def crew_of(**said: object):
    """Return the settings and problems of one crew."""
    return settings_from(GOOD | {"crew": said})


@pytest.mark.parametrize(
    ("said", "tank", "bottle"),
    [
        ({"tank_gal": 4, "bottle_floz": 32}, 15.141647136, 0.946352946),
        ({"tank_l": 15, "bottle_ml": 750}, 15.0, 0.75),
    ],
)
def test_tank_and_bottle_become_litres(said, tank, bottle):
    """A gallon is 3.785411784 l and a fluid ounce a 128th of it (NIST Handbook 44, read)."""
    settings, problems = crew_of(**said)
    assert problems == []
    assert settings.crew.tank_l == pytest.approx(tank)
    assert settings.crew.bottle_l == pytest.approx(bottle)


def test_the_owners_tank_replaces_the_handbooks_filling():
    """Leaf and bark sprays are filled by the tank, cuts and stumps by the bottle."""
    settings, _ = crew_of(tank_l=11, bottle_ml=500)
    figures = {job: for_settings(settings).figure(job, "refill_l") for job in
               ("foliar", "basal_bark", "follow_up", "upkeep", "hack_and_squirt",
                "cut_and_spray")}  # fmt: skip
    assert {job: one.value for job, one in figures.items()} == {
        "foliar": 11, "basal_bark": 11, "follow_up": 11, "upkeep": 11,
        "hack_and_squirt": 0.5, "cut_and_spray": 0.5,
    }  # fmt: skip
    assert {one.seen for one in figures.values()} == {"owner"}


def test_without_a_word_the_handbooks_filling_stands():
    """Nobody gave a tank: the figure is the handbook's, and says so."""
    settings, _ = crew_of(people=2)
    assert for_settings(settings).figure("foliar", "refill_l").seen != "owner"


@pytest.mark.parametrize(
    ("said", "right"),
    [
        ({"tank_gal": 4, "tank_l": 15}, "[crew] tank_gal is 4; tank_l is given too"),
        ({"bottle_floz": "one"}, "[crew] bottle_floz is 'one'; write a number from"),
        ({"tank_gal": 0}, "[crew] tank_gal is 0; write a number from"),
    ],
)
def test_a_tank_that_cannot_be_is_named(said, right):
    """Twice given, a word, or nothing in it: the key, what was found, what would be right."""
    _, problems = crew_of(**said)
    assert len(problems) == 1
    assert right in problems[0]


def test_done_when_speaks_metric_too():
    """A count an acre is 2.471 times as many a hectare; the metric key is a hectare's."""
    metric, _ = settings_from(GOOD | {"plan": {"done_when": {"stems_over_25mm": 5}}})
    us, _ = settings_from(GOOD | {"plan": {"done_when": {"stems_over_1in": 5}}})
    assert metric.stems_over_1in == 5
    assert us.stems_over_1in == pytest.approx(5 / 0.40468564224)
    both = {"stems_over_1in": 1, "stems_over_25mm": 2}
    _, problems = settings_from(GOOD | {"plan": {"done_when": both}})
    assert "stems_over_25mm is given too" in problems[0]


def test_hours_are_given_by_the_owners_own_season_names():
    """A season called late fall has a key of one word, and its hours are found under its name."""
    seasons = [{"name": "Late fall: deer", "months": [10, 11]}, {"name": "spring", "months": [4]}]
    settings, problems = settings_from(
        GOOD | {"season": seasons, "crew": {"hours_per_day": {"Late fall: deer": 4}}}
    )
    assert problems == []
    assert [(one.name, one.label) for one in settings.seasons] == [
        ("late_fall_deer", "Late fall: deer"), ("spring", "spring"),
    ]  # fmt: skip
    assert settings.crew.hours_per_day == {"late_fall_deer": 4}


def test_two_seasons_of_one_name_are_named():
    """Late fall and late_fall would be one season: the second is told."""
    seasons = [{"name": "Late fall", "months": [10]}, {"name": "late_fall", "months": [11]}]
    _, problems = settings_from(GOOD | {"season": seasons})
    assert problems == [
        "property.toml: [[season]] 'late_fall' is named twice; give each season a name of its own"
    ]
