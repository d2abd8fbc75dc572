"""Present values against printed ones."""

import pytest

from clearing.effort.money import present_value

FOREST = (5, 15, 25, 35, 45, 55, 65)  # middles of ten-year periods
CASES = [  # rate, years, cash, printed present value, within; source
    # Davis, Johnson, Bettinger and Howard, Forest Management, 4th ed. 2001, chapter 11, as in the
    # model file of GLPK 5.0 (examples/dbf, public domain): four rows, to the printed dollar
    (0.04, FOREST, (9970, -30, -30, 4020, -30, -30, 4020), 9491, 0.5),
    (0.04, FOREST, (-30, -30, -30, 11470, -30, -30, 4020), 3160, 0.5),
    (0.04, FOREST, (-30,) * 7, -71, 0.5),
    (0.04, FOREST, (-20,) * 7, -47, 0.5),
    # numpy-financial, documentation of npv
    (0.08, (0, 1, 2, 3, 4), (-40000, 5000, 8000, 12000, 30000), 3065.22267, 5e-6),
    # older numpy documentation of npv
    (0.281, (0, 1, 2, 3, 4), (-100, 39, 59, 55, 20), -0.0084785916, 5e-11),
    # printed interest factors at 9 %: P/F of year 5, P/A of ten years; at 15 %: P/A of ten years
    (0.09, (5,), (1.0,), 0.6499, 5e-5),
    (0.09, tuple(range(1, 11)), (1.0,) * 10, 6.4177, 5e-5),
    (0.15, tuple(range(1, 11)), (1.0,) * 10, 5.0188, 5e-5),
]


@pytest.mark.parametrize(("rate", "years", "cash", "printed", "within"), CASES)
def test_present_values_are_the_printed_ones(rate, years, cash, printed, within):
    """The sum of amount / (1 + rate)^year, to the digits in print."""
    assert present_value(cash, years, 0, rate).sum() == pytest.approx(printed, abs=within)
