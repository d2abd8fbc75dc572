"""What the log says counts for the product and the ground that were meant, or it is told."""

import pandas as pd
import pytest

from clearing import records
from clearing.property import OwnProduct
from clearing.rates import for_settings
from clearing.tables import column_file
from tests.small_ground import GLYPHOSATE, SETTINGS, replace

OWN = (
    GLYPHOSATE,
    OwnProduct("blue_jug", "triclopyr, triethylamine salt", 0.3595),
    OwnProduct("strong", "imazapyr", 0.4793),
    OwnProduct("weak", "imazapyr", 0.2397),
)
RATES = for_settings(replace(SETTINGS, herbicides=OWN))
HANDBOOK = for_settings(replace(SETTINGS, herbicides=()))
NAMES = column_file("records")["column"].tolist()


def log(*rows: dict) -> pd.DataFrame:
    """Return a log: two litres of glyphosate on strip 2a, and what each row says otherwise."""
    usual = {"date": "2027-03-01", "strip_id": "2a", "job": "foliar", "product_l": 2.0,
             "herbicide": "glyphosate_4"}  # fmt: skip
    numbered = [{"record_id": str(n)} | usual | row for n, row in enumerate(rows, start=1)]
    return pd.DataFrame(numbered, columns=NAMES)


def counted(words: str, rates=RATES) -> list[str]:
    """Return the product for which a row with these words counts, if any."""
    return records.sharpen(rates, log({"herbicide": words}))[0].applied["herbicide"].tolist()


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("Glyphosate 4", "glyphosate_4"),
        ("glyphosate-4", "glyphosate_4"),
        (" GLYPHOSATE_4 ", "glyphosate_4"),
        ("glyphosate 4 lb ae/gal", "glyphosate_4"),
        ("glyphosate, isopropylamine salt", "glyphosate_4"),
        ("Blue Jug", "blue_jug"),
        ("triclopyr_amine_3", "blue_jug"),
        ("triclopyr amine", "blue_jug"),
        ("imazapyr 2", "weak"),
        ("imazapyr_4", "strong"),
    ],
)
def test_a_row_counts_for_the_product_that_was_meant(words, name):
    """The owner's name however it is written, else active ingredient and strength."""
    assert counted(words) == [name]


@pytest.mark.parametrize(
    "words", ["glyfosate", "imazapyr", "glyphosate 3", "glyphosate + imazapyr", "2,4-D amine", ""]
)
def test_a_row_that_nobody_understands_counts_for_no_label_and_is_told(words):
    """Misspelt, of two products, of another strength, a premix, not owned, or blank."""
    assert counted(words) == []
    (_, told) = records.sharpen(RATES, log({"herbicide": words}))[1]
    assert told.startswith("records.csv row 1: ")
    assert "counts against no label; write one of" in told
    assert repr(words) in told or not words


def test_the_handbook_s_names_count_where_the_owner_named_no_product():
    """Key, or words with the strength; imazapyr alone is two products."""
    assert counted("2,4-D amine 3.8", HANDBOOK) == ["amine_2_4_d_3_8"]
    assert counted("Imazapyr 2", HANDBOOK) == ["imazapyr_2"]
    assert counted("imazapyr", HANDBOOK) == []


def test_a_misspelt_name_is_answered_with_the_nearest():
    """What would be right stands in the sentence."""
    assert "did you mean 'glyphosate_4'?" in records.herbicide_problem("glyfosate", RATES)


def test_the_note_counts_its_rows():
    """One row is, two rows are."""
    (one,) = records.sharpen(RATES, log({}))[1]
    assert one.startswith("1 row of records.csv is counted")
    (two,) = records.sharpen(RATES, log({}, {}))[1]
    assert two.startswith("2 rows of records.csv are counted")
    assert records.sharpen(RATES, log()) == (RATES, ())


def test_a_row_is_replaced_by_a_later_one_alone():
    """A chain leaves its last row; a row that names itself or a later one replaces nothing."""
    chain = log({}, {"replaces": "1"}, {"replaces": "2"})
    assert records.in_force(chain)["record_id"].tolist() == ["3"]
    for wrong in ("1", "2", "9"):
        rows = log({"replaces": wrong}, {})
        assert records.in_force(rows)["record_id"].tolist() == ["1", "2"]
        (told,) = records.lost_corrections(rows)
        assert "row 1: 'replaces' is" in told


def test_two_corrections_of_one_row_are_told_since_both_count():
    """The sentence names the row that the second should have corrected."""
    rows = log({}, {"replaces": "1"}, {"replaces": "1"})
    (told,) = records.lost_corrections(rows)
    assert told.startswith("records.csv row 3: 'replaces' is '1', which row 2 replaces too")
    assert records.in_force(rows)["record_id"].tolist() == ["2", "3"]


def test_every_doubt_of_the_log_is_listed_at_once():
    """A strip that is none, a herbicide that is none, a correction of nothing; a block is good."""
    rows = log({"strip_id": "99"}, {"herbicide": "soap"}, {"replaces": "7"}, {"strip_id": "2"})
    told = records.log_problems(rows, RATES, ["2", "2a"])
    assert len(told) == 3
    assert "row 3: 'replaces' is '7'" in told[0]
    assert "row 1: '99' is no strip or block" in told[1]
    assert "row 2: 'soap' is none of your products" in told[2]
    assert records.log_problems(log({}), RATES, ["2a"]) == []


def test_a_row_without_product_may_name_what_it_likes():
    """Mowing puts nothing out, and a row that is replaced says nothing any more."""
    rows = log(
        {"herbicide": "soap", "product_l": None, "job": "mow"},
        {"herbicide": "oil"},
        {"replaces": "2"},
    )
    assert records.log_problems(rows, RATES, ["2a"]) == []


def test_blocks_and_strips_of_the_property_are_known(place):
    """Block 2 of the sample and its strips as they are cut."""
    known = records.known_places(place, for_settings(place.settings))
    assert {"2", "2a", "2b"} <= set(known)
    assert len(known) == len(set(known))


def test_of_many_places_only_the_first_are_named():
    """Forty strips would fill the page: five are named, and that the map has the others."""
    places = [f"{n}a" for n in range(40)]
    (told,) = records.log_problems(log({"strip_id": "zz"}), RATES, places)
    assert "there are 0a, 1a, 2a, 3a, 4a and 35 more, see the map" in told
    (short,) = records.log_problems(log({"strip_id": "zz"}), RATES, places[:39])
    assert "38a" in short
