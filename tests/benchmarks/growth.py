"""Time and peak memory of each room as a property grows: ``python -m tests.benchmarks.growth``.

A child process a size; the peak is that of the process while the room works, as Linux counts it.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import clearing
from tests.benchmarks.big_place import big_place, of_strips

SIZES = (10, 100, 1000, 5000)
OWN = Path(os.sep) / "proc" / "self"  # where Linux tells of a process


class Watch:
    """Note when each room is entered, and the peak of memory in it."""

    def __init__(self) -> None:
        self.rooms: dict[str, list[float]] = {}
        self.room, self.began, self.worked = "", 0.0, 0.0

    def enter(self, room: str) -> None:
        """Return nothing; end the room before, and begin this one."""
        now, busy = time.perf_counter(), time.process_time()
        if self.room:
            had = self.rooms.setdefault(self.room, [0.0, 0.0, 0.0])
            had[0] += now - self.began
            had[1] += busy - self.worked
            had[2] = max(had[2], peak_mb())
            print(f"{self.room}: {had[0]:.1f} s, {had[2]:.0f} MB", file=sys.stderr, flush=True)
        (OWN / "clear_refs").write_text("5")
        self.room, self.began, self.worked = room, time.perf_counter(), time.process_time()


def peak_mb() -> float:
    """Return the most memory the process had since the last reset [MB]."""
    line = next(row for row in (OWN / "status").read_text().splitlines() if row.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


def walk(strips: int, gap: float, seconds: float) -> dict[str, object]:
    """Return seconds and peak of each room for a property of about so many strips."""
    watch = Watch()
    with tempfile.TemporaryDirectory() as scratch:
        folder = big_place(Path(scratch) / "place", of_strips(strips))
        watch.enter("files")
        place = clearing.read(folder)
        sizes: list[int] = []
        results = clearing.run(place, gap, seconds, progress=watch.enter, ways=sizes.append)
        watch.enter("report")
        clearing.write(results, folder)
        watch.enter("end")
    return {
        "strips": len(results.strips), "blocks": len(results.blocks), "options": sizes[0],
        "gap": results.plan.gap, "rooms": watch.rooms,
    }  # fmt: skip


def main() -> None:
    """Measure, and print the figures as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("strips", type=int, nargs="*", default=SIZES)
    parser.add_argument("--gap", type=float, default=0.01)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--here", action="store_true", help="in this process, one size")
    asked = parser.parse_args()
    if asked.here:
        print(json.dumps(walk(asked.strips[0], asked.gap, asked.seconds)))
        return
    for strips in asked.strips:
        words = [str(strips), "--here", "--gap", str(asked.gap), "--seconds", str(asked.seconds)]
        done = subprocess.run(
            [sys.executable, "-m", __spec__.name, *words], stdout=subprocess.PIPE, check=True
        )
        print(done.stdout.decode().strip(), flush=True)


if __name__ == "__main__":
    main()
