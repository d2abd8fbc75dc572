"""Say where in its years a plan stands: what is over, what of this season is left."""

from dataclasses import replace

import pandas as pd

from clearing.property import Settings
from clearing.records.log import in_force

LEAST_YEARS = 3  # that a plan looks ahead though its own years are nearly over; own choice
OVER = 0.98  # share of a season's days from which it is over; own choice


def newest_day(records: pd.DataFrame, tally: pd.DataFrame) -> pd.Timestamp | None:
    """Return the last day of the log or of a dated count, none where there is neither.

    Parameters
    ----------
    records, tally : DataFrame
        As ``owner/records`` and ``owner/tally``.

    References
    ----------
    own reasoning
    """
    days = [in_force(records)["date"], tally["date"]]
    known = pd.to_datetime(pd.concat(days, ignore_index=True), errors="coerce").dropna()
    return known.max() if len(known) else None


def ahead(
    settings: Settings, seasons: pd.DataFrame, day: pd.Timestamp | None
) -> tuple[Settings, tuple[str, ...]]:
    """Return the settings of what lies ahead on a day, and sentences on what changed.

    A day before the plan's first year changes nothing. Later the plan begins in the day's year, or
    in the next one where all its seasons are over; it ends when it did, but looks LEAST_YEARS
    ahead; of the seasons of its first year the share that is over stands in ``season_gone``.

    Parameters
    ----------
    settings : Settings
        The owner's.
    seasons : DataFrame
        season, months, hours (`rates.season_hours`).
    day : Timestamp or None
        The last day of the log, or the day on which the plan is made.

    References
    ----------
    own reasoning
    """
    if day is None or day.year < settings.first_year:
        return settings, ()
    gone = {str(row.season): _gone(row.months, day) for row in seasons.itertuples()}
    left = [row.season for row in seasons.itertuples() if row.months and row.hours > 0]
    first = day.year
    if all(gone[name] >= OVER for name in left):
        first, gone = first + 1, {}
    past = first - settings.first_year
    years = max(settings.years - past, min(settings.years, LEAST_YEARS))
    notes = []
    if years > settings.years - past:
        notes.append(
            f"the plan's own years end in {settings.first_year + settings.years - 1}; it now looks "
            f"on to {first + years - 1}; [property] years says how far it shall look"
        )
    clear_by = settings.clear_by
    if clear_by is not None and clear_by < first:
        notes.append(f"[plan] clear_by {clear_by} is over; this plan is made without it")
        clear_by = None
    budget = settings.money.budget_per_year
    return replace(
        settings,
        first_year=first,
        years=years,
        clear_by=clear_by,
        money=replace(settings.money, budget_per_year=budget[min(past, len(budget) - 1) :]),
        season_gone={name: share for name, share in gone.items() if share > 0},
    ), tuple(notes)


def _gone(months: tuple[int, ...], day: pd.Timestamp) -> float:
    """Return the share of a season's days that lie before a day of the year it starts in."""
    if not months:
        return 0.0
    spans = []
    for month in months:
        year = day.year + (month < months[0])
        spans.append((pd.Timestamp(year, month, 1), pd.Timestamp(year, month, 1).days_in_month))
    total = sum(length for _, length in spans)
    before = sum(min(max((day - start).days + 1, 0), length) for start, length in spans)
    return before / total
