"""What the forecast says of no ground, of slivers, and of counts that are none of its own."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from clearing import forecast
from clearing.forecast.cases import lay_out
from clearing.forecast.found import lay_on
from clearing.forecast.squares import Squares
from clearing.rates import load
from clearing.treatment import list_methods
from tests.small_ground import SETTINGS, small_ground

NOTHING = gpd.GeoDataFrame({"kind": [], "geometry": []}, geometry="geometry")


def test_one_strip_or_none_gets_no_seed_and_no_ring():
    """There is no other to send any, and nothing to search round."""
    one = gpd.GeoDataFrame({"strip_id": ["a"], "geometry": [shapely.box(0, 0, 50, 50)]})
    reach = forecast.seed_reach(one, NOTHING, load(), SETTINGS)
    assert not len(reach)
    methods = pd.DataFrame({"strip_id": [], "species": [], "stems": []})
    assert not len(forecast.search_ring(one.iloc[:0], NOTHING, methods, load()))
    mowed = pd.DataFrame(columns=["strip_id", "year"])
    assert not len(forecast.arriving(pd.DataFrame(), reach, mowed))


@pytest.mark.parametrize("wide_m", [0.001, 3.0])
def test_a_sliver_keeps_its_area_on_the_squares(wide_m):
    """Parts of squares sum to the strip's area, thin as it is."""
    shapes = [shapely.box(0, 0, 400, 400), shapely.box(401.1, 3, 401.1 + wide_m, 90)]
    squares = Squares(gpd.GeoDataFrame({"strip_id": ["a", "b"], "geometry": shapes}))
    area = np.bincount(squares.strip, squares.part) * squares.side_m**2
    assert area == pytest.approx([shape.area for shape in shapes])


def test_counts_of_other_years_or_species_are_no_part_of_the_cases():
    """Only the count of a species and a year of the plan is laid on."""
    place = small_ground()
    rates, settings = place.rates, place.settings
    methods = list_methods(place.blocks, place.strips, place.zones, place.stocking, rates, settings)
    cases = lay_out(methods, (place.strips, place.blocks), rates, settings)
    rows = [
        ("a", year, species, "seedling", 7.0, 0.05)
        for year, species in ((2029, "callery_pear"), (1999, "callery_pear"), (2029, "oak"))
    ]
    names = ["strip_id", "year", "species", "stage", "stems", "ground_ha"]
    skipped = pd.DataFrame({"strip_id": ["a", "a"], "year": [1999, 2029]})
    found = lay_on(cases, pd.DataFrame(rows, columns=names), skipped)
    pears = found.counted["callery_pear"]
    assert np.unique(pears[~np.isnan(pears)]).tolist() == [7.0]
    assert set(found.counted) == set(cases.kinds)
    assert np.unique(np.nonzero(found.skipped)[0]).tolist() == [2]
