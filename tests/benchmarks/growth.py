"""Time and peak memory of each room as a property grows: ``python -m tests.benchmarks.growth``.

A child process a size; the peak is that of the process while the room works, as Linux counts it
(programs that it starts, such as the press of a large work plan, are not in it). ``--kept FILE``
prints the table of an earlier run, ``--picture FILE`` draws it.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import matplotlib.pyplot as plt

import clearing
from clearing.report import look
from tests.benchmarks.big_place import big_place, of_strips

COLOURS = [look.INK, look.ACCENT, look.KEEP_OUT, look.QUIET, *plt.get_cmap("tab10").colors]
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


def table(rows: list[dict]) -> list[str]:
    """Return processor seconds and peak of each room by size, as Markdown."""
    heads = ["room", *(f"{row['strips']:,} strips" for row in rows)]
    out = [heads, ["---"] * len(heads)]
    for room in rows[0]["rooms"]:
        out.append([room, *(f"{row['rooms'][room][1]:.1f} s, {row['rooms'][room][2]:,.0f} MB"
                            for row in rows)])  # fmt: skip
    out.append(["all", *(f"{sum(one[1] for one in row['rooms'].values()):,.0f} s, "
                         f"{max(one[2] for one in row['rooms'].values()):,.0f} MB"
                         for row in rows)])  # fmt: skip
    sizes = [f"{row['blocks']:,}; {row['options']:,}; {100 * row['gap']:.2g} %" for row in rows]
    out.append(["blocks; options; gap of the plan", *sizes])
    return ["| " + " | ".join(cells) + " |" for cells in out]


def draw(rows: list[dict], path: Path) -> None:
    """Draw how processor time and memory grow with the strips, both scales logarithmic."""
    figure, (left, right) = plt.subplots(1, 2, figsize=(10.0, 4.0), layout="constrained")
    strips = [row["strips"] for row in rows]
    for number, room in enumerate(rows[0]["rooms"]):
        shade = {"color": COLOURS[number % len(COLOURS)], "marker": "os^Dv<>pX"[number]}
        for axes, part in ((left, 1), (right, 2)):
            axes.plot(strips, [row["rooms"][room][part] for row in rows], label=room, **shade)
    for axes, words in ((left, "processor time, seconds"), (right, "peak memory, MB")):
        axes.set(xscale="log", yscale="log", xlabel="strips", title=words)
        axes.spines[["top", "right"]].set_visible(False)
        axes.set_xticks(strips, [f"{one:,}" for one in strips])
        axes.minorticks_off()
    left.plot(strips, [one / strips[0] * 0.1 for one in strips], ":", color="#777777",
              label="twice the strips, twice the time")  # fmt: skip
    figure.legend(loc="outside right center", frameon=False, fontsize=8)
    figure.savefig(path, dpi=110)


def main() -> None:
    """Measure, and print the figures as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("strips", type=int, nargs="*", default=SIZES)
    parser.add_argument("--gap", type=float, default=0.01)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--here", action="store_true", help="in this process, one size")
    parser.add_argument("--kept", type=Path, help="figures of an earlier run, a line a size")
    parser.add_argument("--picture", type=Path, help="where to draw them")
    asked = parser.parse_args()
    if asked.here:
        print(json.dumps(walk(asked.strips[0], asked.gap, asked.seconds)))
        return
    lines = asked.kept.read_text().splitlines() if asked.kept else []
    for strips in () if asked.kept else asked.strips:
        words = [str(strips), "--here", "--gap", str(asked.gap), "--seconds", str(asked.seconds)]
        done = subprocess.run(
            [sys.executable, "-m", __spec__.name, *words], stdout=subprocess.PIPE, check=True
        )
        lines.append(done.stdout.decode().strip())
        print(lines[-1], flush=True)
    rows = [json.loads(line) for line in lines if line.startswith("{")]
    print("\n".join(table(rows)))
    if asked.picture:
        draw(rows, asked.picture)


if __name__ == "__main__":
    main()
