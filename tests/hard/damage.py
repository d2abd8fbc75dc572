"""Damage a small property in more than two hundred ways, run a verb on each, and keep the answers.

``python -m tests.hard.damage`` prints what each case says, ``--keep`` writes it to corpus.csv for
reading: each sentence in it is what an owner gets to see.
"""

import contextlib
import csv
import importlib
import pickle
import shutil
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import click
import geopandas as gpd
import pandas as pd
from click.testing import CliRunner
from shapely.geometry.base import BaseGeometry

import clearing
from clearing import pipeline
from clearing.cli import main
from tests.hard.ground import GRID, Case, lay_out

CORPUS = Path(__file__).with_name("corpus.csv")
COLUMNS = ["case", "file", "done", "verb", "exit", "said"]
ROOMS = ("tables", "shapes", "columns", "settings", "pictures", "packed", "places", "aside")
SAME = "the same figures as without the damage"
PLACE = "wren_corner"


@dataclass(frozen=True)
class Answer:
    """What a run said, how it ended, how long it took, and whether the folder is as it was."""

    exit: int
    said: str
    seconds: float
    untouched: bool
    error: BaseException | None


def cases() -> list[Case]:
    """Return all cases, room by room."""
    rooms = [importlib.import_module(f"tests.hard.{room}") for room in ROOMS]
    return [case for room in rooms for case in room.CASES]


def content(home: Path) -> dict[str, bytes]:
    """Return every file of a folder with its bytes, links as such; of large ones the size.

    An empty folder and the file by which one program keeps others waiting are not counted.
    """
    held = {}
    for path in sorted(home.rglob("*")) if home.is_dir() else []:
        name = str(path.relative_to(home))
        if path.is_symlink():
            held[name] = b"link"
        elif path.is_file() and path.suffix != ".lock":
            size = path.stat().st_size
            held[name] = path.read_bytes() if size < 10**7 else str(size).encode()
    return held


def ask(case: Case, home: Path) -> Answer:
    """Return what the verb of a case says of a folder."""
    guard = getattr(case.damage, "guard", contextlib.nullcontext)
    before, started = content(home.parent), time.perf_counter()
    words = [word.replace("HOME", str(home)) for word in case.verb.split()]
    words += [] if "HOME" in case.verb else [str(home)]
    with guard():
        found = CliRunner().invoke(main, words)
    seconds = time.perf_counter() - started
    error = None if isinstance(found.exception, SystemExit) else found.exception
    said = found.output.replace(str(home.parent) + "/", "").replace(str(home.parent), "")
    return Answer(found.exit_code, said, seconds, content(home.parent) == before, error)


def sentences(answer: Answer, sound: str) -> str:
    """Return the problems of a run, or what a sound run says beyond the undamaged one."""
    lines = answer.said.splitlines()
    if answer.exit:
        return " / ".join(line.removeprefix("- ") for line in lines if line.startswith("- "))
    known = sound.splitlines()
    more = [line.strip() for line in lines if line not in known]
    less = [f"(no more: {line.strip()})" for line in known if line not in lines]
    return " / ".join([*more, *less]) or SAME


def _near(one: BaseGeometry, two: BaseGeometry) -> bool:
    """Return whether two shapes are the same to a centimeter, or two areas to a millionth."""
    if one.area and two.area:
        return one.symmetric_difference(two).area < 1e-6 * one.area
    return bool(one.equals_exact(two, 0.01))


def _alike(one: Any, two: Any) -> bool:
    """Return whether two tables, or two other things, say the same."""
    if isinstance(one, gpd.GeoDataFrame):
        pairs = zip(one.geometry.to_crs(GRID), two.geometry.to_crs(GRID), strict=False)
        same = len(one) == len(two) and all(_near(*pair) for pair in pairs)
        one, two = (pd.DataFrame(frame).drop(columns="geometry") for frame in (one, two))
        return same and one.equals(two)
    return one.equals(two) if isinstance(one, pd.DataFrame) else one == two


class Looks:
    """Gives the same look at the same property without working it out again."""

    def __init__(self, look: Callable[[Any], Any]) -> None:
        self.look, self.seen = look, {}

    def __call__(self, place: Any) -> Any:
        """Return what there is to say of a property."""
        key = pickle.dumps(place)
        if key not in self.seen:
            self.seen[key] = self.look(place)
        return self.seen[key]


class Maker:
    """Makes damaged copies of one undamaged property, and asks of them."""

    def __init__(self, home: Path) -> None:
        self.home = home
        self.sound = lay_out(home / "sound" / PLACE)
        self.read = clearing.read(self.sound)
        self.words = ask(Case("sound", "", "", lambda folder: None), self.sound).said

    def others(self, home: Path) -> list[str]:
        """Return which tables and settings of a copy are read with other figures."""
        one, two = self.read, clearing.read(home)
        names = [f.name for f in fields(one) if f.name not in ("photo", "log_faults", "last")]
        return [name for name in names if not _alike(getattr(one, name), getattr(two, name))]

    def damaged(self, case: Case) -> Path:
        """Return the folder of a damaged copy."""
        home = self.home / case.name / PLACE
        shutil.copytree(self.sound, home)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what is written here is meant to be odd
            case.damage(home)
        return home

    def row(self, case: Case) -> tuple[dict[str, str], Answer]:
        """Return the row of a case, and the whole answer."""
        answer = ask(case, self.damaged(case))
        said = sentences(answer, self.words)
        if said == SAME and (other := self.others(self.home / case.name / PLACE)):
            said = f"read, with other figures in: {', '.join(other)}"
        row = [case.name, case.file, case.done, case.verb, str(answer.exit), said]
        return dict(zip(COLUMNS, row, strict=True)), answer


def told() -> dict[str, dict[str, str]]:
    """Return the rows of corpus.csv by case."""
    with CORPUS.open(encoding="utf-8", newline="") as stream:
        return {row["case"]: row for row in csv.DictReader(stream)}


def _print(row: dict[str, str], answer: Answer) -> None:
    """Print one case for reading."""
    marks = "" if answer.untouched else "  CHANGED FILES"
    marks += f"  {answer.seconds:.1f} s" if answer.seconds > 1 else ""
    marks += f"  {type(answer.error).__name__}: {answer.error}" if answer.error else ""
    click.echo(f"{row['exit']} {row['case']} ({row['done']}){marks}\n    {row['said']}")


def _all(only: str, keep: bool) -> None:
    """Print, and keep if that is wished, what every case says."""
    rows, slowest = [], ("", 0.0)
    pipeline.look = Looks(pipeline.look)
    with tempfile.TemporaryDirectory() as home:
        maker = Maker(Path(home))
        for case in cases():
            if only and only not in case.name:
                continue
            row, answer = maker.row(case)
            _print(row, answer)
            rows.append(row)
            slowest = max(slowest, (case.name, answer.seconds), key=lambda each: each[1])
    click.echo(f"{len(rows)} cases; the slowest is {slowest[0]} with {slowest[1]:.2f} s")
    if keep:
        with CORPUS.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.DictWriter(stream, COLUMNS, lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


if __name__ == "__main__":
    asked = [word for word in sys.argv[1:] if word != "--keep"]
    _all(asked[0] if asked else "", "--keep" in sys.argv)
