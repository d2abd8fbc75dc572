"""One tank of mix against published tables of percent."""

from pathlib import Path

import pandas as pd
import pytest

from clearing.treatment import mix_tank
from clearing.units import L_PER_FLOZ, L_PER_GAL

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "published" / "treatment.csv")
TABLE = PUBLISHED[PUBLISHED["quantity"].str.startswith("floz_per_gal_")]


@pytest.mark.parametrize("row", TABLE.to_dict("records"), ids=lambda row: row["quantity"])
def test_percent_of_a_gallon_is_the_published_fluid_ounces(row):
    """The percent table of extension pages comes out."""
    percent = float(row["quantity"].rpartition("_")[2])
    floz = mix_tank(L_PER_GAL, percent)["product_l"] / L_PER_FLOZ
    assert abs(floz - row["expected"]) <= row["tolerance"]


def test_half_a_percent_of_two_gallons_is_the_published_volume():
    """0.5 % of 256 fl oz are 1.28 fl oz (Univ. Illinois bulletin)."""
    assert mix_tank(2 * L_PER_GAL, 0.5)["product_l"] / L_PER_FLOZ == pytest.approx(1.28, abs=0.005)


def test_measured_product_is_told_in_percent():
    """4.5 fl oz in half a gallon are 7 %, not 2 %, and the tank says so."""
    answer = mix_tank(0.5 * L_PER_GAL, product_l=4.5 * L_PER_FLOZ)
    assert answer["product_percent"] == pytest.approx(7.03, abs=0.005)
    assert any("7.0 %, not 2 %" in line for line in answer["warnings"])


def test_percent_and_product_that_disagree_are_told():
    """A measure that is not the stated percent is named, and what would be right."""
    answer = mix_tank(0.5 * L_PER_GAL, 2, 4.5 * L_PER_FLOZ)
    assert any("2 % of it would be 1.28 fl oz" in line for line in answer["warnings"])


def test_a_thin_mix_says_what_a_cut_of_it_carries():
    """At 2 % one mL in a cut carries a fiftieth of undiluted product."""
    assert any("one part in 50" in line for line in mix_tank(2.0, 2)["warnings"])


def test_a_tank_adds_up():
    """Product, extras and carrier fill the tank."""
    answer = mix_tank(10.0, 5, extras_l=(0.05, 0.1), herbicide="glyphosate_4")
    parts = ("product_l", "surfactant_l", "dye_l", "water_l")
    assert sum(answer[part] for part in parts) == pytest.approx(10.0)
    assert answer["ae_kg"] == pytest.approx(0.5 * 0.4793, abs=1e-4)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((1.0,), "percent of the tank"),
        ((1.0, 120), "up to 100"),
        ((1.0, None, 2.0), "do not go into"),
        ((0.0, 2), "over 0"),
        ((1.0, 2, None, (0.0, 0.0), "glyfosate"), "is not known"),
    ],
)
def test_a_tank_that_cannot_be_is_refused(arguments, words):
    """What was given and what would be right is said."""
    with pytest.raises(ValueError, match=words):
        mix_tank(*arguments)
