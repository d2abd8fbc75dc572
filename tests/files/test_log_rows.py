"""A row that was told is in the log, whatever happens after; what was there stays as it was."""

import errno
import os
import random
import subprocess
import sys
import time
from dataclasses import replace

import pytest

import clearing
from clearing.files import add_record, add_records, durable, log_rows, take_log_file
from clearing.files.log_lines import take_apart
from clearing.records import in_force

WORK = {"date": "2027-03-01", "strip_id": "2", "job": "mow"}
WRITER = """
import sys, clearing
from clearing.files import add_record
folder, who, number = sys.argv[1], sys.argv[2], int(sys.argv[3])
place = clearing.read(folder)
print("ready", flush=True)
for n in range(number):
    key = f"{who}-{n}"
    row = {"date": "2027-03-01", "strip_id": "2", "job": "mow", "entry": key, "notes": "x" * 500}
    print(add_record(folder, place, row), key, flush=True)
"""
PHONE = (
    "entry,replaces,date,strip_id,job,hours,product_floz,herbicide,notes\n"
    "a-1,,2027-03-01,2,foliar,3,12,glyphosate_4,\"two\nlines\"\n"
    "a-2,a-1,2027-03-01,2,foliar,4,12,glyphosate_4,\n"
    "a-3,,2027-03-99,2,mow,1,,,\n"
    "a-4,a-3,2027-03-09,2,mow,1,,,\n"
    "a-5,,2027-03-09,22,mow,x,,,\n"
)  # fmt: skip


def writer(folder, who: str, number: int) -> subprocess.Popen:
    """Start a program that adds rows and says each one's number and key."""
    words = [sys.executable, "-c", WRITER, str(folder), who, str(number)]
    return subprocess.Popen(words, stdout=subprocess.PIPE, text=True)


def rows_of(folder) -> list[tuple[str, str]]:
    """Return number and key of each row of the log, in its order."""
    rows = clearing.read(folder).records
    return list(zip(rows["record_id"], rows["entry"], strict=True))


def test_every_row_that_was_told_is_there_after_a_kill(sample):
    """Six programs of 200 writes each, killed at random: none lost, none doubled or damaged."""
    dice, told, number = random.Random(8), [], 0
    while number < 6:
        with writer(sample, str(number), 200) as program:
            assert program.stdout.readline() == "ready\n"
            for _ in range(dice.randint(20, 45)):
                told.append(tuple(program.stdout.readline().split()))
            time.sleep(dice.uniform(0, 0.01))
            program.kill()
            told += [tuple(line.split()) for line in program.stdout if line.endswith("\n")]
        number += 1
    rows = rows_of(sample)
    assert set(told) <= set(rows)
    assert len(rows) == len(set(rows)) >= len(told) >= 120
    assert len({key for _, key in rows}) == len(rows)
    assert [int(number) for number, _ in rows] == list(range(1, len(rows) + 1))
    assert clearing.read(sample).log_faults == ()


def test_two_programs_lose_no_row_of_each_other(sample):
    """Fifty rows each at once: a hundred rows with a hundred numbers."""
    with writer(sample, "a", 50) as one, writer(sample, "b", 50) as two:
        told = [tuple(line.split()) for line in [*one.stdout, *two.stdout] if line != "ready\n"]
    assert sorted(told) == sorted(rows_of(sample))
    assert len({number for number, _ in told}) == len(told) == 100


def test_the_phone_s_file_is_taken_once(sample):
    """Good rows are added, damaged ones are named by line, and the second time nothing comes."""
    place = clearing.read(sample)
    first = take_log_file(sample, place, PHONE.encode(), "log_2027-03-09.csv")
    assert first.added == ("1", "2", "3")
    assert [said.split(":")[0] for said in first.refused] == [
        "log_2027-03-09.csv line 5", "log_2027-03-09.csv line 7",
    ]  # fmt: skip
    assert "'hours' is 'x'" in first.refused[1]
    assert "'22' is no strip or block" in first.refused[1]
    before = (sample / "records.csv").read_bytes()
    again = take_log_file(sample, place, PHONE.encode(), "log_2027-03-09.csv")
    assert (again.added, again.known) == ((), ("a-1", "a-2", "a-4"))
    assert (sample / "records.csv").read_bytes() == before
    rows = clearing.read(sample).records
    assert in_force(rows)["record_id"].tolist() == ["2", "3"]
    assert rows["notes"][0] == "two / lines"


def test_a_file_without_keys_is_taken_once_too(sample):
    """Two rows alike in one file are two rows; the same file again brings none."""
    place = clearing.read(sample)
    data = b"date,strip_id,job\n2027-03-01,2,mow\n2027-03-01,2,mow\n2027-03-02,2,mow\n"
    assert take_log_file(sample, place, data, "mine.csv").added == ("1", "2", "3")
    again = take_log_file(sample, place, data, "mine.csv")
    assert (again.added, len(again.known)) == ((), 3)


def taken(folder, text: str):
    """Return what became of a phone's file."""
    return take_log_file(folder, clearing.read(folder), text.encode(), "log.csv")


HEAD = "entry,replaces,date,strip_id,job,hours,notes\n"


@pytest.mark.parametrize("cut", ["b,,2027-03-01,2,mow,1", "b,,2027-03-01,2,mow,1,lat",
                                 "b,,2027-03-01,2,mow,1\n"])  # fmt: skip
def test_a_row_that_was_cut_off_is_not_taken_and_the_true_one_is_later(sample, cut):
    """Without its line end, or with fewer cells than the head: named by line, the others taken."""
    whole = HEAD + "a,,2027-03-01,2,mow,2,\n"
    first = taken(sample, whole + cut)
    assert first.added == ("1",)
    assert first.refused[0].startswith("log.csv line 3: ")
    assert "cut off" in first.refused[0]
    assert taken(sample, whole + "b,,2027-03-01,2,mow,12,late\n").added == ("2",)


def test_a_known_entry_with_other_words_is_told(sample):
    """Until the log has the same words, by the entry itself or by its correction."""
    taken(sample, HEAD + "a,,2027-03-01,2,mow,1,\n")
    (said,) = taken(sample, HEAD + "a,,2027-03-01,2,mow,12,\n").refused
    assert "with other words: hours 1 / 12; correct it with --replaces 1" in said
    add_record(sample, clearing.read(sample), WORK | {"replaces": "1", "hours": 12})
    for hours in ("1", "12.0"):
        assert taken(sample, HEAD + f"a,,2027-03-01,2,mow,{hours},\n").refused == ()


def test_a_correction_before_its_entry_is_taken_after_it(sample):
    """Within one file the order does not matter."""
    done = taken(sample, HEAD + "b,a,2027-03-01,2,mow,2,\na,,2027-03-01,2,mow,1,\n")
    assert (done.added, done.refused) == (("1", "2"), ())
    assert in_force(clearing.read(sample).records)["entry"].tolist() == ["b"]


@pytest.mark.parametrize(
    ("text", "said"),
    [("", "holds no row of the log"), (HEAD, "holds no row of the log"),
     ("entry,date,strip_id,job,hour\na,2027-03-01,2,mow,1\n", "'hour' (did you mean 'hours'?)")],
)  # fmt: skip
def test_a_file_that_says_nothing_or_in_other_names_is_refused(sample, text, said):
    """Nothing of it is taken before it is mended."""
    before = (sample / "records.csv").read_bytes()
    with pytest.raises(clearing.InputError) as found:
        taken(sample, text)
    assert said in str(found.value)
    assert (sample / "records.csv").read_bytes() == before


def test_one_amount_in_two_units_is_one_amount(sample):
    """Two acres and five hectares are refused; two acres and 0.81 hectares are the same."""
    place = clearing.read(sample)
    with pytest.raises(clearing.InputError, match="which is not the same; write one of them"):
        add_record(sample, place, WORK | {"area_acres": "2", "area_ha": "5"})
    assert add_record(sample, place, WORK | {"area_acres": "2", "area_ha": "0.81"}) == "1"


def test_a_correction_by_key_meets_the_row_in_force(sample):
    """The phone corrects its entry, which was corrected at home: the last word is the phone's."""
    place = clearing.read(sample)
    add_record(sample, place, WORK | {"entry": "k", "hours": 1})
    add_record(sample, place, WORK | {"replaces": "1", "hours": 2})
    add_record(sample, place, WORK | {"entry": "l", "replaces": "k", "hours": 3})
    rows = clearing.read(sample).records
    assert rows["replaces"].fillna("").tolist() == ["", "1", "2"]
    assert in_force(rows)["hours"].tolist() == [3.0]


def test_a_row_that_is_replaced_already_is_not_replaced_again(sample):
    """Else both corrections would count; the sentence names the row to correct."""
    place = clearing.read(sample)
    for gone in ("", "1"):
        add_record(sample, place, WORK | {"replaces": gone})
    with pytest.raises(clearing.InputError, match="which row 2 replaces already; name 2"):
        add_record(sample, place, WORK | {"replaces": "1"})


def test_all_rows_or_none(sample):
    """A wrong row among good ones is named by its place, and none is added."""
    place = clearing.read(sample)
    before = (sample / "records.csv").read_bytes()
    with pytest.raises(clearing.InputError, match="row 2 of 2: 'replaces' is '7'") as found:
        add_records(sample, place, [WORK, WORK | {"replaces": "7", "hours": -1}])
    assert "row 2 of 2: 'hours' is '-1'" in str(found.value)
    assert (sample / "records.csv").read_bytes() == before


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_what_is_there_stays_byte_for_byte(sample, end):
    """Damaged lines, odd quotation marks, order and line ends; the head grows at its end alone."""
    head = "record_id,date,strip_id,job,own words"
    body = ['8,2027-03-01,2,mow,"cold, bright"', "7,2027-99-01,2,mow", '6,2027-03-01,2,mow,"open',
            "5,2027-03-01,2,mow,a,b,c"]  # fmt: skip
    raw = ("\ufeff" + end.join([head, *body])).encode() + b"\n\xff\0"
    (sample / "records.csv").write_bytes(raw)
    assert add_record(sample, clearing.read(sample), WORK | {"hours": 2}) == "9"
    now = (sample / "records.csv").read_bytes()
    assert now == raw.replace(b"own words", b"own words,,,hours") + (
        f"{end}9,2027-03-01,2,mow,,,,2{end}".encode()
    )
    place = clearing.read(sample)
    assert place.records["record_id"].tolist() == ["8", "9"]
    assert len(place.log_faults) == 4


def test_a_row_too_long_never_falls_under_a_new_column(sample):
    """A comma in old words is no number of hours, though the head has grown by that column."""
    raw = "record_id,date,strip_id,job,notes\n1,2027-03-01,2,mow,left, 5\n"
    (sample / "records.csv").write_text(raw)
    add_record(sample, clearing.read(sample), WORK | {"hours": 2})
    place = clearing.read(sample)
    assert place.records["hours"].tolist() == [2.0]
    assert "line 2: it has 6 cells" in place.log_faults[0]


def test_the_number_of_a_damaged_row_is_not_given_again(sample):
    """It comes back once the row is mended."""
    (sample / "records.csv").write_bytes(
        b"record_id,date,strip_id,job\n1,2027-03-01,2,mow\n7,2027-03-01,2,m\xf6w\n"
    )
    assert add_record(sample, clearing.read(sample), WORK) == "8"


def test_the_label_s_number_is_the_owner_s_own_word(sample):
    """Taken from the product that the owner confirmed; blank where it is not confirmed."""
    place = clearing.read(sample)
    put_out = WORK | {"job": "foliar", "product": "12floz"}
    add_record(sample, place, put_out | {"herbicide": "Glyphosate 4"})
    add_record(sample, place, put_out | {"herbicide": "imazapyr_2"})
    add_record(sample, place, put_out | {"herbicide": "glyphosate_4", "registration": "0-0"})
    found = clearing.read(sample).records["registration"].fillna("").tolist()
    assert found == ["training only", "", "0-0"]


@pytest.mark.parametrize(
    ("cause", "said"),
    [(errno.ENOSPC, "the disk is full"), (errno.EACCES, "is not allowed")],
)
def test_a_file_that_cannot_be_written_is_as_it_was(sample, monkeypatch, cause, said):
    """The sentence says why; nothing is left beside the log."""
    before = (sample / "records.csv").read_bytes()

    def refuse(path):
        raise OSError(cause, "refused")

    place = clearing.read(sample)
    monkeypatch.setattr(durable, "settled", refuse)
    with pytest.raises(clearing.InputError, match=said):
        add_record(sample, place, WORK)
    assert (sample / "records.csv").read_bytes() == before
    assert not list(sample.glob(".records.csv-*"))


def test_a_program_that_holds_the_log_too_long_is_named(sample, monkeypatch):
    """The wait has an end, and a sentence."""
    place = clearing.read(sample)
    monkeypatch.setattr(log_rows, "WAIT_S", 0.1)
    with (
        log_rows.hold_briefly(sample, log_rows.LOCK, log_rows.LOG, 1.0),
        pytest.raises(clearing.InputError, match="is being written by another program"),
    ):
        add_record(sample, place, WORK)


def test_what_a_killed_program_left_beside_the_log_goes(sample):
    """Half-written files of a minute ago are taken away; a fresh one may be somebody's."""
    place = clearing.read(sample)
    old, fresh = sample / ".records.csv-old", sample / ".records.csv-new"
    old.write_text("half")
    fresh.write_text("half")
    os.utime(old, (0, 0))
    add_record(sample, place, WORK)
    assert (old.exists(), fresh.exists()) == (False, True)


def test_a_folder_that_cannot_be_written_is_a_sentence_on_the_log(sample, monkeypatch):
    """The log is named, not the lock beside it."""
    place = clearing.read(sample)
    monkeypatch.setattr(log_rows, "LOCK", "no such folder/lock")
    with pytest.raises(clearing.InputError, match=r"records\.csv was not saved: no such file"):
        add_record(sample, place, WORK)


def test_a_stale_property_numbers_by_the_file(sample):
    """What another program added since it was read is counted."""
    place = clearing.read(sample)
    assert [add_record(sample, place, WORK) for _ in range(3)] == ["1", "2", "3"]


def test_a_log_that_is_not_there_is_begun(sample):
    """Head and row; an entry that is known gives its number back."""
    (sample / "records.csv").unlink()
    place = replace(clearing.read(sample))
    assert add_record(sample, place, WORK | {"entry": "k"}) == "1"
    assert add_record(sample, place, WORK | {"entry": "k"}) == "1"
    file = take_apart((sample / "records.csv").read_bytes())
    assert len(file.rows) == 1
