"""Plan a folder in a process of its own, and tell how far it is: a line of JSON for each word.

    python -m clearing.app.planner FOLDER GAP SECONDS

Exit codes as the command line: 0 done, 1 the input has problems, 3 no plan fits, 130 stopped.
An interrupt takes the best plan so far; once the files are being written nothing breaks it off.
"""

import json
import os
import signal
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

EXIT_PROBLEMS, EXIT_NO_PLAN, EXIT_STOPPED = 1, 3, 130


def say(**told: Any) -> None:
    """Return nothing; write one line for whoever started this.

    References
    ----------
    own reasoning
    """
    try:
        sys.stdout.write(json.dumps(told) + "\n")
        sys.stdout.flush()
    except OSError:  # nobody listens any more; the plan is made all the same
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def make_plan(home: Path, gap: float, seconds: float) -> int:
    """Return the exit code after a folder was planned and its files were written.

    Parameters
    ----------
    home : Path
        The property's folder.
    gap : float
        Stop when the plan is proved to be within this share of the best.
    seconds : float
        Longest time for the planner [s].

    Raises
    ------
    InputError
        The folder has problems.

    References
    ----------
    own reasoning
    """
    from clearing import __version__, report
    from clearing.files import read, write
    from clearing.pipeline import run

    began, lines = time.time_ns(), [f"clearing {__version__}"]

    def enter(room: str) -> None:
        """Tell the room that is entered, and note when."""
        lines.append(f"{(time.time_ns() - began) / 1e9:8.2f} s  {room}")
        say(room=room)

    enter("files")
    results = run(
        read(home), gap, seconds, enter,
        lambda spent, cost, bound, near: say(near=near), lambda number: say(ways=number),
    )  # fmt: skip
    if results.plan.status == "none":
        say(reasons=list(results.plan.reasons))
        return EXIT_NO_PLAN
    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, signal.SIG_IGN)
    enter("report")
    write(results, home, (*lines, *results.plan.solver_log), began_ns=began)
    short = list(report.shortfall_lines(results))
    say(done=report.summary_lines(report.summarise(results)), reasons=short)
    return EXIT_NO_PLAN if short else 0


def main(arguments: Sequence[str]) -> int:
    """Return the exit code of one plan.

    References
    ----------
    own reasoning
    """
    from clearing.errors import ClearingError, InputError
    from clearing.files.lock import hold_planning

    signal.signal(signal.SIGINT, signal.default_int_handler)
    if hasattr(signal, "SIGBREAK"):
        signal.signal(signal.SIGBREAK, signal.default_int_handler)
    home, gap, seconds = arguments
    try:
        with hold_planning(home, "on the drawing page"):
            return make_plan(Path(home), float(gap), float(seconds))
    except ClearingError as found:
        say(problems=found.problems if isinstance(found, InputError) else [str(found)])
        return EXIT_PROBLEMS
    except KeyboardInterrupt:
        return EXIT_STOPPED


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
