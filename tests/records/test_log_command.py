"""``clearing log`` refuses a row that nobody would understand, and lists those that are there."""

import json
from datetime import date

import pytest
from click.testing import CliRunner

import clearing
from clearing import log_verb
from clearing.cli import main

WORK = ("--date", "2027-03-01", "--job", "foliar", "--product", "12floz")


@pytest.fixture(autouse=True)
def _later(monkeypatch):
    """Let the clock say a day after all work of these tests."""
    monkeypatch.setattr(log_verb, "_today", lambda: date(2027, 3, 9))


def log(folder, *words: str):
    """Return the answer of ``clearing log``."""
    return CliRunner().invoke(main, ["log", str(folder), *words])


def test_a_row_in_the_owner_s_words_is_taken(sample):
    """Case and blanks of the herbicide do not matter; one row is a row."""
    added = log(sample, "add", *WORK, "--strip", "2a", "--herbicide", "Glyphosate 4")
    assert added.exit_code == 0
    checked = log(sample, "check")
    assert checked.exit_code == 0
    assert checked.stdout.startswith("1 row, 1 in force; no problems found.\n")


def test_a_row_that_fits_nothing_is_refused_with_every_reason(sample):
    """Strip, day, amounts, time and correction at once, with what would do; nothing is written."""
    before = (sample / "records.csv").read_bytes()
    wrong = ("--strip", "2z", "--hours", "nan", "--start", "noon", "--area", "999999 acres",
             "--wind", "5 knots", "--replaces", "5", "--date", "1027-03-10")  # fmt: skip
    answer = log(sample, "add", *WORK, *wrong)
    assert answer.exit_code == 1
    assert "'2z' is no strip or block" in answer.stderr
    for said in ("'hours' is 'nan'", "'start_time' is 'noon'; write a time of day as HH:MM",
                 "'area_acres' is '999999'", "'5 knots' is not a wind speed",
                 "'date' is '1027-03-10'; write a day as YYYY-MM-DD, from 1990-01-01"):  # fmt: skip
        assert said in answer.stderr
    assert "'replaces' is '5'; no row has this number" in answer.stderr
    assert (sample / "records.csv").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "said"),
    [((), "an amount of product and no herbicide"), (("--herbicide", "glyfosate"), "'glyfosate' is "
     "none of your products, so it counts against no label"),
     (("--job", "picnik"), "'picnik' is no job of the plan"),
     (("--date", "2027-03-10"), "which is after today (2027-03-09)"),
     (("--start", "14:00", "--end", "9:30"), "it ends at 09:30, before it starts at 14:00"),
     (("--area", "5000"), "times that of 2a")],
)  # fmt: skip
def test_what_was_done_is_kept_and_doubted(sample, words, said):
    """A true application is never refused: add and check say what is odd, check exits 1."""
    answer = log(sample, "add", *WORK, "--strip", "2a", *words)
    assert answer.exit_code == 0, answer.stderr
    assert said in answer.stdout
    checked = log(sample, "check")
    assert checked.exit_code == 1
    assert said in checked.stderr


def test_a_correction_starts_from_the_row_that_it_corrects(sample):
    """Product, people and the rest stay; a typed blank clears; the answer says what changed."""
    log(sample, "add", *WORK, "--strip", "2a", "--herbicide", "glyphosate_4", "--people", "2",
        "--hours", "4", "--notes", "x")  # fmt: skip
    answer = log(
        sample, "add", "--replaces", "1", "--hours", "6,5", "--notes", "", "--product", "1L"
    )
    assert answer.exit_code == 0, answer.stderr
    assert "row 2 is in" in answer.stdout
    assert ("changed (was / is): hours 4 / 6.5, product_floz 12 / blank, product_l blank / 1, "
            "notes x / blank") in answer.stdout  # fmt: skip
    (row,) = json.loads(log(sample, "list", "--json").stdout)
    assert (row["people"], row["hours"], row["product_l"]) == (2, 6.5, 1)
    assert (row["herbicide"], row["notes"], row["job"]) == ("glyphosate_4", None, "foliar")


def test_job_and_block_are_taken_as_they_are_called(sample):
    """Cut-and-spray is stored by its key, and a block's own name is its number."""
    name = clearing.read(sample).blocks["name"][0]
    words = ("--date", "2027-03-01", "--strip", name.upper(), "--job", "Cut-and-spray")
    assert log(sample, "add", *words).exit_code == 0
    (row,) = json.loads(log(sample, "list", "--json").stdout)
    assert row["job"] == "cut_and_spray"
    assert row["strip_id"] == str(clearing.read(sample).blocks["block_id"][0])
    assert "not recorded: product" in log(sample, "check").stdout


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


def test_every_field_can_be_typed_in_the_owner_s_words(sample):
    """Area, wind and heat with their unit or alone in the owner's; the rest as it stands."""
    typed = ("--area", "2acres", "--side", "north", "--people", "2", "--hours", "6",
             "--mix", "3gal",
             "--percent", "2", "--stems", "40", "--wind", "5", "--wind-from", "SW", "--heat", "20C",
             "--start", "09:30", "--end", "12:00", "--site", "pasture", "--target", "callery_pear",
             "--equipment", "backpack", "--by", "A", "--certified", "B", "--license", "none",
             "--for", "C", "--permit", "none", "--reentry", "48",
             "--notes", "-5 at night")  # fmt: skip
    added = log(sample, "add", *WORK, "--strip", "2a", "--herbicide", "glyphosate_4", *typed)
    assert added.exit_code == 0, added.stderr
    assert "not recorded" not in added.stdout
    (row,) = json.loads(log(sample, "list", "--json").stdout)
    assert row["area_ha"] == pytest.approx(2 * 0.40468564224, abs=1e-6)
    assert row["wind_kmh"] == pytest.approx(5 * 1.609344, abs=1e-6)
    assert (row["temperature_c"], row["reentry_h"], row["stems"]) == (20, 48, 40)
    assert (row["side"], row["start_time"], row["notes"]) == ("north", "09:30", "-5 at night")
    assert row["registration"] == "training only"


def test_what_is_no_amount_is_refused_with_every_reason(sample):
    """Area, wind, heat, product and mix at once."""
    wrong = ("--area", "some", "--wind", "5 knots", "--heat", "warm", "--product", "a cup",
             "--mix", "3 oz")  # fmt: skip
    answer = log(sample, "add", *WORK[:4], "--strip", "2a", *wrong)
    assert answer.exit_code == 1
    assert answer.stderr.count("\n- records: ") == 5


@pytest.mark.parametrize("as_json", [False, True])
def test_the_phone_s_file_is_taken_and_what_is_wrong_is_told(sample, tmp_path, as_json):
    """Exit 1 where a row was refused, the good one is there; again, it is there already."""
    file = tmp_path / "log_2027-03-02.csv"
    file.write_text(
        "entry,date,strip_id,job\na,2027-03-01,2a,mow\nb,2027-13-01,2a,mow\n", encoding="utf-8"
    )
    words = ("add", str(file), *["--json"] * as_json)
    first, again = log(sample, *words), log(sample, *words)
    assert first.exit_code == again.exit_code == 1
    if as_json:
        assert json.loads(first.stdout)["added"] == ["1"]
        assert json.loads(again.stdout)["known"] == ["a"]
    else:
        assert "1 row of log_2027-03-02.csv added: 1; 0 there already; 1 not taken" in first.stdout
        assert "log_2027-03-02.csv line 3: 'date' is '2027-13-01'" in first.stderr
        assert "0 rows of log_2027-03-02.csv added; 1 there already; 1 not taken" in again.stdout


def test_check_names_blanks_days_and_who_decides(sample):
    """What is blank is no problem of the file; nothing is called complete."""
    log(sample, "add", *WORK, "--strip", "2a", "--herbicide", "glyphosate_4")
    answer = log(sample, "check")
    assert answer.exit_code == 0
    assert "row 1 (2027-03-01, 2a): not recorded: amount of mix" in answer.stdout
    assert "within 14 days of the application" in answer.stdout
    assert "your state and the product's label decide" in answer.stdout
    told = json.loads(log(sample, "check", "--json").stdout)
    assert {"field": "temperature", "asked_by": ["Texas"]} in told["missing"][0]["blank"]
    assert "complete" not in answer.stdout


def test_a_damaged_line_is_told_by_check_and_stops_nothing(sample):
    """Exit 1 with its line; the list still has the other row, and another can be added."""
    log(sample, "add", *WORK[:4], "--strip", "2a")
    with (sample / "records.csv").open("a") as stream:
        stream.write("2,,2027-03-44,2a,mow\n")
    answer = log(sample, "check")
    assert answer.exit_code == 1
    assert "records.csv line 3: 'date' is '2027-03-44'" in answer.stderr
    assert log(sample, "list").stdout.startswith("1  2027-03-01  2a  leaf spray")
    assert "row 3 is in" in log(sample, "add", *WORK[:4], "--strip", "2a").stdout


def test_print_writes_the_record_of_one_year(sample):
    """Paper and table in out."""
    log(sample, "add", *WORK[:4], "--strip", "2a")
    answer = log(sample, "print", "--year", "2028")
    assert answer.exit_code == 0
    assert (sample / "out" / "record.pdf").read_bytes().startswith(b"%PDF")
    assert len((sample / "out" / "record.csv").read_text().splitlines()) == 1
    assert log(sample, "print", "--json").exit_code == 0
    assert len((sample / "out" / "record.csv").read_text().splitlines()) == 2


@pytest.mark.parametrize(
    "words", [("list", "--hours", "3"), ("add", "--year", "2027"), ("check", "--year", "2027"),
              ("add", "--date", "2027-03-01")],
)  # fmt: skip
def test_words_that_do_not_belong_together_are_wrong_use(sample, words):
    """Exit 2, with what is missing or too much."""
    assert log(sample, *words).exit_code == 2
