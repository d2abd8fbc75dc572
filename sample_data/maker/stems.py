"""Every target stem on the sample property, in clusters as seeds and root sprouts make them."""

from functools import cache

import numpy as np
import pandas as pd
import shapely

from maker.land import Land, make_land
from maker.trees import CM_PER_IN

CLASSES = ["seedling", "under_1in", "1_3in", "3_6in", "6_10in", "over_10in"]
# Diameters are drawn on the tenth of an inch that a tape shows, and never on a break itself.
CLASS_IN = {"under_1in": (0.2, 0.9), "1_3in": (1.1, 2.9), "3_6in": (3.1, 5.9),
            "6_10in": (6.1, 9.9), "over_10in": (10.1, 15.0)}  # fmt: skip
# Stems per hectare of all sizes by kind of brush, and what share falls in each class: invented,
# many small and few large as in any young stand.
STEMS_PER_HA = {"open": 340.0, "brushy": 950.0, "thicket": 2050.0}
SHARES = {
    "open": (0.40, 0.19, 0.23, 0.12, 0.05, 0.01),
    "brushy": (0.39, 0.20, 0.24, 0.12, 0.042, 0.008),
    "thicket": (0.36, 0.22, 0.27, 0.115, 0.03, 0.005),
}
SPREAD = 0.22  # of the log density between blocks of one kind
PEAR_SHARE = {"pasture": 0.85, "silvopasture": 0.70, "woodland": 0.28}
# Thomas-like clusters: parents per ha, spread of a cluster [m], reach of the edge it likes [m]
CLUSTER = {"callery_pear": (20.0, 11.0, 60.0), "tree_of_heaven": (17.0, 9.0, 35.0)}
SMALL_WIDER = 1.35  # seedlings lie this much wider around the parent than trees
EDGE_FLOOR = 0.30  # weight of a parent far from any edge
LIKED = {"callery_pear": ["fence", "property_line", "power_line", "building"],
         "tree_of_heaven": ["public_road", "farm_road", "water", "trail"]}  # fmt: skip


def make_stems(land: Land, rng: np.random.Generator) -> pd.DataFrame:
    """Return all target stems of one draw: block_id, species, x, y, dbh_cm, size_class.

    Seedlings, which end below breast height, have no dbh.
    """
    parts = []
    for block in land.blocks.itertuples():
        level = STEMS_PER_HA[block.brush] * np.exp(rng.normal(-(SPREAD**2) / 2, SPREAD))
        pear = np.clip(rng.normal(PEAR_SHARE[block.goal], 0.06), 0.03, 0.97)
        for species, share in (("callery_pear", pear), ("tree_of_heaven", 1 - pear)):
            stems = rng.poisson(level * share * block.geometry.area / 1e4)
            size = rng.choice(len(CLASSES), stems, p=SHARES[block.brush])
            xy = _clustered(block.geometry, species, size, rng)
            part = pd.DataFrame(xy, columns=["x", "y"])
            parts.append(part.assign(block_id=block.block_id, species=species, size=size))
    stems = pd.concat(parts, ignore_index=True)
    size = stems.pop("size").to_numpy()
    stems["dbh_cm"] = _diameters_in(size, rng) * CM_PER_IN
    stems["size_class"] = np.array(CLASSES, dtype=object)[size]
    return stems[["block_id", "species", "x", "y", "dbh_cm", "size_class"]]


def truth_of(stems: pd.DataFrame, land: Land) -> pd.DataFrame:
    """Return the true count of every block, species and size class, zeros included."""
    area_ha = dict(zip(land.blocks["block_id"], land.blocks.area / 1e4, strict=True))
    keys = pd.MultiIndex.from_product(
        [area_ha, CLUSTER, CLASSES], names=["block_id", "species", "size_class"]
    )
    counts = stems.groupby(keys.names).size().reindex(keys, fill_value=0)
    truth = counts.rename("stems").reset_index()
    return truth.assign(area_ha=truth["block_id"].map(area_ha).round(6))


def _diameters_in(size: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return dbh [in] for class numbers; within a class the small ones are the more."""
    dbh = np.full(len(size), np.nan)
    for number, name in enumerate(CLASSES):
        if name in CLASS_IN:
            low, high = CLASS_IN[name]
            rows = size == number
            part = rng.beta(1.0, 1.6, rows.sum())
            dbh[rows] = np.round(low + (high - low) * part, 1)
    return dbh


def _clustered(
    block: shapely.Polygon, species: str, size: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """Return one place (n, 2) for each stem in a block, gathered around random parents."""
    per_ha, spread_m, _ = CLUSTER[species]
    west, south, east, north = (*block.bounds,)
    low, high = (west - spread_m, south - spread_m), (east + spread_m, north + spread_m)
    box_ha = (high[0] - low[0]) * (high[1] - low[1]) / 1e4
    parents = rng.uniform(low, high, (max(rng.poisson(per_ha * box_ha), 3), 2))
    weight = rng.gamma(2.0, 1.0, len(parents)) * _edge_weight(parents, species)
    reach = np.where(size <= 1, SMALL_WIDER, 1.0) * spread_m
    placed = np.empty((len(size), 2))
    left = np.arange(len(size))
    while len(left):
        chosen = rng.choice(len(parents), len(left), p=weight / weight.sum())
        tried = parents[chosen] + rng.normal(0, 1, (len(left), 2)) * reach[left, None]
        good = shapely.contains_xy(block, *tried.T)
        placed[left[good]] = tried[good]
        left = left[~good]
    return placed


def _edge_weight(xy: np.ndarray, species: str) -> np.ndarray:
    """Return how well parents stand (floor to 1): best along the edges the species likes."""
    reach_m = CLUSTER[species][2]
    distance = shapely.distance(shapely.points(xy), _edges(species))
    return EDGE_FLOOR + (1 - EDGE_FLOOR) * np.exp(-distance / reach_m)


@cache
def _edges(species: str) -> shapely.Geometry:
    features = make_land().features
    edges = features[features["kind"].isin(LIKED[species])].union_all()
    shapely.prepare(edges)
    return edges
