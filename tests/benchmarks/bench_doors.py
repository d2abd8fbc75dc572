"""How long the command line takes to open, and the demo from first command to map and work plan.

Not part of the test run: timings are no claims that hold on every machine. ``--help`` stands beside
an empty program of the same library, the demo beside the import of what it draws with.
"""

import subprocess
import sys

import pytest

EMPTY = "import click\n@click.command()\ndef main(): pass\nmain()\n"
ROUNDS = 7
LIBRARIES = "import folium, geopandas, matplotlib, rasterio, scipy.stats, typst"


def run(*words: str) -> None:
    """Run a program to its end."""
    subprocess.run(words, check=True, capture_output=True)


@pytest.mark.benchmark(group="`clearing --help`")
def test_help(benchmark):
    """The list of verbs."""
    benchmark.extra_info["wished"] = "3 times the reference"
    words = (sys.executable, "-m", "clearing", "--help")
    assert benchmark.pedantic(run, words, rounds=ROUNDS, warmup_rounds=1) is None


@pytest.mark.benchmark(group="`clearing --help`")
def test_reference_of_the_help(benchmark, tmp_path):
    """The help of a program that does nothing."""
    (tmp_path / "empty.py").write_text(EMPTY)
    benchmark.extra_info["reference"] = "an empty click program"
    words = (sys.executable, str(tmp_path / "empty.py"), "--help")
    assert benchmark.pedantic(run, words, rounds=ROUNDS, warmup_rounds=1) is None


@pytest.mark.benchmark(group="demo, from the first command to map and work plan")
def test_demo(benchmark, tmp_path):
    """The whole demo, each time in a folder of its own."""
    benchmark.extra_info["wished"] = "15 s"
    folders = iter([tmp_path / "one", tmp_path / "two", tmp_path / "three"])

    def fresh() -> tuple[tuple[str, ...], dict]:
        return (sys.executable, "-m", "clearing", "demo", str(next(folders))), {}

    benchmark.pedantic(run, setup=fresh, rounds=3)
    assert (tmp_path / "three" / "out" / "workplan.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.benchmark(group="demo, from the first command to map and work plan")
def test_reference_of_the_demo(benchmark):
    """The import of what it draws with."""
    benchmark.extra_info["reference"] = "import of its libraries"
    assert benchmark.pedantic(run, (sys.executable, "-c", LIBRARIES), rounds=3) is None
