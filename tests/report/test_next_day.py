"""The next day in words: how far, what to load, no-go without figures, label lines, seasons."""

import datetime as dt
import json
import re
from dataclasses import replace

import pytest

from clearing.errors import InputError
from clearing.report.next_words import WIDE, next_lines
from clearing.report.plain_facts import plain
from clearing.units import HA_PER_ACRE
from tests.report.next_place import SUMMER, day_of, log_of, next_of, said_of
from tests.report.small_place import HOSTILE, small_results

HACK = {"date": "2027-07-03", "strip_id": "1a", "job": "hack_and_squirt"}
FALL = dt.date(2028, 9, 5)
OWN = {"wind_max_mph": 8.0, "wind_min_mph": 3.0, "max_temp_f": 85.0, "rain_free_hours": 4.0,
       "reentry_hours": 24.0, "stump_minutes": 5.0}  # fmt: skip


def words_of(day) -> str:
    """Return the day on the terminal in one line."""
    return " ".join(" ".join(next_lines(day)).split())


def labelled(results, confirmed: bool = True, **limits: float):
    """Return a place with these lines on the label of its first product."""
    products = results.rates.products
    own = replace(products[0], limits=limits, confirmed=confirmed)
    return replace(results, rates=replace(results.rates, products=(own, *products[1:])))


def test_half_a_visit_is_half_its_ground_its_stems_and_its_product(small):
    """Of 10 hours on 2 ha with 300 stems and a litre of product, five hours are half of each."""
    day = day_of(small, people=2, hours=2.5)
    (job,) = day.jobs
    assert (job.share, job.left_after) == pytest.approx((0.5, 0.5))
    assert (job.share_low, job.share_high) == pytest.approx((5 / 13, 5 / 8))
    assert f"{1 / HA_PER_ACRE:.1f} (1.9 to 3.1) acres of 4.9 acres, about 150 stems" in job.how_far
    assert "about 17 fl oz" in day.load[0]  # half a litre


def test_the_rest_of_a_begun_visit_is_the_next_day(small):
    """The half that is logged is off; the other half is done and nothing of it is left."""
    log = log_of(HACK | {"area_ha": 1.0})
    day = day_of(small, log=log, people=2, hours=4)
    assert day.jobs[0].share == pytest.approx(0.5, abs=1e-3)
    assert day.jobs[0].left_after == pytest.approx(0.0, abs=1e-9)
    assert "the 50 % that is left" in day.jobs[0].how_far


def test_people_and_hours_are_the_crew_s_where_nobody_says(small):
    """[crew] has two people of six hours; hours by season are those of the day's season."""
    assert day_of(small).crew == "2 people, 6 hours each"
    place, crew = small.property, small.property.settings.crew
    settings = replace(place.settings, crew=replace(crew, hours_per_day={"summer": 2.5, "fall": 8}))
    short = replace(small, property=replace(place, settings=settings))
    assert day_of(short).crew == "2 people, 2.5 hours each"


def test_a_season_that_is_not_open_says_when_it_is(small):
    """In May the summer's work is told with June 1; in July nothing of the sort is said."""
    assert day_of(small, dt.date(2027, 5, 2)).season == (
        "Planned for summer 2027. On May 2, 2027 that season is not open; the next open day is "
        "June 1, 2027."
    )
    assert day_of(small).season == ""


def test_late_work_is_told_and_other_strips_go_on(small):
    """In fall 2028 the summer's strips are late and wait for June; the follow-up is the day."""
    day = day_of(small, FALL, log_of(HACK))
    assert [job.job_key for job in day.jobs] == ["follow_up"]
    assert len(day.overdue) == 2
    assert all("June 1, 2029" in line for line in day.overdue)


def test_a_product_without_a_confirmed_label_has_no_tank(small):
    """Imazapyr: no go and what to confirm, no tank, no figure of its wind, heat or rain."""
    day = day_of(small, FALL, log_of(HACK))
    assert (day.mixes, day.tanks, day.order, day.go) == ((), (), (), ())
    assert day.no_go[0] == "Imazapyr 2: no go until the label is read and confirmed."
    assert "(no go yet)" in words_of(day)
    assert "fl oz" not in words_of(day)
    assert not any(
        "mix_l" in one for one in [said_of(small)["told"]["doing"][day.jobs[0].visit_id]]
    )


def test_a_label_that_lost_its_confirmation_has_no_tank_either(small):
    """The plan was made with a confirmed label; what the settings say now counts."""
    day = next_of(labelled(small, confirmed=False), said_of(small))
    assert day.tanks == ()
    assert day.no_go[0] == "Glyphosate 4: no go until the label is read and confirmed."


def test_the_go_table_says_the_label_s_own_figures(small):
    """Wind, heat, dry hours and re-entry are the label's, without a blank for it."""
    spray = labelled(small, **OWN)
    said = said_of(spray)
    said["told"]["visits"]["1a-2027-summer-hack_and_squirt"]["job_key"] = "foliar"
    text = words_of(next_of(spray, said))
    for figure in ("Wind 3 to 8 mph", "Heat below 85 °F", "Dry for 4 hours", "for 24 hours"):
        line = re.search(f"{figure}.*?Found|{figure}.*?Seen", text)
        assert line, figure
        assert "your label" in line[0]
        assert "Your label: ______" not in line[0]


def test_a_metric_owner_reads_metric():
    """Hectares, litres, km/h and degrees Celsius; no acre, ounce or mile."""
    metric = labelled(small_results(units="metric"), **OWN)
    said = said_of(metric)
    said["told"]["visits"]["1a-2027-summer-hack_and_squirt"]["job_key"] = "foliar"
    text = words_of(next_of(metric, said, people=2, hours=2.5))
    assert "about 50 % of the strip: 1 (0.77 to 1.2) ha of 2 ha" in text
    assert "Wind 5 to 12 km/h" in text  # 3 to 8 mph, at the safe end of each
    assert "29 °C" in text  # 85 degrees F are 29.4
    assert not re.search("acre|fl oz| mph| ft |°F", text)


def test_one_person_does_nothing_with_a_saw_or_an_axe(small):
    """Axe work is left out, the sentence says why, and nothing after it on its strip is done."""
    day = day_of(small, people=1)
    assert (day.jobs, day.tanks) == ((), ())
    assert day.left == (
        "Strip 1a, Strip 1a: hack-and-squirt needs a second person: do not work alone with a saw "
        "or an axe.",
    )
    assert "Left for another day: - Strip 1a" in words_of(day)
    assert day_of(small, people=2).left == ()


def test_a_plan_of_years_back_is_told_first_and_still_gives_the_day(small):
    """A plan from 2027 is three years old in 2030, and none is told of one from last year."""
    day = day_of(small, dt.date(2030, 7, 3))
    assert day.again[0].startswith("This plan is 3 years old")
    assert "plan again first" in day.again[0]
    assert day.jobs
    assert day_of(small, dt.date(2028, 7, 3)).again == ()


def test_two_lines_that_read_alike_say_species_and_strength(small):
    """Two visits of one strip, job and product are told apart by whom they treat and how strong."""
    said = said_of(small)
    one = "1a-2027-summer-hack_and_squirt"
    row = next(row for row in said["visits"] if row["visit_id"] == one)
    said["visits"].append({**row, "visit_id": "again"})
    told = said["told"]
    told["visits"]["again"], told["doing"]["again"] = told["visits"][one], dict(told["doing"][one])
    part = told["doing"][one]["parts"][0]
    for name, species, percent in ((one, "callery_pear", 50.0), ("again", "tree_of_heaven", 100.0)):
        told["doing"][name]["parts"] = [{**part, "species": [species], "percent": percent}]
    text = words_of(next_of(small, said, people=4, hours=12))
    assert "of Callery pear (50 % in water) with" in text
    assert "of tree-of-heaven (undiluted) with" in text


def test_a_strip_or_a_block_can_be_asked_for(small):
    """By its id or its name in any case; one that is none names those there are."""
    day = dt.date(2028, 7, 1)
    assert day_of(small, day, strip="1B").jobs[0].strip_id == "1b"
    assert day_of(small, day, strip="long pasture").jobs[0].strip_id == "2"
    with pytest.raises(InputError, match=r"--strip is '1c'.*1a.*did you mean"):
        day_of(small, strip="1c")


def test_when_all_is_logged_nothing_is_left(small):
    """Five rows for five visits."""
    done = [("2027-07-03", "1a", "hack_and_squirt"), ("2028-09-09", "1a", "follow_up"),
            ("2029-02-02", "1a", "mow"), ("2028-07-07", "1b", "cut_and_spray"),
            ("2028-07-07", "2", "mow")]  # fmt: skip
    log = log_of(*({"date": day, "strip_id": strip, "job": job} for day, strip, job in done))
    day = day_of(small, log=log)
    assert day.nothing == "Nothing of the plan is left to do."
    assert next_lines(day)[0] == day.nothing
    assert day.jobs == ()


def test_the_same_day_is_the_same_and_is_plain(small):
    """Twice the same facts, and all of them go into JSON without a number that is none."""
    first, second = day_of(small), day_of(small)
    assert first == second
    json.dumps(plain(first), allow_nan=False)


def test_lines_fit_a_terminal_and_call_nothing_safe():
    """Eighty letters at the most, whatever the names; nothing is said to be safe or allowed."""
    for results in (small_results(), small_results(HOSTILE)):
        lines = next_lines(day_of(results, SUMMER))
        assert max(map(len, lines)) <= WIDE
        assert not re.search(r"\b(is safe|allowed|permitted)\b", " ".join(lines[:-2]))
