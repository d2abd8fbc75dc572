"""Heights, crowns and stumps against tables worked by hand from the published coefficients."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing import allometry
from clearing.rates import load
from clearing.units import CM_PER_IN, M_PER_FT

ROWS = pd.read_csv(Path(__file__).parent / "published" / "allometry.csv").to_dict("records")
NAMES = load().heights["species"].tolist()


def measured(row: dict) -> float:
    dbh_cm, rates = [row["at"] * CM_PER_IN], load()
    if row["quantity"] == "stump_ratio":
        return float(
            allometry.stump_diameter_cm(row["species"], [1.0], row["at"] * M_PER_FT * 100)[0]
        )
    if row["quantity"] == "height_ft":
        return float(allometry.height_m(row["species"], dbh_cm, rates)[0]) / M_PER_FT
    grown = row["quantity"].partition("_")[0]
    return float(allometry.crown_width_m(row["species"], dbh_cm, grown, rates)[0]) / M_PER_FT


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['quantity']}-{r['species']}-{r['at']}")
def test_published_coefficients_give_the_tables_values(row):
    """Each formula comes to the value worked by hand."""
    assert abs(measured(row) - row["expected"]) <= row["tolerance"]


@given(st.sampled_from(NAMES), st.floats(0, 90), st.floats(0, 90))
def test_thicker_stems_are_not_shorter(species, one, other):
    """Mean and upper height never fall with diameter, and the upper one is the higher."""
    thin, thick = sorted([one, other])
    mean = allometry.height_m(species, [thin, thick], load())
    upper = allometry.upper_height_m(species, [thin, thick], load())
    assert mean[0] <= mean[1] + 1e-9
    assert upper[0] <= upper[1] + 1e-9
    assert (upper >= mean).all()


@given(st.sampled_from(["open", "stand"]), st.floats(0, 60), st.floats(0, 60))
def test_crowns_never_shrink_with_diameter_up_to_two_feet(grown, one, other):
    """No crown of a thicker stem is narrower (quadratic fits are cut at their largest tree)."""
    thin, thick = sorted([one, other])
    for species in ("callery_pear", "white_oak", "red_maple", "slash_pine", "never_heard_of"):
        width = allometry.crown_width_m(species, [thin, thick], grown, load())
        assert width[0] <= width[1] + 1e-9


def test_unknown_and_likened_species_take_a_stand_in():
    """A name that nobody knows takes the row of any; one that is like another takes that one's."""
    rates = replace(load(), like={"gum": "sweetgum"})
    assert np.allclose(
        allometry.height_m("gum", [20.0], rates), allometry.height_m("sweetgum", [20.0], rates)
    )
    assert allometry.height_m("never_heard_of", [20.0], rates)[0] > 0
    assert allometry.is_stand_in("never_heard_of", rates)
    assert not allometry.is_stand_in("callery_pear", rates)
