"""Write into the owner's folder, each file whole or not at all."""

import os
import shutil
import tempfile
from importlib import resources
from pathlib import Path

from clearing import report
from clearing.errors import InputError
from clearing.files.durable import not_written
from clearing.files.photo import open_photo, photo_copies
from clearing.files.whole import write_whole
from clearing.property import Results
from clearing.tables import column_file

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

    Raises
    ------
    InputError
        The system does not let us write; the sentence names the file.

    References
    ----------
    own reasoning
    """
    out, name = Path(folder) / "out", "out"
    try:
        out.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".new-", dir=out) as waiting:
            for name, content in outputs.items():
                (Path(waiting) / name).write_bytes(content)
            for name in outputs:
                os.replace(Path(waiting) / name, out / name)  # noqa: PTH105 - atomic on one disk
    except OSError as cause:
        raise not_written(cause, name if name == "out" else f"out/{name}", out) from cause
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
