"""A property whose every text field means harm: script, formulas, foreign letters, length."""

import json
from pathlib import Path

import geopandas as gpd
import shapely

GRID = "EPSG:32616"
X, Y = 500_000.0, 4_020_000.0
SCRIPT = '</script><img src=x onerror="window.hit=1">\'{{7*7}}{% raise %}&amp;'
ATTRIBUTE = "\"'><svg onload=window.hit=1>` ${window.hit=1}"
FORMULA = '=HYPERLINK("http://127.0.0.1/x","pay")'
RIGHT_TO_LEFT = 'שדה \u202e"מזרח" حقل الشرق'
LONG = "Wiese" * 40  # 200 letters and no blank
SETTER = '#set page(width: 1pt) $x$ *b* _i_ @ref <lab> \\u{41} "]#panic()'
CALENDAR = "BEGIN:VALARM;,\\n:END"
NAMES = (SCRIPT, ATTRIBUTE, FORMULA, RIGHT_TO_LEFT, LONG, SETTER, CALENDAR)


def _quoted(text: str) -> str:
    """Return text as a basic string of TOML, which JSON's strings are."""
    return json.dumps(text, ensure_ascii=False).replace("\u007f", "\\u007f")


def _species() -> str:
    """Return what each name is like, as a species."""
    keys = [_quoted(name.strip().lower().replace(" ", "_")) for name in NAMES]
    return "\n".join(f'[species.{key}]\nlike = "tree_of_heaven"' for key in keys)


def _settings() -> str:
    """Return property.toml."""
    return f"""
[property]
name = {_quoted(SCRIPT)}
region = "upper_south"
first_year = 2027
years = 3

[targets]
species = ["callery_pear", {_quoted(ATTRIBUTE)}]

{_species()}
[[season]]
name = {_quoted(SCRIPT)}
months = [6, 7, 8]

[[season]]
name = {_quoted(FORMULA)}
months = [9, 10]

[money]
budget_per_year = 9000

[[cost_share]]
name = {_quoted(SETTER)}
dollars_per_acre = 100
notes = {_quoted(SCRIPT)}

[herbicide.{_quoted(SCRIPT)}]
active_ingredient = "glyphosate"
lb_ae_per_gal = 4.0
container_gal = [1.0]
price = [38]
registration = {_quoted(FORMULA)}
date = "2026-03-01"
sites = ["pasture", "silvopasture", "woodland", "water_edge"]
methods = ["hack_and_squirt", "cut_and_spray", "foliar"]
limits = {{ lb_ae_per_acre_year = 8.0, spot_percent = 100 }}
confirmed = true
"""


def hostile_place(folder: Path) -> Path:
    """Return the folder into which such a property was written: six blocks, trees, plots, lines."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "property.toml").write_text(_settings(), encoding="utf-8")
    blocks, trees, plots, tally = [], [], [], ["plot_id,species,dbh_in,count,keep,status,date"]
    for place, name in enumerate(NAMES[:6]):
        x, y = X + 70 * (place % 3), Y + 70 * (place // 3)
        goal = ("pasture", "silvopasture", "woodland")[place % 3]
        blocks.append({"block_id": f"{place}{name[:20]}", "name": name, "goal": goal,
                       "notes": name, "geometry": shapely.box(x, y, x + 70, y + 70)})  # fmt: skip
        trees.append({"tree_id": f"T{place}{name}", "species": name, "dbh_in": 14.0,
                      "notes": name, "geometry": shapely.Point(x + 20, y + 50)})  # fmt: skip
        plots.append({"plot_id": f"P{place}{name}", "radius_ft": 20.0, "visited": "yes",
                      "notes": name, "geometry": shapely.Point(x + 35, y + 35)})  # fmt: skip
        plot = '"' + f"P{place}{name}".replace('"', '""') + '"'
        tally += [f"{plot},callery_pear,{size},3,no,live,2026-10-05" for size in (0.5, 2.0, 7.0)]
        other = '"' + ATTRIBUTE.replace('"', '""') + '"'
        tally += [f"{plot},{other},4.0,2,no,live,2026-10-05"]
    lines = {
        "public_road": shapely.LineString([(X - 20, Y - 12), (X + 230, Y - 12)]),
        "water": shapely.LineString([(X - 20, Y + 100), (X + 230, Y + 112)]),
        "fence": shapely.LineString([(X + 70, Y), (X + 70, Y + 140)]),
        "power_line": shapely.LineString([(X + 150, Y - 20), (X + 150, Y + 160)]),
        "gate": shapely.Point(X + 10, Y),
        "well": shapely.Point(X + 200, Y + 20),
        "building": shapely.box(X - 15, Y + 20, X - 5, Y + 30),
    }
    features = [{"kind": kind, "name": NAMES[place % 7], "notes": SCRIPT, "geometry": shape}
                for place, (kind, shape) in enumerate(lines.items())]  # fmt: skip
    layers = {"blocks": blocks, "keep_trees": trees, "plots": plots, "features": features}
    for name, rows in layers.items():
        layer = gpd.GeoDataFrame(rows, crs=GRID).to_crs("EPSG:4326")
        (folder / f"{name}.geojson").write_text(layer.to_json(), encoding="utf-8")
    (folder / "tally.csv").write_text("\n".join(tally) + "\n", encoding="utf-8")
    return folder
