"""Have a plan made in a process of its own, so that the page stays quick, and say how far it is."""

import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterable
from pathlib import Path
from typing import IO, Any, cast

from clearing.app.asked import Refused
from clearing.app.planner import EXIT_NO_PLAN, EXIT_PROBLEMS
from clearing.report import words

# the rooms of the walk, in order, and what the owner hears of each
ROOMS = {
    "files": "reading the folder",
    "land": "laying out the ground",
    "survey": "counting stems",
    "zones": "marking where which rules hold",
    "treatment": "finding ways to treat each strip",
    "forecast": "looking at what comes back",
    "effort": "adding up hours and money",
    "schedule": "weighing the ways",
    "report": "writing map, work plan and tables",
}
STOPPED = "It was stopped before there was a plan; what lay in the folder out stays as it was."
ENDS = {0: "done", EXIT_PROBLEMS: "problems", EXIT_NO_PLAN: "reasons"}  # what each code tells


class PlanJob:
    """The making of one folder's plan; all methods may be called from any thread.

    Parameters
    ----------
    home : Path
        The property's folder.
    """

    def __init__(self, home: Path) -> None:
        self.home = home
        self._lock = threading.RLock()
        self._process: subprocess.Popen[str] | None = None
        self._stops = 0
        self._began = self._took = 0.0
        self._told: dict[str, Any] = {}

    def start(self, gap: float, seconds: float) -> None:
        """Return nothing; start to plan.

        Raises
        ------
        Refused
            A plan is being made already.
        """
        with self._lock:
            if self._process is not None:
                raise Refused("a plan is being made already; wait for it, or take the best so far")
            command = [sys.executable, "-P", "-m", "clearing.app.planner", str(self.home.resolve())]
            trouble = tempfile.TemporaryFile("w+", encoding="utf-8")  # noqa: SIM115 - closed later
            try:
                self._process = subprocess.Popen(
                    [*command, str(gap), str(seconds)], stdin=subprocess.DEVNULL,
                    stdout=subprocess.PIPE, stderr=trouble, text=True, encoding="utf-8",
                    **_apart(),
                )  # fmt: skip
            except OSError as cause:
                trouble.close()
                raise Refused(f"the plan cannot be started: {cause}") from cause
            self._told, self._stops, self._began = {}, 0, time.monotonic()
            threading.Thread(
                target=self._listen, args=(self._process, trouble), daemon=True
            ).start()

    def stop(self) -> None:
        """Return nothing; take the best plan so far, or when asked again break off.

        Once the files are being written it ends by itself, with all of them whole.
        """
        with self._lock:
            if self._process is None:
                return
            self._stops += 1
            if self._stops == 1:
                self._process.send_signal(getattr(signal, "CTRL_BREAK_EVENT", signal.SIGINT))
            else:
                self._process.terminate()

    def state(self) -> dict[str, Any]:
        """Return how far it is, ready for JSON.

        Returns
        -------
        dict
            running, stopping; room (of the walk, blank before the first), room_words, step, steps,
            near (how near the best it is, in words), seconds [s]; and of the last one that ended
            problems, reasons (why no plan fits, or what it is short of), done (label and value of
            each line, None when no plan was written).
        """
        with self._lock:
            told, running = self._told, self._process is not None
            room, ways = told.get("room", ""), told.get("ways")
            said = ROOMS.get(room, "starting" if running else "")
            if room == "schedule" and ways:
                said = f"weighing {words.said(ways)} ways"
            spent = time.monotonic() - self._began if running else self._took
            return {
                "running": running, "stopping": running and self._stops > 0,
                "room": room, "room_words": said,
                "step": list(ROOMS).index(room) + 1 if room in ROOMS else 0, "steps": len(ROOMS),
                "near": near_words(told["near"]) if "near" in told and room == "schedule" else "",
                "seconds": round(spent, 1), "problems": list(told.get("problems", ())),
                "reasons": list(told.get("reasons", ())), "done": told.get("done"),
            }  # fmt: skip

    def wait(self, seconds: float) -> bool:
        """Return whether it ended within so many seconds."""
        end = time.monotonic() + seconds
        while self.state()["running"] and time.monotonic() < end:
            time.sleep(0.02)
        return not self.state()["running"]

    def _listen(self, process: "subprocess.Popen[str]", trouble: IO[str]) -> None:
        """Return nothing; take in what is told until it ends."""
        with trouble, cast(IO[str], process.stdout) as lines:
            for told in _read(lines):
                with self._lock:
                    self._told = {**self._told, **told}
            code = process.wait()
            trouble.seek(0)
            last = trouble.read().strip().rpartition("\n")[2]
        with self._lock:
            if ENDS.get(code) not in self._told:
                broke = f"the plan broke off: {last or f'exit code {code}'}"
                problems = [STOPPED if self._stops else broke]
                self._told = {**self._told, "problems": problems}
            self._took = time.monotonic() - self._began
            self._process = None


def near_words(gap: float) -> str:
    """Return how near the best a plan is known to be.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> near_words(0.0123), near_words(2.0)
    ('within 1.2 % of the best', 'first plans')
    """
    return f"within {100 * gap:.2g} % of the best" if gap < 1 else "first plans"


def _read(lines: Iterable[str]) -> Iterable[dict[str, Any]]:
    """Yield what the planner tells; other words are passed over."""
    for line in lines:
        try:
            told = json.loads(line)
        except ValueError:
            continue
        if isinstance(told, dict):
            yield told


def _apart() -> dict[str, Any]:
    """Return what keeps a Ctrl-C meant for the page from reaching the planner."""
    if os.name == "nt":
        return {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}
    return {"start_new_session": True}
