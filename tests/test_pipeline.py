"""What the walk says of the ground before anything is planned."""

import datetime
from dataclasses import replace

import pytest
import shapely

from clearing import land
from clearing.pipeline import look, see
from clearing.rates import for_settings
from clearing.remarks import over_the_line, shared_strips
from tests.records.test_log import log
from tests.small_ground import GLYPHOSATE
from tests.zones.farm import at, farm

PLACE = shapely.box(0, 0, 200, 100)


def place_with_line(line: shapely.Geometry):
    """Return a block of two hectares with a property line."""
    feature = {"kind": "property_line", "geometry": at(line)}
    return farm([{"block_id": "1", "geometry": at(PLACE)}], features=[feature])


def test_ground_over_the_property_line_is_told():
    """A quarter of a block on the neighbour's side is said in acres; a line around it is quiet."""
    across, around = place_with_line(shapely.box(-50, -50, 150, 150)), place_with_line(PLACE)
    said = {}
    for name, place in (("across", across), ("around", around)):
        ground = land.lay_out(place, for_settings(place.settings))
        said[name] = over_the_line(ground, us=True)
    assert said["around"] == ()
    assert len(said["across"]) == 1
    assert "block 1: 1.24 acres lie on the neighbor's side" in said["across"][0]


def own_strips(*boxes: tuple) -> tuple[str, ...]:
    """Return what is said of strips A, B, ... of a block of 200 by 100 metres."""
    drawn = [{"strip_id": "ABC"[n], "block_id": "1", "geometry": at(shapely.box(*box))}
             for n, box in enumerate(boxes)]  # fmt: skip
    place = farm([{"block_id": "1", "geometry": at(PLACE)}], strips=drawn)
    return shared_strips(land.lay_out(place, for_settings(place.settings)), us=True)


def test_ground_that_two_strips_share_is_told():
    """A quarter of B lies in A: the first keeps it, half an acre; strips side by side are quiet."""
    [said] = own_strips((0, 0, 100, 100), (80, 0, 160, 100))
    assert said.startswith("strip B: 0.49 acres of it lies in A, which comes first and keeps")
    assert own_strips((0, 0, 100, 100), (100, 0, 200, 100)) == ()


def test_a_strip_that_lies_in_others_is_told_to_be_none():
    """What two earlier ones cover between them has no ground of its own."""
    [said] = own_strips((0, 0, 100, 100), (100, 0, 200, 100), (50, 20, 150, 80))
    assert said.startswith("strip C: all of it lies in A, B, which come first")
    assert "it is no strip" in said


def test_a_look_needs_no_plan():
    """Notes of the ground and what is left of it come without planning anything."""
    notes, left = look(place_with_line(PLACE))
    assert any("brush was not given" in note for note in notes)
    assert left[0].startswith("ground left for each way of treating, of 4.9")


def test_a_plan_buys_for_what_the_log_left_on_hand():
    """Two litres that the log used after the count are no longer there to be planned with."""
    own = replace(GLYPHOSATE, on_hand_l=9.0, on_hand_counted=datetime.date(2027, 2, 1))
    place = place_with_line(PLACE)
    settings = replace(place.settings, herbicides=(own,))
    seen = see(replace(place, settings=settings, records=log({"herbicide": own.name})))
    assert [one.on_hand_l for one in seen.rates.products] == [pytest.approx(7.0)]
    assert any("7 L are left" in note or "1.8 gal are left" in note for note in seen.log_notes)
