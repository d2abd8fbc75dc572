"""Volumes and percents as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.units import (
    L_PER_GAL,
    VOLUME_L,
    ground_ha,
    heat_c,
    percent_from,
    rate_l_ha,
    share_of_tank_l,
    volume_l,
    wind_kmh,
)

FLOZ = 0.0295735295625  # 231 cubic inches over 128 (NIST Handbook 44)


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("4.5 fl oz", 4.5 * FLOZ), ("4.5 Fl. Oz.", 4.5 * FLOZ), ("4.5floz", 4.5 * FLOZ),
        ("2 fluid ounces", 2 * FLOZ), ("1/2 gal", 64 * FLOZ), (".5 gal", 64 * FLOZ),
        ("½ gallon", 64 * FLOZ), ("1 1/2 qt", 48 * FLOZ), ("1½ quarts", 48 * FLOZ),
        ("1-1/2 QT", 48 * FLOZ), ("3 pints", 48 * FLOZ), ("2 cups", 16 * FLOZ),
        ("2 Tablespoons", FLOZ), ("6 tsp", FLOZ), ("2 liters", 2.0), ("2 litre", 2.0),
        ("1/3 gal", 128 / 3 * FLOZ), ("⅓ gal", 128 / 3 * FLOZ), ("1⅔ cups", 40 / 3 * FLOZ),
        ("1,000 gal", 128_000 * FLOZ), ("1,250.5 L", 1250.5),
        (" 250 mL ", 0.25), ("5 ML", 0.005), ("3 cc", 0.003),
    ],
)  # fmt: skip
def test_volumes_are_read_as_people_write_them(text, litres):
    """Spaces, capitals, dots, plurals, fractions (US measures of NIST Handbook 44)."""
    assert volume_l(text) == pytest.approx(litres, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    ["-1 gal", "nan gal", "inf gal", "5", "gal", "", "1 bucket", "1e5 gal", "1/0 gal", "1,5 L",
     "9" * 400 + "gal"],
)  # fmt: skip
def test_what_is_no_volume_is_refused(text):
    """Below nought, no number, no unit, an unknown one, a division by nought, too large."""
    with pytest.raises(ValueError, match=r"write a number|too large"):
        volume_l(text)


@pytest.mark.parametrize(
    ("text", "an_acre", "litres"),
    [
        ("1qt/ac", True, 32 * FLOZ), ("1 qt per acre", True, 32 * FLOZ),
        ("1/2 qt / acre", True, 16 * FLOZ), ("3 L an acre", True, 3.0),
        ("3L/ha", False, 3.0), ("3 liters a hectare", False, 3.0),
    ],
)  # fmt: skip
def test_a_rate_says_its_ground(text, an_acre, litres):
    """With its ground a rate is the same for every owner; 0.40468564224 ha are an acre."""
    ground = 0.40468564224 if an_acre else 1.0
    for us in (True, False):
        assert rate_l_ha(text, us) == (pytest.approx(litres / ground), an_acre)


def test_a_bare_rate_is_the_owners():
    """3 L: an acre's for owners in acres, a hectare's for others."""
    assert rate_l_ha("3L", us=True) == (pytest.approx(3 / 0.40468564224), True)
    assert rate_l_ha("3L", us=False) == (3.0, False)


@pytest.mark.parametrize("text", ["3L/h", "1qt/", "/ac", "3/ha", "-1qt/ac", ""])
def test_what_is_no_rate_is_refused(text):
    """No volume, no known ground: the sentence shows a rate."""
    with pytest.raises(ValueError, match="such as 1qt/ac or 3L/ha"):
        rate_l_ha(text)


def test_ounces_alone_are_asked_about():
    """An ounce may be a weight: the sentence names the volume."""
    with pytest.raises(ValueError, match="write floz for the volume"):
        volume_l("5 oz")


@given(st.floats(0, 1e6), st.sampled_from(sorted(VOLUME_L)))
def test_a_written_volume_comes_back(number, unit):
    """Any decimal number with any unit is read as that number of it."""
    text = f"{number:.6f} {unit}"
    assert volume_l(text) == pytest.approx(float(f"{number:.6f}") * VOLUME_L[unit], rel=1e-12)


@pytest.mark.parametrize("text", ["2", "2 %", "2%", " 2.0 percent", "4/2"])
def test_two_percent_is_two_percent_with_or_without_its_sign(text):
    """A percent sign changes nothing."""
    assert percent_from(text) == 2.0
    assert share_of_tank_l(text, L_PER_GAL) == pytest.approx(0.02 * L_PER_GAL)


@pytest.mark.parametrize("text", ["120", "-2", "nan", "inf", "two", "2 gal", ""])
def test_what_is_no_percent_is_refused(text):
    """Over 100, below nought, no number."""
    with pytest.raises(ValueError, match="is not a percent"):
        percent_from(text)


@pytest.mark.parametrize(
    ("reads", "text", "us", "value"),
    [
        (ground_ha, "2acres", True, 0.80937128448), (ground_ha, "1/2 acre", False, 0.20234282112),
        (ground_ha, "1 1/2", True, 0.60702846336), (ground_ha, "1 1/2", False, 1.5),
        (ground_ha, "0.4 ha", True, 0.4),
        (wind_kmh, "5mph", False, 8.04672), (wind_kmh, "5", True, 8.04672),
        (wind_kmh, "5", False, 5), (wind_kmh, "12 km/h", True, 12),
        (heat_c, "212 F", False, 100), (heat_c, "-40", True, -40), (heat_c, "-40", False, -40),
        (heat_c, "37 °C", True, 37), (heat_c, "0 c.", True, 0),
    ],
)  # fmt: skip
def test_area_wind_and_heat_are_read_with_their_unit_or_in_the_owner_s(reads, text, us, value):
    """An acre is 0.40468564224 ha, a mile 1.609344 km (NIST Handbook 44); water boils at 212 F."""
    assert reads(text, us) == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    ("reads", "text", "right"),
    [
        (ground_ha, "some", "acres or ha"), (ground_ha, "-1", "acres or ha"),
        (wind_kmh, "5 knots", "mph or km/h"), (wind_kmh, "", "mph or km/h"),
        (heat_c, "warm", "F or C"), (heat_c, "20K", "F or C"),
    ],
)  # fmt: skip
def test_what_is_no_area_wind_or_heat_is_told_what_would_be_right(reads, text, right):
    """The sentence names what was typed and the units."""
    with pytest.raises(ValueError, match=f"^'{text}' is not .*alone or with {right}"):
        reads(text)
