"""Sample plots that are laid: what is written, what counts as drawn, what an owner's sizes do."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pypdfium2
import pytest

import clearing
from clearing.files import lay_plots


@pytest.fixture
def bare(place):
    """Return the sample property without its photo, which takes most of the time of a sheet."""
    return replace(place, photo=None)


@pytest.fixture
def no_sheet(monkeypatch):
    """Leave the tally sheet blank where it is not the claim: it takes most of the time."""
    monkeypatch.setattr("clearing.files.plot_files.tally_sheet", lambda *given: b"%PDF-")


def sheet_text(folder) -> str:
    """Return the text of the tally sheet."""
    pages = pypdfium2.PdfDocument(folder / "out" / "tally_sheet.pdf")
    return "\n".join(page.get_textpage().get_text_range() for page in pages)


def test_the_sheet_has_a_box_for_every_new_plot(bare, tmp_path):
    """Each id of the layer stands on the sheet, with the radius as a cord in feet and inches."""
    placed = lay_plots(bare, tmp_path, 0.4, 0.9)
    text = sheet_text(tmp_path)
    assert all(f"Plot {name}" in text for name in placed["plot_id"])
    assert "37 ft 3 in" in text


def test_plots_that_are_drawn_count_when_only_the_missing_are_wanted(bare, no_sheet, tmp_path):
    """Beside 67 drawn plots fewer are added; names are new; the whole layer holds both."""
    fresh = lay_plots(bare, tmp_path, 0.12, 0.9)
    added = lay_plots(bare, tmp_path, 0.12, 0.9, add=True)
    assert 0 < len(added) < len(fresh)
    assert not set(added["plot_id"]) & set(bare.plots["plot_id"])
    whole = gpd.read_file(tmp_path / "out" / "plots.geojson")
    assert whole["plot_id"].tolist() == [*bare.plots["plot_id"], *added["plot_id"]]


def test_the_whole_layer_reads_back_with_its_sizes_and_visits(sample, no_sheet, bare):
    """Old plots keep radius and visit, so that the estimate stays as it was."""
    lay_plots(bare, sample, 0.12, 0.9, add=True)
    (sample / "out" / "plots.geojson").rename(sample / "plots.geojson")
    again = clearing.read(sample).plots.iloc[: len(bare.plots)]
    assert again["visited"].tolist() == bare.plots["visited"].tolist()
    for column in ("radius_m", "small_radius_m", "small_below_cm"):
        now, then = (layer[column].astype(float).to_numpy() for layer in (again, bare.plots))
        np.testing.assert_allclose(now, then, atol=0.001)


def test_when_nothing_is_missing_nothing_is_laid(bare, tmp_path):
    """A coarse wish is met by the plots there are."""
    assert len(lay_plots(bare, tmp_path, 0.6, 0.9, add=True)) == 0
    assert not (tmp_path / "out" / "tally_sheet.pdf").exists()


def test_a_first_guess_of_the_spread_moves_the_number(bare, no_sheet, tmp_path):
    """Twice the coefficient of variation: about four times the plots."""
    few, many = (len(lay_plots(bare, tmp_path, 0.2, 0.9, cv)) for cv in (0.6, 1.2))
    assert many == pytest.approx(4 * few, rel=0.3)
