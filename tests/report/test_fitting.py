"""Heights of text on paper."""

import pytest

from clearing.report.fitting import high_pt, lines_of


@pytest.mark.parametrize("size", [8.0, 11.0, 14.0])
def test_a_text_takes_no_fewer_lines_in_a_narrower_column(size):
    """Lines grow as the column shrinks, and a word wider than the column is broken."""
    text = "Mark the ground and keep people and vehicles away from treated trees " * 3
    counts = [lines_of(text, wide, size) for wide in (600, 400, 200, 100)]
    assert counts == sorted(counts)
    assert lines_of("W" * 60, 100, size) > 1


def test_height_goes_with_lines():
    """Two lines of 10 points stand twice as high as one."""
    assert high_pt("W " * 12, 100, 10.0) == pytest.approx(
        lines_of("W " * 12, 100, 10.0) * high_pt("W", 100, 10.0)
    )
