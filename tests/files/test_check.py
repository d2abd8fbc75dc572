"""Bad input gives one list in the owner's names, and nothing is written."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import rasterio
from click.testing import CliRunner
from shapely import Polygon, affinity

import clearing
from clearing import land
from clearing.cli import main
from clearing.rates import for_settings


def layer(folder, name):
    """Return one layer of a property's land.gpkg."""
    return gpd.read_file(folder / "land.gpkg", layer=name)


def save(folder, name, frame):
    """Write one layer back into land.gpkg."""
    pyogrio.write_dataframe(frame, folder / "land.gpkg", layer=name, driver="GPKG")


def problems_of(folder):
    """Return the problems that reading a folder names."""
    with pytest.raises(clearing.InputError) as found:
        clearing.read(folder)
    return found.value.problems


def test_the_sample_has_no_problems(sample):
    """The property that ships is read without a word."""
    assert clearing.read(sample).settings.name == "Sourwood Hollow"


def test_missing_column_is_named(sample):
    """A tally without counts says which column is missing and what it holds."""
    tally = pd.read_csv(sample / "tally.csv", dtype=str).drop(columns="count")
    tally.to_csv(sample / "tally.csv", index=False)
    assert "tally: column 'count' is missing (Number of stems)" in problems_of(sample)


def test_unknown_species_is_named_with_the_nearest(sample):
    """A misspelt species is named with the handbook's nearest name."""
    text = (sample / "tally.csv").read_text().replace("callery_pear", "calery_pear", 1)
    (sample / "tally.csv").write_text(text)
    found = " ".join(problems_of(sample))
    assert "'calery_pear' is not known (did you mean 'callery_pear'?)" in found


def test_negative_count_is_named_by_its_row(sample):
    """A negative count names plot, value and what would be right."""
    tally = pd.read_csv(sample / "tally.csv", dtype=str)
    tally.loc[2, "count"] = "-4"
    tally.to_csv(sample / "tally.csv", index=False)
    found = " ".join(problems_of(sample))
    assert "'count' is '-4' in row 4; write a whole number from 0 to 100000" in found


def test_plot_outside_every_block_is_named(sample):
    """A plot that somebody typed a mile off is named with the nearest block."""
    plots = layer(sample, "plots")
    name = plots.loc[0, "plot_id"]
    plots.loc[0, "geometry"] = affinity.translate(plots.geometry[0], 1609.0, 0.0)
    save(sample, "plots", plots)
    found = " ".join(problems_of(sample))
    assert f"plots: plot {name} lies outside every block" in found


def test_unstated_coordinate_system_is_named(sample):
    """Blocks without a coordinate system are refused, not guessed."""
    blocks = layer(sample, "blocks")
    with pytest.warns(UserWarning, match="crs"):
        save(sample, "blocks", blocks.set_crs(None, allow_override=True))
    found = " ".join(problems_of(sample))
    assert "blocks: land.gpkg does not state its coordinate system" in found


def test_block_that_crosses_itself_is_named(sample):
    """A bow tie is named by its block and place."""
    blocks = layer(sample, "blocks")
    x, y, _, _ = blocks.geometry[0].bounds
    tie = Polygon([(x, y), (x + 50, y + 50), (x + 50, y), (x, y + 50)])
    blocks.loc[0, "geometry"] = tie
    save(sample, "blocks", blocks)
    name = blocks.loc[0, "block_id"]
    found = " ".join(problems_of(sample))
    assert f"the outline of block {name} crosses itself near" in found


def test_two_blocks_over_each_other_are_named(sample):
    """An overlap is named by both blocks and its acres."""
    blocks = layer(sample, "blocks")
    blocks.loc[1, "geometry"] = blocks.geometry[1].union(blocks.geometry[0].buffer(-5))
    save(sample, "blocks", blocks)
    one, two = blocks.loc[0, "block_id"], blocks.loc[1, "block_id"]
    found = " ".join(problems_of(sample))
    assert f"block {one} and block {two} lie over each other by" in found
    assert "acres" in found


def test_a_slip_between_two_blocks_is_no_problem(sample):
    """A foot over the neighbour's edge passes; it is mended on the way and said in feet."""
    blocks = layer(sample, "blocks")
    one, two = blocks.loc[0, "block_id"], blocks.loc[1, "block_id"]
    over = blocks.geometry[1].buffer(0.3).difference(blocks.geometry.drop([0, 1]).union_all())
    blocks.loc[1, "geometry"] = blocks.geometry[1].union(over.intersection(blocks.geometry[0]))
    save(sample, "blocks", blocks)
    before = (sample / "land.gpkg").read_bytes()
    place = clearing.read(sample)
    ground = land.lay_out(place, for_settings(place.settings))
    assert any(f"an overlap with block {o} was taken out (-" in note and " sq ft)" in note
               for note in ground.notes for o in (one, two))  # fmt: skip
    assert set(ground.mended["block_id"]) <= {one, two}
    assert (sample / "land.gpkg").read_bytes() == before


def test_a_photo_of_another_place_is_named(sample):
    """The blocks in one zone, the photo in another: both are told, with the miles between."""
    pixels = np.full((3, 4, 4), 9, dtype=np.uint8)
    corner = rasterio.transform.from_origin(612_356, 4_022_127, 100, 100)
    with rasterio.open(sample / "aerial.tif", "w", driver="GTiff", count=3, height=4, width=4,
                       dtype="uint8", crs="EPSG:32633", transform=corner) as image:  # fmt: skip
        image.write(pixels)
    found = " ".join(problems_of(sample))
    assert "and 8 more lie 5,3" in found
    assert "miles from the photo aerial.tif; check the coordinate system of blocks" in found


def test_all_problems_come_at_once_and_nothing_is_written(sample):
    """Check lists faults of settings, tally and layers together, exits 1 and leaves no out."""
    text = (sample / "property.toml").read_text()
    (sample / "property.toml").write_text(text.replace("first_year", "frist_year", 1))
    tally = pd.read_csv(sample / "tally.csv", dtype=str)
    tally.loc[0, "count"] = "many"
    tally.to_csv(sample / "tally.csv", index=False)
    blocks = layer(sample, "blocks")
    blocks.loc[0, "goal"] = "meadow"
    save(sample, "blocks", blocks)
    answer = CliRunner().invoke(main, ["check", str(sample)])
    assert answer.exit_code == 1
    for words in ("frist_year", "'count' is 'many'", "'goal' is 'meadow'"):
        assert words in answer.output
    assert not (sample / "out").exists()


def test_a_folder_that_is_not_there_is_named(tmp_path):
    """A wrong path is a sentence, not a traceback."""
    with pytest.raises(clearing.InputError, match="there is no folder"):
        clearing.read(tmp_path / "nowhere")
