"""One sitting of drawing: every change is checked, fitted, kept in the file, and only then told."""

import secrets
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
from clearing.app.counting import Stems, Tally, counted
from clearing.app.steps_back import Stroke, Strokes, rows_between
from clearing.errors import InputError
from clearing.files.counts import open_counts
from clearing.files.kept import LandChanged, open_land, save_land, stamp_of
from clearing.files.versions import open_version
from clearing.land.corners import Corners
from clearing.tables import cell_text

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
        self.mark = secrets.token_hex(4)
        self.board = Board(open_land(home), self.mark)
        self.counts = Tally(home)
        self.strokes = Strokes()
        self.revision = int(time.time() * 1000)  # later than any of a sitting before this one
        self.trouble: tuple[str, ...] = ()
        self.outside, self.outside_number, self._outside_at = "", 0, 0
        self.saved_at = 0.0
        self._answers: OrderedDict[str, dict[str, Any]] = OrderedDict()
        self._pages: dict[str, float] = {}
        self._first: OrderedDict[str, int] = OrderedDict()

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
            new = Board(land, self.mark, self.board.named)
            self.board, changed = self.board.taken_over(new)
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
                self.outside_number += 1
                self._outside_at = self.revision

    def heard(self, page: str, gone: bool = False, revision: int = 0) -> int:
        """Return how many pages are open on this folder, this one counted.

        What happened before the revision that a page started with is no news to it.
        """
        with self.lock:
            self._first.setdefault(page, revision)
            while len(self._first) > REMEMBERED:
                self._first.popitem(last=False)
            now = time.monotonic()
            self._pages[page] = -LIVES_S if gone else now
            self._pages = {p: t for p, t in self._pages.items() if now - t < LIVES_S}
            return max(1, len(self._pages))

    def shown(self) -> dict[str, Any]:
        """Return all shapes, and what can be taken back."""
        with self.lock:
            return (
                {"rows": [self.board.shown(row) for row in self.board.rows.values()]}
                | self.now()
                | {"outside": ""}
            )

    def now(self, page: str = "") -> dict[str, Any]:
        """Return the revision, what can be taken back or done again, and what is in the way.

        Another program's changes are told to pages that were open when they were noticed; their
        number grows with each.
        """
        with self.lock:
            done, back = self.strokes.done, self.strokes.back
            told = self._outside_at > self._first.get(page, 0)
            return {
                "sitting": self.mark, "revision": self.revision,
                "undo": done[-1].words if done else "", "redo": back[-1].words if back else "",
                "outside": self.outside if told else "", "outside_number": self.outside_number,
                "trouble": list(self.trouble), "saved_at": self.saved_at,
            }  # fmt: skip

    # what the page does

    def once(self, op: str, work: Callable[[], dict[str, Any]], page: str = "") -> dict[str, Any]:
        """Return the answer to a change; the same answer when a page asks again for the same.

        ``was`` is the revision before the change: a page that has another one lacks something.
        What another program changed is in the answer, too, when it is noticed only now.
        """
        with self.lock:
            if op in self._answers:
                return self._answers[op]
            if page:
                self._first.setdefault(page, self.revision)
            was, there = self.outside_number, set(self.board.rows)
            self.look_outside()
            if self.trouble:
                raise Refused("; ".join(self.trouble))
            before = self.revision
            answer = work()
            if was != self.outside_number:
                answer |= self._all(there, answer)
            answer |= {"was": before} | self.now(page)
            self._answers[op] = answer
            while len(self._answers) > REMEMBERED:
                self._answers.popitem(last=False)
            return answer

    def _all(self, there: set[str], answer: dict[str, Any]) -> dict[str, Any]:
        """Return all shapes, those of an answer first, and the names that are gone."""
        told = {row["uid"] for row in answer["rows"]}
        rest = [self.board.shown(r) for uid, r in self.board.rows.items() if uid not in told]
        gone = (there | set(answer["gone"])) - self.board.rows.keys()
        return {"rows": [*answer["rows"], *rest], "gone": sorted(gone)}

    def put(self, items: Any, words: str = "") -> dict[str, Any]:
        """Return what changed after shapes were drawn, moved or described."""
        wanted = asked.items(self.board, items)
        asked.fresh(self.board, wanted)
        fits = fitted.fit(self.board, wanted, self.us)
        after = {row.uid: row for row in (*fits.rows, *fits.neighbours)}
        after |= asked.renamed(self.board, after)
        new = [row.uid not in self.board.rows for row in fits.rows]
        said = words or asked.said(fits.rows, new)
        return self._change(said, after, fits.as_drawn, fits.cleaned)

    def remove(self, uids: Any) -> dict[str, Any]:
        """Return what changed after shapes were taken out; own strips of a block go with it."""
        rows = asked.known(self.board, uids)
        ids = {own_id(row) for row in rows if row.layer == "blocks"}
        strips = [r for r in self.board.of("strips") if str(r.own.get("block_id") or "") in ids]
        words = (
            f"{called(rows[0])} taken out" if len(rows) == 1 else f"{len(rows)} shapes taken out"
        )
        return self._change(words, {row.uid: None for row in (*rows, *strips)})

    def split(self, uid: Any, version: Any, line: Any) -> dict[str, Any]:
        """Return what changed after a block or strip was split along a line."""
        row = asked.as_it_was(self.board, uid, version)
        after = fitted.split(self.board, row, asked.line(line))
        asked.checked(self.board, after, self.species, row)
        return self._change(f"{called(row)} split", after, judged=False)

    def join(self, uids: Any) -> dict[str, Any]:
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
        delta = self._change("cleaning taken back", after)
        again = [self.board.rows[uid] for uid in after]
        return delta | {"notes": [*delta["notes"], *fitted.overlaps(self.board, again, self.us)]}

    def bring_back(self, version: str) -> dict[str, Any]:
        """Return what changed after the land became as an earlier version has it."""
        land = open_version(self.home, version)
        then = Board(land, self.mark, self.board.named)
        ways = {name: Corners(then.crs(name), self.board.crs(name)) for name in land.layers}
        for row in list(then.rows.values()):
            if not then.wrong(row):
                then.rows[row.uid] = replace(row, shape=ways[row.layer].there(row.shape))
        then, _ = self.board.taken_over(then)
        self.board.goes_on_from(then)
        after: dict[str, Row | None] = dict.fromkeys(self.board.rows.keys() - then.rows.keys())
        after |= {uid: row for uid, row in then.rows.items() if self.board.rows.get(uid) != row}
        if not after:
            raise Refused("the land is as that version has it")
        return self._change("an earlier version brought back", after, judged=False)

    def undo(self) -> dict[str, Any]:
        """Return what changed after the last stroke was taken back."""
        if not self.strokes.done:
            raise Refused("there is nothing to take back")
        stroke = self.strokes.done[-1]
        delta, stems = self._step(stroke.before, stroke.stems and stroke.stems.back())
        self.strokes.done.pop()
        self.strokes.back.append(replace(stroke, stems=stems and stems.back()))
        return delta

    def redo(self) -> dict[str, Any]:
        """Return what changed after the stroke that was taken back last was done again."""
        if not self.strokes.back:
            raise Refused("there is nothing to do again")
        stroke = self.strokes.back[-1]
        delta, stems = self._step(stroke.after, stroke.stems)
        self.strokes.back.pop()
        self.strokes.done.append(replace(stroke, stems=stems))
        return delta

    def tally(self, plot: str, stem: dict[str, Any], by: int) -> dict[str, Any]:
        """Return the counts of a plot after stems were added to it or taken off.

        Nought stems are a look that found nothing, and a row of their own.

        The plot is marked as visited with the first; where the land cannot be saved at the time,
        the count is kept alone, and the answer's notes say so.
        """
        row = next((r for r in self.board.of("plots") if own_id(r) == plot), None)
        if row is None:
            raise Refused(f"there is no plot {plot!r}; draw it first")
        day = str(stem.get("date") or time.strftime("%Y-%m-%d"))
        stem = {name: text for name, text in stem.items() if name != "date"}
        stems = self.counts.count(Stems(plot, stem, by, day, nothing=int(by == 0)))
        after: dict[str, Row | None] = {}
        if cell_text(row.own.get("visited")) != "yes" and stems.counts:
            cells = row.own | {"visited": "yes"}
            after[row.uid] = replace(row, own=cells, version=row.version + 1)
        before, notes = rows_between(self.board, after), []
        try:
            delta = self._kept_or_counted(after, stems)
        except (InputError, OSError, Refused) as cause:
            why = "; ".join(cause.problems) if isinstance(cause, InputError) else str(cause)
            notes = [f"the count is kept; that somebody stood at plot {plot} is not: {why}"]
            before, after = {}, {}
            delta = self._kept_or_counted({}, stems)
        if stems.counts:
            number, words = self.strokes.next_number(), counted(stems)
            self.strokes.add(Stroke(number, words, before, after, stems=stems))
        return delta | {"notes": [*delta["notes"], *notes]}

    def counted(self, plot: str) -> list[dict[str, str]]:
        """Return the tally rows of a plot as they stand in tally.csv."""
        with self.lock:
            return self.counts.rows(plot)

    # how a change is kept

    def _step(
        self, rows: Mapping[str, Row | None], stems: Stems | None
    ) -> tuple[dict[str, Any], Stems | None]:
        """Return what a stroke taken back or done again changed, and what was really counted.

        Land and counts go together: where the land cannot be saved, nothing is counted.
        """
        if stems is None:
            return self._keep(self._again(rows), judged=False), None
        stems = self.counts.count(stems)
        try:
            return self._kept_or_counted(self._again(rows), stems, judged=False), stems
        except BaseException:
            self.counts.count(stems.back())
            raise

    def _kept_or_counted(
        self, after: Mapping[str, Row | None], stems: Stems, judged: bool = True
    ) -> dict[str, Any]:
        """Return what changed after stems were counted, with the counts of the plot."""
        delta: dict[str, Any] = {"rows": [], "gone": [], "notes": []}
        if after:
            delta = self._keep(after, judged)
        elif stems.counts:
            self.revision += 1
            self.saved_at = time.time()
        return delta | {"plot": stems.plot, "tally": self.counted(stems.plot)}

    def _change(
        self, words: str, after: Mapping[str, Row | None],
        as_drawn: Mapping[str, Any] | None = None, cleaned: tuple[dict[str, Any], ...] = (),
        judged: bool = True,
    ) -> dict[str, Any]:  # fmt: skip
        """Return what changed; it is in the file, and remembered as a stroke."""
        before = rows_between(self.board, after)
        number = self.strokes.next_number()
        delta = self._keep(after, judged)
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

    def _keep(self, after: Mapping[str, Row | None], judged: bool = True) -> dict[str, Any]:
        """Return the change as the page takes it, once the file holds it; else nothing changed.

        What the file held before (a step back, an earlier version) is not judged again.
        """
        before = rows_between(self.board, after)
        if judged:
            asked.checked(self.board, after, self.species)
        if gone := asked.plots_gone(self.board, after):
            asked.with_counts_kept(gone, asked.counted_ids(open_counts(self.home)))
        self.board.put(after.values(), [uid for uid, row in after.items() if row is None])
        layers = {row.layer for row in (*before.values(), *after.values()) if row is not None}
        old_notes = self.board.land.notes
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
        out = [uid for uid, row in after.items() if row is None]
        notes = [each for each in self.board.land.notes if each not in old_notes]
        return {"rows": rows, "gone": out, "notes": notes}
