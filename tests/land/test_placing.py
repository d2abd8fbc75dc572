"""A photo lies where its pins put it: a published example, brute force, what always holds."""

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares

from clearing.land.placing import fit_similarity, moved, pin_problems, place_photo

# Grau (2010), ED50 to ETRS89 in UTM zone 31: four test points, and the parameters behind them
ED50 = np.array([[300000.0, 4500000], [315000, 4740000], [520000, 4680000], [420000, 4600000]])
ETRS89 = np.array([
    [299905.060, 4499796.515], [314906.904, 4739796.774], [519906.767, 4679795.125],
    [419906.005, 4599795.760],
])  # fmt: skip
SHIFT_M, SCALE_MINUS_1, TURN_SECONDS = (-129.549, -208.185), 1.5504e-6, -1.56504
SPOTS = np.array([[200.0, 300], [3700, 500], [2100, 2800], [900, 1900], [3000, 2100]])
NAMES = ("gate", "barn", "pond", "oak", "well")


def lonlat(pixels, metres=0.2, turned=25.0, lon=-84.5, lat=38.1, noise=0.0, seed=1):
    """Return where pixels of a turned photo lie, around a known place, along geodesics."""
    upwards = np.radians(turned)
    x, y = metres * pixels[:, 0], -metres * pixels[:, 1]
    east = x * np.cos(upwards) + y * np.sin(upwards)
    north = -x * np.sin(upwards) + y * np.cos(upwards)
    east, north = np.stack([east, north]) + np.random.default_rng(seed).normal(
        0, noise, (2, len(pixels)))  # fmt: skip
    geod, count = pyproj.Geod(ellps="WGS84"), len(pixels)
    away, bearing = np.hypot(east, north), np.degrees(np.arctan2(east, north))
    lons, lats, _ = geod.fwd(np.full(count, lon), np.full(count, lat), bearing, away)
    return np.column_stack([lons, lats])


def test_a_published_transformation_is_found_again():
    """Shift, scale and turn of ED50 to ETRS89, as far as its points of a millimetre tell them."""
    upright = ED50 * (1, -1)  # rows count downwards
    a, b, c, d, _, f = fit_similarity(upright, ETRS89)
    assert np.hypot(a, d) - 1 == pytest.approx(SCALE_MINUS_1, abs=5e-9)
    assert np.degrees(np.arctan2(d, a)) * 3600 == pytest.approx(TURN_SECONDS, abs=1e-3)
    assert (c, f) == pytest.approx(SHIFT_M, abs=0.02)
    assert np.abs(moved((a, b, c, d, -a, f), upright) - ETRS89).max() < 1e-3


def test_no_other_shift_turn_and_scale_misses_less():
    """A general search over the four numbers ends at the same place, from pins that disagree."""
    draw = np.random.default_rng(3)
    ground = moved((0.3, 0.1, 20, 0.1, -0.3, 900), SPOTS) + draw.normal(0, 4, SPOTS.shape)

    def misses(four):
        kr, ki, x, y = four
        return (moved((kr, ki, x, ki, -kr, y), SPOTS) - ground).ravel()

    best = least_squares(misses, [1, 0, 0, 0], x_scale=[1, 1, 1000, 1000], xtol=1e-15, ftol=1e-15)
    a, b, c, _, _, f = fit_similarity(SPOTS, ground)
    assert (a, b, c, f) == pytest.approx(best.x, rel=1e-5)


@given(
    metres=st.floats(0.01, 5), turned=st.floats(-179, 179), lon=st.floats(-179.9, 179.9),
    lat=st.floats(-55, 70),
)  # fmt: skip
def test_pins_without_error_give_the_truth(metres, turned, lon, lat):
    """Scale to a few parts in ten thousand, turn to what north turns by, anywhere on the globe."""
    placed = place_photo(SPOTS[:3], lonlat(SPOTS[:3], metres, turned, lon, lat))
    assert placed.metres_a_pixel == pytest.approx(metres, rel=5e-4)
    off = (placed.turned_deg - turned + 180) % 360 - 180
    assert abs(off) < 0.1 + 0.3 * metres  # north turns by up to this over the photo
    assert placed.largest_m < 1e-3 * metres * 4000


def test_two_pins_fit_and_tell_no_error():
    """Both pins are met; errors are no number, since two always fit."""
    placed = place_photo(SPOTS[:2], lonlat(SPOTS[:2], noise=50))
    assert np.isnan([*placed.errors_m, placed.rms_m, placed.largest_m]).all()
    assert placed.errors_m.shape == (2,)
    to_grid = pyproj.Transformer.from_crs("EPSG:4326", placed.crs, always_xy=True)
    there = np.column_stack(to_grid.transform(*lonlat(SPOTS[:2], noise=50).T))
    assert np.allclose(moved(placed.coefficients, SPOTS[:2]), there, atol=1e-6)


@pytest.mark.parametrize("pins", [3, 5])
def test_the_told_error_is_that_of_the_hand(pins):
    """Over 400 draws the mean square of the told miss is that of pins set 2 m off each way."""
    told = [place_photo(SPOTS[:pins], lonlat(SPOTS[:pins], noise=2, seed=seed)).rms_m
            for seed in range(400)]  # fmt: skip
    assert np.mean(np.square(told)) == pytest.approx(2 * 2**2, rel=0.12)


def test_more_pins_place_better():
    """The photo's middle lies nearer to the truth with twenty pins than with three, on the mean."""
    draw = np.random.default_rng(5)
    spots = draw.uniform(0, 4000, (20, 2))
    middle = np.array([[2000.0, 2000.0]])

    def miss(count, seed):
        placed = place_photo(spots[:count], lonlat(spots[:count], noise=3, seed=seed))
        back = pyproj.Transformer.from_crs(placed.crs, "EPSG:4326", always_xy=True)
        found = back.transform(*moved(placed.coefficients, middle)[0])
        return pyproj.Geod(ellps="WGS84").inv(*found, *lonlat(middle)[0])[2]

    three, twenty = (np.mean([miss(count, seed) for seed in range(60)]) for count in (3, 20))
    assert twenty < 0.6 * three


@pytest.mark.parametrize(
    ("pixels", "degrees", "words"),
    [
        (SPOTS[:1], [[-84, 38]], "two pins at least"),
        (SPOTS[:2], [[-84, 38], [np.nan, 38]], "no place in the photo or on the ground"),
        (np.zeros((3, 2)), lonlat(SPOTS[:3]), "at one spot"),
        (SPOTS[:3], [[-84, 38]] * 3, "at one spot"),
    ],
)
def test_what_places_nothing_is_refused(pixels, degrees, words):
    """One pin, a pin without a place, or all at one spot: a sentence."""
    with pytest.raises(ValueError, match=words):
        place_photo(pixels, np.array(degrees))


def test_good_pins_are_not_faulted():
    """Three pins and five, set to a metre and a half, pass without a word."""
    for count in (3, 5):
        degrees = lonlat(SPOTS[:count], noise=0.8)
        assert pin_problems(SPOTS[:count], degrees, NAMES[:count], us=True) == []


@pytest.mark.parametrize(("count", "words"), [(0, "no pin"), (1, "one pin"), (2, "two pins")])
def test_fewer_than_three_pins_are_told(count, words):
    """Up to two pins: how many there are, and that a third tells the error."""
    degrees = lonlat(SPOTS[:count]) if count else np.empty((0, 2))
    (said,) = pin_problems(SPOTS[:count], degrees, NAMES[:count], us=True)
    assert said.startswith(words)


def test_two_pins_at_one_spot_are_named():
    """Close in the photo, or with the same latitude and longitude: both names, and where."""
    spots, degrees = SPOTS[:4].copy(), lonlat(SPOTS[:4])
    spots[3] = spots[0] + 2
    (said,) = pin_problems(spots, degrees, NAMES[:4], us=True)
    assert said.startswith("pin gate and pin oak lie at one spot in the photo")
    degrees[3] = degrees[1]
    (said,) = pin_problems(SPOTS[:4], degrees, NAMES[:4], us=True)
    assert said.startswith("pin barn and pin oak lie at one spot on the ground")


def test_pins_in_a_line_are_told():
    """Three pins along a road say nothing of the ground beside it."""
    line = np.array([[100.0, 1000], [2000, 1040], [3900, 1000]])
    (said,) = pin_problems(line, lonlat(line), NAMES[:3], us=True)
    assert "nearly in a line" in said


@pytest.mark.parametrize("odd", range(5))
def test_the_odd_pin_is_named(odd):
    """One of five pins set 120 m off: its name, and 120 m in feet, give or take what pins do."""
    degrees = lonlat(SPOTS, noise=0.5)
    degrees[odd, 1] += 120 / 111_000
    (said,) = pin_problems(SPOTS, degrees, NAMES, us=True)
    assert said.startswith(f"pin {NAMES[odd]} lies ")
    assert float(said.split(" lies ")[1].split(" ft")[0]) == pytest.approx(120 / 0.3048, rel=0.05)


def test_three_pins_that_disagree_ask_for_a_fourth():
    """With three nobody can tell which is wrong, and the sentence says so."""
    degrees = lonlat(SPOTS[:3])
    degrees[1, 0] += 0.002
    (said,) = pin_problems(SPOTS[:3], degrees, NAMES[:3], us=False)
    assert "the three pins do not agree" in said
    assert "set a fourth" in said


@pytest.mark.parametrize("metres", [0.001, 40.0])
def test_a_scale_that_no_photo_has_is_told(metres):
    """Pixels of a millimetre or of forty metres are a slip in the numbers."""
    (said,) = pin_problems(SPOTS, lonlat(SPOTS, metres), NAMES, us=True)
    assert f"a pixel would be {metres:g} m wide" in said
