"""Find the season in which a job can be done."""

from dataclasses import dataclass

import pandas as pd

from clearing.units import DAYS_A_MONTH


@dataclass(frozen=True)
class Calendar:
    """The seasons of a year in order, with those that have hours."""

    names: tuple[str, ...]
    open: tuple[bool, ...]
    months: tuple[tuple[int, ...], ...]

    def next_fit(self, fitting: str, start: int) -> tuple[int, int]:
        """Return years later (0 or 1) and place of the first fitting season from a place on.

        A job that fits no open season is put at the start itself.
        """
        wanted = set(fitting.split())
        for step in range(len(self.names)):
            place = (start + step) % len(self.names)
            if self.open[place] and self.names[place] in wanted:
                return (start + step) // len(self.names), place
        return 0, start

    def after(self, start: int, months: float) -> tuple[int, int]:
        """Return years later and place of the first open season that starts so long after one ends.

        The wait is counted from the last month of the season of treatment, which may lie in the
        year after the one that it starts in.
        """
        first, end = self.months[start][0], self.months[start][-1]
        end += 12 * (end < first)
        number = len(self.names)
        for step in range(1, 2 * number + 1):
            place = (start + step) % number
            years = (start + step) // number
            gap = 12 * years + self.months[place][0] - end - 1
            if self.open[place] and gap >= months:
                return years, place
        return 1, start

    def after_spray(self, sprayed: str, window: list[str], wait_days: float) -> str:
        """Return the season of a window that ends at least so many days after a season of spray.

        A season before the spray's in the year comes after last year's. Where none is late enough
        the one that comes longest after it is returned, blank for an empty window.
        """
        if sprayed not in self.names or not window:
            return window[0] if window else ""
        end = self.months[self.names.index(sprayed)][-1]
        gaps = {}
        for name in window:
            last = self.months[self.names.index(name)][-1]
            gaps[name] = DAYS_A_MONTH * ((last - end) % 12)
        late = [name for name in window if gaps[name] >= wait_days]
        return late[0] if late else max(window, key=lambda name: gaps[name])

    def summery(self, place: int) -> bool:
        """Return whether most months of a season are June to August."""
        return sum(month in (6, 7, 8) for month in self.months[place]) * 2 > len(self.months[place])


def calendar(seasons: pd.DataFrame) -> Calendar:
    """Return the calendar of a table of seasons (`rates.season_hours`).

    References
    ----------
    own reasoning
    """
    rows = seasons.sort_values("order").to_dict("records")
    months = [
        tuple(
            int(m) for m in (r["months"].split() if isinstance(r["months"], str) else r["months"])
        )
        for r in rows
    ]
    has_hours = [bool(m) and r.get("hours", 1.0) > 0 for m, r in zip(months, rows, strict=True)]
    return Calendar(
        tuple(str(r["season"]) for r in rows), tuple(has_hours), tuple(m or (1,) for m in months)
    )


def common(lists: list[str], order: tuple[str, ...]) -> list[str]:
    """Return the seasons that all space-separated lists name, in order.

    References
    ----------
    own reasoning
    """
    sets = [set(each.split()) for each in lists]
    return [name for name in order if all(name in one for one in sets)]
