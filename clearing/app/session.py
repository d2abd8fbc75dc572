"""One sitting of drawing: every change is checked, fitted, kept in the file, and only then told."""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from clearing.app import asked, fitted
from clearing.app.asked import Refused, Stale
from clearing.app.board import Board, Row, called, own_id
from clearing.app.steps_back import Stroke, Strokes, rows_between
from clearing.errors import InputError
from clearing.files.counts import Counts, count, open_counts
from clearing.files.kept import LandChanged, open_land, save_land, stamp_of
from clearing.files.versions import open_version
from clearing.land.corners import Corners

REMEMBERED = 500  # answers that are kept for a page that asks again; own choice
LIVES_S = 7.0  # a page that was not heard of for so long is closed; own choice


class Sitting:
    """The land of one folder while it is drawn on; all methods may be called from any thread.

    Parameters
    ----------
    home : Path
        The property's folder.
    us : bool
        The owner speaks feet and acres.
    species : frozenset of str
        Names that handbook and settings know.
    """

    def __init__(self, home: Path, us: bool = True, species: frozenset[str] = frozenset()) -> None:
        self.home, self.us, self.species = home, us, species
        self.lock = threading.RLock()
        self.board = Board(open_land(home))
        self.strokes = Strokes()
        self.revision = 1
        self.trouble: tuple[str, ...] = ()
        self.outside = ""
        self.saved_at = 0.0
        self._answers: OrderedDict[str, dict[str, Any]] = OrderedDict()
        self._pages: dict[str, float] = {}

    # what the page asks

    def look_outside(self) -> None:
        """Return nothing; take in what another program did to the files meanwhile."""
        with self.lock:
            if stamp_of(self.home) == self.board.land.stamp and not self.trouble:
                return
            try:
                land = open_land(self.home)
            except InputError as found:
                if self.trouble != tuple(found.problems):
                    self.trouble = tuple(found.problems)
                    self.revision += 1
                return
            self.trouble = ()
            numbers = {uid: row.number for uid, row in self.board.rows.items()}
            self.board, changed = self.board.taken_over(Board(land))
            if numbers != {uid: row.number for uid, row in self.board.rows.items()}:
                self.strokes.forget()
            if changed:
                self.strokes.forget()
                shapes = "1 shape" if changed == 1 else f"{changed} shapes"
                self.outside = (
                    f"Another program changed {shapes} at {time.strftime('%H:%M')}. They are shown "
                    "as they are now, and what was done before cannot be taken back here."
                )
                self.revision += 1

    def heard(self, page: str, gone: bool = False) -> int:
        """Return how many pages are open on this folder, this one counted."""
        with self.lock:
            now = time.monotonic()
            self._pages[page] = -LIVES_S if gone else now
            self._pages = {p: t for p, t in self._pages.items() if now - t < LIVES_S}
            return max(1, len(self._pages))

    def shown(self) -> dict[str, Any]:
        """Return all shapes, and what can be taken back."""
        with self.lock:
            return {
                "rows": [self.board.shown(row) for row in self.board.rows.values()]
            } | self.now()

    def now(self) -> dict[str, Any]:
        """Return the revision, what can be taken back or done again, and what is in the way."""
        with self.lock:
            done, back = self.strokes.done, self.strokes.back
            return {
                "revision": self.revision, "undo": done[-1].words if done else "",
                "redo": back[-1].words if back else "", "outside": self.outside,
                "trouble": list(self.trouble), "saved_at": self.saved_at,
            }  # fmt: skip

    # what the page does

    def once(self, op: str, work: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """Return the answer to a change; the same answer when a page asks again for the same."""
        with self.lock:
            if op in self._answers:
                return self._answers[op]
            self.look_outside()
            if self.trouble:
                raise Refused(" ".join(self.trouble))
            answer = work() | self.now()
            self._answers[op] = answer
            while len(self._answers) > REMEMBERED:
                self._answers.popitem(last=False)
            return answer

    def put(self, items: list[Any], words: str = "") -> dict[str, Any]:
        """Return what changed after shapes were drawn, moved or described."""
        wanted = [asked.item(self.board, each) for each in items]
        asked.fresh(self.board, wanted)
        fits = fitted.fit(self.board, wanted, self.us)
        after = {row.uid: row for row in (*fits.rows, *fits.neighbours)}
        after |= asked.renamed(self.board, after)
        new = [row.uid not in self.board.rows for row in fits.rows]
        said = words or asked.said(fits.rows, new)
        return self._change(said, after, fits.as_drawn, fits.cleaned)

    def remove(self, uids: list[Any]) -> dict[str, Any]:
        """Return what changed after shapes were taken out; own strips of a block go with it."""
        rows = asked.known(self.board, uids)
        ids = {own_id(row) for row in rows if row.layer == "blocks"}
        strips = [r for r in self.board.of("strips") if str(r.own.get("block_id") or "") in ids]
        asked.without_counts(rows, self._counts())
        words = (
            f"{called(rows[0])} taken out" if len(rows) == 1 else f"{len(rows)} shapes taken out"
        )
        return self._change(words, {row.uid: None for row in (*rows, *strips)})

    def split(self, uid: Any, version: Any, line: Any) -> dict[str, Any]:
        """Return what changed after a block or strip was split along a line."""
        row = asked.as_it_was(self.board, uid, version)
        after = fitted.split(self.board, row, asked.line(line))
        return self._change(f"{called(row)} split", after)

    def join(self, uids: list[Any]) -> dict[str, Any]:
        """Return what changed after two blocks or two strips became one."""
        rows = asked.known(self.board, uids)
        after = fitted.join(self.board, rows)
        return self._change(f"{called(rows[1])} joined to {called(rows[0])}", after)

    def as_drawn(self, number: Any) -> dict[str, Any]:
        """Return what changed after the cleaning of one stroke was taken back."""
        stroke = self.strokes.find(number)
        if stroke is None or not stroke.as_drawn:
            raise Refused("this was changed again since; take back the later strokes first")
        after: dict[str, Row | None] = {}
        for uid, shape in stroke.as_drawn.items():
            row = self.board.rows[uid]
            after[uid] = replace(row, shape=shape, version=row.version + 1)
        return self._change("cleaning taken back", after)

    def bring_back(self, version: str) -> dict[str, Any]:
        """Return what changed after the land became as an earlier version has it."""
        land = open_version(self.home, version)
        then = Board(land)
        for row in list(then.rows.values()):
            shape = Corners(then.crs(row.layer), self.board.crs(row.layer)).there(row.shape)
            then.rows[row.uid] = replace(row, shape=shape)
        then, _ = self.board.taken_over(then)
        after: dict[str, Row | None] = dict.fromkeys(self.board.rows.keys() - then.rows.keys())
        after |= {uid: row for uid, row in then.rows.items() if self.board.rows.get(uid) != row}
        if not after:
            raise Refused("the land is as that version has it")
        return self._change("an earlier version brought back", after)

    def undo(self) -> dict[str, Any]:
        """Return what changed after the last stroke was taken back."""
        if not self.strokes.done:
            raise Refused("there is nothing to take back")
        stroke = self.strokes.done[-1]
        delta = self._keep(self._again(stroke.before))
        self.strokes.done.pop()
        self.strokes.back.append(stroke)
        return delta

    def redo(self) -> dict[str, Any]:
        """Return what changed after the stroke that was taken back last was done again."""
        if not self.strokes.back:
            raise Refused("there is nothing to do again")
        stroke = self.strokes.back[-1]
        delta = self._keep(self._again(stroke.after))
        self.strokes.back.pop()
        self.strokes.done.append(stroke)
        return delta

    def tally(self, plot: str, stem: dict[str, Any], by: int) -> dict[str, Any]:
        """Return the counts of a plot after stems were added to it or taken off."""
        row = next((r for r in self.board.of("plots") if own_id(r) == plot), None)
        if row is None:
            raise Refused(f"there is no plot {plot!r}; draw it first")
        stem = dict(stem)
        day = stem.pop("date", time.strftime("%Y-%m-%d"))
        count(self.home, self._counts(), plot, stem, by, day)
        answer: dict[str, Any] = {"rows": [], "gone": []}
        if str(row.own.get("visited") or "") != "yes":
            seen = replace(row, own=row.own | {"visited": "yes"}, version=row.version + 1)
            answer = self._change(f"plot {plot} visited", {row.uid: seen})
        return answer | {"tally": self.counted(plot)}

    def counted(self, plot: str) -> list[dict[str, str]]:
        """Return the tally rows of a plot as they stand in tally.csv."""
        with self.lock:
            rows = self._counts().rows
            own = rows[rows["plot_id"] == plot] if "plot_id" in rows else rows[:0]
            return own.to_dict("records")

    # how a change is kept

    def _counts(self) -> Counts:
        """Return the counts as tally.csv has them now."""
        return open_counts(self.home)

    def _change(
        self, words: str, after: Mapping[str, Row | None],
        as_drawn: Mapping[str, Any] | None = None, cleaned: tuple[dict[str, Any], ...] = (),
    ) -> dict[str, Any]:  # fmt: skip
        """Return what changed; it is in the file, and remembered as a stroke."""
        before = rows_between(self.board, after)
        number = self.strokes.next_number()
        delta = self._keep(after)
        self.strokes.add(Stroke(number, words, before, dict(after), dict(as_drawn or {}), cleaned))
        return delta | {"words": words, "cleaned": list(cleaned), "stroke": number}

    def _again(self, rows: Mapping[str, Row | None]) -> dict[str, Row | None]:
        """Return rows of an earlier state with versions later than the board's."""
        again: dict[str, Row | None] = {}
        for uid, row in rows.items():
            here = self.board.rows.get(uid)
            last = max(here.version if here else 0, row.version if row else 0)
            again[uid] = None if row is None else replace(row, version=last + 1)
        return again

    def _keep(self, after: Mapping[str, Row | None]) -> dict[str, Any]:
        """Return the change as the page takes it, once the file holds it; else nothing changed."""
        before = rows_between(self.board, after)
        asked.checked(self.board, after, self.species)
        self.board.put(after.values(), [uid for uid, row in after.items() if row is None])
        layers = {row.layer for row in (*before.values(), *after.values()) if row is not None}
        try:
            frames = {layer: self.board.frame(layer) for layer in sorted(layers)}
            self.board.land = save_land(self.home, self.board.land, frames)
        except BaseException as cause:
            self.board.put(before.values(), [uid for uid, row in before.items() if row is None])
            if isinstance(cause, LandChanged):
                self.look_outside()
                raise Stale(
                    "another program changed the land just now; what it did is shown, and this "
                    "stroke was not kept"
                ) from cause
            raise
        self.revision += 1
        self.saved_at = time.time()
        rows = [self.board.shown(row) for row in after.values() if row is not None]
        return {"rows": rows, "gone": [uid for uid, row in after.items() if row is None]}
