"""Files that are nearly called as one that is missing are told, and nothing is passed over."""

import shutil

import pytest

from clearing.errors import InputError
from clearing.files import read
from clearing.files.counts import count, open_counts
from clearing.files.strays import strayed, strayed_layer
from clearing.files.writing import sample_folder

CASES = [
    ("tally.csv", "Tally.CSV", "give it the name tally.csv"),
    ("tally.csv", "tally (1).csv", "give it the name tally.csv"),
    ("tally.csv", "tally (Ann's conflicted copy 2027-01-02).csv", "give it the name tally.csv"),
    ("tally.csv", "tally.csv.txt", "give it the name tally.csv"),
    ("tally.csv", "tally.xlsx", "save the table as tally.csv (CSV in UTF-8)"),
    ("records.csv", "Copy of records.csv", "give it the name records.csv"),
    ("records.csv", "records.ods", "save the table as records.csv (CSV in UTF-8)"),
    ("property.toml", "property.toml.txt", "give it the name property.toml"),
    ("land.gpkg", "land (1).gpkg", "call it land and its ending alone"),
]


@pytest.mark.parametrize(("wanted", "there", "right"), CASES)
def test_a_file_of_nearly_the_name_is_named_with_what_would_be_right(
    wanted, there, right, tmp_path
):
    """A sample property of which one file has another name is not read as if it were not there."""
    home = shutil.copytree(sample_folder(), tmp_path / "home")
    (home / wanted).rename(home / there)
    with pytest.raises(InputError) as found:
        read(home)
    told = [said for said in found.value.problems if repr(there) in said]
    assert told
    assert all(right in said and said.endswith("or move it away") for said in told)


def test_two_copies_are_told_together(tmp_path):
    """Of two copies the owner is asked to name one."""
    for name in ("tally-1.csv", "tally-2.csv"):
        (tmp_path / name).touch()
    said = strayed(tmp_path, "tally.csv")
    assert said == (
        "'tally-1.csv', 'tally-2.csv' lie in the folder and there is no tally.csv; "
        "name one of them tally.csv, or move them away"
    )


@pytest.mark.parametrize(
    "name", ["tally_sheet.pdf", "new_tally.csv", ".tally.csv-ab12", "tall.csv"]
)
def test_other_files_are_left_alone(name, tmp_path):
    """Names of other files are no near names."""
    (tmp_path / name).touch()
    assert strayed(tmp_path, "tally.csv") == ""
    assert strayed_layer(tmp_path, "blocks") == ""


def test_a_land_file_of_nearly_the_name_is_told_once(tmp_path):
    """Five layers are missing with it, and one sentence is said."""
    home = shutil.copytree(sample_folder(), tmp_path / "home")
    (home / "land.gpkg").rename(home / "land (1).gpkg")
    with pytest.raises(InputError) as found:
        read(home)
    assert found.value.problems == [
        "'land (1).gpkg' lies in the folder and is not read; call it land and its ending alone, "
        "or move it away"
    ]


@pytest.mark.parametrize("name", ["tally.csv", "records.csv"])
def test_a_spreadsheets_line_before_the_headings_is_passed_over(name, tmp_path):
    """A table that begins with sep=, has the rows that it has without."""
    home = shutil.copytree(sample_folder(), tmp_path / "home")
    table = name.removesuffix(".csv")
    before = getattr(read(home), table)
    (home / name).write_bytes(b"\xef\xbb\xbfsep=,\r\n" + (home / name).read_bytes())
    assert getattr(read(home), table).equals(before)


def test_nothing_is_counted_beside_a_tally_of_nearly_the_name(tmp_path):
    """The page does not begin a new tally where the owner's lies under another name."""
    (tmp_path / "tally (1).csv").write_text("plot_id,species,count\n", "utf-8")
    with pytest.raises(InputError, match=r"'tally \(1\).csv' lies in the folder"):
        open_counts(tmp_path)


def test_a_count_leaves_a_spreadsheets_line_before_the_headings_as_it_is(tmp_path):
    """One row is added at the end of a tally that begins with sep=, and the rest stays."""
    before = "sep=,\nplot_id,species,size,count\n"
    (tmp_path / "tally.csv").write_text(before, "utf-8", newline="")
    stem = {"species": "callery_pear", "size": "wrist"}
    count(tmp_path, open_counts(tmp_path), "P1", stem, 2, "")
    assert (tmp_path / "tally.csv").read_text("utf-8") == f"{before}P1,callery_pear,wrist,2\n"
