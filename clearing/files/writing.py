"""Write into the owner's folder, each file whole or not at all."""

from importlib import resources
from pathlib import Path

from clearing import report
from clearing.errors import InputError
from clearing.files.photo import open_photo, photo_copies
from clearing.files.together import write_together
from clearing.files.whole import COPYING, copy_whole, write_whole
from clearing.property import Results
from clearing.tables import column_file

SAMPLE = "sourwood_hollow"
EARLIER_NS = 10_000_000  # by which a file's time may lag behind the clock [ns]; own choice


def write(
    results: Results,
    folder: str | Path,
    log: tuple[str, ...] = (),
    photo_mb: float | None = None,
    began_ns: int | None = None,
) -> Path:
    """Return the folder ``out`` with every file of a plan, all of them written or none.

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
    began_ns : int or None
        Clock at the start of reading [ns since 1970], so that what the owner saves while the plan
        is made is younger than plan.json; the time of writing when none.

    Raises
    ------
    InputError
        No picture is as small as ``photo_mb``, or the files cannot be written.

    References
    ----------
    own reasoning
    """
    photo, picture = results.property.photo, None
    if photo is not None:
        picture = report.photo_picture(*open_photo(photo), limit_mb=photo_mb)
        log = (*log, picture.note) if picture.note else log
    times = {} if began_ns is None else {"plan.json": began_ns - EARLIER_NS}
    return write_files(report.outputs(results, log, picture), folder, times)


def write_files(
    outputs: dict[str, bytes], folder: str | Path, times_ns: dict[str, int] | None = None
) -> Path:
    """Return the folder ``out`` into which the outputs were written, all of them or none.

    Parameters
    ----------
    outputs : dict
        File name -> content.
    folder : path
        The property's folder.
    times_ns : dict, optional
        File name -> time that the file is to carry [ns since 1970].

    Raises
    ------
    InputError
        The system does not let us write; the sentence names the file.

    References
    ----------
    own reasoning
    """
    return write_together(outputs, Path(folder), times_ns)


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
    elif target.is_dir() and any(not path.name.startswith(COPYING) for path in target.iterdir()):
        raise InputError([f"{target} is not empty; name a new folder"], str(target))
    target.mkdir(parents=True, exist_ok=True)
    # the settings first: by them a copy that was broken off is known, and gone on with
    for path in sorted(sample_folder().iterdir(), key=lambda path: (path.name != own.name, path)):
        if path.is_file() and not (target / path.name).exists():
            copy_whole(path, target / path.name)
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
        copy_whole(source, target)
    for name in ("tally", "records"):
        if not (home / f"{name}.csv").exists():
            write_whole(home / f"{name}.csv", ",".join(column_file(name)["column"]) + "\n")
    write_whole(home / "property.toml", settings)
