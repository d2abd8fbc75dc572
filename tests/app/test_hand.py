"""Mapping a place takes few actions beyond the corners themselves."""

import shapely

from tests.app.hand import map_a_place, with_photo
from tests.app.page import drawing


def test_a_place_takes_few_actions_beyond_its_corners(tmp_path, desk):
    """Six blocks, ten trees, a creek and a road: at most a fifth more actions than corners."""
    with drawing(with_photo(tmp_path), desk) as page:
        page.until(lambda: page.all(".leaflet-tile-loaded"))
        actions, corners, _ = map_a_place(page)
        blocks = page.layer("blocks").geometry
        assert len(blocks) == 6
        assert shapely.coverage_is_valid(blocks.to_numpy())
        page.until(lambda: len(page.layer("keep_trees")) == 10)
        assert actions <= 1.2 * corners
