"""Heads of the lines that are filled in by hand, against the log's own columns."""

import pytest

from clearing.report.hand_lines import log_heads
from clearing.tables import column_file

TWICE = {"us": ["product_l", "mix_l"], "metric": ["product_floz", "mix_gal"]}


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_field_of_the_log_has_one_head(units):
    """All columns but the log's own two and the other system's two, in their order."""
    kept = [name for name in column_file("records")["column"]
            if name not in ("record_id", "replaces", *TWICE[units])]  # fmt: skip
    heads = log_heads(units == "us")
    assert len(heads) == len(kept) == len({head for head, _ in heads})
    for name, (head, _) in zip(kept, heads, strict=True):
        first = name.split("_")[0]
        assert head.split(" ")[0] in (first, "heat", "license")


def test_amounts_are_in_the_owner_s_units():
    """Gallons and fluid ounces here, liters there."""
    assert {("product", "fl oz"), ("mix", "gal")} <= set(log_heads(True))
    assert {("product", "L"), ("mix", "L")} <= set(log_heads(False))
