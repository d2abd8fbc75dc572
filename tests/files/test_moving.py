"""What else a file of one layer holds comes along when the layer is taken into land.gpkg."""

import geopandas as gpd
import pandas as pd
import pyogrio
import shapely

from clearing.files.kept import open_land, save_land
from tests.files.test_kept import renamed


def point(**cells) -> gpd.GeoDataFrame:
    """Return one point with cells."""
    return gpd.GeoDataFrame(
        {name: [cell] for name, cell in cells.items()},
        geometry=[shapely.Point(700_000, 4_200_000)], crs="EPSG:32616",
    )  # fmt: skip


def layers_in(path) -> list[str]:
    """Return the layers and tables of a file."""
    return sorted(str(row[0]) for row in pyogrio.list_layers(path))


def test_further_layers_of_a_blocks_file_come_along(sample):
    """Where a name is taken, or would be read as ours, it gets a number; a copy is kept whole."""
    own = sample / "blocks.gpkg"
    gpd.read_file(sample / "land.gpkg", layer="blocks").to_file(own, layer="blocks")
    for name, depth in (("wells", 5), ("keep_trees", 6), ("plots", 7)):
        point(depth=depth).to_file(own, layer=name, driver="GPKG")
    pyogrio.write_dataframe(pd.DataFrame({"word": ["a"]}), own, layer="notes", driver="GPKG")
    point(depth=1).to_file(sample / "land.gpkg", layer="wells", driver="GPKG")
    land, whole = open_land(sample), own.read_bytes()
    trees = len(land.layers["keep_trees"])
    before = layers_in(sample / "land.gpkg")
    assert land.where["blocks"] == "blocks.gpkg"
    land = save_land(sample, land, {"blocks": renamed(land)})
    assert not own.exists()
    assert (sample / "earlier" / "blocks.gpkg").read_bytes() == whole
    more = ["keep_trees_2", "notes", "plots_2", "wells_2"]
    assert layers_in(sample / "land.gpkg") == sorted([*before, *more])
    depths = [gpd.read_file(sample / "land.gpkg", layer=name)["depth"].iloc[0]
              for name in ("wells", "wells_2", "keep_trees_2", "plots_2")]  # fmt: skip
    assert depths == [1, 5, 6, 7]
    assert pyogrio.read_dataframe(sample / "land.gpkg", layer="notes")["word"].tolist() == ["a"]
    again = open_land(sample)
    assert len(again.layers["keep_trees"]) == trees
    assert again.layers["blocks"]["name"].iloc[1] == "The far field"
