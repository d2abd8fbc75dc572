"""Settings are read in the owner's units, and every wrong key is named."""

import pytest

from clearing.settings import settings_from
from clearing.units import volume_l

GOOD = {
    "property": {"name": "Home", "first_year": 2027, "years": 3},
    "targets": {"species": ["Callery pear"]},
}


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
