"""Bring together what the page asks for: the sitting, the photo, what is known, the plan."""

import logging
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pandas as pd

from clearing.app import forms
from clearing.app.around import around_the_land
from clearing.app.asked import Refused, Stale
from clearing.app.knows import ground_known, plan_known
from clearing.app.log_book import log_added, log_known
from clearing.app.photo_pins import tried
from clearing.app.planning import PlanJob
from clearing.app.session import Sitting
from clearing.errors import InputError
from clearing.files import read
from clearing.files.pins import parse_place, read_pins, save_pins
from clearing.files.reading import read_settings
from clearing.files.standing import said_once
from clearing.files.tiles import Tiles, open_tiles
from clearing.files.versions import list_versions
from clearing.land.ground import PLOT_RADIUS_M
from clearing.property import Settings
from clearing.rates import handbook_table
from clearing.report import names
from clearing.tables import faulty_cells

_log = logging.getLogger(__name__)
GAP, SECONDS = 0.005, 60.0  # of the plan that a button makes; own choice
MOST_STEMS = 10_000  # of one tap; own choice


class Desk:
    """One folder as it is worked on; methods give what goes to the page as JSON.

    Parameters
    ----------
    home : Path
        The property's folder.
    """

    def __init__(self, home: Path) -> None:
        self.home = home
        self._settings_stamp = self._stamp_of_settings()
        self.settings, self.slips = read_settings(home)
        self.sitting = Sitting(home, self.us, frozenset(_species(self.settings)))
        self.job = PlanJob(home)
        self.remarks: tuple[str, ...] = ()
        self._tiles: Tiles | None = None
        self._opening: dict[str, Any] = {"share": 0.0, "problem": ""}
        # what one thread opened, the same must close
        self._opener = ThreadPoolExecutor(1, thread_name_prefix="photo")
        self._opened = self._opener.submit(self._open_photo)

    @property
    def us(self) -> bool:
        """Return whether the owner speaks feet and acres."""
        return self.settings is None or self.settings.us

    def look_at_settings(self) -> None:
        """Return nothing; take property.toml in anew when it was changed meanwhile."""
        stamp = self._stamp_of_settings()
        with self.sitting.lock:
            if stamp == self._settings_stamp:
                return
            self._settings_stamp = stamp
            self.settings, self.slips = read_settings(self.home)
            self.sitting.us, self.sitting.species = self.us, frozenset(_species(self.settings))
            self.sitting.revision += 1  # so that every page asks for all anew

    def _stamp_of_settings(self) -> tuple[int, int] | None:
        """Return what is another as soon as property.toml is; none where there is none."""
        try:
            facts = (self.home / "property.toml").stat()
        except OSError:
            return None
        return facts.st_mtime_ns, facts.st_size

    # what is read

    def state(self) -> dict[str, Any]:
        """Return all that the page starts with."""
        self.look_at_settings()
        self.sitting.look_outside()
        targets = list(self.settings.targets) if self.settings else []
        return self.sitting.shown() | {
            "name": self.settings.name if self.settings else self.home.resolve().name,
            "folder": self.home.resolve().name, "us": self.us,
            "slips": [*self.slips, *self.remarks, *self.sitting.board.land.notes],
            "targets": targets, "species": [[k, names.species_name(k)] for k in self._named()],
            "sizes": forms.size_words(self.us), "plot_radius_m": self._plot_radius_m(),
            "forms": {layer: forms.form(layer, self.us) for layer in forms.LAYERS},
            "photo": self.photo(), "planned": self._has_plan(), "job": self.job.state(),
        }  # fmt: skip

    def news(self, page: str, revision: int) -> dict[str, Any]:
        """Return what may have changed without this page's doing."""
        self.look_at_settings()
        self.sitting.look_outside()
        page = page[:64]
        pages = self.sitting.heard(page, revision=revision) if page else 1
        told = self.sitting.now(page) | {"pages": pages, "photo": self.photo()}
        return told | {"job": self.job.state(), "planned": self._has_plan()}

    def around(self) -> dict[str, Any]:
        """Return the setbacks, the neighbours' side and the crowns as drawn now."""
        with self.sitting.lock:
            layers = {layer: self.sitting.board.frame(layer) for layer in forms.LAYERS}
            uids = {layer: [r.uid for r in self.sitting.board.of(layer)] for layer in forms.LAYERS}
        found = around_the_land(layers, self.settings)
        crowns = found.get("crowns") or []
        return found | {"crowns": dict(zip(uids["keep_trees"], crowns, strict=False))}

    def known(self) -> dict[str, Any]:
        """Return what the tool makes of the land as it is kept: strips, zones, stems, problems."""
        try:
            return ground_known(read(self.home)) | {"problems": []}
        except InputError as found:
            return {"problems": said_once(found.problems)}

    def planned(self) -> dict[str, Any]:
        """Return the plan as it was written last; an empty dict when there is none."""
        return plan_known(self.home) or {}

    def log(self) -> dict[str, Any]:
        """Return the season's log, and what its form asks."""
        return log_known(self.home)

    def tally(self, plot: str) -> dict[str, Any]:
        """Return the counts of one plot."""
        return {"tally": self.sitting.counted(plot)}

    def earlier(self) -> dict[str, Any]:
        """Return the earlier versions of the land, newest first."""
        kept = list_versions(self.home, "land")
        return {"versions": [[name, f"{when:%Y-%m-%d %H:%M:%S}"] for name, when in kept][::-1]}

    # what is done

    def stroke(self, ask: dict[str, Any]) -> dict[str, Any]:
        """Return what changed after a stroke; the file holds it."""
        sitting, op = self.sitting, str(ask.get("op") or "")[:64]
        if not op:
            raise Refused("a stroke needs a number of its own")
        if ask.get("sitting") not in (None, "", sitting.mark):
            raise Stale("the page was started anew since; this stroke was not kept")
        self.look_at_settings()
        uids, page = ask.get("uids"), str(ask.get("page") or "")[:64]
        does = {
            "put": lambda: sitting.put(ask.get("items"), str(ask.get("words") or "")[:80]),
            "remove": lambda: sitting.remove(uids),
            "split": lambda: sitting.split(ask.get("uid"), ask.get("v"), ask.get("line")),
            "join": lambda: sitting.join(uids),
            "undo": sitting.undo, "redo": sitting.redo,
            "as_drawn": lambda: sitting.as_drawn(ask.get("stroke")),
            "bring_back": lambda: sitting.bring_back(str(ask.get("version") or "")),
            "tally": lambda: sitting.tally(*_stems(ask)),
        }  # fmt: skip
        work = does.get(str(ask.get("do")))
        if work is None:
            raise Refused(f"a stroke does one of {', '.join(does)}")
        return sitting.once(op, work, page)

    def plan(self, ask: dict[str, Any]) -> dict[str, Any]:
        """Return the state of the plan's making after it was started or stopped."""
        if ask.get("do") == "stop":
            self.job.stop()
        else:
            self.job.start(GAP, SECONDS)
        return {"job": self.job.state()}

    def pins(self, ask: dict[str, Any]) -> dict[str, Any]:
        """Return how a photo lies by these pins; keep them when that is asked."""
        pins = ask.get("pins") or []
        if not isinstance(pins, list):
            raise Refused("pins come as a list")
        rows, told = tried(pins, self._tiles, self.us)
        if ask.get("keep") and not told["placed"]:
            raise Refused("; ".join(told["problems"]) or "three pins place a photo")
        if ask.get("keep"):
            save_pins(self.home, rows)
            self._opened = self._opener.submit(self._open_photo)
            self._opened.result()
            told["photo"] = self.photo()
        return told

    def place_words(self, ask: dict[str, Any]) -> dict[str, Any]:
        """Return the latitude and longitude that a text says."""
        try:
            lon, lat = parse_place(str(ask.get("text") or "")[:200])
        except ValueError as cause:
            raise Refused(str(cause)) from cause
        return {"lat": lat, "lng": lon}

    def log_add(self, ask: dict[str, Any]) -> dict[str, Any]:
        """Return which row was added to the log; a key that is there already adds none."""
        return log_added(self.home, ask)

    def bye(self, ask: dict[str, Any]) -> dict[str, Any]:
        """Return nothing of worth; a page was closed."""
        self.sitting.heard(str(ask.get("page") or "")[:64], gone=True)
        return {}

    def close(self) -> None:
        """Return nothing; stop what runs, and let the photo go."""
        self.job.stop()
        self._opener.submit(self._close_photo)
        self._opener.shutdown()

    # the photo

    def photo(self) -> dict[str, Any] | None:
        """Return the photo as the page draws it; none without one."""
        tiles = self._tiles
        if tiles is None:
            opening = not self._opened.done()
            told = self._opening | {"opening": opening}
            return told if opening or self._opening["problem"] else None
        try:
            pins, wrong = read_pins(self.home), ""
        except InputError as found:
            pins, wrong = None, " ".join(found.problems)
        return {
            "opening": False, "problem": self._opening["problem"] or tiles.problem or wrong,
            "name": tiles.name, "placed": tiles.placed, "bounds": tiles.bounds,
            "deepest": tiles.deepest, "size": tiles.size, "stamp": tiles.stamp,
            "plain_deepest": tiles.plain_deepest,
            "pins": [] if pins is None else pins.to_dict("records"),
        }  # fmt: skip

    def photo_tile(self, kind: str, z: int, x: int, y: int) -> bytes | None:
        """Return a tile of the photo; none where it does not reach, or while it is opened."""
        tiles = self._tiles
        return None if tiles is None else getattr(tiles, kind)(z, x, y)

    def _open_photo(self) -> None:
        """Return nothing; open the photo, which may take a while where it is large."""

        def tell(share: float) -> None:
            self._opening["share"] = round(share, 2)

        try:
            old, self._tiles = self._tiles, open_tiles(self.home, tell)
            self._opening["problem"] = ""
            if old is not None:
                old.close()
        except InputError as found:
            self._opening["problem"] = " ".join(found.problems)
        except Exception:
            _log.exception("the photo could not be opened")
            self._opening["problem"] = "the photo cannot be opened; draw on the grid meanwhile"

    def _close_photo(self) -> None:
        """Return nothing; let the photo go."""
        if self._tiles is not None:
            self._tiles.close()

    def _plot_radius_m(self) -> float:
        """Return the radius of a plot that states none: the settings', else the land's own."""
        given = self.settings.plot_radius_m if self.settings else None
        return PLOT_RADIUS_M if given is None else given

    def _has_plan(self) -> bool:
        """Return whether a map was written."""
        return (self.home / "out" / "map.html").is_file()

    def _named(self) -> list[str]:
        """Return species for the fields: the property's own and targets first."""
        known = _species(self.settings)
        first = [*self.settings.targets, *self.settings.species] if self.settings else []
        return list(dict.fromkeys([*(name for name in first if name in known), *known]))


def _species(settings: Settings | None) -> list[str]:
    """Return the names of species that a plan would know."""
    handbook = [name for name in handbook_table("names")["species"] if name != "any"]
    return [*handbook, *(settings.species if settings else ())]


def _stems(ask: dict[str, Any]) -> tuple[str, dict[str, Any], int]:
    """Return plot, stem and number of a tap on the tally."""
    stem = ask.get("stem")
    by = ask.get("by")
    if not isinstance(stem, dict) or type(by) is not int or abs(by) > MOST_STEMS:
        raise Refused("a count says of which stems, and how many more or fewer")
    texts = {str(name): str(text)[:80] for name, text in stem.items() if text not in (None, "")}
    wrong = [said for _, said in faulty_cells(pd.DataFrame([texts]), "tally")]
    if not by and not texts.get("date"):
        wrong.append("that nothing was found says on which day")
    if wrong:
        raise Refused("; ".join(wrong))
    return str(ask.get("plot") or ""), texts, by
