"""A damaged row of the log names its line and what would be right, and stops nothing else."""

import pytest

import clearing
from clearing.files.log_lines import take_apart
from clearing.files.reading import read_log
from clearing.records import lost_corrections

HEAD = "record_id,replaces,date,strip_id,job,people,hours,herbicide,product_floz,notes"
GOOD = ["1,,2027-03-01,2,mow,2,6,,,", "9,,2027-03-09,2,mow,2,6,,,fine"]
DAMAGED = [  # (line 3 of the file, what is said of it)
    ("2,,9/14/2027,2,mow,2,6,,,", "'date' is '9/14/2027'; write a day as YYYY-MM-DD"),
    ("2,,2027-02-30,2,mow,2,6,,,", "'date' is '2027-02-30'; write a day as YYYY-MM-DD"),
    ("2,,2027-03-02,2,mow,2,x,,,", "'hours' is 'x'; write a number from 0 to 2000"),
    ("2,,2027-03-02,2,mow,2,-1,,,", "'hours' is '-1'; write a number from 0 to 2000"),
    ("2,,2027-03-02,2,mow,1.5,6,,,", "'people' is '1.5'; write a whole number from 0 to 100"),
    ("2,,2027-03-02,2,mow,2,inf,,,", "'hours' is 'inf'; write a number from 0 to 2000"),
    (",,2027-03-02,2,mow,2,6,,,", "'record_id' is blank; write a number that no other row has"),
    ("1,,2027-03-02,2,mow,2,6,,,", "'record_id' '1' stands in line 2 already"),
    ("2,,2027-03-02,,mow,2,6,,,", "'strip_id' is blank"),
    ("2,,2027-03-02", "'strip_id' is blank"),
    ("2,,2027-03-02,2,mow,2,6,,,late, with wind", "it has 11 cells, and the first line has 10"),
    ('2,,2027-03-02,2,mow,2,6,,,"late', "a quotation mark is opened and not closed"),
    ('2,,2027-03-02,2,mow,2,6,,,"a" b', "a quotation mark stands inside a cell"),
    ("2,,2027-03-02,2,mow,2,6,,,\0", "a sign that is no text in UTF-8"),
    (b"2,,2027-03-02,2,mow,2,6,,,caf\xe9", "a sign that is no text in UTF-8"),
]


def written(folder, *lines, head=HEAD, end=b"\n"):
    """Write a log into a folder and return what is read of it."""
    raw = [line if isinstance(line, bytes) else line.encode() for line in (head, *lines)]
    (folder / "records.csv").write_bytes(end.join(raw) + end)
    return read_log(folder)


@pytest.mark.parametrize(("line", "said"), DAMAGED)
def test_a_damaged_row_is_named_by_its_line_and_the_others_are_read(tmp_path, line, said):
    """One sentence that begins with the line; the rows before and after it are there."""
    rows, faults, problems = written(tmp_path, GOOD[0], line, GOOD[1])
    assert problems == []
    assert rows["record_id"].tolist() == ["1", "9"]
    assert rows["line"].tolist() == [2, 4]
    assert len(faults) == 1
    assert faults[0].startswith("records.csv line 3: ")
    assert said in faults[0]
    assert faults[0].endswith("this row is not counted")


def test_all_damaged_rows_are_told_at_once_and_the_file_stays(tmp_path):
    """Fifteen damages in one file: fifteen sentences, and not a byte was changed."""
    lines = [line for line, _ in DAMAGED]
    rows, faults, _ = written(tmp_path, GOOD[0], *lines, GOOD[1])
    before = (tmp_path / "records.csv").read_bytes()
    assert [int(said.split("line ")[1].split(":")[0]) for said in faults] == list(range(3, 18))
    assert rows["record_id"].tolist() == ["1", "9"]
    read_log(tmp_path)
    assert (tmp_path / "records.csv").read_bytes() == before


def test_a_note_of_several_lines_is_one_row(tmp_path):
    """Line ends inside quotation marks belong to the cell; the row's line is where it begins."""
    rows, faults, _ = written(
        tmp_path, '1,,2027-03-01,2,mow,2,6,,,"late,\nwith ""gusts"""', GOOD[1]
    )
    assert faults == []
    assert rows["notes"][0] == 'late,\nwith "gusts"'
    assert rows["line"].tolist() == [2, 4]


def test_two_quotation_marks_that_were_never_closed_hide_no_row_between_them(tmp_path):
    """The row between two damaged ones is read, though the marks would enclose it."""
    broken = '{},,2027-03-02,2,mow,2,6,,,"late'
    rows, faults, _ = written(tmp_path, broken.format(1), "2,,2027-03-02,2,mow,,,,,",
                              broken.format(3))  # fmt: skip
    assert rows["record_id"].tolist() == ["2"]
    assert len(faults) == 2


def test_a_damaged_row_that_is_replaced_needs_no_word_any_more(tmp_path):
    """Its correction counts, and is not told to replace nothing."""
    rows, faults, _ = written(tmp_path, "1,,2027-03-01,2,mow,2,x,,,", "2,1,2027-03-01,2,mow,2,6,,,")
    assert faults == []
    assert lost_corrections(rows) == []
    assert rows["hours"].tolist() == [6]


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_byte_order_mark_blank_lines_and_spare_commas_do_no_harm(tmp_path, end):
    """What spreadsheets leave behind is passed over."""
    lines = (GOOD[0] + ",,,", "", ",,,,,,,,,", GOOD[1])
    rows, faults, problems = written(tmp_path, *lines, head="\ufeff" + HEAD, end=end)
    assert (faults, problems) == ([], [])
    assert rows["line"].tolist() == [2, 5]


def test_miles_and_fahrenheit_become_metric(tmp_path):
    """10 mph are 16.09344 km/h (NIST Handbook 44), 50 degrees F are 10 C; metric wins."""
    head = "record_id,date,strip_id,job,wind_mph,wind_kmh,temperature_f,temperature_c"
    rows, _, _ = written(tmp_path, "1,2027-03-01,2,mow,10,,50,", "2,2027-03-01,2,mow,10,9,50,-1",
                         head=head)  # fmt: skip
    assert rows["wind_kmh"].tolist() == pytest.approx([16.09344, 9])
    assert rows["temperature_c"].tolist() == pytest.approx([10, -1])
    assert not {"wind_mph", "temperature_f"} & set(rows)


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"\xff\xfer\0e\0c\0\n", "its first line holds a sign that is no text in UTF-8"),
        (b"record_id;date;strip_id;job\n", "divided by semicolons; save it with commas"),
        (b"record_id,date,strip_id\n", "column 'job' is missing"),
        (b"record_id,date,date,strip_id,job\n", "column 'date' stands twice"),
    ],
)
def test_a_file_of_which_nothing_can_be_used_is_a_problem_of_the_input(sample, raw, said):
    """The whole property is refused with a sentence on the log's first line."""
    (sample / "records.csv").write_bytes(raw)
    with pytest.raises(clearing.InputError, match="records: ") as found:
        clearing.read(sample)
    assert said in str(found.value)


def test_a_column_that_is_nearly_one_of_the_logs_is_told(sample):
    """The rest is read; the property knows the sentence."""
    (sample / "records.csv").write_text("record_id,date,strip_id,job,hour\n1,2027-03-01,2,mow,6\n")
    place = clearing.read(sample)
    assert len(place.records) == 1
    (said,) = place.log_faults
    assert "line 1: no column of the log is called 'hour' (did you mean 'hours'?)" in said


def test_an_empty_file_is_an_empty_log(tmp_path):
    """It is told, since it may have been cut off."""
    (tmp_path / "records.csv").write_bytes(b"")
    rows, faults, problems = read_log(tmp_path)
    assert (len(rows), problems) == (0, [])
    assert "records.csv is empty" in faults[0]


def test_five_thousand_rows_are_read_and_the_damaged_are_told(tmp_path):
    """A damaged row in ten: each is told, and no other is lost."""
    lines = [f"{n},,2027-03-01,2,mow,2,{'x' if n % 10 == 0 else 6},,," for n in range(1, 5001)]
    rows, faults, _ = written(tmp_path, *lines)
    assert (len(rows), len(faults)) == (4500, 500)


def test_the_head_is_found_where_it_ends():
    """The place at which the head can grow, after a byte-order mark and a blank line."""
    raw = b"\xef\xbb\xbf\r\n" + HEAD.encode() + b"\r\n" + GOOD[0].encode()
    file = take_apart(raw)
    assert raw[: file.head_end].endswith(b",notes")
    assert file.end == "\r\n"
    assert file.rows[0].line == 3
