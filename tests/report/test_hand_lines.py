"""Heads of the lines that are filled in by hand: few enough for paper, in the owner's units."""

import pytest

from clearing.report.hand_lines import log_heads


@pytest.mark.parametrize("us", [True, False])
def test_a_line_asks_for_what_fits_on_paper(us):
    """Sixteen fields, each with a head of its own; who applied it and the weather among them."""
    words = [word for word, _ in log_heads(us)]
    assert len(words) == len(set(words)) == 16
    assert words[:5] == ["date", "strip", "job", "people", "hours"]
    assert {"applied by", "license", "wind from", "start"} <= set(words)


def test_amounts_wind_and_heat_are_in_the_owner_s_units():
    """Gallons, miles and Fahrenheit here; liters, kilometers and Celsius there."""
    us = {("product", "fl oz"), ("mix", "gal"), ("wind", "mph"), ("heat", "°F")}
    metric = {("product", "L"), ("mix", "L"), ("wind", "km/h"), ("heat", "°C")}
    assert us <= set(log_heads(True))
    assert metric <= set(log_heads(False))
