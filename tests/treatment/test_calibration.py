"""Calibration against worked examples in print."""

from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.treatment import calibration as cal
from clearing.units import (
    CM_PER_IN,
    HA_PER_ACRE,
    KG_HA_PER_LB_AC,
    KG_L_PER_LB_GAL,
    L_PER_FLOZ,
    L_PER_GAL,
    L_PER_PT,
    L_PER_QT,
    M_PER_FT,
)

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "published" / "treatment.csv")
PUBLISHED = PUBLISHED.set_index("quantity")
PINTS = [name for name in PUBLISHED.index if name.startswith("pints_per_acre_")]
ML = [name for name in PUBLISHED.index if name.startswith("ml_per_1000_sq_ft_")]
SQ_FT_M2 = M_PER_FT**2
POSITIVE = st.floats(1e-3, 1e4)


def close(quantity: str, value: float) -> bool:
    row = PUBLISHED.loc[quantity]
    return abs(value - float(row["expected"])) <= float(row["tolerance"])


@pytest.mark.parametrize(
    ("name", "shape"),
    [("course_18.5_ft", (18.5, 18.5)), ("course_10_by_34_ft", (10.0, 34.0)),
     ("course_1.5_by_228_ft", (1.5, 228.0))],
)  # fmt: skip
def test_courses_are_a_128th_of_an_acre(name, shape):
    """The printed shapes are 340 square feet, within one percent of the exact course."""
    area = cal.course_area_m2(*shape)
    assert close(f"{name}_sq_ft", area / SQ_FT_M2)
    assert area == pytest.approx(cal.COURSE_M2, rel=0.01)


def test_fluid_ounces_caught_are_gallons_an_acre():
    """40 fl oz caught: 40 gal an acre, and a quart an acre is 0.8 fl oz in each gallon."""
    sprayed = cal.sprayed_l_ha(40 * L_PER_FLOZ)
    each_l = cal.product_in_tank_l(L_PER_QT / HA_PER_ACRE, sprayed, L_PER_GAL)
    assert close("caught_40_floz_gal_per_acre", cal.gallons_an_acre(sprayed))
    assert close("qt_per_acre_at_40_gal_floz_per_gal", each_l / L_PER_FLOZ)
    assert close("qt_per_acre_at_40_gal_ml_per_gal", 1000 * each_l)
    covered = cal.tank_covers_ha(L_PER_GAL, sprayed) * 10_000 / SQ_FT_M2
    assert close("gal_at_40_gal_per_acre_sq_ft", covered)


def test_a_catch_of_another_time_is_brought_to_that_of_the_course():
    """20 fl oz in half of the course's 51 s are 40 in all of it."""
    assert cal.caught_in_time_l(20.0, 25.5, 51.0) == pytest.approx(40.0)


def test_a_boomless_sprayer_puts_out_the_published_volume():
    """222 in of pattern, 480 fl oz a minute, 5 mph: 20 gal an acre."""
    l_ha = cal.boomless_l_ha(3.75 * L_PER_GAL, 5 * 5280 * M_PER_FT / 1000, 222 * CM_PER_IN / 100)
    assert close("boomless_222_in_5_mph_gal_per_acre", cal.gallons_an_acre(l_ha))


def test_a_gallon_and_a_half_on_1000_sq_ft_is_the_published_volume():
    """65 gal an acre, and 3 pints in those 65 gal are 0.74 fl oz in each."""
    sprayed = cal.sprayed_l_ha(1.5 * L_PER_GAL, 1000 * SQ_FT_M2)
    assert close("gal_1.5_on_1000_sq_ft_gal_per_acre", cal.gallons_an_acre(sprayed))
    printed = 65 * L_PER_GAL / HA_PER_ACRE
    each_l = cal.product_in_tank_l(3 * L_PER_PT / HA_PER_ACRE, printed, L_PER_GAL)
    assert close("pt_3_per_acre_at_65_gal_floz_per_gal", each_l / L_PER_FLOZ)


@pytest.mark.parametrize("name", PINTS)
def test_pints_an_acre_are_the_published_table(name):
    """Pounds an acre over pounds a gallon, in pints (handbook table)."""
    pounds_gal, _, pounds_ac = name.removeprefix("pints_per_acre_").partition("_at_")
    rate = cal.product_l_ha(float(pounds_ac) * KG_HA_PER_LB_AC, float(pounds_gal) * KG_L_PER_LB_GAL)
    assert close(name, rate * HA_PER_ACRE / L_PER_PT)


@pytest.mark.parametrize("name", ML)
def test_millilitres_on_1000_sq_ft_are_the_published_table(name):
    """One pound an acre, in millilitres on a thousand square feet (handbook table)."""
    strength = float(name.rpartition("_")[2]) * KG_L_PER_LB_GAL
    rate = cal.product_l_ha(KG_HA_PER_LB_AC, strength)
    assert close(name, rate * 1000 * SQ_FT_M2 / 10_000 * 1000)


@given(POSITIVE, POSITIVE, st.floats(1e-4, 1.0))
def test_a_tank_puts_its_product_on_the_ground_it_covers(tank_l, sprayed, share):
    """Product in the tank over the ground it sprays is the rate that was asked for."""
    rate = share * sprayed
    product = cal.product_in_tank_l(rate, sprayed, tank_l)
    assert product / cal.tank_covers_ha(tank_l, sprayed) == pytest.approx(rate)
    assert product <= tank_l * (1 + 1e-9)


def test_more_product_than_spray_is_refused():
    """A gallon an acre does not go into half a gallon of spray; the sentence says what to do."""
    with pytest.raises(ValueError, match="walk slower"):
        cal.product_in_tank_l(L_PER_GAL / HA_PER_ACRE, 0.5 * L_PER_GAL / HA_PER_ACRE, 10.0)


@pytest.mark.parametrize("caught", [0.0, -1.0, float("nan"), float("inf")])
def test_what_cannot_be_caught_is_refused(caught):
    """Nothing, less than nothing, no number."""
    with pytest.raises(ValueError, match="over 0"):
        cal.sprayed_l_ha(caught)
