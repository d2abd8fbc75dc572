"""Random properties as an owner could bring them: files of a folder, drawn by hypothesis."""

import json
from datetime import date
from pathlib import Path

import geopandas as gpd
import shapely
from hypothesis import strategies as st
from shapely import affinity

GRID, X, Y = "EPSG:32616", 500_000.0, 4_020_000.0
GOALS = ("pasture", "silvopasture", "woodland")
SPECIES = ("callery_pear", "tree_of_heaven", "tallow", "chinese_privet")
LINES = ("water", "public_road", "farm_road", "trail", "fence", "property_line", "power_line")
AREAS = ("water", "building", "crop")
POINTS = ("water", "well", "building", "gate", "neighbour_tree")
JOBS = ("hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "follow_up", "mow", "seed",
        "mark", "fell_dead", "haul_tops", "mow_down", "upkeep")  # fmt: skip
DAY = "2026-10-05"
PRODUCTS = {  # name -> active ingredient, strength [lb/gal], methods
    "glyphosate_4": ("glyphosate", 4.0, ("hack_and_squirt", "cut_and_spray", "foliar")),
    "triclopyr_amine_3": ("triclopyr amine", 3.0, ("hack_and_squirt", "cut_and_spray", "foliar")),
    "triclopyr_ester_4": ("triclopyr ester", 4.0, ("cut_and_spray", "basal_bark", "foliar")),
    "imazapyr_2": ("imazapyr", 2.0, ("hack_and_squirt", "cut_and_spray")),
}


def _some(values, least=0, most=None):
    """Return a strategy for a few different values."""
    return st.lists(st.sampled_from(values), min_size=least, max_size=most or len(values),
                    unique=True)  # fmt: skip


def _maybe(strategy):
    """Return a strategy that often says nothing."""
    return st.none() | strategy


@st.composite
def shapes(draw):
    """Return one to six outlines: cells that share edges, some odd, holed, slivers, or apart."""
    out = []
    wide, high = draw(st.integers(25, 110)), draw(st.integers(25, 110))
    for place in range(draw(st.sampled_from((1, 1, 2, 2, 3, 4, 6)))):
        x, y = X + wide * (place % 3), Y + high * (place // 3)
        kind = draw(st.sampled_from(("cell",) * 4 + ("odd", "hole", "sliver", "apart", "two")))
        shape = shapely.box(x, y, x + wide, y + high)
        if kind == "odd":
            ends = [(x + wide * draw(st.floats(0.5, 1)), y), (x + wide, y + high * 0.4),
                    (x + wide * draw(st.floats(0.1, 0.9)), y + high), (x, y + high * 0.7),
                    (x + wide * 0.3, y + high * 0.4)]  # fmt: skip
            shape = shapely.Polygon([(x, y), *ends])
        elif kind == "hole":
            shape = shape.difference(shape.centroid.buffer(min(wide, high) / 4, quad_segs=2))
        elif kind == "sliver":
            shape = shapely.box(x, y, x + wide, y + draw(st.floats(0.5, 6)))
        elif kind == "apart":
            shape = affinity.rotate(shape, draw(st.integers(0, 90)))
            shape = affinity.translate(shape, 0, 1500)
        elif kind == "two":
            gone = shapely.box(x + wide * 0.45, y - 1, x + wide * 0.55, y + high + 1)
            shape = shape.difference(gone)
        out.append(shape)
    return out


@st.composite
def blocks(draw, outlines):
    """Return the rows of the layer blocks."""
    rows = []
    for number, outline in enumerate(outlines, start=1):
        row = {
            "block_id": str(number), "geometry": outline, "goal": draw(st.sampled_from(GOALS)),
            "name": draw(st.sampled_from(("", "Home", "North 40", "Größe, \"neu\""))),
            "brush": draw(_maybe(st.sampled_from(("open", "brushy", "thicket")))),
            "ground": draw(_maybe(st.sampled_from(("flat", "rolling", "steep")))),
            "wet": draw(_maybe(st.sampled_from(("dry", "seasonal", "wet")))),
            "stock": draw(_maybe(st.sampled_from(
                ("none", "beef", "dairy", "horses", "sheep_goats")))),
            "hay": draw(_maybe(st.sampled_from(("yes", "no")))),
            "tops": draw(_maybe(st.sampled_from(("leave", "haul", "burn", "chip")))),
            "ready_year": draw(_maybe(st.integers(2024, 2035))),
            "priority": draw(_maybe(st.integers(1, 5))),
            "density_guess": draw(_maybe(st.sampled_from(
                ("none", "few", "scattered", "thick", "solid")))),
        }  # fmt: skip
        rows.append(row)
    return rows


@st.composite
def points(draw, outlines):
    """Return a place in or near the outlines."""
    west, south, east, north = shapely.union_all(outlines[:3]).bounds
    return shapely.Point(draw(st.floats(west - 15, east + 15)),
                         draw(st.floats(south - 15, north + 15)))  # fmt: skip


@st.composite
def features(draw, outlines):
    """Return the rows of the layer features: points, lines and areas, in, over and beside."""
    rows = []
    for _ in range(draw(st.integers(0, 5))):
        at, to = draw(points(outlines)), draw(points(outlines))
        form = draw(st.sampled_from("pla"))
        kind = draw(st.sampled_from({"p": POINTS, "l": LINES, "a": AREAS}[form]))
        shape = at if form == "p" else shapely.LineString([at, to])
        if form == "l" and at.equals(to):
            shape = shapely.LineString([at, (at.x + 10, at.y + 5)])
        if form == "a":
            shape = at.buffer(draw(st.floats(1, 25)), quad_segs=2)
        rows.append({"kind": kind, "geometry": shape, "name": draw(st.sampled_from(("", "creek"))),
                     "setback_ft": draw(_maybe(st.integers(0, 120)))})  # fmt: skip
    return rows


@st.composite
def trees(draw, outlines):
    """Return the rows of the layer keep_trees."""
    return [
        {"tree_id": f"K{number}", "geometry": draw(points(outlines)),
         "species": draw(st.sampled_from(("white oak", "black walnut", "hickory"))),
         "dbh_in": draw(_maybe(st.floats(0.5, 60))), "crown_ft": draw(_maybe(st.floats(1, 120)))}
        for number in range(draw(st.integers(0, 4)))
    ]  # fmt: skip


@st.composite
def counted(draw, outlines, targets):
    """Return the rows of plots and of the tally."""
    plots, tally = [], []
    for number in range(draw(st.integers(0, 5))):
        home = draw(st.sampled_from(outlines))
        place = draw(points([home]))
        stood = draw(st.sampled_from(("yes", "yes", "no", None)))
        plots.append({"plot_id": f"P{number}", "visited": stood,
                      "geometry": place if home.contains(place) else home.representative_point(),
                      "radius_ft": draw(st.sampled_from((None, 11.8, 37.2)))})  # fmt: skip
        for _ in range(0 if stood == "no" else draw(st.integers(0, 4))):
            tape = draw(st.booleans())
            tally.append({
                "plot_id": f"P{number}", "species": draw(st.sampled_from((*targets, "white_oak"))),
                "dbh_in": draw(st.floats(0.1, 30).map(lambda d: round(d, 1))) if tape else "",
                "size": "" if tape else draw(st.sampled_from(("seedling", "pencil", "wrist"))),
                "count": draw(st.sampled_from((0, 1, 3, 17, 400, 100_000))),
                "keep": draw(st.sampled_from(("no", "yes", ""))),
                "status": draw(st.sampled_from(("live", "dead", "resprout", "new", ""))),
                "date": draw(st.sampled_from((DAY, ""))),
            })  # fmt: skip
    return plots, tally


@st.composite
def log_rows(draw, number_of_blocks):
    """Return the rows of records.csv."""
    rows = []
    for number in range(draw(st.sampled_from((0, 0, 1, 2, 4)))):
        rows.append({
            "record_id": str(number + 1), "strip_id": draw(st.sampled_from(
                [str(n + 1) for n in range(number_of_blocks)] + ["1a", "2b"])),
            "date": draw(st.dates(min_value=date(2026, 1, 1),
                                  max_value=date(2030, 12, 31))).isoformat(),
            "job": draw(st.sampled_from(JOBS)), "people": draw(st.sampled_from(("", 1, 2, 5))),
            "hours": draw(st.sampled_from(("", 0, 0.5, 6, 80, 2000))),
            "herbicide": draw(st.sampled_from(("", *PRODUCTS))),
            "product_floz": draw(st.sampled_from(("", 0, 3.5, 64, 5000))),
            "mix_gal": draw(st.sampled_from(("", 1, 15))),
            "area_acres": draw(st.sampled_from(("", 0.01, 0.4, 3))),
            "stems": draw(st.sampled_from(("", 0, 40, 9000))),
        })  # fmt: skip
    return rows


@st.composite
def settings(draw, number_of_blocks):
    """Return property.toml as a table of tables."""
    years, first = draw(st.sampled_from((1, 1, 2, 2, 3, 5))), draw(st.sampled_from((2026, 2027)))
    made = {
        "property": {"name": draw(st.sampled_from(("Test", "Été's <b>&"))), "first_year": first,
                     "years": years, "units": draw(st.sampled_from(("us", "us", "metric"))),
                     "region": draw(st.sampled_from(("upper_south", "gulf_coast", "west")))},
        "targets": {"species": draw(_some(SPECIES, 1, 2))},
        "crew": {"who": draw(st.sampled_from(("family", "hired", "contractor"))),
                 "people": draw(st.integers(1, 4)), "sawyers": draw(st.integers(0, 1)),
                 "days_per_week": draw(st.sampled_from((0.5, 2, 7))),
                 "hours_per_day": draw(st.sampled_from((0, 1, 6, 12))),
                 "wage_per_hour": draw(st.sampled_from((0, 18)))},
        "strips": {"acres": draw(st.sampled_from((0.5, 1, 3, 50)))},
    }  # fmt: skip
    money = {"carry_over": draw(st.booleans())}
    budget = draw(_maybe(st.sampled_from((0, 50, 4500, 1e6))))
    if budget is not None:
        money["budget_per_year"] = [budget] * years if draw(st.booleans()) else budget
    if draw(st.booleans()):
        money["mower_hours_a_season"] = draw(st.sampled_from((0, 1, 40)))
    if draw(st.booleans()):
        money["value_per_acre_year"] = {goal: draw(st.sampled_from((0, 60, 1e5))) for goal in GOALS}
    made["money"] = money
    if draw(st.booleans()):
        made["contractor"] = {"mowing_per_acre": draw(st.sampled_from((0, 85))),
                              "felling_per_stem": 4.0, "follow_up_per_hour": 30,
                              "hires": draw(_some(("mowing", "felling", "follow_up")))}  # fmt: skip
    if draw(st.booleans()):
        made["cost_share"] = [
            {
                "name": "program",
                "dollars_per_acre": draw(st.sampled_from((0, 120, 5000))),
                "goals": draw(_some(GOALS)),
                "finish_by": first + years - 1,
            }
        ]
    made["closed_months"] = draw(st.sampled_from(([], [], [4, 5, 6], list(range(1, 12)))))
    if draw(st.integers(0, 3)) == 0:
        months = draw(st.sampled_from(([11, 12, 1], [6, 7, 8], [2, 9])))
        made["season"] = [{"name": "Ours", "months": months},
                          {"name": "Other", "months": [3, 10], "work_days": 4}]  # fmt: skip
    made["herbicide"] = {name: draw(_product(name)) for name in draw(_some(tuple(PRODUCTS)))}
    made["plan"] = draw(wishes(number_of_blocks, (first, years)))
    return made


@st.composite
def wishes(draw, number_of_blocks, when):
    """Return [plan]: what the owner wishes."""
    made, names, (first, years) = {}, [str(n + 1) for n in range(number_of_blocks)], when
    if draw(st.booleans()):
        made["clear_by"] = first + draw(st.integers(0, years - 1))
    if draw(st.booleans()) and len(names) > 1:
        made["before"] = [[names[1], names[0]]]
    for key in ("most_blocks_a_season", "most_products_a_year"):
        if draw(st.booleans()):
            made[key] = draw(st.integers(1, 3))
    if draw(st.integers(0, 3)) == 0:
        made["confidence"] = 0.8
    if draw(st.booleans()):
        made["done_when"] = {"stems_over_1in": draw(st.sampled_from((0, 5))),
                             "seedlings_per_acre": draw(st.sampled_from((0, 40)))}  # fmt: skip
    return made


@st.composite
def _product(draw, name):
    """Return one [herbicide.NAME]."""
    active, pounds, methods = PRODUCTS[name]
    made = {"active_ingredient": active, "lb_ae_per_gal": pounds, "price": [38, 82],
            "container_gal": [1.0, 2.5], "on_hand_gal": draw(st.sampled_from((0, 1.5))),
            "registration": "training only", "date": "2026-03-01",
            "sites": draw(_some((*GOALS, "water_edge"))), "methods": list(methods),
            "confirmed": draw(st.booleans())}  # fmt: skip
    limits = {"lb_ae_per_acre_year": draw(st.sampled_from((0.01, 2, 8))), "graze_days": 14,
              "spot_percent": draw(st.sampled_from((1, 10, 100)))}  # fmt: skip
    return made | ({"limits": limits} if draw(st.booleans()) else {})


@st.composite
def properties(draw):
    """Return a whole property: settings and the rows of every table."""
    outlines = draw(shapes())
    made = draw(settings(len(outlines)))
    plots, tally = draw(counted(outlines, made["targets"]["species"]))
    return {
        "settings": made, "blocks": draw(blocks(outlines)), "features": draw(features(outlines)),
        "keep_trees": draw(trees(outlines)), "plots": plots, "tally": tally,
        "records": draw(log_rows(len(outlines))),
    }  # fmt: skip


def _value(found):
    """Return a value as TOML writes it."""
    if isinstance(found, dict):
        inside = ", ".join(f"{key} = {_value(value)}" for key, value in found.items())
        return f"{{ {inside} }}"
    if isinstance(found, list):
        return f"[{', '.join(_value(each) for each in found)}]"
    return json.dumps(found, ensure_ascii=False)


def as_toml(tables):
    """Return a table of tables as the text of property.toml."""
    lines = [f"{key} = {_value(value)}" for key, value in tables.items()
             if key not in MANY and not isinstance(value, dict)]  # fmt: skip
    for section, body in tables.items():
        if section in ("season", "cost_share"):
            for entry in body:
                lines += [f"[[{section}]]", *(f"{k} = {_value(v)}" for k, v in entry.items())]
        elif section == "herbicide":
            for name, entry in body.items():
                lines += [f"[herbicide.{name}]", *(f"{k} = {_value(v)}" for k, v in entry.items())]
        elif isinstance(body, dict):
            lines += [f"[{section}]", *(f"{k} = {_value(v)}" for k, v in body.items())]
    return "\n".join(lines) + "\n"


MANY = ("season", "cost_share", "herbicide")


def as_csv(rows):
    """Return rows as the text of a CSV file, blank where there are none."""
    if not rows:
        return ""
    lines = [",".join(rows[0]), *(",".join(str(v) for v in row.values()) for row in rows)]
    return "\n".join(lines) + "\n"


def write_place(folder: Path, made, crs=GRID) -> Path:
    """Return the folder into which a property was written as its owner would bring it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "property.toml").write_text(as_toml(made["settings"]), encoding="utf-8")
    for name in ("blocks", "features", "keep_trees", "plots", "strips"):
        rows = made.get(name)
        if rows:
            layer = gpd.GeoDataFrame(rows, crs=crs).to_crs("EPSG:4326")
            (folder / f"{name}.geojson").write_text(layer.to_json(), encoding="utf-8")
    for name in ("tally", "records"):
        if made[name]:
            (folder / f"{name}.csv").write_text(as_csv(made[name]), encoding="utf-8")
    return folder
