"""Strips on squares of one grid: what of their seed stays in them and what lands in others."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.forecast.kernels import Kernel, kernel_of, on_squares
from clearing.rates import Rates

MOST_SQUARES = 6000  # over which all strips are laid; own choice: accuracy against time
SIDE_M = (2.0, 40.0)  # least and largest side of a square [m]; own choice
PARTS = 4  # points along a square's side by which its part in a strip is told; own choice


def leaving_shares(strips: gpd.GeoDataFrame, species: list[str], rates: Rates) -> pd.DataFrame:
    """Return the share of the seed shed in each strip that falls outside of it.

    1 - what stays, by the squares and kernels of `seed_reach`, so that no more of it lands in the
    others than leaves. What water takes on its own way is not in it.

    Parameters
    ----------
    strips : GeoDataFrame
        As ``walk/strips``.
    species : list of str
        The owner's species.
    rates : Rates
        Handbook figures.

    Returns
    -------
    DataFrame
        One row a strip_id (index), one column a species.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    squares = Squares(strips)
    kernels = {name: kernel_of(name, rates) for name in species}
    known = {kernel: 1.0 - squares.staying(kernel) for kernel in set(kernels.values())}
    index = pd.Index(strips["strip_id"].astype(str), name="strip_id")
    return pd.DataFrame({name: known[kernels[name]] for name in species}, index=index)


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

    def _table(self, kernel: Kernel) -> np.ndarray:
        """Return the share of a square's seed on each other, by their offset."""
        rows, columns = int(np.ptp(self.row)) + 1, int(np.ptp(self.column)) + 1
        return on_squares(kernel, self.side_m, rows, columns)

    def staying(self, kernel: Kernel) -> np.ndarray:
        """Return the share of each strip's seed that falls in the strip itself."""
        from scipy import signal  # loads slowly, and only a plan asks for it

        table, out = self._table(kernel), np.zeros(self.number)
        for strip in range(self.number):
            own = self.strip == strip
            row, column = (each[own] - each[own].min() for each in (self.row, self.column))
            part = np.zeros((row.max() + 1, column.max() + 1))
            part[row, column] = self.part[own]
            quarter = table[: part.shape[0], : part.shape[1]]
            half = np.concatenate([quarter[:0:-1], quarter])
            around = np.concatenate([half[:, :0:-1], half], axis=1)
            landed = signal.fftconvolve(around, part, mode="valid")
            out[strip] = (landed * part).sum() / part.sum()
        return np.clip(out, 0.0, 1.0)

    def shares(self, kernel: Kernel) -> np.ndarray:
        """Return the share of each strip's seed (column) that lands in each other (row)."""
        table = self._table(kernel).astype(np.float32)
        columns = table.shape[1]
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
