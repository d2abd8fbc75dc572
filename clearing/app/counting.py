"""Count stems at a plot as a stroke: what a tap really changed, so that it can be taken back."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pandas as pd

from clearing.files.counts import count, open_counts
from clearing.tables import cell_text


@dataclass(frozen=True)
class Stems:
    """Stems that were counted at a plot: of which kind, how many more or fewer, on which day.

    ``nothing`` is 1 where somebody looked and found none, which is a row of nought, and -1 where
    that is taken back.
    """

    plot: str
    stem: dict[str, Any]
    by: int
    day: str
    nothing: int = 0

    @property
    def counts(self) -> bool:
        """Return whether anything was written down."""
        return bool(self.by or self.nothing)

    def back(self) -> "Stems":
        """Return what takes these back.

        References
        ----------
        own reasoning
        """
        return replace(self, by=-self.by, nothing=-self.nothing)


class Tally:
    """The counts of one folder while stems are counted into them.

    Parameters
    ----------
    home : Path
        The property's folder.
    """

    def __init__(self, home: Path) -> None:
        self.home = home
        self._added: set[tuple[Any, ...]] = set()

    def count(self, stems: Stems) -> Stems:
        """Return what was really counted: how many stems there are more, or fewer, by now.

        A count stops at nought. A row of the file that was added here goes again when it comes to
        nought; one that stood there before stays.

        Raises
        ------
        InputError
            As `clearing.files.counts.count`; nothing was counted then.
        """
        if not stems.counts:
            return stems
        key = stems.plot, stems.day, tuple(sorted(stems.stem.items()))
        before = open_counts(self.home)
        stays = stems.nothing > 0 if stems.nothing else key not in self._added
        after = count(self.home, before, stems.plot, stems.stem, stems.by, stems.day, stays)
        if len(after.rows) > len(before.rows):
            self._added.add(key)
        if stems.nothing:
            return replace(stems, nothing=len(after.rows) - len(before.rows))
        return replace(stems, by=_stems(after.rows, stems.plot) - _stems(before.rows, stems.plot))

    def rows(self, plot: str) -> list[dict[str, str]]:
        """Return the tally rows of a plot as they stand in tally.csv."""
        rows = open_counts(self.home).rows
        own = rows[rows["plot_id"].map(str.strip) == plot] if "plot_id" in rows else rows[:0]
        return own.to_dict("records")


def _stems(rows: pd.DataFrame, plot: str) -> int:
    """Return how many stems are counted at a plot."""
    if "plot_id" not in rows:
        return 0
    own = rows.loc[rows["plot_id"].map(str.strip) == plot, "count"]
    return int(pd.to_numeric(own, errors="coerce").fillna(0).sum())


def counted(stems: Stems) -> str:
    """Return what a tap did, in words.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> counted(Stems("7", {"species": "callery_pear", "size": "wrist"}, 1, ""))
    '1 wrist counted at plot 7'
    >>> counted(Stems("7", {"species": "white_oak", "dbh_in": "14.5"}, -1, ""))
    '1 of 14.5 in taken off at plot 7'
    >>> counted(Stems("7", {"species": "callery_pear", "size": "wrist", "status": "dead"}, 1, ""))
    '1 dead wrist counted at plot 7'
    >>> counted(Stems("7", {"species": "callery_pear"}, 0, "2027-06-01", 1))
    'nothing found at plot 7 on 2027-06-01'
    """
    if stems.nothing:
        return f"nothing found at plot {stems.plot} on {stems.day}"
    sized = cell_text(stems.stem.get("size"))
    for column in ("dbh_in", "dbh_cm"):
        if not sized and cell_text(stems.stem.get(column)):
            sized = f"of {cell_text(stems.stem[column])} {column[-2:]}"
    state = cell_text(stems.stem.get("status"))
    sized = f"{state} {sized}" if state not in ("", "live") else sized
    did = "counted" if stems.by > 0 else "taken off"
    return f"{abs(stems.by)} {sized} {did} at plot {stems.plot}"
