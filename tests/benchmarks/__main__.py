"""Run the benchmarks and print their table: ``python -m tests.benchmarks [words of pytest]``.

Each row is a group of benchmarks: what is measured, what design wishes, our figure (median and
worst of its cases), that of the reference in the same run, and ours over the reference. Figures
are what a case says of itself (`extra_info["figure"]`), else its seconds.
"""

import argparse
import json
import subprocess
import sys
import tempfile
from math import inf
from pathlib import Path
from statistics import median

HERE = Path(__file__).parent
HEADS = ("what", "wished", "ours: median (worst)", "reference", "reference: median (worst)",
         "ours / reference")  # fmt: skip


def figures_of(case: dict) -> list[float]:
    """Return the figures of one benchmark: those that it tells, else its seconds."""
    told = case["extra_info"].get("figures")
    return [float(one) for one in told] if told else [float(one) for one in case["stats"]["data"]]


def said(values: list[float], unit: str) -> str:
    """Return median and worst in their unit."""
    if median(values) == inf:
        return "none"
    return f"{median(values):.3g} ({max(values):.3g}) {unit}"


def table(cases: list[dict]) -> list[str]:
    """Return the rows of the table, in the order in which the groups ran."""
    rows = [" | ".join(HEADS), " | ".join("---" for _ in HEADS)]
    for group in dict.fromkeys(case["group"] for case in cases if case["group"]):
        own = [case for case in cases if case["group"] == group]
        sides = {name: [case for case in own if ("reference" in case["name"]) == name]
                 for name in (False, True)}  # fmt: skip
        ours, theirs = ([one for case in sides[name] for one in figures_of(case)]
                        for name in (False, True))  # fmt: skip
        if not ours:
            continue
        info = {**(sides[True][0]["extra_info"] if sides[True] else {}),
                **sides[False][0]["extra_info"]}  # fmt: skip
        unit = info.get("unit", "s")
        cells = [group, info.get("wished", ""), said(ours, unit), info.get("reference", "")]
        cells += (
            [said(theirs, unit), f"{median(ours) / median(theirs):.2g}"] if theirs else ["", ""]
        )
        rows.append(" | ".join(cells))
    return [f"| {row} |" for row in rows]


def main() -> None:
    """Run pytest on the benchmarks, print the table; exit as pytest does."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("words", nargs="*", help="files of this folder; all but bench_seasons if none")
    ask.add_argument("--kept", help="a JSON file of an earlier run: only print its table")
    asked, more = ask.parse_known_args()
    if asked.kept:
        print("\n".join(table(json.loads(Path(asked.kept).read_text())["benchmarks"])))
        return
    files = asked.words or [str(path) for path in sorted(HERE.glob("bench_*.py"))
                            if path.stem != "bench_seasons"]  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "benchmarks.json"
        words = [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider",
                 "--benchmark-disable-gc", f"--benchmark-json={kept}", *files, *more]  # fmt: skip
        code = subprocess.run(words, check=False).returncode
        if kept.exists():
            print("\n".join(table(json.loads(kept.read_text())["benchmarks"])))
    sys.exit(code)


if __name__ == "__main__":
    main()
