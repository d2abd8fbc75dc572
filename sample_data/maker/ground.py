"""Paint the ground of the aerial photo: grass, hay, woods floor and crops."""

import numpy as np
import shapely
from scipy import ndimage

from maker import outline
from maker.brush import Brush, cover, lay, noise
from maker.land import Land, placed_points
from maker.works import paint_water, paint_ways

GRASS, DRY_GRASS, LUSH = (116, 126, 76), (152, 146, 102), (92, 112, 64)
TALL, HAY, FLOOR, LITTER = (98, 106, 66), (134, 140, 84), (72, 80, 52), (98, 90, 66)
SOIL, CORN, BEANS = (150, 126, 96), (94, 112, 62), (122, 138, 72)
ROUGH_GROUND = {"open": 0.25, "brushy": 0.6, "thicket": 0.85}  # share of tall, uneven growth


def paint_ground(land: Land, brush: Brush) -> np.ndarray:
    """Return the ground without trees as colours (rows, columns, 3)."""
    picture = _grass(brush)
    _fields(picture, land, brush)
    _woods_floor(picture, land, brush)
    _crops(picture, land, brush)
    paint_water(picture, land, brush)
    paint_ways(picture, land, brush)
    mottle = noise(brush, 0.7) * 3.0 + noise(brush, 2.5) * 2.5
    return picture + mottle[..., None]


def _grass(brush: Brush) -> np.ndarray:
    picture = np.empty((*brush.shape, 3), np.float32)
    picture[:] = GRASS
    dry = 0.5 + 0.26 * noise(brush, 38.0) + 0.16 * noise(brush, 9.0) + 0.10 * noise(brush, 2.6)
    lay(picture, DRY_GRASS, np.clip(dry - 0.1, 0, 1) * 0.85)
    lush = noise(brush, 24.0) * 0.30 + noise(brush, 5.0) * 0.20 - 0.12
    lay(picture, LUSH, np.clip(lush, 0, 0.8))
    return picture


def _fields(picture: np.ndarray, land: Land, brush: Brush) -> None:
    """Mow the hay fields in swaths, graze paths and bare spots into the pastures."""
    for block in land.blocks[land.blocks["goal"] != "woodland"].itertuples():
        inside = cover([block.geometry], brush, 0.8)
        if block.hay == "yes":
            lay(picture, HAY, inside * 0.62)
            swath = _rings(block.geometry, brush, 4.6)
            picture += (inside * swath * 7.0)[..., None] * np.array([1.0, 1.0, 0.75])
        else:
            tall = noise(brush, 4.0) * 0.5 + noise(brush, 1.5) * 0.35 + ROUGH_GROUND[block.brush]
            lay(picture, TALL, np.clip(tall, 0, 1) * inside * 0.55)
        if block.stock in ("beef", "horses", "sheep_goats"):
            bare = np.clip(noise(brush, 6.0) * 0.6 + noise(brush, 26.0) * 0.5 - 1.25, 0, 0.8)
            lay(picture, SOIL, bare * inside)
    wear = [shapely.Point(xy).buffer(9) for xy in placed_points(outline.GATES)]
    worn = cover(wear, brush, 3.5) * np.clip(0.6 + 0.3 * noise(brush, 2.0), 0, 1)
    lay(picture, SOIL, worn * 0.75)
    lay(picture, SOIL, _cow_paths(land, brush) * 0.5)


def _rings(shape: shapely.Geometry, brush: Brush, width_m: float) -> np.ndarray:
    """Return -1 to 1: light and dark swaths as a mower leaves them, round and round the field."""
    inside = cover([shape], brush, 0.0) > 0.5
    rows, columns = np.nonzero(inside)
    window = np.s_[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    swath = np.zeros(brush.shape, np.float32)
    depth = ndimage.distance_transform_edt(np.pad(inside[window], 1))[1:-1, 1:-1] * brush.pixel_m
    depth = ndimage.gaussian_filter(depth, 9)
    swath[window] = np.tanh(2.2 * np.sin(depth / width_m * np.pi))
    return swath


def _cow_paths(land: Land, brush: Brush) -> np.ndarray:
    """Return narrow worn paths from the gate and the pond through the grazed blocks."""
    middle = {b.block_id: b.geometry.representative_point() for b in land.blocks.itertuples()}
    gate = shapely.Point(placed_points(outline.GATES)[1])
    pond = land.features.query("name == 'pond'").geometry.iloc[0].centroid
    ends = [(gate, pond), (pond, middle["4"]), (pond, middle["2"]), (middle["2"], middle["1"]),
            (gate, middle["6"]), (gate, middle["3"])]  # fmt: skip
    paths = []
    for start, end in ends:
        steps = np.linspace(0, 1, 14)[:, None]
        line = np.array(start.coords) * (1 - steps) + np.array(end.coords) * steps
        sway = np.cumsum(brush.rng.normal(0, 3.0, line.shape), axis=0)
        line += (sway - steps * sway[-1]) * np.sin(np.pi * steps)
        paths.append(shapely.LineString(line).buffer(0.45))
    return cover(paths, brush, 0.3)


def _woods_floor(picture: np.ndarray, land: Land, brush: Brush) -> None:
    """Darken the floor under the woods, the neighbours' too, with a ragged edge."""
    woods = cover(woods_shapes(land), brush, 2.5) + 0.12 * noise(brush, 3.0)
    share = np.clip((woods - 0.35) * 2.4, 0, 1)
    lay(picture, FLOOR, share)
    litter = np.clip(noise(brush, 5.0) * 0.4 + noise(brush, 1.2) * 0.3 + 0.1, 0, 0.8)
    lay(picture, LITTER, litter * share)


def woods_shapes(land: Land) -> list[shapely.Geometry]:
    """Return the woodland blocks and the woods of the neighbours to the north and west."""
    blocks = land.blocks[land.blocks["goal"] == "woodland"]
    around = land.outer.buffer(150).difference(land.outer.buffer(0.01))
    west, south, east, north = land.outer.bounds
    beyond = shapely.box(west - 150, south + 118, west + 90, north + 150)
    above = shapely.box(west - 150, north - 75, east - 62, north + 150)
    return [*blocks.geometry, around.intersection(beyond.union(above))]


def _crops(picture: np.ndarray, land: Land, brush: Brush) -> None:
    """Plant the neighbor's field in rows: corn to the north, beans to the south."""
    field = land.features.query("kind == 'crop'").geometry.iloc[0]
    west, south, _, north = field.bounds
    split = south + 0.45 * (north - south)
    rows, columns = np.indices(brush.shape, dtype=np.float32)
    x = columns * brush.pixel_m + noise(brush, 30.0) * 0.5
    y = rows * brush.pixel_m
    for part, colour, spacing in (
        (shapely.box(west, split + 1.5, west + 500, north), CORN, 1.52),
        (shapely.box(west, south, west + 500, split - 1.5), BEANS, 1.14),
    ):
        inside = cover([field.intersection(part)], brush, 0.4)
        patchy = np.clip(0.85 + 0.12 * noise(brush, 7.0) + 0.1 * noise(brush, 22.0), 0, 1)
        lay(picture, colour, inside * patchy)
        lean = x + 0.10 * y
        picture += (inside * np.sin(lean / spacing * 2 * np.pi) * 15.0)[..., None]
        sprayer = np.abs((lean % 27.0) - 13.5) < 0.5
        lay(picture, SOIL, inside * ndimage.gaussian_filter(sprayer.astype(np.float32), 1) * 0.5)
