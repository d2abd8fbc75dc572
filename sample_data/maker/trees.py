"""Native trees of the sample property: the ones the owner mapped, and the woods he did not."""

from functools import cache

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from maker import outline
from maker.land import Land, make_land, placed_points

CM_PER_IN = 2.54
M_PER_FT = 0.3048
TREES_SEED = 11

# Crown width [ft] = b0 + b1 D - b2 D^2, D in inches: Bechtold 2003, SJAF 27(4):269-278.
CROWN = {
    "white_oak": (5.96, 1.52, 0.0),
    "southern_red_oak": (5.12, 1.61, 0.0),
    "northern_red_oak": (6.21, 1.40, 0.0),
    "shagbark_hickory": (7.10, 1.37, 0.0),
    "black_walnut": (9.33, 1.15, 0.0),
    "tulip_tree": (7.62, 1.15, 0.0),
    "persimmon": (5.22, 1.53, 0.0),
    "red_maple": (7.34, 1.43, 0.01),
    "eastern_redcedar": (4.59, 1.34, 0.0),
    "flowering_dogwood": (4.12, 2.40, 0.0),
    "black_cherry": (8.72, 0.99, 0.0),
    "american_elm": (3.57, 2.12, 0.0),
    "sycamore": (9.36, 1.26, 0.0),
}
OPEN_GROWN = 1.25  # crowns in the open against crowns in a stand: assumed
UNDERSTORY = {"flowering_dogwood": 6, "persimmon": 12, "eastern_redcedar": 14}  # largest dbh, in
FIELD = ["white_oak", "southern_red_oak", "black_walnut", "persimmon", "eastern_redcedar",
         "black_cherry", "american_elm", "shagbark_hickory"]  # fmt: skip
WOODS = ["white_oak", "northern_red_oak", "southern_red_oak", "shagbark_hickory", "tulip_tree",
         "red_maple", "flowering_dogwood", "black_cherry", "american_elm"]  # fmt: skip
# keep trees mapped in each block: (single trees, clumps)
MAPPED = {"1": (4, 1), "2": (6, 1), "3": (5, 0), "4": (7, 2), "5": (6, 1), "6": (9, 2),
          "7": (6, 2), "8": (6, 1), "9": (11, 2), "10": (11, 1), "11": (5, 1), "12": (12, 1),
          "13": (6, 0)}  # fmt: skip
WOODS_PER_HA = {"8": 115, "9": 135, "10": 150, "11": 95, "12": 150, "13": 145, "6": 22, "7": 14}
MAPPED_SPACE_M = 4.5  # no two mapped trees closer than this


@cache
def make_keep_trees() -> gpd.GeoDataFrame:
    """Return about 180 mapped keep trees: singles and clumps in each block, sycamores by water."""
    land = make_land()
    rng = np.random.default_rng(TREES_SEED)
    rows = []
    for block in land.blocks.itertuples():
        kinds = WOODS if block.goal == "woodland" else FIELD
        singles, clumps = MAPPED[block.block_id]
        spots = _inside(block.geometry.buffer(-3), singles, rng)
        for middle in _inside(block.geometry.buffer(-18), clumps, rng):
            near = middle + rng.normal(0, 9, (int(rng.integers(4, 8)), 2))
            spots = np.vstack([spots, near[shapely.contains_xy(block.geometry, *near.T)]])
        rows += [(*xy, str(rng.choice(kinds))) for xy in spots]
    rows += [(*xy, "sycamore") for xy in _along_creek(land, rng)]
    rows += [(*xy, kind) for xy, kind in zip(_yard_spots(), FIELD[:4], strict=True)]
    table = pd.DataFrame(_spaced(rows), columns=["x", "y", "species"])
    return _dressed(table, land, rng)


def _dressed(table: pd.DataFrame, land: Land, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Return keep trees with numbers, diameters, and crowns where the owner measured them."""
    table = table.sort_values(["y", "x"], ignore_index=True)
    table["dbh_in"] = _diameters(table["species"], rng, middle=16.0, spread=0.38)
    woods = land.blocks[land.blocks["goal"] == "woodland"].union_all()
    in_woods = shapely.contains_xy(woods, table["x"], table["y"])
    true_crown = crown_ft(table["species"], table["dbh_in"], ~in_woods)
    true_crown = true_crown * rng.normal(1, 0.12, len(table)).clip(0.7, 1.35)
    measured = rng.random(len(table)) < 0.5
    table["crown_ft"] = true_crown.round().where(measured)
    table["notes"] = pd.Series([None] * len(table), dtype=object)
    biggest = table["dbh_in"].nlargest(3).index
    table.loc[biggest, "notes"] = ["line tree", "shade for the cattle", "den tree, holes on top"]
    table.insert(0, "tree_id", [f"T{i + 1:03d}" for i in range(len(table))])
    points = gpd.points_from_xy(table.pop("x"), table.pop("y"), crs=outline.CRS)
    return gpd.GeoDataFrame(table, geometry=points)


@cache
def make_woods_trees() -> pd.DataFrame:
    """Return the native trees that nobody mapped (x, y, species, dbh_in): plots count them."""
    land = make_land()
    rng = np.random.default_rng(TREES_SEED + 1)
    parts = []
    for block in land.blocks.itertuples():
        wanted = round(WOODS_PER_HA.get(block.block_id, 0) * block.geometry.area / 1e4)
        xy = _inside(block.geometry, wanted, rng)
        parts.append(pd.DataFrame(xy, columns=["x", "y"]))
    table = pd.concat(parts, ignore_index=True)
    ways = land.features[land.features["kind"].isin(["farm_road", "trail"])].buffer(3.5).union_all()
    table = table[~shapely.contains_xy(ways, table["x"], table["y"])]
    keep = make_keep_trees().geometry
    keep_xy = np.c_[keep.x, keep.y]
    spaced = _spaced([*map(tuple, keep_xy), *table.itertuples(index=False)], 2.6)[len(keep_xy) :]
    table = pd.DataFrame(spaced, columns=["x", "y"])
    table["species"] = rng.choice(WOODS, len(table), p=_shares(len(WOODS)))
    table["dbh_in"] = _diameters(table["species"], rng, middle=10.0, spread=0.42)
    return table


def crown_ft(species: pd.Series, dbh_in: pd.Series, in_open: np.ndarray) -> pd.Series:
    """Return crown widths [ft] of native trees, wider in the open."""
    b0, b1, b2 = (species.map({k: v[i] for k, v in CROWN.items()}) for i in range(3))
    return (b0 + b1 * dbh_in - b2 * dbh_in**2) * np.where(in_open, OPEN_GROWN, 1.0)


def _diameters(
    species: pd.Series, rng: np.random.Generator, middle: float, spread: float
) -> pd.Series:
    dbh = np.exp(rng.normal(np.log(middle), spread, len(species))).clip(4.2, 36)
    largest = species.map(UNDERSTORY).fillna(40.0)
    return pd.Series(np.minimum(dbh, largest * rng.uniform(0.5, 1, len(dbh)))).round(1)


def _shares(n: int) -> np.ndarray:
    return np.linspace(1.6, 0.4, n) / np.linspace(1.6, 0.4, n).sum()


def _inside(shape: shapely.Geometry, n: int, rng: np.random.Generator) -> np.ndarray:
    """Return n uniform random points (n, 2) in a shape."""
    west, south, east, north = shape.bounds
    drawn = rng.uniform((west, south), (east, north), (40 * n + 40, 2))
    return drawn[shapely.contains_xy(shape, *drawn.T)][:n]


def _along_creek(land: Land, rng: np.random.Generator) -> np.ndarray:
    creek = land.features.query("name == 'Sourwood Branch'").geometry.iloc[0]
    creek = creek.intersection(land.outer.buffer(-8))
    at = np.arange(15, creek.length, 48)
    at = at + rng.uniform(-14, 14, len(at))
    spots = np.array([creek.interpolate(a).coords[0] for a in at])
    return spots + rng.choice([-1, 1], (len(at), 2)) * rng.uniform(2.5, 5, (len(at), 2))


def _yard_spots() -> np.ndarray:
    return placed_points([(419, 68), (458, 96), (492, 84), (430, 148)])


def _spaced(rows: list[tuple], space_m: float = MAPPED_SPACE_M) -> list[tuple]:
    """Return the rows (x, y, ...) without those that stand too close to an earlier one."""
    kept: list[tuple] = []
    xy = np.empty((len(rows), 2))
    for row in rows:
        near = np.hypot(*(xy[: len(kept)] - row[:2]).T) < space_m
        if not near.any():
            xy[len(kept)] = row[:2]
            kept.append(row)
    return kept
