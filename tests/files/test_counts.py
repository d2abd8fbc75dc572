"""Stems are counted into tally.csv in place; all else in the file stays byte for byte."""

import errno
import os

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import clearing
from clearing.errors import InputError
from clearing.files.counts import CountsChanged, count, open_counts
from clearing.files.versions import list_versions
from clearing.tables import columns

DAY = "2026-11-26"
HEAD = "plot_id,species,dbh_in,size,count,keep,status,date\n"
PEAR = {"species": "callery_pear", "size": "wrist"}


def file(folder, text: str, **how):
    """Write a tally file and return its path."""
    path = folder / "tally.csv"
    path.write_bytes(text.encode(how.get("encoding", "utf-8")))
    return path


def test_a_row_of_the_same_stem_and_day_takes_the_count(tmp_path):
    """Its count changes and not a byte beside it."""
    text = HEAD + f"1,callery_pear,,wrist,4,no,live,{DAY}\n2,callery_pear,,wrist,1,no,live,{DAY}\n"
    path = file(tmp_path, text)
    found = count(tmp_path, open_counts(tmp_path), "2", PEAR, 3, DAY)
    assert path.read_text() == text.replace("wrist,1", "wrist,4")
    assert found.rows["count"].tolist() == ["4", "4"]
    assert found.rows.index.tolist() == [2, 3]


def test_odd_files_stay_byte_for_byte(tmp_path):
    """A mark, line ends, quotes, blanks, own columns, blank lines and no last line end stay."""
    text = (
        '\ufeff"plot_id", my note ,species,count,dbh_cm,date\r\n'
        '1,"say ""hi"", twice\nover two lines",Callery Pear,"7",5.0,\r\n'
        "\r\n"
        " 2 ,x,white oak, 3 ,12, 2026-11-26 \r\n"
        "3,y,callery_pear,2"
    )
    path = file(tmp_path, text)
    stem = {"species": "callery_pear", "dbh_cm": 5}
    counts = count(tmp_path, open_counts(tmp_path), "1", stem, 1, DAY)
    assert path.read_bytes() == text.replace('"7"', "8").encode()
    counts = count(tmp_path, counts, "2", {"species": "white_oak", "dbh_cm": 12.0}, -1, DAY)
    assert path.read_bytes() == text.replace('"7"', "8").replace(" 3 ", "2").encode()
    count(tmp_path, counts, "9", stem, 2, DAY)
    end = f"\r\n9,,callery_pear,2,5,{DAY}\r\n"
    assert path.read_bytes() == (text.replace('"7"', "8").replace(" 3 ", "2") + end).encode()


def test_a_new_stem_is_a_new_row_at_the_end(tmp_path):
    """With all that is known of it, and read by pandas as it was meant."""
    file(tmp_path, HEAD)
    stem = {"species": "black_cherry", "dbh_in": 9.9, "status": "live", "keep": True}
    count(tmp_path, open_counts(tmp_path), "P1,a", stem, 1, DAY)
    [row] = pd.read_csv(tmp_path / "tally.csv", dtype=str).fillna("").to_dict("records")
    assert row == {
        "plot_id": "P1,a", "species": "black_cherry", "dbh_in": "9.9", "size": "", "count": "1",
        "keep": "yes", "status": "live", "date": DAY,
    }  # fmt: skip


def test_a_missing_file_is_made_with_the_described_columns(tmp_path):
    """The first stem of a property makes its tally."""
    counts = open_counts(tmp_path)
    assert counts.rows.columns.tolist() == columns("tally", "owner")
    count(tmp_path, counts, "1", PEAR, 2, DAY)
    table = pd.read_csv(tmp_path / "tally.csv", dtype=str)
    assert table.columns.tolist() == columns("tally", "owner")
    assert table["count"].tolist() == ["2"]


def test_a_column_that_is_missing_is_added_to_the_header_alone(tmp_path):
    """Rows shorter than the header end in blanks; they stay as they are."""
    path = file(tmp_path, "plot_id,species,count\n1,callery_pear,4\n")
    count(tmp_path, open_counts(tmp_path), "1", PEAR, 1, DAY)
    assert path.read_text() == (
        f"plot_id,species,count,size,date\n1,callery_pear,4\n1,callery_pear,1,wrist,{DAY}\n"
    )
    table = pd.read_csv(path, dtype=str, keep_default_na=False)
    assert table["count"].tolist() == ["4", "1"]


@pytest.mark.parametrize(
    ("row", "own"),
    [
        (f"1,callery_pear,,wrist,4,no,live,{DAY}", True),
        ("1,callery_pear,,wrist,4,,,", True),
        ("1,Callery Pear,,Wrist,4,No,Live,", True),
        ("1,callery_pear,,wrist,4,no,live,2026-11-25", False),
        (f"1,callery_pear,,wrist,4,yes,live,{DAY}", False),
        (f"1,callery_pear,,wrist,4,no,resprout,{DAY}", False),
        (f"1,callery_pear,,thigh,4,no,live,{DAY}", False),
        (f"1,callery_pear,2,wrist,4,no,live,{DAY}", False),
        (f"1,privet,,wrist,4,no,live,{DAY}", False),
        (f"01,callery_pear,,wrist,4,no,live,{DAY}", False),
    ],
)
def test_which_row_is_meant(tmp_path, row, own):
    """Same plot, species, size, keep, status and day, or no day; words as the checks read them."""
    path = file(tmp_path, HEAD + row + "\n")
    count(tmp_path, open_counts(tmp_path), "1", PEAR, 1, DAY)
    lines = path.read_text().splitlines()
    assert (len(lines) == 2) == own
    assert (lines[1] == row) != own


@given(st.lists(st.integers(-5, 9), max_size=8))
def test_a_count_never_falls_below_nought(tmp_path_factory, steps):
    """Whatever is added and taken back, it is the running sum that stops at nought."""
    folder = tmp_path_factory.mktemp("place")
    file(folder, HEAD + f"1,callery_pear,,wrist,3,no,live,{DAY}\n")
    counts, known = open_counts(folder), 3
    for step in steps:
        counts = count(folder, counts, "1", PEAR, step, DAY)
        known = max(0, known + step)
    assert counts.rows["count"].tolist() == [str(known)]
    assert open_counts(folder).rows.equals(counts.rows)


def test_nothing_found_is_one_row_of_nought(tmp_path):
    """It needs no size, stands once, and goes again byte for byte; a count is never touched."""
    path = file(tmp_path, HEAD + f"1,callery_pear,,wrist,3,no,live,{DAY}\n")
    was, stem = path.read_text(), {"species": "callery_pear", "status": "live"}
    first = count(tmp_path, open_counts(tmp_path), "1", stem, 0, DAY)
    again = count(tmp_path, first, "1", stem, 0, DAY)
    assert path.read_text() == was + f"1,callery_pear,,,0,,live,{DAY}\n"
    count(tmp_path, again, "1", stem, 0, DAY, nought_stays=False)
    count(tmp_path, open_counts(tmp_path), "1", PEAR, 0, DAY, nought_stays=False)
    assert path.read_text() == was


def test_taking_back_what_was_never_counted_does_nothing(tmp_path):
    """No row is made, and the file is not written."""
    path = file(tmp_path, HEAD)
    before = path.stat().st_mtime_ns
    count(tmp_path, open_counts(tmp_path), "1", PEAR, -1, DAY)
    assert (path.read_text(), path.stat().st_mtime_ns) == (HEAD, before)


def test_another_programs_edit_is_never_counted_over(tmp_path):
    """The count is refused, and what the other program wrote is in the file."""
    path = file(tmp_path, HEAD)
    counts = open_counts(tmp_path)
    path.write_text(HEAD + "1,privet,,wrist,1,,,\n")
    with pytest.raises(CountsChanged, match="changed by another program; nothing was counted"):
        count(tmp_path, counts, "1", PEAR, 1, DAY)
    assert "privet" in path.read_text()


@pytest.mark.parametrize("step", ["replace", "fsync"])
def test_a_full_disk_leaves_the_file_as_it_was(tmp_path, monkeypatch, step):
    """Nothing is half written, nothing lies about, and words say why."""
    path = file(tmp_path, HEAD)
    counts = open_counts(tmp_path)

    def full(*_given):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, step, full)
    with pytest.raises(InputError, match=r"tally.csv was not saved: the disk is full"):
        count(tmp_path, counts, "1", PEAR, 1, DAY)
    assert path.read_text() == HEAD
    assert {each.name for each in tmp_path.iterdir() if each.is_file()} == {"tally.csv"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEAD + '1,"callery_pear,,wrist,4\n', "line 2: a quotation mark is opened and not closed"),
        (HEAD + "\n1,p,,w,4,no,live,d,e,f\n", "line 3: it has 10 cells, and the header has 8"),
        ("plot_id,species\n", "line 1: the column 'count' is missing in the header"),
        ("plot_id,count,species,count\n", "line 1: the column 'count' stands in the header twice"),
    ],
)
def test_a_damaged_file_is_named_with_its_line(tmp_path, text, words):
    """What is wrong and where; nothing is written."""
    path = file(tmp_path, text)
    with pytest.raises(InputError, match=words):
        open_counts(tmp_path)
    assert path.read_text() == text


def test_a_file_in_another_encoding_is_named_with_its_line(tmp_path):
    """A sign of an old code page stands in line 3."""
    file(tmp_path, HEAD + "1,a,,wrist,1,,,\n2,ch\u00eane,,wrist,1,,,\n", encoding="latin-1")
    with pytest.raises(InputError, match="line 3: it holds a sign that is no UTF-8"):
        open_counts(tmp_path)


def test_a_count_that_is_no_number_is_named(tmp_path):
    """The row that is meant holds a word; nothing is guessed."""
    file(tmp_path, HEAD + "1,callery_pear,,wrist,many,,,\n")
    with pytest.raises(InputError, match="line 2: the count is 'many'; write a whole number"):
        count(tmp_path, open_counts(tmp_path), "1", PEAR, 1, DAY)


def test_the_file_before_a_day_of_counting_is_kept(tmp_path):
    """One version for a run of counts, with what stood there before the first."""
    file(tmp_path, HEAD)
    counts = open_counts(tmp_path)
    for _ in range(3):
        counts = count(tmp_path, counts, "1", PEAR, 1, DAY)
    [(name, _)] = list_versions(tmp_path, "tally")
    assert (tmp_path / "earlier" / name).read_text() == HEAD


def test_the_samples_tally_takes_a_stem_and_the_property_still_reads(sample):
    """One row differs, and the walk's own reader has one stem more."""
    before = clearing.read(sample).tally
    old = (sample / "tally.csv").read_text().splitlines()
    stem = {"species": "callery_pear", "dbh_in": 2.0, "status": "live", "keep": "no"}
    count(sample, open_counts(sample), "P1-1", stem, 1, "2026-10-05")
    new = (sample / "tally.csv").read_text().splitlines()
    assert len([1 for a, b in zip(old, new, strict=True) if a != b]) == 1
    assert clearing.read(sample).tally["count"].sum() == before["count"].sum() + 1


def test_two_rows_with_an_inch_mark_are_named(tmp_path):
    """A quotation mark inside a cell is a damaged line, said with its number."""
    (tmp_path / "tally.csv").write_text(
        'plot_id,species,size,count,notes\n1,oak,wrist,2,5" stem\n1,oak,thigh,1,6" stem\n'
    )
    with pytest.raises(InputError, match="line 2"):
        open_counts(tmp_path)


def test_a_stem_less_comes_off_a_row_that_holds_one(tmp_path):
    """Of two rows of the same stems the one above nought loses the stem."""
    text = "plot_id,species,size,count\n1,oak,wrist,0\n1,oak,wrist,4\n"
    (tmp_path / "tally.csv").write_text(text)
    count(tmp_path, open_counts(tmp_path), "1", {"species": "oak", "size": "wrist"}, -1, "")
    assert (tmp_path / "tally.csv").read_text() == text.replace("wrist,4", "wrist,3")
