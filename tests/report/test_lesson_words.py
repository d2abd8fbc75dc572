"""What the log taught, in words: each figure with its range, its weight and what it was."""

import math
from dataclasses import replace

import pytest

from clearing.property import Settings
from clearing.report.lesson_words import learned
from tests.report.logged_place import lesson, logged


def told(*lessons, units="us"):
    """Return the lessons of a log in words."""
    return learned(logged([], lessons=list(lessons), units=units))


def test_the_two_times_at_a_stem_are_told_as_one():
    """1.2 and 1.875 times: the middle of their logarithms is sqrt(1.2 x 1.875) = 1.5."""
    one, = told(lesson("pace", "cut_and_spray", "base_s", 1.2),
                lesson("pace", "cut_and_spray", "per_cm_s", 1.875))  # fmt: skip
    assert one.now == pytest.approx(math.sqrt(1.2 * 1.875))
    assert one.words == "Cut-and-spray, at a stem: 1.5 times the handbook's time (1.4 to 1.7)."


def test_the_weight_says_what_is_the_logs():
    """83 % from nine pieces of work, and 17 % of the handbook."""
    (one,) = told(lesson("dose", "foliar", "dose_factor", 1.2))
    assert one.basis == "weight 83 % from 9 pieces of work here, 17 % handbook"


def test_figures_that_moved_along_with_their_kin_are_left_out():
    """No row of the log is of them."""
    assert told(lesson("pace", "foliar", "setup_h", 1.2, rows=0)) == ()


def test_the_most_weight_comes_first():
    """90 % before 83 %."""
    light, heavy = lesson("back", "callery_pear", "return_factor", 1.2), lesson("stems", "1", "", 2)
    heavy = (*heavy[:8], 0.9, heavy[9])
    assert [one.kind for one in told(light, heavy)] == ["stems", "back"]


def test_hours_of_an_area_are_the_owners():
    """2 hours a hectare are 0.81 an acre (0.40469 ha, NIST HB 44)."""
    given = lesson("pace", "mark", "hours_per_ha", 2.0)
    assert told(given)[0].now_words == "0.81 hours an acre (0.73 to 0.89)"
    assert told(given, units="metric")[0].now_words == "2 hours a ha (1.8 to 2.2)"


def test_a_slower_mower_takes_more_time():
    """At half the speed it takes twice as long."""
    assert told(lesson("mower", "brush_thicket", "mow_kmh", 0.5))[0].change == 2.0


def test_a_kill_is_told_in_percent_from_stems():
    """62 % of the stems from 40 counted, with recipe and species in words."""
    (one,) = told(lesson("kill", "callery_pear", "hack_glyphosate", 0.62, 40))
    assert "on Callery pear: kills 62 % (56 to 68) of the stems; 100 % in the handbook" in one.words
    assert one.basis.startswith("weight 83 % from 40 stems counted here")


def test_stems_are_told_of_their_block_by_name():
    """The block is called as the owner calls it."""
    (one,) = told(lesson("stems", "2", "", 1.3))
    assert one.words.startswith("Stems in Long pasture: 1.3 times as many as were counted")


def test_the_owners_own_figure_is_not_called_the_handbooks():
    """What the settings gave is told as theirs."""
    made = logged([], lessons=[lesson("back", "my_pear", "return_factor", 1.2)])
    settings: Settings = made.property.settings
    own = {"my_pear": {"like": "callery_pear", "return_factor": 1.0}}
    made = replace(made, property=replace(made.property, settings=replace(settings, species=own)))
    assert learned(made)[0].basis.endswith("17 % settings")
