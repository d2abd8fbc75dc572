"""Write into the owner's folder, each file whole or not at all."""

import csv
import io
import os
import shutil
import tempfile
from importlib import resources
from pathlib import Path

import pandas as pd

from clearing import records, report
from clearing.errors import InputError
from clearing.files.photo import open_photo, photo_copies
from clearing.files.whole import write_whole
from clearing.property import Property, Results
from clearing.rates import for_settings
from clearing.tables import check, column_file, name_list
from clearing.units import volume_l

SAMPLE = "sourwood_hollow"


def write(
    results: Results, folder: str | Path, log: tuple[str, ...] = (), photo_mb: float | None = None
) -> Path:
    """Return the folder ``out`` with every file of a plan, each written whole or not at all.

    Parameters
    ----------
    results : Results
        As `clearing.run` gives them.
    folder : path
        The property's folder.
    log : tuple of str
        Lines for run.log.
    photo_mb : float or None
        Most that the photo may add to map.html [MB], as `report.photo_picture` has it when none.

    Raises
    ------
    InputError
        No picture is as small as ``photo_mb``.

    References
    ----------
    own reasoning
    """
    photo, picture = results.property.photo, None
    if photo is not None:
        picture = report.photo_picture(*open_photo(photo), limit_mb=photo_mb)
        log = (*log, picture.note) if picture.note else log
    return write_files(report.outputs(results, log, picture), folder)


def write_files(outputs: dict[str, bytes], folder: str | Path) -> Path:
    """Return the folder ``out`` into which the outputs were written, each whole or not at all.

    Parameters
    ----------
    outputs : dict
        File name -> content.
    folder : path
        The property's folder.

    References
    ----------
    own reasoning
    """
    out = Path(folder) / "out"
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".new-", dir=out) as waiting:
        for name, content in outputs.items():
            (Path(waiting) / name).write_bytes(content)
        for name in outputs:
            os.replace(Path(waiting) / name, out / name)  # noqa: PTH105 - atomic on one disk
    return out


def sample_folder() -> Path:
    """Return the folder of the sample property that comes with the package.

    References
    ----------
    own reasoning
    """
    inside = Path(str(resources.files("clearing"))) / "data" / "sample" / SAMPLE
    beside = Path(__file__).parents[2] / "sample_data" / SAMPLE
    return inside if inside.is_dir() else beside


def copy_sample(folder: str | Path) -> Path:
    """Return the folder into which the sample property was copied.

    Raises
    ------
    InputError
        The folder holds something else already.

    References
    ----------
    own reasoning
    """
    target = Path(folder)
    own = target / "property.toml"
    if target.is_file():
        raise InputError([f"{target} is a file; name a new folder"], str(target))
    if own.exists():
        if own.read_bytes() != (sample_folder() / "property.toml").read_bytes():
            raise InputError([f"{target} holds another property; name a new folder"], str(target))
    elif target.is_dir() and any(target.iterdir()):
        raise InputError([f"{target} is not empty; name a new folder"], str(target))
    target.mkdir(parents=True, exist_ok=True)
    for path in sorted(sample_folder().iterdir()):
        if path.is_file() and not (target / path.name).exists():
            shutil.copyfile(path, target / path.name)
    return target


def start_property(folder: str | Path, settings: str, photo: Path | None) -> None:
    """Return nothing; write a new property's settings and empty tables, and copy its photo.

    A table or photo that lies in the folder already stays as it is. The photo keeps its ending,
    and what lies beside it to say its place is copied along.

    Raises
    ------
    InputError
        The folder holds a property already or is a file, the photo is none that can
        be read, or another one lies in the folder.

    References
    ----------
    own reasoning
    """
    home = Path(folder)
    if home.is_file():
        raise InputError([f"{home} is a file; name a new folder"], str(home))
    if (home / "property.toml").exists():
        raise InputError([f"{home} holds a property already; name a new folder"], str(home))
    copies = [] if photo is None else photo_copies(photo, home)
    home.mkdir(parents=True, exist_ok=True)
    for source, target in copies:
        shutil.copyfile(source, target)
    for name in ("tally", "records"):
        if not (home / f"{name}.csv").exists():
            write_whole(home / f"{name}.csv", ",".join(column_file(name)["column"]) + "\n")
    write_whole(home / "property.toml", settings)


def add_record(folder: str | Path, place: Property, given: dict[str, object]) -> str:
    """Return the number of the row that was added to records.csv.

    Parameters
    ----------
    folder : path
        The property's folder.
    place : Property
        As read: its log, products and ground.
    given : dict
        date, strip, job, people, hours, herbicide, product, applied_by, replaces, notes.

    Raises
    ------
    InputError
        The row is none that could be read again (the product is no volume, the date no day), or
        its strip, herbicide or the row that it replaces is none that is known.

    References
    ----------
    own reasoning
    """
    path = Path(folder) / "records.csv"
    text = path.read_text(encoding="utf-8-sig") if path.exists() else ""
    described = column_file("records")["column"].tolist()
    header = next(csv.reader(io.StringIO(text)), None) or described
    values = dict(given)
    values["strip_id"] = values.pop("strip", "")
    product = values.pop("product", None)
    problems = []
    if product:
        try:
            values["product_l"] = round(volume_l(str(product)), 6)
        except ValueError as wrong:
            problems.append(f"records: {wrong}")
    header = [*header, *(name for name in values if name in described and name not in header)]
    row = records.new_row(header, place.records, values)
    problems += check(pd.DataFrame([row]), "records")[1] + _unknown(row, place, bool(product))
    if problems:
        raise InputError(problems, "records.csv")
    old = list(csv.DictReader(io.StringIO(text))) if text else []
    stream = io.StringIO()
    writer = csv.DictWriter(stream, header, restval="", lineterminator="\n", extrasaction="ignore")
    writer.writeheader()
    writer.writerows([*old, row])
    write_whole(path, stream.getvalue())
    return row["record_id"]


def _unknown(row: dict[str, str], place: Property, with_product: bool) -> list[str]:
    """Return which strip, herbicide or earlier row of a new row is none that is known."""
    rates = for_settings(place.settings)
    where = records.place_problem(row["strip_id"], records.known_places(place, rates))
    words = row.get("herbicide", "")
    what = records.herbicide_problem(words, rates) if words or with_product else ""
    problems = [f"records: 'strip': {where}"] if where else []
    problems += [f"records: 'herbicide': {what}"] if what else []
    numbers = place.records["record_id"].astype(str).tolist()
    gone = row.get("replaces", "")
    if gone and gone not in numbers:
        there = f"there are {name_list(numbers)}" if numbers else "there is none yet"
        problems.append(f"records: 'replaces' is {gone!r}; no row has this number ({there})")
    return problems


def planned_visits(folder: str | Path, logged: pd.DataFrame, hours: float) -> list[dict[str, str]]:
    """Return the next visits of the written plan that the log does not have, for so many hours.

    Parameters
    ----------
    folder : path
        The property's folder; a plan must have been written into ``out``.
    logged : DataFrame
        The log; a visit with the same strip and job in the same year counts as done.
    hours : float
        Hours of people to fill; the first visit is named even when it is longer.

    Raises
    ------
    InputError
        No plan has been written yet.

    References
    ----------
    own reasoning
    """
    path = Path(folder) / "out" / "visits.csv"
    if not path.exists():
        raise InputError([f"there is no plan yet; run 'clearing plan {folder}' first"], str(folder))
    with path.open(encoding="utf-8-sig", newline="") as stream:
        visits = list(csv.DictReader(stream))
    force = records.in_force(logged)
    done = {(str(row.strip_id), str(row.job), str(row.date)[:4]) for row in force.itertuples()}
    left = [v for v in visits if (v["strip_id"], v["job"], v["year"]) not in done]
    day: list[dict[str, str]] = []
    spent = 0.0
    for visit in left:
        same = not day or (visit["year"], visit["season"]) == (day[0]["year"], day[0]["season"])
        if day and (not same or spent + float(visit["hours"]) > hours):
            break
        day.append(visit)
        spent += float(visit["hours"])
    return day
