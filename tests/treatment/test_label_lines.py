"""The label's own lines of the day: only a confirmed label's count, the stricter of two."""

from dataclasses import replace

import pytest

from clearing.property import OwnProduct, Settings
from clearing.rates import load
from clearing.treatment import Known, day_line
from clearing.treatment.label_lines import DAY_LINES, own_lines
from clearing.treatment.limits import to_confirm


def known(confirmed: bool = True, **limits: float) -> Known:
    """Return glyphosate with these limits on its label."""
    product = OwnProduct("mine", "glyphosate", 0.48, limits=limits, confirmed=confirmed)
    return Known(product, "glyphosate_4", False)


@pytest.mark.parametrize("word", DAY_LINES)
def test_a_confirmed_label_s_line_is_the_owner_s_own(word):
    """Each of the owner's words stands for one figure of the handbook, and takes its place."""
    item = DAY_LINES[word][0]
    assert day_line(known(**{word: 7.0}), item, load()).own
    held = day_line(known(confirmed=False, **{word: 7.0}), item, load())
    assert not held.own
    assert held.value == load().figure("glyphosate_4", item).value


@pytest.mark.parametrize(
    ("limits", "item", "value"),
    [
        ({"wind_max_kmh": 16.09344}, "wind_max_mph", 10.0),  # 1 mile = 1.609344 km
        ({"max_temp_c": 35.0}, "max_temp_f", 95.0),
        ({"wind_max_kmh": 16.09344, "wind_max_mph": 9.0}, "wind_max_mph", 9.0),
        ({"wind_min_kmh": 16.09344, "wind_min_mph": 9.0}, "wind_min_mph", 10.0),
        ({"max_temp_f": 90.0, "max_temp_c": 35.0}, "max_temp_f", 90.0),
    ],
)
def test_units_of_the_label_become_the_handbook_s(limits, item, value):
    """By the exact definitions of mile and degree (NIST Handbook 44); twice said, the stricter."""
    assert own_lines(limits)[item] == pytest.approx(value)


def test_the_plan_knows_these_words_and_tells_the_others():
    """A word that is none is named with the one that was meant."""
    product = known(wind_max_mph=8.0, wind_maxx_mph=8.0).product
    settings = Settings("Place", "any", "us", 2027, 4, (), herbicides=(product,))
    told = " ".join(to_confirm(replace(load(), products=(product,)), settings))
    assert "wind_maxx_mph" in told
    assert "did you mean" in told
    assert "does not know wind_max_mph" not in told
