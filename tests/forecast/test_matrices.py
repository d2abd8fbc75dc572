"""Matrix projection gives the published answers of the loggerhead turtle."""

import csv
from pathlib import Path

import numpy as np
import pytest

from clearing import forecast

TURTLE = [
    [0, 0, 0, 0, 127, 4, 80],
    [0.6747, 0.7370, 0, 0, 0, 0, 0],
    [0, 0.0486, 0.6610, 0, 0, 0, 0],
    [0, 0, 0.0147, 0.6907, 0, 0, 0],
    [0, 0, 0, 0.0518, 0, 0, 0],
    [0, 0, 0, 0, 0.8091, 0, 0],
    [0, 0, 0, 0, 0, 0.8091, 0.8089],
]
with (Path(__file__).parents[1] / "published" / "forecast.csv").open() as stream:
    ROWS = list(csv.DictReader(stream))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["quantity"])
def test_matrix_gives_the_published_answer(row):
    """Growth rate, stable stages, worth and projections come out to the digits of the source."""
    path = forecast.project(TURTLE, [100] * 7, 2)
    found = {"growth_rate": forecast.growth_rate(TURTLE)}
    found |= {f"year_{t}_stage_{s + 1}": path[t, s] for t in (1, 2) for s in range(7)}
    stable, worth = forecast.stable_stage(TURTLE), forecast.reproductive_value(TURTLE)
    found |= {f"stable_stage_{s + 1}": stable[s] for s in range(7)}
    found |= {f"value_{s + 1}": worth[s] for s in range(7)}
    assert found[row["quantity"]] == pytest.approx(
        float(row["expected"]), abs=float(row["tolerance"])
    )


def test_vital_rates_of_a_spreading_pine_give_a_spreading_population():
    """Twelve stages of Aleppo pine from printed vital rates grow by two fifths a year.

    Vital rates and layout: Brancatelli, Amodeo and Zalba 2022, Ecological Modelling 473:110143
    (authors' data file, read). Their growth rate was not seen; 1.398896 is arithmetic on the rates
    with the usual stay P = p (1 - p^(d-1)) / (1 - p^d) and pass G = p^d (1 - p) / (1 - p^d).
    """
    young, adult, years = [0.37, 0.47, 0.6, 0.7, 0.83, 0.97, 0.97], 0.97, [8, 9, 21, 45]
    matrix = np.zeros((12, 12))
    matrix[0, 0], matrix[1, 0] = 1 - 0.28, 0.28 * 0.21 * 0.14
    matrix[0, 8:] = [3528.7, 11639.21, 39246.90, 162869.06]
    for stage, survival in enumerate(young, start=1):
        matrix[stage + 1, stage] = survival
    for stage, d in enumerate(years, start=8):
        matrix[stage, stage] = adult * (1 - adult ** (d - 1)) / (1 - adult**d)
        if stage < 11:
            matrix[stage + 1, stage] = adult**d * (1 - adult) / (1 - adult**d)
    assert forecast.growth_rate(matrix) == pytest.approx(1.398896, abs=5e-7)


def test_stable_stage_and_value_are_kept_by_a_year():
    """A w = lambda w and v A = lambda v for the turtle."""
    matrix, rate = np.array(TURTLE), forecast.growth_rate(TURTLE)
    stable, worth = forecast.stable_stage(TURTLE), forecast.reproductive_value(TURTLE)
    assert matrix @ stable == pytest.approx(rate * stable, abs=1e-12)
    assert worth @ matrix == pytest.approx(rate * worth, rel=1e-9)
