"""The sample property is what its truth file says, and the photo shows the same place."""

import functools
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
import shapely
from rasterio.features import rasterize
from scipy.spatial import cKDTree
from scipy.stats import chi2

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "sample_data" / "sourwood_hollow"
TRUTH = ROOT / "tests" / "data" / "sourwood_truth.csv"
SQUARE_M = 15.0
SEED = 1  # the seed of the shipped files
FT, IN_CM, ACRE_M2 = 0.3048, 2.54, 4046.8564224  # international foot, inch; acre of 43,560 ft2


@pytest.fixture(scope="module")
def simulate():
    """Return the function that draws the sample property, once for each seed."""
    sys.path.insert(0, str(ROOT / "sample_data"))
    from maker.sample import simulate

    yield functools.cache(simulate)
    sys.path.remove(str(ROOT / "sample_data"))


@pytest.fixture(scope="module")
def drawn(simulate):
    """Return the tables of the shipped seed."""
    return simulate(SEED)


def test_blocks_share_boundaries_without_overlap(drawn):
    """Thirteen valid blocks whose areas add up to the area of their union."""
    blocks = drawn.blocks
    assert list(blocks["block_id"]) == [str(number) for number in range(1, 14)]
    assert blocks.is_valid.all()
    assert blocks.union_all().area == pytest.approx(blocks.area.sum(), abs=1e-6)


def test_blocks_leave_no_slivers_between_them(drawn):
    """What two neighbours share is a line, and every hole in the union is a piece of land."""
    blocks = drawn.blocks.geometry
    pairs = [(a, b) for i, a in enumerate(blocks) for b in blocks[:i] if a.intersects(b)]
    assert len(pairs) >= 12
    assert all(shapely.intersection(a, b).area == 0 for a, b in pairs)
    parts = shapely.get_parts(blocks.union_all())
    holes = [shapely.Polygon(ring) for part in parts for ring in part.interiors]
    assert all(hole.area > 100 for hole in holes)


def test_neighbours_share_their_corners_to_the_bit(drawn):
    """Every corner on a shared line is a corner of both blocks."""
    blocks = drawn.blocks.geometry
    corners = [set(map(tuple, shapely.get_coordinates(block))) for block in blocks]
    for i, one in enumerate(blocks):
        for j in range(i):
            shared = shapely.get_coordinates(one.intersection(blocks[j]))
            assert {tuple(xy) for xy in shared} <= corners[i] & corners[j]


def test_property_has_74_acres_and_blocks_most_of_them(drawn):
    """The line encloses 74 acres; yard, creek and road bank are in no block."""
    line = drawn.features.query("kind == 'property_line'").geometry.iloc[0]
    assert shapely.Polygon(line).area / ACRE_M2 == pytest.approx(74, abs=0.01)
    assert 60 <= drawn.blocks.area.sum() / ACRE_M2 <= 66


def test_every_plot_tallies_the_targets_that_lie_in_it(drawn):
    """A recount from the stems, plot by plot, gives every row of the tally."""
    stems = drawn.stems
    stem_in = (stems["dbh_cm"] / IN_CM).round(1).to_numpy()
    targets = drawn.tally[drawn.tally["keep"] == "no"]
    counted = targets.groupby("plot_id")["count"].sum()
    home = drawn.blocks.set_index("block_id").geometry
    for plot in drawn.plots.itertuples():
        block_id = home.index[home.contains(plot.geometry)].item()
        away = np.hypot(stems["x"] - plot.geometry.x, stems["y"] - plot.geometry.y) / FT
        large = (stem_in >= plot.small_below_in) & (away <= plot.radius_ft)
        small = ~(stem_in >= plot.small_below_in) & (away <= plot.small_radius_ft)
        expected = ((stems["block_id"] == block_id) & (large | small)).sum()
        assert counted.get(plot.plot_id, 0) == expected, plot.plot_id


def test_every_stem_stands_in_its_block(drawn):
    """The truth of a block counts what stands on it and nothing else."""
    shapes = drawn.blocks.set_index("block_id").geometry
    for block_id, stems in drawn.stems.groupby("block_id"):
        assert shapely.contains_xy(shapes[block_id], stems["x"], stems["y"]).all()


def test_truth_sums_to_the_stems(drawn):
    """All stems are in the truth table, in all classes of all blocks for both species."""
    assert drawn.truth["stems"].sum() == len(drawn.stems)
    assert len(drawn.truth) == 13 * 2 * 6
    assert 15_000 <= len(drawn.stems) <= 40_000


def test_same_seed_gives_the_same_tables(simulate, drawn):
    """Two draws of one seed agree in every table; another seed differs."""
    again, other = simulate.__wrapped__(SEED), simulate(SEED + 1)
    pd.testing.assert_frame_equal(again.tally, drawn.tally)
    pd.testing.assert_frame_equal(again.truth, drawn.truth)
    assert again.plots.geometry.equals(drawn.plots.geometry)
    assert not other.truth["stems"].equals(drawn.truth["stems"])


def test_shipped_files_are_those_of_the_seed(drawn):
    """What stands in the folder is what the script makes today."""
    tally = pd.read_csv(FOLDER / "tally.csv", keep_default_na=False, dtype=str)
    made = drawn.tally.assign(dbh_in=drawn.tally["dbh_in"].map(lambda d: "" if d != d else str(d)))
    assert tally.to_numpy().tolist() == made.astype(str).to_numpy().tolist()
    truth = pd.read_csv(TRUTH, dtype={"block_id": str})
    pd.testing.assert_series_equal(truth["stems"], drawn.truth["stems"])
    for layer, table in zip(("blocks", "keep_trees", "features", "plots"), drawn[:4], strict=True):
        read = gpd.read_file(FOLDER / "land.gpkg", layer=layer)
        assert read.geometry.geom_equals_exact(table.geometry, 0).all(), layer


def test_every_block_has_plots_and_there_are_58(simulate):
    """In twenty draws no block has fewer than two plots and no property fewer than 58."""
    for seed in range(1, 21):
        plots = simulate(seed).plots
        number = plots["plot_id"].str.extract(r"P(\d+)-")[0].value_counts()
        assert number.min() >= 2
        assert len(number) == 13
        assert len(plots) >= 58


def test_plots_are_spread_evenly_up_to_the_edge(simulate):
    """Over 40 draws the part of plots within 8 m of their block's edge is that of the area."""
    near, total = 0, 0
    for seed in range(40):
        drawn = simulate(seed)
        rim = drawn.blocks.assign(geometry=drawn.blocks.buffer(-8))
        inside = shapely.union_all(rim.geometry.to_numpy())
        near += len(drawn.plots) - shapely.intersects(inside, drawn.plots.geometry).sum()
        total += len(drawn.plots)
    share = 1 - rim.area.sum() / drawn.blocks.area.sum()
    # a grid spreads plots more evenly than chance: three binomial errors are wide
    assert near / total == pytest.approx(share, abs=3 * np.sqrt(share * (1 - share) / total))


def test_stems_stand_in_clusters(drawn):
    """In every block counts on 15 m squares vary more than chance: variance over mean is above 1.

    Where chance rules, (squares - 1) * variance / mean follows chi-square; all blocks together
    pass what chance gives once in a million.
    """
    excess = freedom = 0.0
    for block in drawn.blocks.itertuples():
        inside = _square_counts(block, drawn.stems)
        dispersion = inside.var(ddof=1) / inside.mean()
        assert dispersion > 1.2, block.name
        excess += (len(inside) - 1) * dispersion
        freedom += len(inside) - 1
    assert excess > chi2.isf(1e-6, freedom)


def _square_counts(block, stems):
    """Return the stems on each square that lies wholly in the block."""
    west, south, east, north = block.geometry.bounds
    edges = np.arange(west, east, SQUARE_M), np.arange(south, north, SQUARE_M)
    own = stems[stems["block_id"] == block.block_id]
    counts = np.histogram2d(own["x"], own["y"], edges)[0]
    x, y = np.meshgrid(edges[0][:-1], edges[1][:-1], indexing="ij")
    return counts[shapely.within(shapely.box(x, y, x + SQUARE_M, y + SQUARE_M), block.geometry)]


def test_plots_tell_something_of_every_block(simulate):
    """The mean spread of plot counts within blocks, over ten draws, is neither nil nor wild."""
    spreads = []
    for seed in range(10):
        drawn = simulate(seed)
        targets = drawn.tally[drawn.tally["keep"] == "no"].groupby("plot_id")["count"].sum()
        counts = targets.reindex(drawn.plots["plot_id"], fill_value=0)
        groups = counts.groupby(counts.index.str.split("-").str[0])
        spreads.append(groups.std() / groups.mean())
    mean = pd.concat(spreads).groupby(level=0).mean()
    assert mean.between(0.35, 1.2).all()


def test_photo_is_small_georeferenced_and_covers_the_blocks(drawn):
    """Under 3 MB, in the layers' coordinate system, tiled with overviews, 40 m past the blocks."""
    path = FOLDER / "aerial.tif"
    assert path.stat().st_size < 3_000_000
    with rasterio.open(path) as photo:
        assert photo.crs == rasterio.crs.CRS.from_epsg(32616)
        assert 0.25 <= photo.res[0] <= 0.3
        assert photo.overviews(1) == [2, 4, 8]
        assert photo.profile["tiled"]
        frame = shapely.box(*photo.bounds)
    assert frame.contains(drawn.blocks.union_all().buffer(39))


def test_photo_shows_the_ground_of_the_map(drawn):
    """Woodland is darker than hay fields, and the barn's metal roof is brighter than both."""
    barn = drawn.features.query("name == 'barn'").geometry.iloc[0]
    woods = drawn.blocks.query("goal == 'woodland'").union_all()
    hay = drawn.blocks.query("hay == 'yes'").union_all()
    with rasterio.open(FOLDER / "aerial.tif") as photo:
        grey, place = photo.read().mean(axis=0), photo.transform
    seen = [
        grey[rasterize([shape], grey.shape, transform=place) == 1].mean()
        for shape in (woods, hay, barn)
    ]
    assert seen[0] < 0.85 * seen[1] < seen[1] < seen[2]


def test_longleaf_tally_counts_the_mapped_stems():
    """25 plots of a tenth of an acre on the real stand: each row is a stem inside its circle."""
    folder = ROOT / "tests" / "data" / "longleaf_stand"
    stems = pd.read_csv(folder / "longleaf.csv")
    tally = pd.read_csv(folder / "tally.csv")
    plots = gpd.read_file(folder / "plots.geojson")
    # Platt, Evans & Rathbun 1988: 584 trees on 200 x 200 m (as distributed in spatstat.data)
    assert (len(stems), len(plots)) == (584, 25)
    grid = np.stack(np.meshgrid(*[np.arange(20, 200, 40)] * 2), -1).reshape(-1, 2)
    near = cKDTree(stems[["x_m", "y_m"]]).query_ball_point(grid, 11.35)
    assert len(tally) == sum(len(rows) for rows in near)
    dbh = np.sort(np.concatenate([stems["dbh_cm"].to_numpy()[rows] for rows in near]))
    assert np.sort(tally["dbh_cm"]).tolist() == dbh.tolist()
    assert ((tally["keep"] == "no") == (tally["dbh_cm"] < 10)).all()


def test_longleaf_stand_keeps_its_size_on_the_invented_place():
    """200 x 200 m are 4 ha and the photo tile 0.16 ha after the way through degrees."""
    folder = ROOT / "tests" / "data" / "longleaf_stand"
    blocks = gpd.read_file(folder / "blocks.geojson")
    assert blocks.crs.is_geographic
    area = blocks.to_crs("EPSG:32617").set_index("block_id").area
    assert area["stand"] == pytest.approx(40_000, rel=1e-6)
    assert area["photo"] == pytest.approx(1_600, rel=1e-5)
