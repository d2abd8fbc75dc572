"""A small place made by hand: three blocks, four strips, two methods, one strip that waits."""

from dataclasses import replace

import geopandas as gpd
import pandas as pd
from shapely.geometry import LineString, Point, box

from clearing.property import (
    FieldPlan,
    Money,
    OwnProduct,
    Property,
    Results,
    Settings,
)
from clearing.rates import Rates, load

GRID = "+proj=laea +lat_0=36.33 +lon_0=-85.75 +datum=WGS84 +units=m +no_defs"
HOSTILE = '</script><img src=x onerror="window.hit=1">\'{{7*7}}{% raise %}&'
YEARS = range(2027, 2031)
PARTS = dict.fromkeys(
    ["stem_hours", "walk_hours", "refill_hours", "way_in_hours", "setup_hours", "break_hours",
     "idle_hours", "their_hours", "wages", "product_cost", "machine_cost", "other_cost",
     "stock_wait_days", "hay_wait_days", "people"], 0.0,
) | {"stem_hours": 7.0, "walk_hours": 3.0}  # fmt: skip
SEASONS = [("late_winter", (1, 2)), ("summer", (6, 7, 8)), ("fall", (9, 10))]


def layer(rows: list[dict], shapes: list) -> gpd.GeoDataFrame:
    """Return a layer in the grid."""
    return gpd.GeoDataFrame(pd.DataFrame(rows), geometry=shapes, crs=GRID)


def block(block_id: str, name: str, goal: str, hectares: float) -> dict:
    """Return one row of the walk's blocks."""
    return {
        "block_id": block_id, "name": name, "goal": goal, "targets": "callery_pear",
        "brush": "open", "slope_pct": 4.0, "wet": "dry", "stock": "beef", "hay": False, "tops": "",
        "ready_year": 2027, "priority": 3, "density_guess": "", "gross_ha": hectares,
        "area_ha": hectares,
    }  # fmt: skip


def strip(strip_id: str, block_id: str, hectares: float, x: float) -> dict:
    """Return one row of the walk's strips."""
    return {
        "strip_id": strip_id, "block_id": block_id, "name": f"Strip {strip_id}",
        "area_ha": hectares, "way_in_m": 40.0, "way_in_x_m": x, "way_in_y_m": 0.0,
    }  # fmt: skip


def visit(strip_id: str, year: int, season: str, job: str, herbicide: str = "") -> dict:
    """Return one visit of 10 hours (8 to 13) and, with a herbicide, 2 l of mix."""
    mix = 2.0 if herbicide else 0.0
    return PARTS | {
        "visit_id": f"{strip_id}-{year}-{season}-{job}", "option_id": f"{strip_id}:1",
        "strip_id": strip_id, "block_id": strip_id[0], "year": year, "season": season,
        "job": job, "method": "hack_and_leave", "herbicide": herbicide,
        "recipe_id": "hack_glyphosate" if herbicide else "", "stems": 300.0, "hours": 10.0,
        "hours_low": 8.0, "hours_high": 13.0, "machine_hours": 2.0 if job == "mow" else 0.0,
        "mix_l": mix, "mix_low_l": mix * 0.8, "mix_high_l": mix * 1.3, "product_l": mix / 2,
        "product_low_l": mix * 0.4, "product_high_l": mix * 0.65, "ae_kg": 0.5 * mix,
        "ae_kg_per_ha": 0.4, "treated_ha": 0.5, "cost": 120.0, "cost_low": 90.0,
        "cost_high": 160.0, "own_hours": 10.0, "cautions": "standing_dead" if mix else "",
        "why": "It seeds the pasture.",
    }  # fmt: skip


def option(strip_id: str, method: str, start: int | None, finish: int | None) -> dict:
    """Return one option of the walk."""
    return {
        "option_id": f"{strip_id}:1", "strip_id": strip_id, "block_id": strip_id[0],
        "method_id": method, "method": method, "start_year": start,
        "start_season": "summer" if start else "", "finish_year": finish, "mow_year": None,
        "hours": 30.0, "cost": 360.0, "cost_low": 270.0, "cost_high": 480.0, "run_off": 0.0,
        "worth": 500.0, "paid_back": 0.0,
    }  # fmt: skip


def small_rates() -> Rates:
    """Return the few figures that the report reads."""
    seasons = pd.DataFrame(
        [(name, place, name.replace("_", " "), months, 10.0, 120.0)
         for place, (name, months) in enumerate(SEASONS, start=1)],
        columns=["season", "order", "label", "months", "work_days", "hours"],
    )  # fmt: skip
    book = load()
    recipe = book.recipes.iloc[:1].assign(recipe_id="hack_glyphosate", source="memory")
    caution = {
        "caution": "standing_dead", "applies_to": "job:hack_and_squirt", "with_figures": "",
        "text": "No resting under dead stems.", "source": "osha_1910_266", "locator": "(h)",
        "seen": "read",
    }  # fmt: skip
    return replace(
        book,
        recipes=recipe, limits=book.limits.iloc[:0], crowns=book.crowns.iloc[:0],
        heights=book.heights.iloc[:0], seasons=seasons, cautions=pd.DataFrame([caution]),
        products=(
            OwnProduct("glyphosate_4", "glyphosate", 0.48, confirmed=True),
            OwnProduct("imazapyr_2", "imazapyr", 0.24, confirmed=False),
        ),
    )  # fmt: skip


def small_plan(visits: list[dict], options: list[dict]) -> FieldPlan:
    """Return a plan of these visits and options."""
    table = pd.DataFrame(visits)
    odds = [(year, season, kind, limit, 20.0, 30.0, odds) for year in YEARS
            for season, kind, limit, odds in (("summer", "hours", 120.0, 0.4),
                                              ("", "hours", 360.0, 0.3),
                                              ("", "money", 500.0, 0.01))]  # fmt: skip
    thumb = [("plan", "the plan", 1000.0, 0.0, 600.0, 50.0, 2030.0, 6.0, 0, True),
             ("worst_first", "worst block first", 1240.0, 240.0, 700.0, 55.0, None, 4.0, 1, True),
             ("nearest_first", "nearest first", 1000.4, 0.4, 600.0, 50.0, 2030.0, 6.0, 0, True),
             ("outliers_first", "smallest outliers first", 900.0, -100.0, 900.0, 90.0, 2030.0, 6.0,
              0, False)]  # fmt: skip
    reserve = [(2027, "summer", "hours", 120.0, 100.0, 0.8, 131.0, 31.0, False),
               (2027, "", "money", 500.0, 120.0, 0.8, 160.0, 40.0, True)]  # fmt: skip
    why = [(row["strip_id"], row["option_id"], "It seeds the pasture.", "", None, "")
           for row in options]  # fmt: skip
    return FieldPlan(
        status="best", options=pd.DataFrame(options), visits=table, run_off=table.iloc[:0],
        limits=pd.DataFrame([("hours:2027:summer", "hours", 2027, "summer", 20.0, 120.0)],
                            columns=["resource", "kind", "year", "season", "used", "limit"]),
        odds=pd.DataFrame(odds, columns=["year", "season", "kind", "limit", "plan_on",
                                         "be_ready_for", "odds_over"]),
        thumb=pd.DataFrame(thumb, columns=["rule", "words", "cost", "more_than_plan", "cash",
                                           "hours", "finish_year", "cleared_ha", "waiting",
                                           "keeps_limits"]),
        reserve=pd.DataFrame(reserve, columns=["year", "season", "kind", "limit", "plan_on",
                                               "confidence", "holds_with", "reserve", "holds"]),
        prices=pd.DataFrame([("hours 2027 summer", "hours", 2027, "summer", 15.0, 12.0,
                              "one more day of the crew", 180.0)],
                            columns=["resource", "kind", "year", "season", "per_unit", "unit",
                                     "unit_words", "saves"]),
        cost=1000.0, bound=995.0, gap=0.005,
        why=pd.DataFrame(why, columns=["strip_id", "option_id", "why", "next_best",
                                       "next_best_extra", "binds"]),
        reasons=(),
        purchases=pd.DataFrame([(2027, "glyphosate_4", 2.0, 2.6, 3.785, 1, 2, 38.0, "1 jug",
                                 "2 jugs", "")],
                               columns=["year", "herbicide", "product_l", "product_high_l",
                                        "container_l", "containers", "containers_ready", "cost",
                                        "buy", "buy_ready", "spoils"]),
    )  # fmt: skip


def small_stocking() -> pd.DataFrame:
    """Return the stems by size class of the three blocks; no class over 6 in was met."""
    classes = [("seedling", 120.0, 40.0, 300.0), ("under_1in", 90.0, 30.0, 250.0),
               ("1_3in", 150.0, 100.0, 220.0), ("3_6in", 40.0, 15.0, 90.0),
               ("6_10in", 0.0, 0.0, 50.0), ("over_10in", 0.0, 0.0, 20.0)]  # fmt: skip
    rows = [(block_id, "callery_pear", size, share * stems, share * low, share * high)
            for block_id, share in (("1", 1.0), ("2", 0.5), ("3", 0.25))
            for size, stems, low, high in classes]  # fmt: skip
    return pd.DataFrame(
        rows, columns=["block_id", "species", "size_class", "stems_per_ha", "low", "high"]
    ).assign(upper_height_m=9.0)


def plots_in(blocks: gpd.GeoDataFrame, number: int, nested: bool = True) -> gpd.GeoDataFrame:
    """Return so many plots in each block, in walking order along its diagonal."""
    rows, points = [], []
    for block_id, shape in zip(blocks["block_id"], blocks.geometry, strict=True):
        west, south, east, north = shape.bounds
        for order in range(1, number + 1):
            share = order / (number + 1)
            points.append(Point(west + share * (east - west), south + share * (north - south)))
            rows.append({
                "plot_id": f"{block_id}-{order}", "block_id": block_id, "radius_m": 11.3497,
                "small_radius_m": 3.6 if nested else None,
                "small_below_cm": 2.54 if nested else None, "order": order,
            })  # fmt: skip
    return layer(rows, points)


def small_results(name: str = "Road field", units: str = "us") -> Results:
    """Return the results of the small place; the first block and the place carry the name."""
    settings = Settings(
        name=f"Place of {name}", region="any", units=units, first_year=2027, years=4,
        targets=("callery_pear",), money=Money(budget_per_year=[500.0] * 4),
    )  # fmt: skip
    blocks = layer(
        [block("1", name, "pasture", 4.0), block("2", "Long pasture", "pasture", 2.0),
         block("3", "Fern woods", "woodland", 2.0)],
        [box(0, 0, 200, 200), box(200, 0, 300, 200), box(0, 200, 100, 400)],
    )  # fmt: skip
    strips = layer(
        [strip("1a", "1", 2.0, 50), strip("1b", "1", 2.0, 150), strip("2", "2", 2.0, 250),
         strip("3", "3", 2.0, 50)],
        [box(0, 0, 100, 200), box(100, 0, 200, 200), box(200, 0, 300, 200),
         box(0, 200, 100, 400)],
    )  # fmt: skip
    zones = layer(
        [{"zone_id": "z1", "strip_id": "1a", "flags": "fall_reach", "fall_from": "3_6in",
          "power_from": "", "near": "county road", "price_from": "", "area_ha": 0.3},
         {"zone_id": "z2", "strip_id": "1a", "flags": "open", "fall_from": "", "power_from": "",
          "near": "", "price_from": "", "area_ha": 1.7}],
        [box(0, 0, 100, 30), box(0, 30, 100, 200)],
    )  # fmt: skip
    keep = layer(
        [{"tree_id": "T1", "species": "white_oak", "dbh_cm": 50.0, "crown_m": 12.0,
          "crown_from": "measured", "block_id": "1"},
         {"tree_id": "T2", "species": "black_cherry", "dbh_cm": None, "crown_m": 6.0,
          "crown_from": "assumed", "block_id": "3"}],
        [Point(60, 120), Point(40, 300)],
    )  # fmt: skip
    features = layer(
        [{"kind": "public_road", "name": "county road", "setback_m": None},
         {"kind": "water", "name": "pond", "setback_m": 15.0},
         {"kind": "well", "name": None, "setback_m": None}],
        [LineString([(-50, -10), (350, -10)]), box(250, 150, 270, 170), Point(20, 390)],
    )  # fmt: skip
    plots = layer(
        [{"plot_id": "1-1", "block_id": "1", "visited": True, "radius_m": 8.0,
          "small_radius_m": None, "small_below_cm": None, "inside_ha": 0.02,
          "small_inside_ha": 0.02}],
        [Point(80, 80)],
    )  # fmt: skip
    totals = pd.DataFrame(
        [("1", "callery_pear", "all", 400.0, 40.0, 320.0, 500.0, 3.0, "plots"),
         ("2", "callery_pear", "all", 200.0, 40.0, 120.0, 300.0, 3.0, "plots"),
         ("3", "callery_pear", "all", 100.0, 50.0, 20.0, 200.0, 0.0, "kind")],
        columns=["block_id", "species", "size_class", "stems_per_ha", "se", "low", "high",
                 "plots", "basis"],
    )  # fmt: skip
    methods = pd.DataFrame(
        [("1a", "hack_and_leave", "hack_and_leave", "z1", "callery_pear", "3_6in", "left", 12.0,
          9.0, 16.0, "within reach of the county road")],
        columns=["strip_id", "method_id", "method", "zone_id", "species", "size_class", "job",
                 "stems", "stems_low", "stems_high", "why_not"],
    ).assign(cautions="")  # fmt: skip
    visits = [
        visit("1a", 2027, "summer", "hack_and_squirt", "glyphosate_4"),
        visit("1a", 2028, "fall", "follow_up", "imazapyr_2"),
        visit("1a", 2029, "late_winter", "mow"),
        visit("1b", 2028, "summer", "cut_and_spray", "glyphosate_4"),
        visit("2", 2028, "summer", "mow"),
    ]
    options = [
        option("1a", "hack_and_leave", 2027, 2029),
        option("1b", "cut_and_spray", 2028, None),
        option("2", "mow_then_spray", 2028, 2030),
        option("3", "not_now", None, None),
    ]
    empty = gpd.GeoDataFrame(geometry=[], crs=GRID)
    place = Property(settings, empty, empty, empty, empty, empty, pd.DataFrame(), pd.DataFrame())
    return Results(
        property=place, rates=small_rates(), grid=GRID, blocks=blocks, keep_trees=keep,
        features=features, plots=plots, stocking=small_stocking(), totals=totals, strips=strips,
        zones=zones, neighbours=pd.DataFrame(), methods=methods, futures=pd.DataFrame(),
        options=pd.DataFrame(options), visits=pd.DataFrame(visits),
        plan=small_plan(visits, options), warnings=("a wish was not weighed",),
    )  # fmt: skip
