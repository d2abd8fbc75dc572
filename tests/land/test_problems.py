"""What cannot be mended is refused in the owner's words and units, all at once."""

import geopandas as gpd
import pytest
import shapely
from pyproj import Geod
from shapely import Polygon, box

from clearing.land import shape_problems
from clearing.land.words import area_words, distance_words
from tests.zones.farm import at, owner_layer

PHOTO = gpd.GeoSeries([at(box(-50, -50, 350, 150))], index=["aerial.tif"], crs="EPSG:32616")


def problems(*shapes, us: bool = True, photo=None, crs: str = "EPSG:32616", **layers) -> list[str]:
    """Return the problems of blocks 1, 2 ... and of other layers of (kind or id, shape)."""
    rows = [{"block_id": str(i + 1), "geometry": shape} for i, shape in enumerate(shapes)]
    drawn = {"blocks": owner_layer("blocks", rows, crs)}
    for name in ("strips", "keep_trees", "features", "plots"):
        drawn[name] = owner_layer(name, layers.get(name, []))
    return shape_problems(drawn, us, photo)


def test_good_blocks_have_no_problem():
    """Two neighbours on their photo, with a slip between them, pass without a word."""
    assert problems(at(box(0, 0, 100, 100)), at(box(100.4, 0, 200, 100)), photo=PHOTO) == []


@pytest.mark.parametrize(("us", "told"), [(True, "0.25 acres"), (False, "0.10 ha")])
def test_an_overlap_that_is_no_slip_is_told_with_its_share(us, told):
    """A tenth of the smaller block: 1,000 m2 = 0.247 acres (1 acre = 4046.8564224 m2)."""
    found = problems(at(box(0, 0, 300, 100)), at(box(290, 0, 390, 100)), us=us)
    assert found == [
        f"blocks: block 1 and block 2 lie over each other by {told} (10 % of block 2; up to 3 % is "
        "mended): draw one up to the other's edge"
    ]


def test_a_bow_tie_and_a_hole_outside_name_their_place():
    """The place is told as it was drawn, not in our grid."""
    tie = at(Polygon([(0, 0), (50, 50), (50, 0), (0, 50)]))
    hole = Polygon([(200, 0), (300, 0), (300, 100), (200, 100)], [[(320, 0), (340, 0), (340, 30)]])
    first, second = problems(tie, at(hole))
    assert "the outline of block 1 crosses itself near 500025, 4020025; move" in first
    assert "block 2 has a hole that lies outside its outline near 500320, 4020000; draw" in second


def test_blocks_on_another_continent_than_the_photo_are_named():
    """The same numbers in another zone: the photo's name, the miles, and what to look at.

    Distance along the ellipsoid (Karney 2013, through pyproj.Geod).
    """
    far = gpd.GeoSeries([at(box(0, 0, 1, 1))], crs="EPSG:32633").to_crs("EPSG:4326").iloc[0]
    near = PHOTO.to_crs("EPSG:4326").iloc[0]
    ends = (*far.centroid.coords[0], *near.centroid.coords[0])
    miles = Geod(ellps="WGS84").inv(*ends)[2] / 1609.344
    (found,) = problems(at(box(0, 0, 100, 100)), crs="EPSG:32633", photo=PHOTO)
    assert "from the photo aerial.tif; check the coordinate system of blocks" in found
    told = float(found.split("lies ")[1].split(" miles")[0].replace(",", ""))
    assert told == pytest.approx(miles, abs=2)
    assert miles > 4000
    (found,) = problems(at(box(0, 0, 100, 100)), crs="EPSG:32633", photo=PHOTO, us=False)
    assert " km from the photo" in found
    assert "up to 60 km passes" in found


def test_a_block_hundreds_of_miles_off_is_named():
    """One of three blocks drawn 300 km off: it is the one that is named."""
    home = [at(box(0, 0, 100, 100)), at(box(100, 0, 200, 100))]
    (found,) = problems(*home, at(box(300_000, 0, 300_100, 100)))
    assert found.startswith("blocks: block 3 lies 186 miles from block ")
    assert "check its corners and the coordinate system of blocks" in found


def test_coordinates_that_are_no_degrees_are_named_layer_by_layer():
    """Metres in a layer that says degrees: its name and what to set."""
    plots = owner_layer(
        "plots", [{"plot_id": "p", "geometry": at(shapely.Point(5, 5))}], "EPSG:4326"
    )
    blocks = owner_layer("blocks", [{"block_id": "1", "geometry": at(box(0, 0, 100, 100))}])
    empty = {name: owner_layer(name, []) for name in ("strips", "keep_trees", "features")}
    found = shape_problems({"blocks": blocks, "plots": plots, **empty})
    assert found == ["plots: the coordinates are no degrees, and the coordinate system says they "
                     "are; set the system in which they were drawn"]  # fmt: skip


def test_other_layers_far_off_are_named_once_with_their_layer():
    """Features on the other side of the country: one sentence, not one a shape."""
    features = [{"kind": "fence", "geometry": at(shapely.LineString([(1e6, i), (1e6, i + 9)]))}
                for i in range(3)]  # fmt: skip
    plots = [{"plot_id": f"p{i}", "geometry": at(shapely.Point(9e5, i))} for i in range(4)]
    first, second = problems(at(box(0, 0, 100, 100)), features=features, plots=plots, us=False)
    assert first.startswith("features: 3 of 3 shapes lie ")
    assert first.endswith(" km from the blocks; check the coordinate system of features")
    assert second.startswith("plots: 4 of 4 shapes lie ")


@pytest.mark.parametrize(("us", "told"), [(True, "164 ft"), (False, "50 m")])
def test_a_plot_outside_is_told_in_the_owners_units(us, told):
    """50 m = 164 ft (1 ft = 0.3048 m)."""
    spot = [{"plot_id": "p", "geometry": at(shapely.Point(150, 50))}]
    (found,) = problems(at(box(0, 0, 100, 100)), plots=spot, us=us)
    assert found.startswith(f"plots: plot p lies outside every block, {told} from block 1; move it")


def test_a_county_is_no_block():
    """Fifty kilometres square is larger than two people clear."""
    (found,) = problems(at(box(0, 0, 50_000, 50_000)))
    assert "block 1 is larger than a county farm; check the coordinate system" in found


def test_coordinates_outside_the_world_are_a_sentence():
    """Numbers that no map can hold are told, not raised."""
    (found,) = problems(box(1e12, 1e12, 1e12 + 9, 1e12 + 9))
    assert "outside the world" in found


def test_all_problems_come_at_once():
    """A bow tie, an overlap and a plot outside: three sentences."""
    tie = at(Polygon([(0, 200), (50, 250), (50, 200), (0, 250)]))
    spot = [{"plot_id": "p", "geometry": at(shapely.Point(900, 50))}]
    found = problems(tie, at(box(0, 0, 100, 100)), at(box(90, 0, 200, 100)), plots=spot)
    assert [words in " ".join(found) for words in ("crosses itself", "lie over", "outside every")]
    assert len(found) == 3


def test_small_areas_and_distances_are_said_in_small_units():
    """38.3 m2 = 412 sq ft, 404.7 m2 = 0.1 acre, 1,609.344 m = 1 mile (NIST Handbook 44)."""
    assert area_words(38.3, us=True) == "412 sq ft"
    assert area_words(38.3, us=False) == "38 m2"
    assert area_words(405.0, us=True) == "0.10 acres"
    assert area_words(1000.0, us=False) == "0.10 ha"
    assert distance_words(1609.344, us=True) == "1.0 miles"
    assert distance_words(1609.344, us=False) == "1,609 m"
    assert distance_words(4310 * 1609.344, us=True) == "4,310 miles"
    assert distance_words(60_000, us=False) == "60 km"


def test_a_strip_outside_its_block_is_named():
    """A strip that names a block it does not lie in is a slip, and is told by both names."""
    strips = [
        {"strip_id": name, "block_id": "1", "geometry": at(box(x, 0, x + 50, 100))}
        for name, x in (("in", 0), ("off", 400))
    ]
    assert problems(at(box(0, 0, 200, 100)), strips=strips) == [
        "strips: strip off lies outside block 1; draw it inside, or name the block it lies in"
    ]


def test_a_plot_in_a_pond_is_named_with_its_depth():
    """A centre in the water is no plot: told before its stems are lost; one at the rim passes."""
    pond = {"kind": "water", "geometry": at(box(50, 20, 110, 80))}
    plots = [{"plot_id": name, "geometry": at(shapely.Point(x, 50))}
             for name, x in (("wet", 60), ("rim", 50.5), ("dry", 150))]  # fmt: skip
    said = problems(at(box(0, 0, 200, 100)), features=[pond], plots=plots)
    assert len(said) == 1
    assert "plots: plot wet lies on ground drawn as water, 33 ft from its edge" in said[0]
