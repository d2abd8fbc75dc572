"""Remember what each stroke changed, so that it can be taken back and done again."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from clearing.app.board import Board, Row
from clearing.app.counting import Stems

MOST = 200  # strokes that are remembered; own choice


@dataclass(frozen=True)
class Stroke:
    """One change: rows before and after by name (none where there was or is none).

    ``as_drawn`` holds the drawn shape of each row that cleaning changed; ``cleaned`` says how.
    ``stems`` are what was counted with it.
    """

    number: int
    words: str
    before: Mapping[str, Row | None]
    after: Mapping[str, Row | None]
    as_drawn: Mapping[str, Any] = field(default_factory=dict)
    cleaned: tuple[dict[str, Any], ...] = ()
    stems: Stems | None = None


class Strokes:
    """The strokes of a sitting, newest last, and those that were taken back."""

    def __init__(self) -> None:
        self.done: list[Stroke] = []
        self.back: list[Stroke] = []
        self._last = 0

    def next_number(self) -> int:
        """Return a number for a new stroke."""
        self._last += 1
        return self._last

    def add(self, stroke: Stroke) -> None:
        """Return nothing; remember a new stroke; what was taken back before it is gone."""
        self.done = [*self.done, stroke][-MOST:]
        self.back = []

    def forget(self) -> None:
        """Return nothing; forget all: another program changed what they stood on."""
        self.done, self.back = [], []

    def find(self, number: int) -> Stroke | None:
        """Return the stroke of this number while nothing later changed its rows."""
        for place, stroke in enumerate(self.done):
            if stroke.number == number:
                later = {uid for each in self.done[place + 1 :] for uid in each.after}
                return None if later & set(stroke.after) else stroke
        return None


def rows_between(board: Board, after: Mapping[str, Row | None]) -> dict[str, Row | None]:
    """Return the rows as the board has them now for every name of a change.

    References
    ----------
    own reasoning
    """
    return {uid: board.rows.get(uid) for uid in after}
