"""``clearing log`` refuses a row that nobody would understand, and lists those that are there."""

import json

import pytest
from click.testing import CliRunner

from clearing.cli import main

WORK = ("--date", "2027-03-01", "--job", "foliar", "--product", "12floz")


def log(folder, *words: str):
    """Return the answer of ``clearing log``."""
    return CliRunner().invoke(main, ["log", str(folder), *words])


def test_a_row_in_the_owner_s_words_is_taken(sample):
    """Case and blanks of the herbicide do not matter; one row is a row."""
    added = log(sample, "add", *WORK, "--strip", "2a", "--herbicide", "Glyphosate 4")
    assert added.exit_code == 0
    assert log(sample, "check").stdout == "1 row, 1 in force; no problems found.\n"


def test_a_row_that_fits_nothing_is_refused_with_every_reason(sample):
    """Strip, herbicide and correction at once, with what would be right; nothing is written."""
    before = (sample / "records.csv").read_bytes()
    wrong = ("--strip", "2z", "--herbicide", "glyfosate", "--replaces", "5")
    answer = log(sample, "add", *WORK, *wrong)
    assert answer.exit_code == 1
    assert "'2z' is no strip or block" in answer.stderr
    assert "did you mean 'glyphosate_4'?" in answer.stderr
    assert "'replaces' is '5'; no row has this number" in answer.stderr
    assert (sample / "records.csv").read_bytes() == before


def test_an_amount_without_a_herbicide_is_refused(sample):
    """Nobody could count it against a label; mowing needs none."""
    answer = log(sample, "add", *WORK, "--strip", "2a")
    assert answer.exit_code == 1
    assert "an amount of product and no herbicide; write one of glyphosate_4" in answer.stderr
    assert log(sample, "add", *WORK[:4], "--strip", "2a").exit_code == 0


@pytest.mark.parametrize("as_json", [False, True])
def test_check_lists_the_doubts_of_a_log_that_was_typed_by_hand(sample, as_json):
    """Exit 1, every row by its number, in words and as JSON."""
    with (sample / "records.csv").open("a") as stream:
        stream.write("1,,2027-03-01,2a,foliar,2,6,soap,12,,,,,,,,,\n")
        stream.write("2,9,2027-03-01,99,mow,2,6,,,,,,,,,,,\n")
    answer = log(sample, "check", *["--json"] * as_json)
    assert answer.exit_code == 1
    told = "\n".join(json.loads(answer.stdout)["problems"]) if as_json else answer.stderr
    assert "row 1: 'soap' is none of your products, so it counts against no label" in told
    assert "row 2: '99' is no strip or block" in told
    assert "row 2: 'replaces' is '9'" in told
