"""How long the edge of the house takes with big files: a long log, many trees, names alike.

Not part of the test run: timings are no claims that hold on every machine.
"""

import json

import geopandas as gpd
import numpy as np
import shapely

from clearing.app.session import Sitting
from clearing.files.kept import open_land, save_land
from clearing.files.reading import read_log
from clearing.files.starting import start_empty
from clearing.files.versions import list_versions
from clearing.land.corners import Corners
from clearing.report.field_text import short_names
from clearing.zones import cut_strips
from clearing.zones.footing import footing, on_foot, walls_in
from tests.zones.farm import owner_layer, walk_blocks, walk_features

UTM, DEGREES = "EPSG:32616", "EPSG:4326"
HEAD = "record_id,replaces,date,strip_id,job,people,hours,herbicide,product_floz,notes"
TREES = 1500


def wished(benchmark, group: str, seconds: float, work, *given):
    """Return what a piece of work gave that was timed beside its wish [s]."""
    benchmark.group = group
    benchmark.extra_info["wished"] = f"{seconds:g} s"
    return benchmark.pedantic(work, given, rounds=3)


def test_a_log_of_five_thousand_rows(benchmark, tmp_path):
    """A damaged row in ten; wish: 2 s."""
    rows = [f"{n},,2027-03-01,2,mow,2,{'x' if n % 10 == 0 else 6},,," for n in range(1, 5001)]
    (tmp_path / "records.csv").write_text("\n".join([HEAD, *rows, ""]))
    found = wished(benchmark, "a log of 5,000 rows is read", 2.0, read_log, tmp_path)
    assert len(found[0]) == 4500


def test_fifty_thousand_corners_there_and_back(benchmark):
    """A layer of trees goes into degrees and back; wish: 1 s."""
    spots = np.random.default_rng(3).random((50_000, 2)) * 2000 + [612_000, 4_021_000]

    def both():
        way = Corners(UTM, DEGREES)
        return way.back(way.there(spots))

    assert len(wished(benchmark, "50,000 corners", 1.0, both)) == len(spots)


def test_twenty_thousand_names_that_begin_alike(benchmark):
    """Short names for a hand-held; wish: 10 s."""
    names = [f"the old oak by the northern fence {n}" for n in range(20_000)]
    found = wished(benchmark, "20,000 names that begin alike", 10.0, short_names, names)
    assert len(set(found)) == len(names)


def test_a_block_saved_beside_fifty_thousand_trees(benchmark, tmp_path):
    """The trees are not written again; wish: 3 s."""
    box = shapely.box(600_000, 4_000_000, 600_100, 4_000_100)
    path = tmp_path / "land.gpkg"
    gpd.GeoDataFrame({"block_id": ["1"]}, geometry=[box], crs=UTM).to_file(path, layer="blocks")
    trees = gpd.GeoDataFrame(
        {"tree_id": [f"T{n}" for n in range(50_000)]}, geometry=[box.centroid] * 50_000, crs=UTM
    )
    trees.to_file(path, layer="keep_trees")
    land = [open_land(tmp_path)]

    def save():
        blocks = land[0].layers["blocks"]
        moved = blocks.assign(geometry=blocks.translate(1.0))
        land[0] = save_land(tmp_path, land[0], {"blocks": moved})

    wished(benchmark, "a block saved beside 50,000 trees", 3.0, save)
    assert len(gpd.read_file(path, layer="keep_trees")) == 50_000


def test_fifteen_hundred_trees_come_back(benchmark, tmp_path):
    """An earlier version is taken up again; wish: 2 s."""
    start_empty(tmp_path / "place", None)
    sitting = Sitting(tmp_path / "place")
    spots = [shapely.Point(-84.5 + n % 40 * 1e-4, 38.0 + n // 40 * 1e-4) for n in range(TREES)]
    rows = sitting.put([{"layer": "keep_trees", "shape": json.loads(shapely.to_geojson(place)),
                         "own": {"species": "white_oak"}} for place in spots])["rows"]  # fmt: skip
    sitting.remove([[row["uid"], row["v"]] for row in rows])
    version = list_versions(tmp_path / "place", "land")[-1][0]
    benchmark.group = "1,500 trees come back"
    benchmark.extra_info["wished"] = "2 s"
    benchmark.pedantic(sitting.bring_back, (version,), rounds=1)
    assert len(sitting.board.of("keep_trees")) == TREES


def test_four_hundred_strips_of_one_block(benchmark):
    """A ragged block of 16 ha at a twenty-fifth of a hectare; wish: 8 s."""
    turns = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    far = np.random.default_rng(7).uniform(160, 320, len(turns))
    ragged = shapely.Polygon(np.column_stack([np.cos(turns) * far, np.sin(turns) * far]))
    asked = (walk_blocks(ragged), walk_features(), owner_layer("strips", []),
             ragged.area / 1e4 / 400)  # fmt: skip
    assert len(wished(benchmark, "400 strips of one block", 8.0, cut_strips, *asked)) > 350


def test_ways_round_forty_ponds(benchmark):
    """Two hundred strips behind ponds of 200 corners each; wish: 1 s."""
    draw = np.random.default_rng(4)
    ponds = gpd.GeoSeries(gpd.points_from_xy(*draw.uniform(0, 2000, (2, 40)))).buffer(40, 50)
    walls = walls_in(walk_features(*(("water", pond) for pond in ponds)))
    strips = np.array([shapely.box(x, y, x + 90, y + 90) for x in range(0, 2000, 100)
                       for y in range(0, 1000, 100)])  # fmt: skip

    def walk():
        return on_foot(shapely.Point(1000, 2500), strips, footing(walls))

    metres, _ = wished(benchmark, "ways round forty ponds", 1.0, walk)
    assert len(metres) == len(strips)
