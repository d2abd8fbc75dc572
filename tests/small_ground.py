"""A small place made by hand for the rooms of treatment and effort: two blocks, three strips."""

from dataclasses import dataclass, replace

import geopandas as gpd
import pandas as pd
import shapely

from clearing import effort, records
from clearing.property import Crew, Money, OwnProduct, Settings
from clearing.rates import Rates, for_settings

SIZES = ["seedling", "under_1in", "1_3in", "3_6in", "6_10in", "over_10in"]
STEMS = dict(zip(SIZES, [100.0, 60.0, 50.0, 40.0, 20.0, 5.0], strict=True))
GLYPHOSATE = OwnProduct(
    "glyphosate_4", "glyphosate", 0.4793, (38.0,), (3.785,), sites=("pasture", "woodland"),
    methods=("hack_and_squirt", "cut_and_spray", "foliar"),
    limits={"kg_ae_per_ha_year": 9.0, "spot_percent": 100.0}, confirmed=True,
    registration="training only", label_date="2026-03-01",
)  # fmt: skip
IMAZAPYR = OwnProduct("imazapyr_2", "imazapyr", 0.2397, (88.0,), (3.785,))
SETTINGS = Settings(
    name="test", region="upper_south", units="us", first_year=2027, years=4,
    targets=("callery_pear", "tree_of_heaven"), crew=Crew(wage_per_hour=18.0),
    money=Money(budget_per_year=[5000.0], value_per_ha_year={"pasture": 150.0, "woodland": 50.0}),
    herbicides=(GLYPHOSATE, IMAZAPYR),
)  # fmt: skip
RULES = [  # zone, strip, flags, fall_from, power_from
    ("a:1", "a", "open", "", ""),
    ("a:2", "a", "fall_reach", "3_6in", ""),
    ("a:3", "a", "power_line", "", "1_3in"),
    ("b:1", "b", "water_edge", "", ""),
    ("b:2", "b", "dripline", "", ""),
    ("c:1", "c", "open", "", ""),
]


def stand_on(
    ground: "Ground", log: pd.DataFrame, tally: pd.DataFrame | None = None, day: str = ""
) -> tuple[records.Standing, gpd.GeoDataFrame]:
    """Return where the place stands after a log, on its newest day if no other is given."""
    nothing = gpd.GeoDataFrame({"kind": [], "geometry": []}, geometry="geometry")
    columns = ["plot_id", "species", "dbh_cm", "size", "count", "keep", "status", "date"]
    tally = pd.DataFrame(columns=columns) if tally is None else tally
    plots = gpd.GeoDataFrame({"plot_id": [], "geometry": []}, geometry="geometry")
    last = pd.Timestamp(day) if day else records.newest_day(log, tally)
    layers = (ground.blocks, nothing, plots, ground.strips)
    known = (ground.rates, ground.settings)
    return records.stand(layers, (log, tally), effort.FIRST_JOBS, known, last)


@dataclass(frozen=True)
class Ground:
    """Settings, rates and the tables that the two rooms take."""

    settings: Settings
    rates: Rates
    blocks: gpd.GeoDataFrame
    strips: gpd.GeoDataFrame
    zones: gpd.GeoDataFrame
    stocking: pd.DataFrame


def small_ground(density: float = 1.0, **settings: object) -> Ground:
    """Return the place; settings given here replace its own."""
    asked = replace(SETTINGS, **settings)
    box = shapely.box(0, 0, 100, 100)
    block = {"brush": "open", "slope_pct": 0.0, "wet": "dry", "stock": "beef", "hay": False,
             "tops": "", "ready_year": 2027, "priority": 3, "area_ha": 1.0,
             "geometry": box}  # fmt: skip
    blocks = [{"block_id": "p", "goal": "pasture", **block},
              {"block_id": "w", "goal": "woodland", **block, "brush": "thicket"}]  # fmt: skip
    strips = [
        {"strip_id": name, "block_id": of, "name": name, "area_ha": 0.3 if of == "p" else 0.6,
         "way_in_m": 50.0, "way_in_x_m": 0.0, "way_in_y_m": 0.0, "geometry": box}
        for name, of in (("a", "p"), ("b", "p"), ("c", "w"))
    ]  # fmt: skip
    zones = pd.DataFrame(RULES, columns=["zone_id", "strip_id", "flags", "fall_from", "power_from"])
    count = zones.groupby("strip_id")["zone_id"].transform("size")
    area = zones["strip_id"].map({"a": 0.3, "b": 0.3, "c": 0.6}) / count
    zones = zones.assign(near="county road", price_from="", area_ha=area, geometry=box)
    stocking = [
        {"block_id": of, "species": species, "size_class": size, "stems_per_ha": n * density,
         "low": 0.5 * n * density, "high": 2 * n * density, "upper_height_m": 9.0}
        for of in ("p", "w") for species in asked.targets for size, n in STEMS.items()
    ]  # fmt: skip
    return Ground(
        asked, for_settings(asked), gpd.GeoDataFrame(blocks), gpd.GeoDataFrame(strips),
        gpd.GeoDataFrame(zones), pd.DataFrame(stocking),
    )  # fmt: skip
