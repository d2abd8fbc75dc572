"""A small property that is planned in a second or two, and any property told in metric units.

Factors: NIST Handbook 44 (2023), Appendix C: a foot is 0.3048 m, an acre 43,560 square feet, a
gallon 231 cubic inches, a pound 0.45359237 kg, all exact.
"""

import copy
from pathlib import Path

import shapely

from tests.hard.strategies import X, Y, write_place

FT, IN, GAL, LB = 0.3048, 2.54, 231 * 2.54**3 / 1000, 0.45359237
ACRE, FLOZ = 43560 * FT**2 / 10_000, GAL / 128
TWIN = {"ft": ("m", FT), "in": ("cm", IN), "acres": ("ha", ACRE), "gal": ("l", GAL),
        "floz": ("l", FLOZ), "mph": ("kmh", 5280 * FT / 1000)}  # fmt: skip
LIMITS = {
    "lb_ae_per_acre_year": ("kg_ae_per_ha_year", LB / ACRE),
    "lb_ae_per_acre_application": ("kg_ae_per_ha_application", LB / ACRE),
    "lb_ae_per_100gal_mix": ("kg_ae_per_l_mix", LB / GAL / 100),
    "wind_max_mph": ("wind_max_kmh", 5280 * FT / 1000),
}
KEYS = {  # section -> key -> its metric twin
    "strips": {"acres": ("hectares", ACRE)},
    "crew": {"tank_gal": ("tank_l", GAL), "bottle_floz": ("bottle_ml", FLOZ * 1000)},
    "plots": {"radius_ft": ("radius_m", FT)},
    "contractor": {"mowing_per_acre": ("mowing_per_ha", 1 / ACRE)},
    "cost_share": {"dollars_per_acre": ("dollars_per_ha", 1 / ACRE)},
    "herbicide": {"lb_ae_per_gal": ("kg_ae_per_l", LB / GAL), "on_hand_gal": ("on_hand_l", GAL),
                  "container_gal": ("container_l", GAL)},
}  # fmt: skip
DONE = {"stems_over_1in": ("stems_over_25mm", 1 / ACRE),
        "seedlings_per_acre": ("seedlings_per_ha", 1 / ACRE)}  # fmt: skip

LABEL = {"container_gal": [1.0, 2.5], "price": [38, 82], "on_hand_gal": 0.5, "confirmed": True,
         "registration": "training only", "date": "2026-03-01",
         "sites": ["pasture", "silvopasture", "woodland"]}  # fmt: skip
SETTINGS = {
    "property": {"name": "Small", "region": "upper_south", "units": "us", "first_year": 2027,
                 "years": 2},
    "targets": {"species": ["callery_pear", "tree_of_heaven"]},
    "crew": {"people": 2, "sawyers": 1, "days_per_week": 2, "hours_per_day": 6,
             "wage_per_hour": 18, "tank_gal": 4, "bottle_floz": 32},
    "contractor": {"mowing_per_acre": 85, "hires": ["mowing"]},
    "money": {"budget_per_year": 2500, "carry_over": True, "mower_per_hour": 55,
              "value_per_acre_year": {"pasture": 60, "woodland": 20}},
    "cost_share": [{"name": "county program", "dollars_per_acre": 120, "goals": ["pasture"]}],
    "strips": {"acres": 1.5},
    "plots": {"radius_ft": 37.2},
    "herbicide": {
        "glyphosate_4": LABEL | {
            "active_ingredient": "glyphosate", "lb_ae_per_gal": 4.0,
            "methods": ["hack_and_squirt", "cut_and_spray", "foliar"],
            "limits": {"lb_ae_per_acre_year": 8.0, "spot_percent": 50, "wind_max_mph": 10}},
        "triclopyr_ester_4": LABEL | {
            "active_ingredient": "triclopyr ester", "lb_ae_per_gal": 4.0,
            "methods": ["cut_and_spray", "basal_bark", "foliar"],
            "limits": {"lb_ae_per_acre_year": 2.0}},
    },
    "plan": {"done_when": {"stems_over_1in": 2, "seedlings_per_acre": 40}},
}  # fmt: skip
RECORDS = [
    {"record_id": "1", "date": "2026-09-14", "strip_id": "1", "job": "hack_and_squirt",
     "people": 2, "hours": 9.5, "herbicide": "glyphosate_4", "product_floz": 12, "mix_gal": 1.5,
     "area_acres": 0.6, "wind_mph": 4, "stems": 80},
]  # fmt: skip


def small_property(rows: bool = False) -> dict:
    """Return two blocks with a creek, a road, a keep tree and two plots; on wish with a log."""
    counts = [("P1", "callery_pear", 1.4, 3), ("P1", "callery_pear", 4.0, 2),
              ("P1", "tree_of_heaven", 7.5, 1), ("P2", "callery_pear", 0.6, 5),
              ("P2", "tree_of_heaven", 11.0, 1)]  # fmt: skip
    return {
        "settings": copy.deepcopy(SETTINGS),
        "blocks": [
            {"block_id": "1", "goal": "pasture", "brush": "open", "density_guess": "",
             "geometry": shapely.box(X, Y, X + 90, Y + 70)},
            {"block_id": "2", "goal": "woodland", "brush": "brushy", "density_guess": "few",
             "geometry": shapely.box(X + 90, Y, X + 160, Y + 70)},
        ],
        "features": [
            {"kind": "public_road", "setback_ft": None,
             "geometry": shapely.LineString([(X - 10, Y - 9), (X + 170, Y - 9)])},
            {"kind": "water", "setback_ft": 40,
             "geometry": shapely.LineString([(X - 10, Y + 75), (X + 170, Y + 80)])},
        ],
        "keep_trees": [{"tree_id": "K1", "species": "white oak", "dbh_in": 14.0, "crown_ft": 30.0,
                        "geometry": shapely.Point(X + 30, Y + 40)}],
        "plots": [
            {"plot_id": name, "radius_ft": 30.0, "visited": "yes",
             "geometry": shapely.Point(X + at, Y + 35)} for name, at in (("P1", 45), ("P2", 70))
        ],
        "tally": [
            {"plot_id": plot, "species": species, "dbh_in": inches, "count": count, "keep": "no",
             "status": "live", "date": "2026-10-05"} for plot, species, inches, count in counts
        ],
        "records": [dict(row) for row in RECORDS] if rows else [],
    }  # fmt: skip


def in_metric(made: dict) -> dict:
    """Return the same property told in metric units: every figure times its exact factor."""
    told = {name: [_row(row) for row in rows] for name, rows in made.items() if name != "settings"}
    return told | {"settings": settings_in_metric(made["settings"])}


def settings_in_metric(settings: dict) -> dict:
    """Return the same settings told in metric units."""
    out = copy.deepcopy(settings)
    out["property"]["units"] = "metric"
    for section, keys in KEYS.items():
        body = out.get(section, {})
        several = list(body.values()) if section == "herbicide" else body
        for table in several if isinstance(several, list) else [several]:
            _renamed(table, keys)
            _renamed(table.get("limits", {}), LIMITS)
    if "value_per_acre_year" in out["money"]:
        told = out["money"].pop("value_per_acre_year")
        out["money"]["value_per_ha_year"] = {goal: value / ACRE for goal, value in told.items()}
    _renamed(out["plan"].get("done_when", {}), DONE)
    return out


def _renamed(table: dict, keys: dict) -> None:
    """Change keys and figures of a table to their metric twins."""
    for key, (twin, factor) in keys.items():
        if key in table:
            found = table.pop(key)
            table[twin] = [f * factor for f in found] if isinstance(found, list) else found * factor


def _row(row: dict) -> dict:
    """Return a row of a layer or a table in metric."""
    out = {}
    for key, value in row.items():
        stem, _, suffix = str(key).rpartition("_")
        if stem and suffix in TWIN:
            unit, factor = TWIN[suffix]
            blank = value is None or value == "" or value != value
            out[f"{stem}_{unit}"] = value if blank else float(value) * factor
        else:
            out[key] = value
    return out


def small_place(folder: Path, rows: bool = False) -> Path:
    """Return a folder with the small property."""
    return write_place(folder, small_property(rows))
