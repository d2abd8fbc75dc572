"""Seeded draws: their middle, their range, what they share, and that names carry them."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from clearing import forecast
from clearing.forecast.cases import lay_out
from clearing.forecast.run import run
from clearing.treatment import list_methods
from tests.small_ground import small_ground

SMALL = ["seedling", "under_1in", "resprout", "root_sucker"]
METHOD = "cut_and_spray:glyphosate_4"


@pytest.fixture(scope="module")
def place():
    """Return the small place with its methods and a plan of three strips cut in 2027."""
    ground = small_ground(years=6)
    methods = list_methods(ground.blocks, ground.strips, ground.zones, ground.stocking,
                           ground.rates, ground.settings)  # fmt: skip
    chosen = pd.DataFrame({"strip_id": ["a", "b", "c"], "method_id": METHOD, "start_year": 2027.0})
    return ground, methods, chosen


def drawn(place, draws: int = 4000, **changes: object) -> forecast.Draws:
    """Return draws of the plan; changes replace chosen or seed."""
    ground, methods, chosen = place
    settings = replace(ground.settings, seed=changes.get("seed", 1))
    return forecast.draw_ahead(
        changes.get("chosen", chosen), methods, ground.strips, ground.blocks, ground.rates,
        settings, draws,
    )  # fmt: skip


def test_shapes_are_those_of_the_contract(place):
    """Draws by strips by the plan's years, all above nought."""
    found = drawn(place, 100)
    assert found.strips == ("a", "b", "c")
    assert found.years.tolist() == list(range(2027, 2033))
    assert found.density.shape == found.strip_z.shape == (100, 3)
    assert found.follow.shape == (100, 3, 6)
    assert found.shared_z.shape == (100,)
    assert (found.follow > 0).all()


def test_density_holds_its_range(place):
    """Median 1; a twentieth below the low and a twentieth above the high of the count."""
    methods, found = place[1], drawn(place, 20_000)
    own = methods[methods["method_id"] == METHOD]
    sums = own.groupby("strip_id")[["stems", "stems_low", "stems_high"]].sum()
    low, middle, high = np.quantile(found.density, [0.05, 0.5, 0.95], axis=0)
    assert middle == pytest.approx(np.ones(3), abs=0.03)
    assert low == pytest.approx((sums["stems_low"] / sums["stems"]).to_numpy(), rel=0.05)
    assert high == pytest.approx((sums["stems_high"] / sums["stems"]).to_numpy(), rel=0.05)


def test_follow_ups_lie_about_the_middle_path(place):
    """Median near 1; nine of ten draws hold the middle and stay near the two scenarios."""
    ground, methods, chosen = place
    found = drawn(place, 20_000)
    futures = forecast.follow_through(
        chosen, methods, ground.strips, ground.blocks, None, ground.rates, ground.settings
    )
    met = futures[futures["stage"].isin(SMALL) & (futures["year"] == 2028)]
    sums = met.groupby("strip_id")[["stems", "stems_low", "stems_high"]].sum()
    low, middle, high = np.quantile(found.follow[:, :, 1], [0.05, 0.5, 0.95], axis=0)
    assert middle == pytest.approx(np.ones(3), abs=0.35)
    ends = (
        np.log((sums["stems_low"] / sums["stems"]).to_numpy()),
        np.log((sums["stems_high"] / sums["stems"]).to_numpy()),
    )
    assert (np.log(low) / ends[0] > 0.5).all()
    assert (np.log(low) / ends[0] < 2.0).all()
    assert (np.log(high) / ends[1] > 0.5).all()
    assert (np.log(high) / ends[1] < 2.0).all()


def test_years_without_a_follow_up_are_one(place):
    """The year of the first treatment, and a strip that waits, meet nothing that could stray."""
    chosen = place[2].assign(method_id=[METHOD, METHOD, "not_now"], start_year=[2027, 2030, np.nan])
    found = drawn(place, 50, chosen=chosen.astype({"start_year": float}))
    assert (found.follow[:, 0, 0] == 1).all()
    assert (found.follow[:, 1, :4] == 1).all()
    assert (found.follow[:, 2] == 1).all()
    assert found.follow[:, 0, 1].std() > 0.1


def test_the_same_seed_gives_the_same_numbers_and_another_does_not(place):
    """Twice the same, with another seed not one draw alike."""
    one, two, other = drawn(place, 300), drawn(place, 300), drawn(place, 300, seed=2)
    for name in ("density", "follow", "shared_z", "strip_z"):
        assert np.array_equal(getattr(one, name), getattr(two, name))
    assert not np.isclose(one.density, other.density).all(axis=0).any()


def test_a_strip_s_numbers_do_not_hang_on_the_others(place):
    """Reversed, and alone: each strip has the numbers that it has among all."""
    one, back = drawn(place, 200), drawn(place, 200, chosen=place[2].iloc[::-1])
    alone = drawn(place, 200, chosen=place[2].iloc[[1]])
    assert back.strips == ("c", "b", "a")
    for name in ("density", "follow", "strip_z"):
        assert np.allclose(getattr(one, name), getattr(back, name)[:, ::-1], rtol=1e-5)
        assert np.allclose(getattr(one, name)[:, [1]], getattr(alone, name), rtol=1e-5)
    assert np.array_equal(one.shared_z, alone.shared_z)


def test_strips_of_a_block_stray_together(place):
    """The same plots tell of both: counts of a and b go together, those of a and c hardly."""
    found = drawn(place, 8000)
    together = np.corrcoef(np.log(found.density).T)
    assert together[0, 1] > 0.7
    assert abs(together[0, 2]) < 0.1
    own = np.corrcoef(found.strip_z.T)
    assert abs(own[0, 1]) < 0.1


def test_follow_ups_of_all_strips_stray_by_the_same_kill(place):
    """Two blocks share no plots, yet what comes back in both goes with the same kill and seed."""
    found = drawn(place, 8000)
    assert np.corrcoef(np.log(found.follow[:, [0, 2], 1]).T)[0, 1] > 0.3


def test_parts_add_up_to_the_path_of_other_rates(place):
    """With half of the survivors and no other change the run meets what the parts say it does."""
    ground, methods, chosen = place
    cases = lay_out(methods, (ground.strips, ground.blocks), ground.rates, ground.settings, chosen)
    paths = run(cases, ground.rates, ground.settings)
    kinds = {
        name: replace(kind, kill=kind.kill + 0.5 * (kind.touched - kind.kill))
        for name, kind in cases.kinds.items()
    }
    dead = {name: replace(kind, kill=0.0 * kind.kill + kind.touched)
            for name, kind in cases.kinds.items()}  # fmt: skip
    half, none = (
        run(replace(cases, kinds=each), ground.rates, ground.settings, work=paths.work)
        for each in (kinds, dead)
    )
    for name in cases.kinds:
        whole, mid, least = (
            each.stems[name][1:6, 0][..., [1, 2, 7, 8]].sum(axis=2) for each in (paths, half, none)
        )
        assert mid == pytest.approx(least + 0.5 * (whole - least), rel=0.02)


def test_plain_draws_do_not_stray():
    """Nothing at hand: ratios of one, and normals by name."""
    found = forecast.plain_draws(("x", "y"), np.array([2027, 2028]), 500, 3)
    assert (found.density == 1).all()
    assert (found.follow == 1).all()
    assert found.follow.shape == (500, 2, 2)
    again = forecast.plain_draws(("y",), np.array([2027]), 500, 3)
    assert np.array_equal(found.strip_z[:, 1], again.strip_z[:, 0])
    assert np.array_equal(found.shared_z, again.shared_z)


def test_no_strip_gives_no_draws(place):
    """An empty plan is an empty table of draws, not an error."""
    found = drawn(place, 10, chosen=place[2].iloc[:0])
    assert found.follow.shape == (10, 0, 6)
    assert isinstance(place[0].strips, gpd.GeoDataFrame)
