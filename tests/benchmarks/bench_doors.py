"""How long the command line takes to open, and the demo from first command to map and work plan.

    python -m pytest -n 0 tests/benchmarks/bench_doors.py -s

Not part of the test run: timings are no claims that hold on every machine. ``--help`` stands beside
an empty program of the same library (wished: within three times), the demo beside the import of
what it draws with (wished: 15 s).
"""

import shutil
import subprocess
import sys
import time

import pytest

EMPTY = "import click\n@click.command()\ndef main(): pass\nmain()\n"
ROUNDS = 7


def seconds(*words: str) -> float:
    """Return how long a program takes [s]."""
    started = time.perf_counter()
    subprocess.run(words, check=True, capture_output=True)
    return time.perf_counter() - started


def test_help_beside_an_empty_program(tmp_path):
    """Turn about, so that both meet the same machine; the middle of each."""
    (tmp_path / "empty.py").write_text(EMPTY)
    own, empty = [], []
    for _ in range(ROUNDS):
        own.append(seconds(sys.executable, "-m", "clearing", "--help"))
        empty.append(seconds(sys.executable, str(tmp_path / "empty.py"), "--help"))
    assert len(own) == len(empty) == ROUNDS
    here, there = sorted(own)[ROUNDS // 2], sorted(empty)[ROUNDS // 2]
    sys.stdout.write(f"\n--help {1000 * here:.0f} ms; an empty program {1000 * there:.0f} ms; "
          f"{here / there:.2f} times\n")  # fmt: skip


@pytest.mark.parametrize("turn", ["first", "second"])
def test_demo_from_the_first_command(tmp_path, turn):
    """The whole demo in a folder of its own; the second finds the machine warm."""
    folder = tmp_path / "demo"
    whole = seconds(sys.executable, "-m", "clearing", "demo", str(folder))
    bare = seconds(sys.executable, "-c", "import folium, geopandas, matplotlib, rasterio, typst")
    assert (folder / "out" / "workplan.pdf").read_bytes().startswith(b"%PDF")
    log = (folder / "out" / "run.log").read_text().splitlines()
    rooms = ", ".join(" ".join(line.split()[:3:2]) for line in log if " s  " in line)
    size = sum(path.stat().st_size for path in (folder / "out").iterdir()) / 1e6
    sys.stdout.write(
        f"\n{turn}: demo {whole:.1f} s, its libraries alone {bare:.1f} s; {rooms}; {size:.1f} MB\n"
    )
    shutil.rmtree(folder)
