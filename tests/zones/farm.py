"""Owners' layers and tables made by hand, brought in the way the reader brings them in."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.property import Property
from clearing.rates import load
from clearing.tables import check, column_file, to_metric
from clearing.zones import draw_zones
from tests.small_ground import SETTINGS, SIZES

RATES = load()
GRID = "EPSG:32616"
EAST, NORTH = 500_000.0, 4_020_000.0  # on the grid's central meridian, in the upper south


def at(shape: shapely.Geometry) -> shapely.Geometry:
    """Return a shape drawn about the origin, moved to the farm."""
    return shapely.transform(shape, lambda points: points + np.array([EAST, NORTH]))


def owner_table(name: str, rows: list[dict]) -> pd.DataFrame:
    """Return rows as the reader gives them: checked, typed, metric."""
    columns = None if rows else column_file(name)["column"].tolist()
    typed, problems = check(pd.DataFrame(rows, columns=columns), name)
    assert problems == []
    return to_metric(typed)


def owner_layer(name: str, rows: list[dict], crs: str = GRID) -> gpd.GeoDataFrame:
    """Return a layer as the reader gives it."""
    return gpd.GeoDataFrame(owner_table(name, rows), geometry="geometry", crs=crs)


def farm(
    blocks: list[dict],
    plots: list[dict] | None = None,
    tally: list[dict] | None = None,
    settings: dict | None = None,
    **layers: list[dict],
) -> Property:
    """Return a property of blocks, with whatever else is given."""
    return Property(
        settings=replace(SETTINGS, **(settings or {})),
        blocks=owner_layer("blocks", blocks),
        plots=owner_layer("plots", plots or []),
        tally=owner_table("tally", tally or []),
        records=owner_table("records", []),
        **{
            name: owner_layer(name, layers.get(name, []))
            for name in ("strips", "keep_trees", "features")
        },
    )


def blob(seed: int, size_m: float = 150.0) -> shapely.Polygon:
    """Return a crooked block, often with deep bays, about the origin."""
    draw = np.random.default_rng(seed)
    angles = np.sort(draw.uniform(0, 2 * np.pi, int(draw.integers(5, 14))))
    far = size_m * draw.uniform(0.35, 1.3, len(angles))
    points = np.column_stack([np.cos(angles) * far * draw.uniform(0.5, 2), np.sin(angles) * far])
    return max(
        shapely.get_parts(shapely.make_valid(shapely.Polygon(points))), key=lambda part: part.area
    )


def walk_blocks(*shapes: shapely.Geometry) -> gpd.GeoDataFrame:
    """Return blocks 1, 2 ... as the cutter of strips needs them."""
    names = [str(i + 1) for i in range(len(shapes))]
    return gpd.GeoDataFrame(
        {"block_id": names, "name": [f"block {name}" for name in names]},
        geometry=list(shapes), crs=GRID,
    )  # fmt: skip


def walk_features(*rows: tuple) -> gpd.GeoDataFrame:
    """Return features of (kind, shape) or (kind, shape, setback in metres)."""
    return gpd.GeoDataFrame(
        {"kind": [row[0] for row in rows], "name": [row[0] for row in rows],
         "setback_m": np.array([row[2] if len(row) > 2 else np.nan for row in rows])},
        geometry=[row[1] for row in rows], crs=GRID,
    )  # fmt: skip


def heights(block_id: str = "1", upper: tuple[float, ...] = (0, 2, 6, 10, 14, 18)) -> pd.DataFrame:
    """Return a stocking that only says how tall each size class may be."""
    return pd.DataFrame({"block_id": block_id, "size_class": SIZES, "upper_height_m": upper})


def walk_trees(*rows: tuple[shapely.Geometry, float]) -> gpd.GeoDataFrame:
    """Return keep trees of (place, width of the crown in metres)."""
    crowns = np.array([crown for _, crown in rows], dtype=float)
    return gpd.GeoDataFrame({"crown_m": crowns}, geometry=[each for each, _ in rows], crs=GRID)


def zones_of(
    features: gpd.GeoDataFrame,
    trees: gpd.GeoDataFrame | None = None,
    shape: shapely.Geometry | None = None,
) -> gpd.GeoDataFrame:
    """Return the zones of one strip, of 16 ha unless another shape is given."""
    shape = shapely.box(0, 0, 400, 400) if shape is None else shape
    strip = {"strip_id": ["1"], "block_id": ["1"]}
    strips = gpd.GeoDataFrame(strip, geometry=[shape], crs=GRID)
    return draw_zones(strips, features, walk_trees() if trees is None else trees, heights(), RATES)


def at_point(zones: gpd.GeoDataFrame, point: shapely.Geometry) -> list[tuple[str, str, str]]:
    """Return every zone that touches a point, as (flags, fall_from, power_from)."""
    here = zones[zones.geometry.distance(point) < 1e-9]
    rules = here[["flags", "fall_from", "power_from"]].drop_duplicates()
    return list(rules.itertuples(index=False, name=None))
