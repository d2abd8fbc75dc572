"""How long dead stems stand, and what grows under a canopy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.forecast import standing_share
from clearing.forecast.canopy import canopy_pct, crown_m2, forage_pct
from clearing.rates import load

RATES = load()
# years until none stand at 3, 6 and 10 in: classes 2, 1 and 3 of the Forest Service's southern
# fall model, from its printed rates (base 0.064311, slope 0.001679, factors 3.07, 7.17, 1.96)
UNTIL = {
    "tree_of_heaven": (5.5, 6.0, 6.9), "siberian_elm": (2.4, 2.6, 2.9),
    "black_locust": (8.6, 9.4, 10.7),
}  # fmt: skip


@pytest.mark.parametrize(("species", "until"), UNTIL.items())
def test_none_stand_after_the_years_of_their_class(species, until):
    """A tenth of a year before the model's last year some stand, a tenth after it none."""
    for inches, years in zip((3.0, 6.0, 10.0), until, strict=True):
        before, after = standing_share(species, 2.54 * inches, [years - 0.1, years + 0.1], RATES)
        assert 0 < before < 0.06
        assert after == 0


@given(st.sampled_from([*UNTIL, "tallow"]), st.floats(2.0, 60.0), st.floats(0.0, 30.0))
def test_thicker_stems_stand_longer_and_all_fall(species, cm, years):
    """Share falls with years and rises with diameter, from all to none."""
    share = standing_share(species, [cm, cm + 5.0], years, RATES)
    later = standing_share(species, [cm, cm + 5.0], years + 1.0, RATES)
    assert (later >= 0).all()
    assert (later <= share).all()
    assert share[0] <= share[1] <= 1
    assert standing_share(species, cm, 0.0, RATES) == 1


def test_ends_of_the_handbook_bracket_the_middle():
    """Short-lived, middle and long-lived snags in order."""
    low, middle, high = (
        float(standing_share("tallow", 15.0, 1.5, RATES, end)) for end in ("low", "value", "high")
    )
    assert low < middle < high


@pytest.mark.parametrize(
    ("grass", "canopy", "yields"),
    [("cool", 0, 100), ("cool", 45, 100), ("cool", 60, 75), ("cool", 80, 30), ("cool", 100, 0),
     ("warm", 25, 100), ("warm", 35, 80), ("warm", 40, 80), ("warm", 60, 50), ("warm", 80, 15),
     ("warm", 100, 0)],
)  # fmt: skip
def test_forage_goes_through_its_points(grass, canopy, yields):
    """Flat to where shade begins to tell, then straight from point to point."""
    assert float(forage_pct(canopy, grass, RATES)) == pytest.approx(yields)


@given(st.floats(0, 100), st.floats(0, 100))
def test_more_shade_never_grows_more_grass(one, two):
    """Both curves fall, and cool-season grass bears shade no worse than warm-season grass."""
    less, more = sorted((one, two))
    for grass in ("cool", "warm"):
        assert forage_pct(more, grass, RATES) <= forage_pct(less, grass, RATES)
    assert forage_pct(more, "cool", RATES) >= forage_pct(more, "warm", RATES)


@given(st.floats(0, 1e5), st.floats(0.05, 5.0), st.floats(0, 100))
def test_canopy_is_a_share_of_the_ground(crowns, area, keep):
    """From the trees that stay up to all of it; no more than the crowns themselves."""
    found = float(canopy_pct(crowns, area, keep))
    assert keep - 1e-9 <= found <= 100
    assert found <= keep + crowns / (area * 1e4) * 100 + 1e-9


def test_crowns_widen_with_the_stem():
    """Seedlings and sprouts shade nothing, each class more than the one below."""
    found = crown_m2("callery_pear", RATES)
    assert found[:2].tolist() == [0, 0]
    assert (np.diff(found[2:7]) > 0).all()
    assert found[7:].tolist() == [0, 0]
