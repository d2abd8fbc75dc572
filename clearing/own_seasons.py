"""Read the owner's seasons from the settings."""

import re
from typing import Any

from clearing.asking import Asker, as_written, is_number, listed
from clearing.property import Season
from clearing.tables import name_list


def months_of(found: Any) -> tuple[int, ...] | None:
    """Return months, or None when one is none.

    References
    ----------
    own reasoning
    """
    months = listed(found)
    good = all(isinstance(m, int) and not isinstance(m, bool) and 1 <= m <= 12 for m in months)
    return tuple(months) if good else None


def own_seasons(ask: Asker) -> list[Season]:
    """Return the owner's seasons in the order given; problems are noted.

    References
    ----------
    own reasoning
    """
    seasons: list[Season] = []
    for entry in ask.tables("season"):
        found, days = entry.get("months"), entry.get("work_days")
        months = months_of(found) or ()
        label = str(entry.get("name") or f"number {len(seasons) + 1}")
        wrong = _season_problems(entry, months, seasons)
        if wrong:
            ask.problems += [f"property.toml: [[season]] {label!r}: {said}" for said in wrong]
            continue
        key = season_key(label) or f"season_{len(seasons) + 1}"
        if key in {season.name for season in seasons}:
            right = "give each season a name of its own"
            ask.problems.append(f"property.toml: [[season]] {label!r} is named twice; {right}")
        seasons.append(Season(key, months, None if days is None else float(days), label))
    return seasons


def _season_problems(
    entry: dict[str, Any], months: tuple[int, ...], before: list[Season]
) -> list[str]:
    """Return what is wrong with one season, beside those before it."""
    problems = []
    if not entry.get("name"):
        problems.append("it has no name; write name = a word or two in quotes")
    found = entry.get("months")
    said = "are missing" if found is None else f"are {as_written(found)}"
    if not months:
        problems.append(f"its months {said}; write a list of months from 1 to 12 such as [9, 10]")
    if len(set(months)) < len(months):
        problems.append(f"its months {said}; write each month once")
    for season in before:
        twice = [str(month) for month in months if month in season.months]
        if twice:
            problems.append(
                f"month {name_list(twice)} is in season {season.label!r} too; a month belongs to "
                "one season"
            )
    days, most = entry.get("work_days"), 31 * len(set(months))
    if days is not None and months and not (is_number(days) and 0 <= days <= most):
        right = f"write a number from 0 to {most}, or leave it out"
        problems.append(f"work_days is {as_written(days)}; {right}")
    return problems


def season_key(name: str) -> str:
    """Return the name of a season as one word, for ids and lists.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> season_key("Late fall: deer"), season_key("late_winter")
    ('late_fall_deer', 'late_winter')
    """
    return re.sub(r"\W+", "_", name.lower()).strip("_")
