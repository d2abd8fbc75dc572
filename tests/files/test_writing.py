"""Files are written whole or not at all, and nothing of the owner's is overwritten."""

import csv
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
import rasterio

import clearing
from clearing.files import add_record, lay_plots, start_property
from clearing.files.writing import write_files, write_whole
from clearing.records import in_force
from clearing.tables import column_file
from tests.files.formats import without

HEADER = column_file("records")["column"].tolist()
WORK = {"date": "2027-09-14", "strip": "2a", "job": "hack_and_squirt"}


def logged(folder, **given) -> str:
    """Add a row to a folder's log."""
    return add_record(folder, clearing.read(folder), WORK | given)


def log_of(folder) -> list[dict]:
    """Return the rows of the log's file."""
    with (folder / "records.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_a_failed_write_leaves_every_old_file(tmp_path):
    """When one of the files cannot be written, none is replaced and no rest is left."""
    write_files({"a.txt": b"old a", "b.txt": b"old b"}, tmp_path)
    with pytest.raises(TypeError):
        write_files({"a.txt": b"new a", "b.txt": None}, tmp_path)
    out = tmp_path / "out"
    found = {path.name: path.read_bytes() for path in out.iterdir()}
    assert found == {"a.txt": b"old a", "b.txt": b"old b"}


def test_a_folder_that_takes_no_files_is_a_sentence(tmp_path):
    """The problem names the file; here a file lies where the folder should be."""
    (tmp_path / "out").write_text("mine")
    with pytest.raises(clearing.InputError, match="out was not saved"):
        write_files({"a.txt": b"a"}, tmp_path)
    assert (tmp_path / "out").read_text() == "mine"


def test_a_file_that_cannot_be_encoded_is_not_begun(tmp_path):
    """The old text stands, and no half-written file beside it."""
    path = tmp_path / "notes.csv"
    write_whole(path, "old\n")
    with pytest.raises(UnicodeEncodeError):
        write_whole(path, "new\n" * 10_000 + "\ud800")
    assert path.read_text() == "old\n"
    assert [each.name for each in tmp_path.iterdir()] == ["notes.csv"]


def test_outputs_go_into_a_folder_that_is_not_there_yet(tmp_path):
    """The folder is made."""
    out = write_files({"a.txt": b"a"}, tmp_path / "new" / "place")
    assert (out / "a.txt").read_bytes() == b"a"


def test_the_log_is_added_to_and_never_changed(sample):
    """Two rows, numbered; the first is the same text after the second; volumes stay as typed."""
    assert logged(sample, hours=6.5, herbicide="Glyphosate 4", product="12floz") == "1"
    before = (sample / "records.csv").read_text()
    assert logged(sample, notes='late, with wind; "gusts"') == "2"
    assert (sample / "records.csv").read_text().startswith(before)
    first, second = log_of(sample)
    assert first["product_floz"] == "12"
    assert second["notes"] == 'late, with wind; "gusts"'
    assert len(clearing.read(sample).records) == 2


def test_a_correction_replaces_a_row_and_keeps_it(sample):
    """Both rows stay in the file; only the later is in force."""
    logged(sample, hours=60)
    logged(sample, hours=6, replaces="1")
    rows = clearing.read(sample).records
    assert len(log_of(sample)) == 2
    assert in_force(rows)["hours"].tolist() == [6.0]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"date": "9/14/2027"}, "'date' is '9/14/2027'"),
        ({"hours": -3}, "'hours' is '-3'"),
        ({"product": "a cup"}, "'a cup' is not a volume"),
        ({"replaces": "7"}, "replaces"),
    ],
)
def test_a_row_that_could_not_be_read_again_is_not_added(sample, given, said):
    """What the reader would refuse is refused before it is written."""
    before = (sample / "records.csv").read_bytes()
    with pytest.raises(clearing.InputError, match="records: ") as found:
        logged(sample, **given)
    assert said in str(found.value)
    assert (sample / "records.csv").read_bytes() == before


def test_a_log_with_own_columns_keeps_them(sample):
    """A column that the owner added stays, with its words."""
    (sample / "records.csv").write_text(
        "record_id,date,strip_id,job,weather\n8,2027-03-01,2a,mow,cold and bright\n"
    )
    assert logged(sample, hours=2) == "9"
    assert [row["weather"] for row in log_of(sample)] == ["cold and bright", ""]
    assert log_of(sample)[1]["hours"] == "2"


def test_the_sample_is_not_copied_over_another_property(tmp_path):
    """A folder with another property, or with anything else, is refused untouched."""
    for name in ("property.toml", "letters.txt"):
        folder = tmp_path / name[:4]
        folder.mkdir()
        (folder / name).write_text("mine")
        with pytest.raises(clearing.InputError, match="name a new folder"):
            clearing.copy_sample(folder)
        assert [path.name for path in folder.iterdir()] == [name]
        assert (folder / name).read_text() == "mine"


def test_the_sample_is_not_copied_onto_a_file(tmp_path):
    """A name that is taken by a file is a sentence, not a traceback."""
    (tmp_path / "place").write_text("mine")
    with pytest.raises(clearing.InputError, match="is a file"):
        clearing.copy_sample(tmp_path / "place")


def test_copying_the_sample_twice_keeps_what_was_changed(sample):
    """The second copy leaves the log that was kept in between."""
    logged(sample)
    clearing.copy_sample(sample)
    assert len(log_of(sample)) == 1


def test_a_new_property_keeps_a_tally_that_is_there(tmp_path):
    """Somebody who counted first and starts the property later loses nothing."""
    (tmp_path / "tally.csv").write_text("plot_id,species,size,count\np,callery_pear,wrist,3\n")
    start_property(tmp_path, "[property]\n", None)
    assert "callery_pear,wrist,3" in (tmp_path / "tally.csv").read_text()
    assert (tmp_path / "records.csv").read_text() == ",".join(HEADER) + "\n"
    with pytest.raises(clearing.InputError, match="holds a property already"):
        start_property(tmp_path, "[property]\n", None)


def test_a_new_property_takes_a_photo_that_lies_in_it_already(tmp_path):
    """The photo may be in the folder under its final name."""
    path = tmp_path / "aerial.tif"
    transform = rasterio.transform.from_origin(5e5, 4e6, 1, 1)
    with rasterio.open(path, "w", driver="GTiff", count=3, height=4, width=4, dtype="uint8",
                       crs="EPSG:32616", transform=transform) as image:  # fmt: skip
        image.write(np.full((3, 4, 4), 9, dtype=np.uint8))
    start_property(tmp_path, "[property]\n", path)
    assert clearing.files.open_photo(path)[0].max() == 9


def test_new_plots_lie_in_their_blocks_and_repeat(place, tmp_path):
    """Each block gets two or more, inside its net ground; the same seed lays the same plots."""
    place = replace(place, photo=None)
    placed = lay_plots(place, tmp_path, 0.3, 0.9)
    first = (tmp_path / "out" / "new_plots.geojson").read_bytes()
    lay_plots(place, tmp_path, 0.3, 0.9)
    assert (tmp_path / "out" / "new_plots.geojson").read_bytes() == first
    assert placed.groupby("block_id").size().min() >= 2
    shapes = place.blocks.set_index("block_id").to_crs("EPSG:4326").geometry
    for row in placed.itertuples():
        assert shapes[row.block_id].contains(row.geometry)


def test_new_plots_can_be_read_back_and_counted(sample, place):
    """The layer, the phone file's ids and the empty tally serve as the next survey as they are."""
    lay_plots(replace(place, photo=None), sample, 0.3, 0.9)
    (sample / "out" / "new_plots.geojson").rename(sample / "plots.geojson")
    without(sample, "plots")
    names = gpd.read_file(sample / "plots.geojson")["plot_id"]
    header = (sample / "out" / "new_tally.csv").read_text()
    rows = f"{names[0]},callery_pear,,,wrist,4,,,\n"
    (sample / "tally.csv").write_text(header + rows)
    again = clearing.read(sample)
    assert again.plots["plot_id"].tolist() == names.tolist()
    assert again.tally["count"].tolist() == [4]
