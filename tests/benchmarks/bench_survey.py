"""How long the survey takes at size, beside a bare pandas sum in the same run.

Not part of the test run: timings are no claims that hold on every machine.
"""

import numpy as np
import pandas as pd
import pytest

from clearing import survey
from clearing.rates import load

BLOCKS, PLOTS_EACH = 10_000, 10


@pytest.fixture(scope="module")
def counted():
    """Return 10,000 blocks of three kinds, 100,000 plots and their tally of two species."""
    draw = np.random.default_rng(1)
    names = np.array([f"b{i:05d}" for i in range(BLOCKS)])
    kinds = np.array(["open", "brushy", "thicket"])[draw.integers(0, 3, BLOCKS)]
    blocks = pd.DataFrame({"block_id": names, "brush": kinds, "density_guess": "",
                           "targets": "callery_pear tree_of_heaven", "area_ha": 4.0})  # fmt: skip
    number = BLOCKS * PLOTS_EACH
    plots = pd.DataFrame({"plot_id": np.arange(number).astype(str), "visited": True,
                          "block_id": np.repeat(names, PLOTS_EACH), "inside_ha": 0.0405,
                          "small_inside_ha": 0.00405, "small_below_cm": 2.54})  # fmt: skip
    rows = 3 * number
    tally = pd.DataFrame(
        {"plot_id": draw.integers(0, number, rows).astype(str), "size": pd.NA, "keep": pd.NA,
         "species": np.array(["callery_pear", "tree_of_heaven"])[draw.integers(0, 2, rows)],
         "dbh_cm": draw.gamma(2, 4, rows), "count": draw.integers(1, 9, rows), "status": pd.NA}
    )  # fmt: skip
    return blocks, plots, tally


def test_stocking(benchmark, counted):
    """Stocking by block, species and size class; design: 2 s on two cores."""
    benchmark.group = "stocking of 100,000 plots in 10,000 blocks"
    benchmark.extra_info["wished"] = "2 s"
    found = benchmark.pedantic(survey.estimate_stocking, (*counted, 0.9, load()), rounds=3)
    assert len(found) == BLOCKS * 2 * 6


def test_reference_of_the_stocking(benchmark, counted):
    """The bare sum by block and species, without class, error or interval."""
    benchmark.group = "stocking of 100,000 plots in 10,000 blocks"
    benchmark.extra_info["reference"] = "a bare pandas sum, without classes or error"
    _, plots, tally = counted

    def bare() -> pd.Series:
        table = tally.merge(plots[["plot_id", "block_id"]], on="plot_id")
        return table.groupby(["block_id", "species"])["count"].sum()

    assert benchmark.pedantic(bare, rounds=3).sum() == tally["count"].sum()
