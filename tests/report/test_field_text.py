"""Names for phone and GIS are one line, clean, short and different."""

from hypothesis import given
from hypothesis import strategies as st

from clearing.report.field_text import SHORT, one_line, short_names, xml_text


@given(st.lists(st.text(max_size=40), max_size=30))
def test_short_names_are_short_and_differ(names):
    """Whatever the names, a hand-held gets none that is too long and no two that are the same."""
    short = short_names(names)
    assert max(map(len, short), default=0) <= SHORT
    assert len({one.casefold() for one in short}) == len(names)


@given(st.text())
def test_one_line_holds_no_break_and_no_control_character(text):
    """No reader finds a second line in it."""
    assert len(one_line(text).splitlines()) <= 1
    assert not any(ord(letter) < 32 or 127 <= ord(letter) < 160 for letter in one_line(text))


def test_short_plain_names_stay():
    """A name that is short and its own stays as it is."""
    assert short_names(["T001", "in 1a", "plot P1-1"]) == ["T001", "in 1a", "plot P1-1"]


def test_letters_of_any_alphabet_stay():
    """Hebrew, Arabic and letters beyond the first 65,536 are kept."""
    assert xml_text("שדה حقل 𐐷 \x00") == "שדה حقل 𐐷 "


def test_many_names_that_begin_alike_are_told_apart():
    """20,000 names with the same long beginning are 20,000 short ones."""
    short = short_names([f"the old oak by the northern fence {n}" for n in range(20_000)])
    assert len(set(short)) == 20_000
