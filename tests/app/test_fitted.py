"""Blocks and own strips move together; what would reach outside its block is cut, and said."""

import numpy as np
import pytest
import shapely

from clearing.app.session import Sitting
from tests.app.talking import ring, square


@pytest.fixture
def sitting(bare):
    """Give a block with an own strip along its western half, drawn over its edge."""
    sitting = Sitting(bare)
    sitting.put([{"layer": "blocks", "shape": square(0, 0), "own": {}}])
    half = ring((-84.5005, 37.9995), (-84.4995, 37.9995), (-84.4995, 38.0015), (-84.5005, 38.0015))
    sitting.put([{"layer": "strips", "shape": half, "own": {}}])
    return sitting


def shown(sitting, layer):
    """Return the one row of a layer as the page has it."""
    [row] = [row for row in sitting.shown()["rows"] if row["layer"] == layer]
    return row


def corners(row):
    """Return the corners of a row, each once."""
    return set(map(tuple, row["shape"]["coordinates"][0]))


def moved(row, corner, to):
    """Return the item that moves one corner of a row."""
    ring_ = np.array(row["shape"]["coordinates"][0])
    ring_[(ring_ == corner).all(axis=1)] = to
    return {"uid": row["uid"], "v": row["v"],
            "shape": {"type": "Polygon", "coordinates": [ring_.tolist()]}}  # fmt: skip


# a line that is straight in metres bows a millimetre from one that is straight in degrees over
# 100 m: 0.1 m2 along an edge, 2e-5 of this strip of 44 by 111 m
BOW = 2e-5


def outside(sitting):
    """Return which share of the strip lies outside its block, in degrees."""
    strip, block = (
        shapely.geometry.shape(shown(sitting, n)["shape"]) for n in ("strips", "blocks")
    )
    return strip.difference(block).area / strip.area


def test_a_strips_corner_is_its_blocks_to_the_bit(sitting):
    """A strip that was cut to its block has the block's own corners, not ones beside them."""
    assert {(-84.5, 38.0), (-84.5, 38.001)} <= corners(shown(sitting, "strips"))


def test_block_and_strip_move_together_in_one_stroke(sitting):
    """A corner that both share moves in both; afterwards they share it again, to the bit."""
    rows = [shown(sitting, layer) for layer in ("blocks", "strips")]
    there = (-84.50002, 37.99998)
    sitting.put([moved(row, (-84.5, 38.0), there) for row in rows])
    assert there in corners(shown(sitting, "blocks")) & corners(shown(sitting, "strips"))
    assert outside(sitting) < BOW


def test_a_strip_that_would_reach_outside_is_cut_and_said(sitting):
    """When the block alone shrinks, its strip is cut; that is said, and taken back with undo."""
    before = shown(sitting, "strips")["shape"]
    told = sitting.put([moved(shown(sitting, "blocks"), (-84.5, 38.0), (-84.4997, 38.0003))])
    assert [c["words"] for c in told["cleaned"]] == ["the part outside block 1 was cut off"]
    assert outside(sitting) < BOW
    sitting.undo()
    assert shown(sitting, "strips")["shape"] == before


def test_a_block_is_renumbered_and_shrunk_in_one_stroke(sitting):
    """Its strip is cut and carries the new number."""
    item = moved(shown(sitting, "blocks"), (-84.5, 38.0), (-84.4997, 38.0003))
    sitting.put([item | {"own": {"block_id": "north"}}])
    assert shown(sitting, "strips")["own"]["block_id"] == "north"
    assert outside(sitting) < BOW
