"""Paint water and what people built into the aerial photo: roads, trails, fences, roofs, poles."""

import numpy as np
import shapely

from maker.brush import Brush, Canopy, cover, lay, noise
from maker.land import Land, placed_points

GRASS, DRY_GRASS, REEDS = (116, 126, 76), (152, 146, 102), (88, 106, 62)
SOIL, GRAVEL, ASPHALT = (150, 126, 96), (176, 168, 152), (112, 112, 112)
TRACK, LINE, EDGE_LINE = (126, 125, 123), (206, 180, 90), (205, 205, 200)
HEDGE, POST = (104, 110, 70), (92, 84, 68)
WATER, DEEP, SHALLOW, BANK = (62, 74, 60), (48, 64, 56), (76, 84, 62), (132, 118, 88)
# colour, height of eaves and of ridge [m]
ROOFS = {"house": ((122, 100, 90), 4.0, 6.6), "barn": ((172, 178, 182), 4.6, 8.4)}
POLE_EVERY_M, POLE_M, ARM_M = 62.0, 11.0, 1.3
TURNING, DRIVE = [(452, 110), (440, 112)], [(399, 84), (424, 98), (452, 112)]  # sketch points


def paint_water(picture: np.ndarray, land: Land, brush: Brush) -> None:
    """Lay the creek between its banks and the pond with a muddy rim."""
    creek = land.features.query("name == 'Sourwood Branch'").geometry.iloc[0]
    pond = land.features.query("name == 'pond'").geometry.iloc[0]
    grass = cover([creek.buffer(9)], brush, 2.0) * np.clip(0.75 + 0.3 * noise(brush, 4.0), 0, 1)
    lay(picture, REEDS, grass * 0.85)
    wander = 1 + 0.35 * noise(brush, 7.0)
    for width, colour, soft in ((3.2, BANK, 1.0), (1.8, WATER, 0.6), (0.9, DEEP, 0.5)):
        share = cover([creek.buffer(width)], brush, soft)
        lay(picture, colour, np.clip(share * wander, 0, 1) * 0.92)
    bars = np.clip(noise(brush, 9.0) - 0.8, 0, 0.9) * cover([creek.buffer(2.4)], brush, 0.5)
    lay(picture, GRAVEL, bars)
    lay(picture, BANK, cover([pond.buffer(2.2)], brush, 1.2) * np.clip(0.6 * wander, 0, 0.9))
    lay(picture, SHALLOW, cover([pond], brush, 0.5))
    lay(picture, DEEP, cover([pond.buffer(-3)], brush, 2.0) * 0.9)


def paint_ways(picture: np.ndarray, land: Land, brush: Brush) -> None:
    """Lay the lane with its two wheel tracks, trails, the yard and the fence lines."""
    kind = land.features.set_index("kind").geometry
    lane = kind["farm_road"]
    ragged = np.clip(1 + 0.25 * noise(brush, 1.6), 0, 1.2)
    for fence in kind[["fence"]]:
        lay(picture, HEDGE, cover([fence.buffer(0.7)], brush, 0.4) * 0.6)
        lay(picture, POST, cover([fence.buffer(0.15)], brush, 0.1) * 0.5)
    trails = cover([trail.buffer(0.9) for trail in kind[["trail"]]], brush, 0.5)
    lay(picture, SOIL, np.clip(trails * ragged, 0, 1) * 0.8)
    yard = [shapely.Point(xy).buffer(12) for xy in placed_points(TURNING)]
    yard.append(shapely.LineString(placed_points(DRIVE)).buffer(2.2))
    lay(picture, GRAVEL, cover(yard, brush, 2.2) * np.clip(ragged * 0.8, 0, 1))
    lay(picture, SOIL, cover([lane.buffer(2.6)], brush, 0.8) * 0.6)
    lay(picture, GRAVEL, np.clip(cover([lane.buffer(1.9)], brush, 0.4) * ragged, 0, 1) * 0.9)
    lay(picture, GRASS, np.clip(cover([lane.buffer(0.35)], brush, 0.3) * ragged, 0, 1) * 0.55)
    _county_road(picture, kind["public_road"], brush)


def _county_road(picture: np.ndarray, road: shapely.LineString, brush: Brush) -> None:
    """Lay the paved road with worn wheel tracks, a centre line and edge lines."""
    lay(picture, DRY_GRASS, cover([road.buffer(5.6)], brush, 0.8) * 0.7)
    lay(picture, GRAVEL, cover([road.buffer(3.7)], brush, 0.5) * 0.8)
    lay(picture, ASPHALT, cover([road.buffer(3.1)], brush, 0.2))
    worn = [road.offset_curve(side).buffer(0.35) for side in (-2.3, -0.9, 0.9, 2.3)]
    lay(picture, TRACK, cover(worn, brush, 0.4) * 0.6)
    lay(picture, LINE, cover([road.buffer(0.17)], brush, 0.08) * 0.95)
    edges = [road.offset_curve(side).buffer(0.1) for side in (-2.85, 2.85)]
    lay(picture, EDGE_LINE, cover(edges, brush, 0.08) * 0.5)


def build(land: Land, brush: Brush, canopy: Canopy) -> None:
    """Set the roofs and the poles of the power line into the height model."""
    for row in land.features[land.features["kind"] == "building"].itertuples():
        _roof(row.geometry, row.name, brush, canopy)
    line = land.features.query("kind == 'power_line'").geometry.iloc[0]
    direction = np.subtract(line.coords[-1], line.coords[0]) / line.length
    for along in np.arange(POLE_EVERY_M / 3, line.length, POLE_EVERY_M):
        pole = line.interpolate(along)
        arm = np.array([-direction[1], direction[0]]) * ARM_M
        ends = [np.array(pole.coords[0]) - arm, np.array(pole.coords[0]) + arm]
        shapes = [pole.buffer(0.28), shapely.LineString(ends).buffer(0.16)]
        inside = cover(shapes, brush, 0.0) > 0.5
        canopy.height_m[inside], canopy.leafy[inside] = POLE_M, 0.0
        canopy.colour[inside] = POST


def _roof(shape: shapely.Polygon, name: str, brush: Brush, canopy: Canopy) -> None:
    """Set one gable roof over a building's outline."""
    colour, eaves_m, ridge_m = ROOFS[name]
    corners = np.array(shape.exterior.coords)[:4]
    sides = np.diff(corners[:3], axis=0)
    across = sides[np.argmin(np.hypot(*sides.T))]
    half_m = np.hypot(*across) / 2
    rows, columns = np.nonzero(cover([shape], brush, 0.0) > 0.5)
    x = brush.transform.c + (columns + 0.5) * brush.transform.a
    y = brush.transform.f + (rows + 0.5) * brush.transform.e
    middle = corners.mean(axis=0)
    off_m = np.abs((x - middle[0]) * across[0] + (y - middle[1]) * across[1]) / (2 * half_m)
    canopy.height_m[rows, columns] = eaves_m + (ridge_m - eaves_m) * (1 - off_m / half_m)
    canopy.leafy[rows, columns] = 0.0
    along = ((x - middle[0]) * across[1] - (y - middle[1]) * across[0]) / (2 * half_m)
    sheet = 1 + 0.025 * np.sign(np.sin(along * 4.2)) + 0.015 * brush.rng.normal(0, 1, len(rows))
    canopy.colour[rows, columns] = np.array(colour) * sheet[:, None]
