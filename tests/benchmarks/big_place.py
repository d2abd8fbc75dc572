"""Make a property of any size: blocks side by side with bent edges, trees, lines, plots, counts."""

import re
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

import clearing

CRS = "EPSG:32616"
CORNER = (620_000.0, 4_000_000.0)  # south-west corner, in the grid of the sample
STRIP_HA = 0.8  # two acres
STRIPS_A_BLOCK = 10
SPECIES = ("callery_pear", "tree_of_heaven")
SIZES = (0.4, 1.4, 2.2, 4.0, 7.5, 11.0)  # middle of each size class, inches
PER_HA = (300.0, 200.0, 150.0, 60.0, 15.0, 4.0)  # stems of a species, at the middle
MOST_PEOPLE = 100  # that the settings take
RADIUS_FT = 18.6  # of a plot
ROUND = ((0, 0), (0, 1), (1, 1), (1, 0))  # corners of a cell of the grid
GOALS = ("pasture", "silvopasture", "woodland")
BRUSH = ("open", "brushy", "thicket")


@dataclass(frozen=True)
class Size:
    """How much of each thing there is."""

    strips: int
    keep_trees: int
    plots: int

    @property
    def blocks(self) -> int:
        """Return how many blocks hold the strips."""
        return max(1, round(self.strips / STRIPS_A_BLOCK))


def of_strips(strips: int) -> Size:
    """Return a property of about so many strips: ten a block; a strip has 10 trees, 20 plots."""
    return Size(strips, 10 * strips, 20 * strips)


def big_place(folder: Path, size: Size, seed: int = 1) -> Path:
    """Return the folder of a property made with a seed: the sample's settings, other ground."""
    rng = np.random.default_rng(seed)
    folder.mkdir(parents=True)
    settings = (clearing.sample_folder() / "property.toml").read_text(encoding="utf-8")
    settings = settings.replace("Sourwood Hollow", f"Made of {size.strips} strips")
    (folder / "property.toml").write_text(_scaled(settings, size), encoding="utf-8")
    blocks = _blocks(size, rng)
    features, plots = _features(blocks, rng), _inside(blocks, size.plots, rng)
    ponds = features[features.geom_type == "Polygon"].union_all()
    plots = plots[~plots.intersects(ponds)].reset_index(drop=True)
    layers = {
        "blocks": blocks, "features": features,
        "keep_trees": _trees(blocks, size.keep_trees, rng),
        "plots": plots.assign(plot_id=[f"P{n}" for n in range(len(plots))],
                              radius_ft=RADIUS_FT, visited="yes").drop(columns="block_id"),
    }  # fmt: skip
    for name, frame in layers.items():
        frame.to_file(folder / "land.gpkg", layer=name, driver="GPKG")
    _tally(layers["plots"], rng).to_csv(folder / "tally.csv", index=False)
    return folder


def _scaled(settings: str, size: Size) -> str:
    """Return the settings with a crew and money that grow with the ground."""
    crews = max(1.0, size.strips / 25)
    wanted = max(2, round(2 * crews))
    people = min(wanted, MOST_PEOPLE)
    asked = {
        "people": people, "sawyers": people // 2, "days_per_week": min(7, 2 * wanted // people),
        "most_blocks_a_season": size.blocks, "budget_per_year": round(6000 * crews),
        "acres": round(STRIP_HA * 2.4711, 2),
    }  # fmt: skip
    for name, value in asked.items():
        settings, found = re.subn(rf"(?m)^{name} = \S+", f"{name} = {value}", settings)
        assert found == 1, name
    return settings


def _blocks(size: Size, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Return blocks in rows, corners shared and moved a little."""
    across = int(np.ceil(np.sqrt(size.blocks)))
    side = np.sqrt(STRIP_HA * size.strips / size.blocks * 1e4)
    rows = int(np.ceil(size.blocks / across))
    x, y = np.meshgrid(np.arange(across + 1) * side, np.arange(rows + 1) * side)
    x, y = (a + rng.uniform(-0.12, 0.12, a.shape) * side for a in (x, y))
    x, y = x + CORNER[0], y + CORNER[1]
    shapes = [
        shapely.Polygon([(x[r + i, c + j], y[r + i, c + j]) for i, j in ROUND])
        for r in range(rows) for c in range(across)
    ][: size.blocks]  # fmt: skip
    count = len(shapes)
    return gpd.GeoDataFrame(
        {
            "block_id": [f"{n + 1}" for n in range(count)],
            "name": [f"Field {n + 1}" for n in range(count)],
            "goal": rng.choice(GOALS, count), "brush": rng.choice(BRUSH, count),
            "ground": "rolling", "wet": "dry", "stock": "beef", "hay": "no",
            "ready_year": 2028, "priority": rng.integers(1, 6, count),
        },
        geometry=shapes, crs=CRS,
    )  # fmt: skip


def _inside(blocks: gpd.GeoDataFrame, count: int, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Return points at random in the blocks, nearly as many in each."""
    each = np.full(len(blocks), count // len(blocks))
    each[: count - each.sum()] += 1
    points = blocks.geometry.sample_points(each, rng=rng).explode(index_parts=False)
    return gpd.GeoDataFrame(
        {"block_id": blocks["block_id"].reindex(points.index).to_numpy()},
        geometry=points.to_numpy(), crs=CRS,
    )  # fmt: skip


def _trees(blocks: gpd.GeoDataFrame, count: int, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Return trees that stay, with a trunk each."""
    points = _inside(blocks, count, rng)
    return points.drop(columns="block_id").assign(
        tree_id=[f"T{n}" for n in range(len(points))],
        species=rng.choice(["white_oak", "black_cherry", "persimmon"], len(points)),
        dbh_in=np.round(rng.uniform(6, 24, len(points)), 1),
    )


def _features(blocks: gpd.GeoDataFrame, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Return roads, creeks, fences, power lines across all of it, and a pond for ten blocks."""
    west, south, east, north = blocks.total_bounds
    lines = max(1, round(np.sqrt(len(blocks)) / 3))
    found: list[tuple[str, str, shapely.Geometry]] = []
    for n in range(lines):
        for kind, name in (("farm_road", "farm road"), ("water", "branch"), ("fence", "fence"),
                           ("power_line", "line")):  # fmt: skip
            steps = np.linspace(west, east, 12)
            at = rng.uniform(south, north)
            bent = at + np.cumsum(rng.normal(0, (north - south) / 60, 12))
            found.append((kind, f"{name} {n + 1}", shapely.LineString(np.c_[steps, bent])))
    for n in range(max(1, len(blocks) // 10)):
        spot = shapely.Point(rng.uniform(west, east), rng.uniform(south, north))
        found.append(("water", f"pond {n + 1}", spot.buffer(12.0)))
    kinds, names, shapes = zip(*found, strict=True)
    return gpd.GeoDataFrame({"kind": kinds, "name": names}, geometry=list(shapes), crs=CRS)


def _tally(plots: gpd.GeoDataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return counts by plot, species and size: Poisson about a density that varies (clumps)."""
    area = np.pi * (RADIUS_FT * 0.3048) ** 2 / 1e4
    clump = rng.gamma(0.7, 1 / 0.7, (len(plots), len(SPECIES), 1))
    counts = rng.poisson(clump * np.array(PER_HA) * area)
    at = np.argwhere(counts > 0)
    return pd.DataFrame({
        "plot_id": plots["plot_id"].to_numpy()[at[:, 0]],
        "species": np.array(SPECIES)[at[:, 1]],
        "dbh_in": np.array(SIZES)[at[:, 2]],
        "size": "", "count": counts[tuple(at.T)], "keep": "no", "status": "live",
        "date": "2026-10-05",
    })  # fmt: skip
