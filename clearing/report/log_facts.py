"""Describe what the log says beside a plan: frozen rows that can be read back from plan.json."""

import math
import types
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

Row = TypeVar("Row")


def _about(description: str) -> dict[str, str]:
    return {"description": description}


@dataclass(frozen=True)
class Foretold:
    """What the last plan foretold of work that was logged since, and what it took."""

    year: int = field(metadata=_about("Year of the work"))
    kind: str = field(metadata=_about("hours or product"))
    herbicide: str = field(metadata=_about("Herbicide key, blank for hours"))
    value: float = field(metadata=_about("Foretold, in the unit"))
    low: float = field(metadata=_about("Lower end"))
    high: float = field(metadata=_about("Upper end"))
    took: float = field(metadata=_about("What the log has, in the unit"))
    unit: str = field(metadata=_about("hours, fl oz, gal, mL or L"))
    inside: bool = field(metadata=_about("Whether it lies within the range"))
    pieces: int = field(metadata=_about("Pieces of work compared"))
    pieces_inside: int = field(metadata=_about("Of them within their own range"))
    words: str = field(metadata=_about("The same in one sentence"))


@dataclass(frozen=True)
class KillFound:
    """What kill was thought, and what was counted since."""

    recipe_id: str = field(metadata=_about("Recipe of the handbook"))
    species: str = field(metadata=_about("Species key"))
    value: float = field(metadata=_about("Kill that was thought, percent"))
    low: float = field(metadata=_about("Lower end, percent"))
    high: float = field(metadata=_about("Upper end, percent"))
    dead: int = field(metadata=_about("Stems found dead"))
    counted: int = field(metadata=_about("Stems counted, dead and alive"))
    share: float = field(metadata=_about("Share found dead, percent"))
    inside: bool = field(metadata=_about("Whether it lies within the range"))
    words: str = field(metadata=_about("The same in one sentence"))


@dataclass(frozen=True)
class StripChange:
    """What became of one strip since the last plan, and why."""

    strip_id: str = field(metadata=_about("Strip"))
    name: str = field(metadata=_about("Name for people"))
    method_then: str = field(metadata=_about("Method of the last plan, in words"))
    when_then: str = field(metadata=_about("Season and year of the last plan, in words"))
    year_then: int | None = field(metadata=_about("Year of the last plan or none"))
    method_now: str = field(metadata=_about("Method now, in words"))
    when_now: str = field(metadata=_about("Season and year now, in words"))
    year_now: int | None = field(metadata=_about("Year now or none"))
    kind: str = field(
        metadata=_about("done, part, rest, missed, kill, pace, stems, land, moved, new or gone")
    )
    why: str = field(metadata=_about("The reason in one sentence"))


@dataclass(frozen=True)
class Totals:
    """What still lies ahead, by the last plan and by this one."""

    hours_then: tuple[float, ...] = field(
        metadata=_about("Hours ahead by the last plan, with ends")
    )
    hours_now: tuple[float, ...] = field(metadata=_about("Hours ahead by this one, with ends"))
    cost_then: tuple[float, ...] = field(metadata=_about("Cash ahead by the last plan, with ends"))
    cost_now: tuple[float, ...] = field(metadata=_about("Cash ahead by this one, with ends"))
    finish_then: int | None = field(metadata=_about("Finish year of the last plan or none"))
    finish_now: int | None = field(metadata=_about("Finish year of this one or none"))
    words: tuple[str, ...] = field(metadata=_about("The same in sentences"))


@dataclass(frozen=True)
class SinceLast:
    """All that changed since the last plan."""

    foretold: tuple[Foretold, ...] = field(metadata=_about("Hours and product against the log"))
    kills: tuple[KillFound, ...] = field(metadata=_about("Kills against counts"))
    compared: int = field(metadata=_about("Pieces of work that both have"))
    beyond: int = field(metadata=_about("Pieces of the log that the last plan had not"))
    missing: int = field(metadata=_about("Pieces of the last plan that are over and not logged"))
    going: int = field(metadata=_about("Pieces of work that may still go on"))
    pieces: str = field(metadata=_about("These numbers in one sentence, or blank"))
    changes: tuple[StripChange, ...] = field(metadata=_about("Strips that changed, and why"))
    changed: str = field(metadata=_about("How many strips changed and how, in one sentence"))
    totals: Totals = field(metadata=_about("What lies ahead, then and now"))


@dataclass(frozen=True)
class Learned:
    """One thing that the log taught."""

    kind: str = field(metadata=_about("pace, ground, mower, dose, back, stems or kill"))
    subject: str = field(metadata=_about("Job, kind of brush, species or block"))
    item: str = field(metadata=_about("Figure or recipe"))
    season: str = field(metadata=_about("Season of a kill; blank = all"))
    was: float = field(metadata=_about("Before the log, in metric"))
    now: float = field(metadata=_about("With the log"))
    low: float = field(metadata=_about("Lower end"))
    high: float = field(metadata=_about("Upper end"))
    weight: float = field(metadata=_about("Share of what is known that comes of the log"))
    rows: int = field(metadata=_about("Pieces of work, or stems counted"))
    change: float = field(metadata=_about("Times what it was: over 1 means more time, mix, stems"))
    what: str = field(metadata=_about("What it is of, in words"))
    was_words: str = field(metadata=_about("Before the log, in words"))
    now_words: str = field(metadata=_about("With the log and its range, in words"))
    basis: str = field(metadata=_about("What it rests on, in words"))
    words: str = field(metadata=_about("The same in one sentence"))


@dataclass(frozen=True)
class LogSays:
    """What the log says beside the plan; blank where there is no log."""

    done: str = field(default="", metadata=_about("What was done so far, in one sentence"))
    learned: tuple[Learned, ...] = field(
        default=(), metadata=_about("What the log taught, the most weight first")
    )
    since: SinceLast | None = field(
        default=None, metadata=_about("What changed since the last plan, none without one")
    )
    short: tuple[str, ...] = field(default=(), metadata=_about("The most of it in a few sentences"))


def read_back(kind: type[Row], said: object) -> Row | None:
    """Return rows that `plain_facts.plain` has made plain, none where they do not fit.

    Parameters
    ----------
    kind : type
        A dataclass of this module.
    said : object
        A piece of plan.json.

    References
    ----------
    own reasoning
    """
    try:
        made: Row = _made(kind, said)
    except (TypeError, ValueError, KeyError):
        return None
    return made


def _made(kind: Any, said: Any) -> Any:
    """Return a value of a kind; raises where the piece is none."""
    if isinstance(kind, type) and is_dataclass(kind):
        if not isinstance(said, Mapping):
            raise TypeError(said)
        hints = get_type_hints(kind)
        made = {one.name: _made(hints[one.name], said[one.name]) for one in fields(kind)}
        return kind(**made)
    if get_origin(kind) is tuple:
        if not isinstance(said, list):
            raise TypeError(said)
        return tuple(_made(get_args(kind)[0], one) for one in said)
    if get_origin(kind) is types.UnionType:
        return None if said is None else _made(get_args(kind)[0], said)
    if kind is float and isinstance(said, int) and not isinstance(said, bool):
        said = float(said)
    if type(said) is not kind or (kind is float and not math.isfinite(said)):
        raise TypeError(said)
    return said
