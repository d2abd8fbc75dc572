"""2,000 surveys of a mapped stand of real trees, with plots by our own layout, hold the truth.

Stems: longleaf pines mapped by Platt, Evans and Rathbun (1988), 584 on 4 ha (see the NOTICE in
tests/data/longleaf_stand). Layout: spatially balanced cells of equal weight, `survey.place_plots`
(stevens_olsen_2004). Error: clumped counts with a weighed aggregation, `survey.clumping`
(bliss_fisher_1953, mosimann_1962); beside it the plain t interval, which is printed.
"""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from clearing.survey import nearest_neighbour_ratio
from tests.survey.longleaf import SIDE_M, SMALL_BELOW_CM, estimates, stems, surveys

SURVEYS = 2000
WHICH = {"all": lambda rows: rows, "small": lambda rows: rows[rows["dbh_cm"] < SMALL_BELOW_CM]}


@pytest.fixture(scope="module", params=[8, 15, 30])
def drawn(request):
    """Return 2,000 surveys with so many plots each, and the number."""
    return request.param, *surveys(SURVEYS, request.param, seed=request.param)


@pytest.mark.parametrize("which", WHICH)
def test_the_interval_holds_the_truth_as_often_as_it_says(drawn, which, capsys):
    """The 90 % interval of all stems and of the clustered small ones holds in 85 to 97 %."""
    number, blocks, plots = drawn
    found = estimates(blocks, plots, WHICH[which](stems()))
    held = ((found["low"] <= found["truth"]) & (found["truth"] <= found["high"])).mean()
    plain = ((found["t_low"] <= found["truth"]) & (found["truth"] <= found["t_high"])).mean()
    with capsys.disabled():
        print(f"\n{number} plots, {which} stems: {100 * held:.1f} %; plain t {100 * plain:.1f} %")  # noqa: T201
    assert 0.85 <= held <= 0.97


@pytest.mark.parametrize("which", WHICH)
def test_the_mean_estimate_is_the_truth(drawn, which):
    """The mean of all surveys lies within 1 % of the truth, or two of its own standard errors."""
    found = estimates(*drawn[1:], WHICH[which](stems()))
    off = found["stems_per_ha"].mean() / found["truth"].iloc[0] - 1.0
    chance = found["stems_per_ha"].std() / found["truth"].iloc[0] / np.sqrt(SURVEYS)
    assert abs(off) < max(0.01, 2 * chance)
    if which == "all":
        assert abs(off) < 0.01


def test_the_layout_is_more_even_than_chance(drawn):
    """Clark and Evans' R of our plots lies well above 1, that of plots at random near it."""
    number, _, plots = drawn
    xy = plots.geometry.get_coordinates().to_numpy().reshape(-1, number, 2)[:200]
    ratios = [nearest_neighbour_ratio(cKDTree(p).query(p, k=2)[0][:, 1], SIDE_M**2) for p in xy]
    assert np.mean(ratios) > 1.25


def test_every_stem_is_as_likely_to_be_counted(drawn):
    """A foot at the edge is looked at as often as one inside, once the ground is divided out."""
    _, _, plots = drawn
    xy = plots.geometry.get_coordinates().to_numpy()
    edge = np.minimum(xy, SIDE_M - xy).min(axis=1)
    weight = plots["inside_ha"].to_numpy()
    share = (weight * (edge < 11.35)).sum() / weight.sum()
    # centres weigh 1 / inside, so that inside x chance is the same everywhere: the band's area
    assert share == pytest.approx(1 - (1 - 2 * 11.35 / SIDE_M) ** 2, rel=0.03)
