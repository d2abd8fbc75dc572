"""Words are measured, wrapped and cut so that they fit."""

from hypothesis import given
from hypothesis import strategies as st

from clearing.report.marks import Words, cut, svg_element, wide_of, wrapped

SIZE = 13.0
WORDS = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "Zs")), max_size=60)


@given(WORDS, st.floats(30, 300))
def test_no_line_is_wider_than_its_room(text, room):
    """Whatever is typed, each line fits."""
    assert all(wide_of(line, SIZE) <= room for line in wrapped(text, room, SIZE))


def test_wrapped_words_are_all_there_in_their_order():
    """Lines put together are the words again."""
    text = "The hours to plan on fit every season of the plan"
    assert " ".join(wrapped(text, 120, SIZE)) == text


def test_a_word_without_a_blank_is_cut_with_an_ellipsis():
    """200 letters without a blank become as many as fit, and an ellipsis."""
    short = cut("w" * 200, 100, SIZE)
    assert short.endswith("…")
    assert wide_of(short, SIZE) <= 100 < wide_of("w" + short, SIZE)


def test_two_dollar_signs_are_dollars():
    """Words between dollar signs are not taken for mathematics."""
    assert wide_of("$400 ($240 to $1,000)", SIZE) > wide_of("$400 (240 to 1,000)", SIZE)


def test_letters_that_xml_may_not_hold_are_left_out():
    """A control character in a name does not break the picture."""
    assert ">a b<" in svg_element([Words(0, 0, "a \x00\ufffeb", SIZE)], 10, 10, "", "")
