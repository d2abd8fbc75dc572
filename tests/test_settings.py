"""Settings are read in the owner's units, and every wrong key is named."""

import datetime
from pathlib import Path

import pytest

import clearing
from clearing.settings import settings_from
from clearing.units import KG_L_PER_LB_GAL, volume_l

GOOD = {
    "property": {"name": "Home", "first_year": 2027, "years": 3},
    "targets": {"species": ["Callery pear"]},
}
JUG = {"active_ingredient": "glyphosate", "lb_ae_per_gal": 4.0}


def jug_problems(name: str = "mine", **more: object) -> list[str]:
    """Return what is wrong with one herbicide."""
    return settings_from(GOOD | {"herbicide": {name: JUG | more}})[1]


def test_defaults_are_named():
    """What nobody gave is filled in and listed."""
    settings, problems = settings_from(GOOD)
    assert problems == []
    assert settings.targets == ("callery_pear",)
    assert "[crew] people = 2" in settings.defaulted


def test_strip_wish_in_acres_becomes_hectares():
    """Three acres are 1.214 ha (43,560 square feet of 0.3048 m)."""
    settings, _ = settings_from(GOOD | {"strips": {"acres": 3}})
    assert settings.strip_ha == pytest.approx(3 * 0.40468564224)


def test_the_price_of_oil_is_taken_by_the_gallon_or_the_litre():
    """A gallon is 3.785411784 L (231 cubic inches); both prices at once are named."""
    by_gal, problems = settings_from(GOOD | {"money": {"oil_per_gal": 14}})
    assert problems == []
    assert by_gal.money.oil_per_l == pytest.approx(14 / 3.785411784)
    assert settings_from(GOOD | {"money": {"oil_per_l": 4}})[0].money.oil_per_l == 4
    [said] = settings_from(GOOD | {"money": {"oil_per_l": 4, "oil_per_gal": 14}})[1]
    assert "[money] oil_per_l" in said
    assert "keep one of them" in said


def test_misspelt_section_and_key_are_named_together():
    """Both faults stand in one list, each with the nearest name."""
    _, problems = settings_from(GOOD | {"crews": {}, "money": {"budget_per_yaer": 100}})
    text = " ".join(problems)
    assert "[crews] is not known (did you mean 'crew'?)" in text
    assert "budget_per_yaer is not known (did you mean 'budget_per_year'?)" in text


def test_strength_of_a_product_is_asked_for():
    """A herbicide without its strength is refused in words."""
    _, problems = settings_from(GOOD | {"herbicide": {"mine": {"active_ingredient": "x"}}})
    assert "pounds of acid equivalent a gallon" in problems[0]


@pytest.mark.parametrize(
    ("text", "litres"), [("1gal", 3.785411784), ("4.5 floz", 0.1330808830), ("2L", 2.0)]
)
def test_volumes_of_the_trade(text, litres):
    """US gallon 231 cubic inches, fluid ounce a 128th of it (NIST Handbook 44, read)."""
    assert volume_l(text) == pytest.approx(litres, abs=1e-9)


def test_herbicides_of_the_sample_stay_good(place):
    """The sample's products are read as before, with their sites, methods and strengths."""
    jugs = {product.name: product for product in place.settings.herbicides}
    assert jugs["glyphosate_4"].sites == ("pasture", "silvopasture", "woodland", "water_edge")
    assert jugs["imazapyr_2"].methods == ("hack_and_squirt", "cut_and_spray")
    assert jugs["triclopyr_amine_3"].ae_kg_per_l == pytest.approx(3.0 * KG_L_PER_LB_GAL)
    assert clearing.read(Path(__file__).parent / "data" / "longleaf_stand").settings.herbicides


@pytest.mark.parametrize("name", ["glyphosate_4", "Glyphosate-4", "glyphosate 4"])
@pytest.mark.parametrize("active", ["imazapyr", "glyphosate + imazapyr", "triclopyr amine"])
def test_a_name_of_the_handbook_may_not_hide_another_active_ingredient(name, active):
    """Both are named in one sentence; the right one passes under that name."""
    (problem,) = jug_problems(name, active_ingredient=active)
    assert f"[herbicide.{name}] is named like a product of the handbook" in problem
    assert repr(active) in problem
    assert "'glyphosate'" in problem
    assert jug_problems(name) == []
    assert jug_problems("blue_jug", active_ingredient=active) == []


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        ({"wind_max_mph": 0}, "wind_max_mph is 0.0; write a number from 1 to 60"),
        ({"max_temp_c": 90}, "max_temp_c is 90.0; write a number from 4 to 55"),
        ({"wind_min_kmh": 9, "wind_max_kmh": 8}, "wind_max_kmh is 8; write the lower end"),
        ({"wind_max_mph": 10, "reentry_hours": 48, "max_temp_f": 85}, ""),
    ],
)
def test_a_line_of_the_day_that_can_stand_on_no_label_is_named(limits, said):
    """Wind, heat and the rest have ends of their own; what a label can say is taken."""
    problems = jug_problems(limits=limits)
    assert len(problems) == bool(said)
    assert all(said in one and "[herbicide.mine.limits]" in one for one in problems)


def test_words_of_methods_and_sites_are_forgiven_case_blanks_and_hyphens():
    """Pasture, Water edge and cut and spray are what was meant."""
    more = {"sites": ["Pasture", "Water edge"], "methods": ["cut and spray", "Hack-and-Squirt"]}
    settings, problems = settings_from(GOOD | {"herbicide": {"mine": JUG | more}})
    assert problems == []
    assert settings.herbicides[0].sites == ("pasture", "water_edge")
    assert settings.herbicides[0].methods == ("cut_and_spray", "hack_and_squirt")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"methods": ["foliage"]}, "did you mean 'foliar'?"),
        ({"methods": ["fogging"]}, "write words out of hack_and_squirt, cut_and_spray"),
        ({"sites": ["pastur"]}, "did you mean 'pasture'?"),
        ({"sites": [7]}, "write words out of pasture, silvopasture"),
        ({"price": [38, 82], "container_gal": [1.0]}, "one price for each container; 1 is named"),
        ({"price": 38}, "0 are named"),
        ({"container_gal": 1, "container_l": 4}, "container_l is given too"),
        ({"on_hand_gal": 1, "on_hand_l": 4}, "on_hand_l is given too"),
        ({"kg_ae_per_l": 0.36}, "lb_ae_per_gal = 4 is 0.479"),
        ({"active_ingredient": 4}, "write it as on the label"),
    ],
)
def test_what_is_wrong_with_a_herbicide_is_named(more, said):
    """One sentence with what was found and what would be right."""
    (problem,) = jug_problems(**more)
    assert problem.startswith("property.toml: [herbicide.mine] ")
    assert said in problem


def test_a_strength_said_twice_may_differ_by_rounding():
    """4 lb a gallon is 0.4793 kg a litre (0.11983 kg/l to the pound a gallon): 0.48 agrees."""
    assert jug_problems(kg_ae_per_l=0.48) == []
    assert jug_problems(kg_ae_per_l=0.49) != []


def test_containers_without_a_price_are_no_problem():
    """Nobody has to know a price."""
    assert jug_problems(container_gal=[1.0, 2.5]) == []


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"crew": {"hours_per_day": {"sumer": 3}}}, "sumer is 3; write names out of late_winter"),
        ({"crew": {"hours_per_day": {"sumer": 3}}}, "did you mean 'summer'?"),
        ({"crew": {"people": 2, "sawyers": 3}}, "write at most the number of people, which is 2"),
        ({"plan": {"done_when": {"seedling_per_acre": 5}}}, "did you mean 'seedlings_per_acre'?"),
        ({"plan": {"done_when": {"seedlings_per_acre": 5, "seedlings_per_ha": 9}}}, "keep one"),
        ({"money": {"value_per_acre_year": {"pastur": 60}}}, "did you mean 'pasture'?"),
        ({"money": {"value_per_ha_year": {"lawn": 60}}}, "out of pasture, silvopasture, woodland"),
        ({"money": {f"value_per_{unit}_year": {"pasture": 60} for unit in ("acre", "ha")}},
         "value_per_ha_year names pasture too; keep one"),
        ({"contractor": {"mowing_per_stem": 2}}, "mowing_per_acre or mowing_per_hour"),
        ({"contractor": {"seeding_per_stem": 2}}, "seeding_per_acre or seeding_per_hour"),
        ({"contractor": {"marking_per_stem": 2}}, "marking_per_acre or marking_per_hour"),
    ],
)  # fmt: skip
def test_what_is_wrong_inside_a_table_is_named(more, said):
    """A key inside braces is looked at like any other, with what would be right."""
    settings, (problem,) = settings_from(GOOD | more)
    assert settings is None
    assert said in problem


def test_hours_may_be_given_for_the_owner_s_own_seasons():
    """Where [[season]] names the seasons, those names hold, and the region's no more."""
    own = GOOD | {"season": [{"name": "dry", "months": [5, 6, 7]}]}
    settings, problems = settings_from(own | {"crew": {"hours_per_day": {"dry": 5}}})
    assert problems == []
    assert settings.crew.hours_per_day == {"dry": 5.0}
    assert (
        "write names out of dry"
        in settings_from(own | {"crew": {"hours_per_day": {"summer": 5}}})[1][0]
    )


def test_seedlings_may_be_counted_by_the_hectare():
    """40 an acre is 98.84 a hectare (2.47105 acres a hectare): both say the same."""
    acre, metric = (
        settings_from(GOOD | {"plan": {"done_when": done}})[0].seedlings_per_ha
        for done in ({"seedlings_per_acre": 40}, {"seedlings_per_ha": 98.842})
    )
    assert acre == pytest.approx(metric, abs=0.01)


def test_words_of_labels_for_the_same_site_or_method_are_taken_as_ours():
    """Forest is woodland, a follow-up is a leaf spray, and rangeland is a site of its own."""
    more = {"sites": ["Forest", "range", "pastures"], "methods": ["follow-up", "Cut stump"]}
    settings, problems = settings_from(GOOD | {"herbicide": {"mine": JUG | more}})
    assert problems == []
    (product,) = settings.herbicides
    assert product.sites == ("woodland", "rangeland", "pasture")
    assert product.methods == ("foliar", "cut_and_spray")


@pytest.mark.parametrize("given", [datetime.date(2026, 3, 1), "2026-03-01",
                                   datetime.datetime(2026, 3, 1, 9)])  # fmt: skip
def test_a_labels_date_is_a_day(given):
    """Bare or in quotes, and with an hour behind it, it is the same day."""
    settings, problems = settings_from(GOOD | {"herbicide": {"mine": JUG | {"date": given}}})
    assert problems == []
    assert settings.herbicides[0].label_date == "2026-03-01"


def test_a_label_without_a_date_has_none():
    """The line of the empty property, date = "", is no problem and no day."""
    settings, problems = settings_from(GOOD | {"herbicide": {"mine": JUG | {"date": ""}}})
    assert problems == []
    assert settings.herbicides[0].label_date == ""


@pytest.mark.parametrize(
    "given", ["spring", "2026", 2026, "2026-02-30", "1989-12-31", datetime.date(2201, 1, 1), True,
              [datetime.date(2026, 3, 1)], datetime.time(9)]
)  # fmt: skip
def test_a_labels_date_that_is_no_day_is_named(given):
    """Words, years and days that no plan has are told with one such as would be right."""
    said = jug_problems(date=given)
    assert len(said) == 1
    assert said[0].startswith("property.toml: [herbicide.mine] date is ")
    assert said[0].endswith("; write a date such as 2026-03-01, from 1990-01-01 to 2200-12-31")
