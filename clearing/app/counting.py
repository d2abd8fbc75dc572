"""Count stems at a plot as a stroke: what a tap really changed, so that it can be taken back."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pandas as pd

from clearing.files.counts import count, open_counts
from clearing.tables import cell_text


@dataclass(frozen=True)
class Stems:
    """Stems that were counted at a plot: of which kind, how many more or fewer, on which day."""

    plot: str
    stem: dict[str, Any]
    by: int
    day: str

    def back(self) -> "Stems":
        """Return what takes these back.

        References
        ----------
        own reasoning
        """
        return replace(self, by=-self.by)


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

    def count(self, stems: Stems) -> int:
        """Return how many stems there are more (or fewer, below nought) after counting.

        A count stops at nought. A row of the file that was added here goes again when it comes to
        nought; one that stood there before stays.

        Raises
        ------
        InputError
            As `clearing.files.counts.count`; nothing was counted then.
        """
        key = stems.plot, stems.day, tuple(sorted(stems.stem.items()))
        before = open_counts(self.home)
        after = count(
            self.home, before, stems.plot, stems.stem, stems.by, stems.day, key not in self._added
        )
        if len(after.rows) > len(before.rows):
            self._added.add(key)
        return _stems(after.rows, stems.plot) - _stems(before.rows, stems.plot)

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
    """
    sized = cell_text(stems.stem.get("size"))
    for column in ("dbh_in", "dbh_cm"):
        if not sized and cell_text(stems.stem.get(column)):
            sized = f"of {cell_text(stems.stem[column])} {column[-2:]}"
    did = "counted" if stems.by > 0 else "taken off"
    return f"{abs(stems.by)} {sized} {did} at plot {stems.plot}"
