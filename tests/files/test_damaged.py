"""Files cut short, an open ring, a place without stems; tests/hard has the other damages."""

import geopandas as gpd
import pytest
from click.testing import CliRunner

import clearing
from clearing.cli import main
from tests.files.formats import SAVED

TALLY = "tally.csv"


def test_a_place_where_nothing_was_found_is_planned(sample):
    """Visited plots without a tally are zeros: there is nothing to do, and no error."""
    for name in (TALLY, "aerial.tif"):  # the photo takes most of the time of a map
        (sample / name).unlink()
    answer = CliRunner().invoke(main, ["plan", str(sample), "--json"])
    assert answer.exit_code == 0
    assert '"hours": [0.0' in answer.output


@pytest.mark.parametrize("ending", ["shp", "kml", "kmz", "gpx", "geojson"])
def test_a_file_cut_anywhere_gives_no_traceback(sample, ending):
    """Cut at a dozen places, blocks are refused in words or read as far as they go."""
    SAVED[ending](sample)
    name = f"blocks.{ending}" if (sample / f"blocks.{ending}").exists() else f"land.{ending}"
    whole = (sample / name).read_bytes()
    said = []
    for share in (0.01, 0.1, 0.3, 0.5, 0.8, 0.95, 0.999):
        (sample / name).write_bytes(whole[: int(len(whole) * share)])
        try:
            clearing.read(sample)
        except clearing.InputError as found:
            said.append(found.problems)
    assert len(said) >= 5
    assert all(said)


def test_an_unclosed_ring_is_closed(sample):
    """A GeoJSON outline whose last corner is not its first is read as if it were."""
    blocks = gpd.read_file(sample / "land.gpkg", layer="blocks").to_crs("EPSG:4326")
    text = blocks.iloc[[0]].to_json()
    first = text.find("[[[") + 3
    corner = text[first : text.find("]", first)]
    last = text.rfind("[" + corner + "]")
    assert last > first
    (sample / "blocks.geojson").write_text(text[: last - 2] + text[last + len(corner) + 2 :])
    for name in ("tally.csv", "records.csv", "land.gpkg"):
        (sample / name).unlink()
    found = clearing.read(sample).blocks.geometry.iloc[0]
    assert found.is_valid
    assert found.area == pytest.approx(blocks.geometry.iloc[0].area, rel=1e-9)
