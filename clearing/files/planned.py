"""Read the plan that lies in the folder, and say whether the land has changed since."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd

from clearing.errors import InputError
from clearing.files.layers import ENDINGS, PACKED, Source, open_layer
from clearing.files.standing import LAYERS
from clearing.files.together import at_rest

SETTINGS, TALLY, LOG = "property.toml", "tally.csv", "records.csv"
CHANGED = {
    "land": "The land was changed after this plan was made.",
    SETTINGS: "property.toml was changed after this plan was made.",
    TALLY: "The tally was changed after this plan was made.",
    LOG: "The log was changed after this plan was made.",
}


@dataclass(frozen=True)
class Planned:
    """A plan as it was written.

    ``said`` is plan.json; ``strips`` the shapes of its strips in their grid; ``stale`` holds a
    sentence for each thing of the owner's that was changed since.
    """

    said: dict[str, Any]
    strips: gpd.GeoDataFrame
    stale: tuple[str, ...]


def read_plan(home: str | Path) -> Planned | None:
    """Return the plan that was written into ``out``, None when there is none.

    Raises
    ------
    InputError
        It cannot be read, or an earlier version of this program wrote it.

    References
    ----------
    own reasoning
    """
    out = Path(home) / "out"
    if not out.is_dir():
        return None
    with at_rest(home):
        said = plan_said(home, ("years", "strips"))
        if said is None:
            return None
        if not (out / "plan.gpkg").is_file():
            raise InputError(["plan.gpkg is missing beside plan.json; plan anew"], "out")
        strips = open_layer(Source(out / "plan.gpkg", ("strips",)))
        return Planned(said, strips, changed_since(home))


def plan_said(home: str | Path, needed: tuple[str, ...]) -> dict[str, Any] | None:
    """Return plan.json as it was written, none when there is none.

    Parameters
    ----------
    home : path
        The property's folder.
    needed : tuple of str
        What must stand in it.

    Raises
    ------
    InputError
        It cannot be read, or an earlier version of this program wrote it.

    References
    ----------
    own reasoning
    """
    path = Path(home) / "out" / "plan.json"
    if not path.is_file():
        return None
    try:
        said = json.loads(path.read_text(encoding="utf-8"))
        whole = isinstance(said, dict) and all(name in said for name in needed)
    except (OSError, ValueError) as cause:
        raise InputError([f"plan.json cannot be read ({cause}); plan anew"], "out") from cause
    if not whole:
        raise InputError(["plan.json was written by another version; plan anew"], "out")
    return dict(said)


def changed_since(home: str | Path) -> tuple[str, ...]:
    """Return a sentence for each thing of the owner's that is younger than the plan.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    made = (home / "out" / "plan.json").stat().st_mtime_ns
    layers = {f"{name}.{ending}" for name in LAYERS for ending in ENDINGS} | set(PACKED)
    younger = set()
    for path in home.iterdir():
        name = "land" if path.name.lower() in layers else path.name
        if name in CHANGED and path.is_file() and path.stat().st_mtime_ns > made:
            younger.add(name)
    return tuple(words for name, words in CHANGED.items() if name in younger)
