"""Read the plan that lies in the folder, and say whether the land has changed since."""

import json
import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import geopandas as gpd

from clearing.errors import InputError
from clearing.files.layers import ENDINGS, PACKED, Source, open_layer
from clearing.files.standing import LAYERS, WAITING
from clearing.files.together import at_rest

SETTINGS, TALLY, LOG = "property.toml", "tally.csv", "records.csv"
PLAN = "plan.json"
PLAN_TO_COME = (
    "The plan carries a time that is still to come, so nobody knows what was changed after it was "
    "made; set the clock of the computer right and plan anew."
)
CLOCKS_NS = 60 * 10**9  # by which the clock of a disk elsewhere may run ahead; own choice
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


def changed_since(home: str | Path, now_ns: int | None = None) -> tuple[str, ...]:
    """Return the sentences of `younger`, which takes the same.

    References
    ----------
    own reasoning
    """
    return tuple(younger(home, now_ns).values())


def younger(home: str | Path, now_ns: int | None = None) -> dict[str, str]:
    """Return the things of the owner's that are younger than the plan, each with its sentence.

    A file that carries a time to come is younger than any plan that is made today, so it is told
    as such; and where the plan does, under ``plan.json``, nothing is known to be younger.

    Parameters
    ----------
    home : path
        The property's folder, with a plan in it.
    now_ns : int, optional
        What the clock says [ns since 1970]; asked for when none.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    made = (home / "out" / "plan.json").stat().st_mtime_ns
    latest = (time.time_ns() if now_ns is None else now_ns) + CLOCKS_NS
    layers = {f"{name}.{ending}" for name in LAYERS for ending in ENDINGS} | {*PACKED, *WAITING}
    found: dict[str, str] = {}
    for path in sorted(home.iterdir()):
        name = "land" if path.name.lower() in layers else path.name
        if name not in CHANGED or not path.is_file():
            continue
        facts = path.stat()
        if facts.st_mtime_ns > made and (facts.st_size or path.name.lower() not in WAITING):
            ahead = facts.st_mtime_ns > latest
            if not ahead or name not in found:
                found[name] = _to_come(path, facts.st_mtime_ns) if ahead else CHANGED[name]
    told = {name: found[name] for name in CHANGED if name in found}
    return told | ({PLAN: PLAN_TO_COME} if made > latest else {})


def _to_come(path: Path, time_ns: int) -> str:
    """Return the sentence for a file whose time is still to come."""
    when = f"{datetime.fromtimestamp(time_ns / 1e9):%Y-%m-%d %H:%M}"
    return (
        f"{path.name} carries the time {when}, which is still to come, so nobody knows whether it "
        "was changed after this plan was made; save it once more, then plan anew."
    )
