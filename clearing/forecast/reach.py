"""What of the seed of each strip falls on each other strip."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.forecast.creeks import along_water, on_creek
from clearing.forecast.futures import leaving_share
from clearing.forecast.growth import vital_rates
from clearing.forecast.kernels import Kernel, carriers_of, kernel_of, on_squares
from clearing.property import Settings
from clearing.rates import Rates

COLUMNS = [
    "strip_id", "from_id", "species", "share", "way", "of_seed_out", "seedlings_a_seed",
    "held_back",
]  # fmt: skip
MOST_SQUARES = 6000  # over which all strips are laid; own choice: accuracy against time
SIDE_M = (2.0, 40.0)  # least and largest side of a square [m]; own choice
PARTS = 4  # points along a square's side by which its part in a strip is told; own choice
LEAST = 1e-6  # share that counts as none; own choice


def seed_reach(
    strips: gpd.GeoDataFrame, features: gpd.GeoDataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return the share of the seed shed in each strip that falls on each other strip.

    The kernel of each target species (`kernel_of`) is integrated over both strips on squares of
    one grid; a square belongs to a strip by the part of it that lies inside. Of species that water
    carries, ``water_share`` of the seed of strips on a creek goes along it instead
    (`along_water`). What is left of the whole falls in the strip itself or on other ground.

    Error: against the plain integral 2 % at most while squares are 10 m wide or less (60 ha in
    all); with 200 strips of 1.2 ha they are 20 m wide, and shares of strips that touch are up to
    15 % off, by a square that both lie in. The kernels themselves are assumed.

    Parameters
    ----------
    strips : GeoDataFrame
        As ``walk/strips``.
    features : GeoDataFrame
        As ``walk/features``; water drawn as lines are creeks.
    rates : Rates
        Handbook figures.
    settings : Settings
        Targets.

    Returns
    -------
    DataFrame
        strip_id (where it lands), from_id, species, share (of the seeds shed in from_id), way
        (wind, bird, gravity or water); of_seed_out (share against the seed that leaves the strip,
        as ``futures.seed_out``), seedlings_a_seed (that come up the next spring), held_back (share
        of them that a mowed sward keeps down). Shares of one strip and species add up to 1 at most.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    names = strips["strip_id"].astype(str).to_numpy()
    if len(names) < 2 or not settings.targets:
        return pd.DataFrame(columns=COLUMNS)
    area = strips["area_ha"].to_numpy(dtype=float)
    squares = Squares(strips)
    known: dict[Kernel, np.ndarray] = {}
    frames = []
    for species in sorted(settings.targets):
        kernel, vital = kernel_of(species, rates), vital_rates(species, rates)
        if kernel not in known:
            known[kernel] = squares.shares(kernel)
        by_air, by_water = known[kernel], None
        if "water" in carriers_of(species, rates):
            touch, mean = (rates.figure(species, f"water_{x}_m").value for x in ("touch", "kernel"))
            wet = on_creek(strips, features, touch).to_numpy()
            taken = rates.figure(species, "water_share").value
            by_air = by_air * np.where(wet, 1.0 - taken, 1.0)[None, :]
            by_water = taken * along_water(strips, features, touch, mean)
        leaving = leaving_share(vital, area)
        for way, shares in ((kernel.way, by_air), ("water", by_water)):
            if shares is None:
                continue
            to, come = np.nonzero(shares > LEAST)
            share = shares[to, come]
            frames.append(pd.DataFrame({
                "strip_id": names[to], "from_id": names[come], "species": species,
                "share": share, "way": way, "of_seed_out": share / leaving[come],
                "seedlings_a_seed": vital.bank_survival * vital.seed_to_seedling,
                "held_back": vital.grass_suppression,
            }))  # fmt: skip
    keys = ["species", "strip_id", "from_id", "way"]
    return pd.concat(frames, ignore_index=True).sort_values(keys, ignore_index=True)[COLUMNS]


class Squares:
    """Lay strips over one grid of squares."""

    def __init__(self, strips: gpd.GeoDataFrame) -> None:
        self.number = len(strips)
        shapes = strips.geometry.to_numpy()
        west, south, _, _ = shapely.total_bounds(shapes)
        side = np.sqrt(max(float(shapely.area(shapes).sum()), 1.0) / MOST_SQUARES)
        self.side_m = float(np.clip(side, *SIDE_M))
        found = [self._inside(shape, west, south) for shape in shapes]
        self.strip = np.repeat(np.arange(self.number), [len(each[0]) for each in found])
        self.row, self.column, self.part = (
            np.concatenate([each[at] for each in found]) for at in range(3)
        )

    def _inside(
        self, shape: shapely.Geometry, west: float, south: float
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return row, column and part inside of the squares that a shape lies on."""
        side, fine = self.side_m, self.side_m / PARTS
        left, low, right, high = shapely.bounds(shape)
        rows = np.arange(int((low - south) // side), int((high - south) // side) + 1)
        columns = np.arange(int((left - west) // side), int((right - west) // side) + 1)
        y = south + rows[0] * side + (np.arange(len(rows) * PARTS) + 0.5) * fine
        x = west + columns[0] * side + (np.arange(len(columns) * PARTS) + 0.5) * fine
        shapely.prepare(shape)
        inside = shapely.contains_xy(shape, *np.meshgrid(x, y))
        part = inside.reshape(len(rows), PARTS, len(columns), PARTS).mean(axis=(1, 3))
        if not part.any():  # thinner than the points: all in the square of a point inside it
            point = shapely.point_on_surface(shape)
            row, column = int((point.y - south) // side), int((point.x - west) // side)
            return np.array([row]), np.array([column]), np.array([shape.area / side**2])
        at = np.nonzero(part)
        return rows[at[0]], columns[at[1]], part[at] * (shape.area / (part.sum() * side**2))

    def shares(self, kernel: Kernel) -> np.ndarray:
        """Return the share of each strip's seed (column) that lands in each other (row)."""
        rows, columns = int(np.ptp(self.row)) + 1, int(np.ptp(self.column)) + 1
        table = on_squares(kernel, self.side_m, rows, columns).astype(np.float32)
        flat, part = table.reshape(-1), self.part.astype(np.float32)
        starts = np.searchsorted(self.strip, np.arange(self.number))
        whole = np.add.reduceat(self.part.astype(float), starts)
        row, column = self.row.astype(np.int32), self.column.astype(np.int32)
        both = np.zeros((self.number, self.number))  # the same from either side: half is reckoned
        for strip in range(self.number - 1):
            start, end = starts[strip], starts[strip + 1]
            offset = np.abs(row[start:end, None] - row[None, end:])
            offset *= np.int32(columns)
            offset += np.abs(column[start:end, None] - column[None, end:])
            landed = (part[start:end] @ flat[offset]) * part[end:]
            both[strip + 1 :, strip] = np.add.reduceat(landed, starts[strip + 1 :] - end)
        both += both.T
        return both / whole[None, :]
