"""Tree crowns of the aerial photo: how wide, how high, what colour, and how they are drawn."""

import numpy as np
import pandas as pd
import shapely

from maker.brush import Brush, Canopy
from maker.ground import woods_shapes
from maker.land import Land, make_land
from maker.sample import Sample
from maker.trees import CM_PER_IN, M_PER_FT, crown_ft

# Leaf colours in late summer, as seen from above.
LEAF = {
    "white_oak": (88, 104, 64), "southern_red_oak": (86, 98, 56), "northern_red_oak": (76, 94, 56),
    "shagbark_hickory": (106, 114, 64), "black_walnut": (116, 122, 72),
    "tulip_tree": (106, 124, 70), "persimmon": (90, 104, 62), "red_maple": (94, 104, 64),
    "eastern_redcedar": (58, 70, 54), "flowering_dogwood": (104, 98, 68),
    "black_cherry": (88, 106, 60), "american_elm": (96, 112, 66), "sycamore": (122, 130, 90),
    "callery_pear": (88, 92, 54), "tree_of_heaven": (150, 161, 92), "willow": (112, 124, 78),
}  # fmt: skip
# Crown width [ft] = a D^b of an open-grown target, D in inches: for the picture only.
TARGET_CROWN = {"callery_pear": (2.9, 0.91), "tree_of_heaven": (4.8, 0.65)}
TARGET_TALL = {"callery_pear": 1.25, "tree_of_heaven": 1.45}  # height against crown width
SMALL_CROWN_FT = {"seedling": 1.6, "under_1in": 3.4}
NEIGHBOUR_WOODS = ["white_oak", "northern_red_oak", "shagbark_hickory", "tulip_tree", "red_maple",
                   "american_elm", "black_cherry"]  # fmt: skip
NEIGHBOURS_PER_HA = 165
WAVES = 4  # lobes around a crown's edge, by twos, threes ...


def crowns_of(sample: Sample, natives: pd.DataFrame, brush: Brush) -> pd.DataFrame:
    """Return every crown to draw (x, y, species, crown_m, height_m), low ones first."""
    land, rng = make_land(), brush.rng
    native = natives[["x", "y", "species"]].copy()
    open_grown = np.ones(len(natives), bool)
    width_ft = crown_ft(natives["species"], natives["dbh_in"], open_grown)
    native["crown_m"] = width_ft * M_PER_FT * rng.lognormal(0, 0.1, len(natives))
    native["height_m"] = _tree_height(native["crown_m"].to_numpy(), rng)
    woods = shapely.union_all(woods_shapes(land)[-1:])
    far = _scattered(woods, NEIGHBOURS_PER_HA, (7.2, 0.3), NEIGHBOUR_WOODS, rng)
    parts = [native, _targets(sample.stems, rng), far, _banks(land, rng), _roadside(land, rng)]
    return pd.concat(parts, ignore_index=True).sort_values("height_m", ignore_index=True)


def _targets(stems: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    dbh_in = stems["dbh_cm"] / CM_PER_IN
    a, b = (stems["species"].map({k: v[i] for k, v in TARGET_CROWN.items()}) for i in range(2))
    width_ft = (a * dbh_in**b).where(dbh_in >= 1, stems["size_class"].map(SMALL_CROWN_FT))
    crown_m = width_ft * M_PER_FT * rng.lognormal(0, 0.16, len(stems))
    height_m = 0.25 + crown_m * stems["species"].map(TARGET_TALL)
    return stems[["x", "y", "species"]].assign(crown_m=crown_m, height_m=height_m)


def _tree_height(crown_m: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    return 3.6 + 1.05 * crown_m + rng.normal(0, 1, len(crown_m))


def _scattered(
    shape: shapely.Geometry,
    per_ha: float,
    crown: tuple[float, float],
    species: list[str],
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Return random crowns (middle width [m] and its spread) over a shape."""
    west, south, east, north = shape.bounds
    wanted = rng.poisson(per_ha * (east - west) * (north - south) / 1e4)
    xy = rng.uniform((west, south), (east, north), (wanted, 2))
    xy = xy[shapely.contains_xy(shape, *xy.T)]
    crown_m = rng.lognormal(np.log(crown[0]), crown[1], len(xy)).clip(0.8, 14)
    table = pd.DataFrame(xy, columns=["x", "y"]).assign(species=rng.choice(species, len(xy)))
    return table.assign(crown_m=crown_m, height_m=_tree_height(crown_m, rng) * 0.95)


def _banks(land: Land, rng: np.random.Generator) -> pd.DataFrame:
    """Return the bushes that hold the creek's banks."""
    creek = land.features.query("name == 'Sourwood Branch'").geometry.iloc[0]
    strip = creek.buffer(7).difference(creek.buffer(1.7))
    bushes = _scattered(strip, 330, (2.0, 0.35), ["willow", "american_elm", "persimmon"], rng)
    return bushes.assign(height_m=bushes["crown_m"] * 1.1)


def _roadside(land: Land, rng: np.random.Generator) -> pd.DataFrame:
    """Return trees and bushes beyond the county road, so that the picture goes on past it."""
    road = land.features.query("kind == 'public_road'").geometry.iloc[0]
    far_side = road.offset_curve(-12).buffer(4).difference(land.outer)
    kinds = ["eastern_redcedar", "black_cherry", "persimmon", "american_elm", "white_oak"]
    row = _scattered(far_side, 110, (4.2, 0.45), kinds, rng)
    return row[row["x"] > road.interpolate(0.35, normalized=True).x]


def draw_crowns(canopy: Canopy, crowns: pd.DataFrame, brush: Brush) -> None:
    """Draw every crown as a lobed dome into the height model, the higher over the lower."""
    rng, n = brush.rng, len(crowns)
    depth = rng.normal(0, 0.11, (n, WAVES)) / np.arange(1, WAVES + 1) ** 0.5
    waves = np.stack([depth, rng.uniform(0, 2 * np.pi, (n, WAVES))], axis=1)
    tint = np.array([LEAF[name] for name in crowns["species"]], np.float32)
    tint = tint * rng.normal(1, 0.07, (n, 1)) + rng.normal(0, 3.0, (n, 3))
    row = (crowns["y"].to_numpy() - brush.transform.f) / brush.transform.e
    column = (crowns["x"].to_numpy() - brush.transform.c) / brush.transform.a
    radius = crowns["crown_m"].to_numpy() / 2 / brush.pixel_m
    height = crowns["height_m"].to_numpy()
    for i in range(n):
        _draw(canopy, (row[i], column[i]), (radius[i], height[i]), waves[i], tint[i])


def _draw(
    canopy: Canopy,
    middle: tuple[float, float],
    size: tuple[float, float],
    waves: np.ndarray,
    tint: np.ndarray,
) -> None:
    """Draw one crown: radius [pixels] and height [m]."""
    radius, height = size
    reach = int(radius * 1.4 + 2)
    rows = np.arange(int(middle[0]) - reach, int(middle[0]) + reach + 1)
    columns = np.arange(int(middle[1]) - reach, int(middle[1]) + reach + 1)
    rows = rows[(rows >= 0) & (rows < canopy.height_m.shape[0])]
    columns = columns[(columns >= 0) & (columns < canopy.height_m.shape[1])]
    if not len(rows) or not len(columns):
        return
    y, x = rows[:, None] + 0.5 - middle[0], columns[None, :] + 0.5 - middle[1]
    out = np.hypot(x, y) / max(radius, 0.6)
    if radius > 3:
        angle = np.arctan2(y, x)
        for number, (depth, phase) in enumerate(waves.T, start=2):
            out = out * (1 + depth * np.sin(number * angle + phase))
    dome = height * (0.45 + 0.55 * np.sqrt(np.clip(1 - out**2, 0, 1)))
    window = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    higher = (out < 1) & (dome > canopy.height_m[window])
    canopy.height_m[window][higher] = dome[higher]
    canopy.colour[window][higher] = tint
    canopy.leafy[window][higher] = 1.0
