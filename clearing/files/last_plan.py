"""Read of the last plan what a new one is compared with; a plan that cannot be read is none."""

import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from clearing import units
from clearing.property import LastPlan

MOST_BYTES = 200_000_000  # a plan.json over this is not read; own choice
LETTERS = 200  # of a name that are kept; own choice
WORDS = ("strip_id", "job", "season", "method", "herbicide", "recipe_id")
LESSON = ("kind", "subject", "item", "season")
Lesson = tuple[str, str, str, str]
ENDS = ("", "_low", "_high")
PRODUCT_L = {"floz": units.L_PER_FLOZ, "ml": 0.001}
AREA_HA = {"acres": units.HA_PER_ACRE, "ha": 1.0}
VISITS = [*WORDS, "year", *(f"hours{end}" for end in ENDS), *(f"cost{end}" for end in ENDS),
          *(f"product{end}_l" for end in ENDS)]  # fmt: skip
BROKEN = (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError, OverflowError)


def last_plan(home: str | Path) -> LastPlan | None:
    """Return what ``out/plan.json`` of a folder says, none where it cannot be used.

    Missing, damaged, too large, or of another version: each is as if there were none.

    Parameters
    ----------
    home : path
        The property's folder.

    References
    ----------
    own reasoning
    """
    path = Path(home) / "out" / "plan.json"
    try:
        if not path.is_file() or path.stat().st_size > MOST_BYTES:
            return None
        said = json.loads(path.read_bytes().decode("utf-8"), parse_constant=_no_number)
        return _taken(said)
    except BROKEN:
        return None


def _no_number(word: str) -> float:
    """Return nothing; what is no number does not stand in a plan."""
    raise ValueError(word)


def _taken(said: Mapping[str, Any]) -> LastPlan:
    """Return what is needed of a plan."""
    since, finish = said["since_last"], said["finish_year"]
    strips = {_text(one["strip_id"]): _strip(one) for one in said["strips"]}
    return LastPlan(
        inputs=_text(said["inputs"]),
        land=_text(said["inputs_land"]),
        visits=pd.DataFrame([_visit(one) for one in said["visits"]], columns=VISITS),
        strips=strips,
        first_year=min(int(one["year"]) for one in said["years"]),
        finish_year=None if finish is None else int(finish),
        known=frozenset(_text(one) for one in said["told"]["log_known"]),
        learned=_learned(said["learned"]),
        since_last=dict(since) if isinstance(since, dict) else None,
    )  # fmt: skip


def _learned(rows: list[Mapping[str, Any]]) -> dict[Lesson, tuple[float, ...]]:
    """Return what the plan had learned: now, low, high and rows of each figure."""
    out: dict[Lesson, tuple[float, ...]] = {}
    for one in rows:
        kind, subject, item, season = (_text(one[name]) for name in LESSON)
        out[kind, subject, item, season] = tuple(
            _number(one[name]) for name in ("now", "low", "high", "rows")
        )
    return out


def _visit(one: Mapping[str, Any]) -> dict[str, object]:
    """Return one visit in metric."""
    unit = "floz" if "product_floz" in one else "ml"
    product = {
        f"product{end}_l": _number(one[f"product{end}_{unit}"]) * PRODUCT_L[unit] for end in ENDS
    }
    numbers = {f"{name}{end}": _number(one[f"{name}{end}"])
               for name in ("hours", "cost") for end in ENDS}  # fmt: skip
    return {name: _text(one[name]) for name in WORDS} | {
        "year": int(one["year"]), **numbers, **product
    }  # fmt: skip


def _strip(one: Mapping[str, Any]) -> dict[str, object]:
    """Return one strip in metric."""
    start = one["start_year"]
    return {
        "block_id": _text(one["block_id"]),
        "area_ha": _number(one["area"]) * AREA_HA[_text(one["area_unit"])],
        "method": _text(one["method"]),
        "when": _text(one["when"]),
        "start_year": None if start is None else int(start),
    }


def _text(value: object) -> str:
    """Return a text, cut where it is far too long for a name."""
    if not isinstance(value, str):
        raise TypeError(value)
    return value[:LETTERS]


def _number(value: object) -> float:
    """Return a number; a blank is nought."""
    if isinstance(value, bool) or not isinstance(value, int | float | None):
        raise TypeError(value)
    number = 0.0 if value is None else float(value)
    if not math.isfinite(number):
        raise ValueError(value)
    return number
