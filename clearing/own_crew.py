"""Read who works, how long, and what they carry, from the settings."""

import csv
from importlib import resources
from typing import Any

from clearing.asking import Asker
from clearing.property import Crew
from clearing.units import L_PER_FLOZ, L_PER_GAL

CREW_KEYS = (
    "who", "people", "sawyers", "days_per_week", "hours_per_day", "wage_per_hour",
    "tank_gal", "tank_l", "bottle_floz", "bottle_ml",
)  # fmt: skip
WHO = ("family", "hired", "contractor")
LARGEST_TANK_L, LARGEST_BOTTLE_L = 2000.0, 20.0  # what a crew carries or pulls; own choice


def own_crew(ask: Asker, own_seasons: dict[str, str]) -> Crew:
    """Return the crew; hours may be given for each of the owner's or the region's seasons.

    Parameters
    ----------
    ask : Asker
        Of the whole property.toml; problems are noted there.
    own_seasons : dict
        Name of each of the owner's seasons -> its key; blank takes those of the region.

    References
    ----------
    own reasoning
    """
    hours: float | dict[str, float]
    if isinstance(ask.given(("crew", "hours_per_day"), None), dict):
        region = ask.table("property").get("region", "upper_south")
        keys = own_seasons or {name: name for name in _season_names(region)}
        given = ask.named_numbers("crew", "hours_per_day", low=0, high=24, names=tuple(keys))
        hours = {keys[name]: value for name, value in given.items()}
    else:
        hours = ask.number("crew", "hours_per_day", low=0, high=24, default=6.0) or 0.0
    people = int(ask.number("crew", "people", low=1, high=100, default=2, whole=True) or 2)
    sawyers = int(ask.number("crew", "sawyers", low=0, high=100, default=1, whole=True) or 0)
    if sawyers > people:
        right = f"write at most the number of people, which is {people}"
        ask.wrong(("crew", "sawyers"), sawyers, right)
    return Crew(
        who=ask.choice("crew", "who", choices=WHO, default="family"),
        people=people,
        sawyers=sawyers,
        days_per_week=ask.number("crew", "days_per_week", low=0.1, high=7, default=2.0) or 2.0,
        hours_per_day=hours,
        wage_per_hour=ask.number("crew", "wage_per_hour", low=0, high=1000, default=0.0) or 0.0,
        tank_l=_volume(ask, {"tank_gal": L_PER_GAL, "tank_l": 1.0}, LARGEST_TANK_L),
        bottle_l=_volume(ask, {"bottle_floz": L_PER_FLOZ, "bottle_ml": 0.001}, LARGEST_BOTTLE_L),
    )


def _volume(ask: Asker, keys: dict[str, float], most_l: float) -> float | None:
    """Return a volume [l] given under one of two keys, none where nobody gave it."""
    given = [key for key in keys if key in ask.table("crew")]
    if len(given) > 1:
        found = ask.table("crew")[given[0]]
        ask.wrong(("crew", given[0]), found, f"{given[1]} is given too; keep one of them")
        return None
    for key in given:
        found = ask.number("crew", key, low=0.05 / keys[key], high=most_l / keys[key])
        return None if found is None else found * keys[key]
    return None


def _season_names(region: Any) -> tuple[str, ...]:
    """Return the names of the handbook's seasons of a region, or of those of any region."""
    path = resources.files("clearing") / "data" / "handbook" / "seasons.csv"
    with path.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    own = [row["season"] for row in rows if row["region"] == region]
    return tuple(own or [row["season"] for row in rows if row["region"] == "any"])
