"""What of the owner's lies in the folder and is not read is told, each with what to do."""

import pytest

from clearing.files.passed_over import passed_over
from clearing.files.writing import sample_folder

HEAD = {"counts": "species;plot_id;count\n", "work": "\ufeffDate,Strip ID,Job\n", "none": "a,b\n"}
CASES = [
    ("Copy of tally.csv", "", "lies beside tally.csv and is not read; put what tally.csv lacks"),
    ("records.xlsx", "", "not read; save it as records.csv if it is the newer one, or move it"),
    ("property.toml.txt", "", "lies beside property.toml and is not read; put what property.toml"),
    ("new_tally.csv", "", "lies beside tally.csv and is not read"),
    ("fall.csv", HEAD["counts"], "lies beside tally.csv and is not read"),
    ("log_2027.csv", HEAD["work"], "not read; put the rows that records.csv lacks into it"),
    ("photo_pins (1).csv", "", "lies in the folder and is not read; save it as photo_pins.csv"),
    ("blocks (1).kml", "", "lies in the folder and is not read; layers are blocks, strips"),
    ("blocks.json", "", "lies in the folder and is not read; layers are blocks, strips"),
    ("creek.GPX", "", "lies in the folder and is not read; layers are blocks, strips"),
    ("aerial (2).JPG", "", "lies in the folder and is not read; the photo is called aerial.tif"),
    ("map.tif", "", "lies in the folder and is not read; the photo is called aerial.tif"),
]


@pytest.fixture
def home(tmp_path):
    """Return a folder with empty tables and settings, and no photo."""
    for name in ("property.toml", "tally.csv", "records.csv"):
        (tmp_path / name).touch()
    return tmp_path


@pytest.mark.parametrize(("name", "text", "said"), CASES)
def test_a_file_that_is_not_read_is_named_with_what_to_do(home, name, text, said):
    """One sentence for one file, by its name as it stands there."""
    (home / name).write_text(text, encoding="utf-8")
    (told,) = passed_over(home)
    assert told.startswith(repr(name))
    assert said in told
    assert told.endswith("away")


def test_several_are_told_in_one_sentence(home):
    """Two copies of the tally: the words are of several."""
    for number in (1, 2):
        (home / f"tally ({number}).csv").touch()
    assert passed_over(home) == [
        "'tally (1).csv', 'tally (2).csv' lie beside tally.csv and are not read; put what "
        "tally.csv lacks into it, or move them away"
    ]


@pytest.mark.parametrize(
    "name", ["tally_sheet.pdf", "prices.csv", "blocks.dbf", "IMG_1.jpg", "notes.txt",
             ".tally.csv-a", "aerial.tfw", "aerial.tif.aux.xml", "tally.csv~", "land.gpkg-wal"]
)  # fmt: skip
def test_what_is_no_input_is_left_alone(home, name):
    """Papers, pictures, half-written files and companions are not spoken of."""
    (home / "aerial.tif").touch()
    (home / name).write_text(HEAD["none"])
    assert passed_over(home) == []


def test_of_the_sample_nothing_is_passed_over():
    """The property that ships is read whole."""
    assert passed_over(sample_folder()) == []
