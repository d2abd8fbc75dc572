"""Matrix projection gives the published answers of the loggerhead turtle."""

import csv
from pathlib import Path

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
    """Growth rate and projections come out to the digits of the source."""
    path = forecast.project(TURTLE, [100] * 7, 2)
    found = {"growth_rate": forecast.growth_rate(TURTLE)}
    found |= {f"year_{t}_stage_{s + 1}": path[t, s] for t in (1, 2) for s in (0, 1)}
    assert found[row["quantity"]] == pytest.approx(
        float(row["expected"]), abs=float(row["tolerance"])
    )
