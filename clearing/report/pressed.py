"""Press a typesetter's template and what it pours into a PDF: same input, same bytes."""

import io
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from importlib import resources, util
from pathlib import Path

import typst
from pypdf import PdfReader, PdfWriter
from pypdf.generic import NameObject

AT_A_TIME = 2  # parts that are pressed side by side; own choice
MAIN, PDF = "main.txt", "pages.pdf"  # beside a part: its first template; what was pressed


def pressed(templates: tuple[str, ...], files: Mapping[str, bytes | str]) -> bytes:
    """Return the PDF of a template.

    Parameters
    ----------
    templates : tuple of str
        Names in ``report/templates``: the one that is pressed first, then those that it takes in.
    files : mapping
        What lies beside it: name -> content, such as plan.json.

    References
    ----------
    own reasoning
    """
    with tempfile.TemporaryDirectory() as desk:
        home = Path(desk)
        _lay_out(home, templates, files)
        return _compiled(home)


def pressed_in_parts(
    templates: tuple[str, ...],
    files: Mapping[str, bytes | str],
    parts: Sequence[Mapping[str, bytes | str]],
) -> bytes:
    """Return one PDF of several parts, each pressed by a program of its own.

    The press keeps what it has laid out until its program ends, some 80 MB a full page, so that
    memory goes with the largest part and not with the whole.

    Parameters
    ----------
    templates : tuple of str
        As `pressed` takes them.
    files : mapping
        What lies beside every part.
    parts : sequence of mapping
        What lies beside one part alone: name -> content.

    References
    ----------
    own reasoning
    """
    with tempfile.TemporaryDirectory() as desk:
        homes = [Path(desk) / f"{number}" for number in range(len(parts))]
        for home, own in zip(homes, parts, strict=True):
            home.mkdir()
            _lay_out(home, templates, {**files, **own})
        with ThreadPoolExecutor(AT_A_TIME) as presses:
            list(presses.map(_pressed_apart, homes))
        return _one_after_another([home / PDF for home in homes])


def _lay_out(home: Path, templates: tuple[str, ...], files: Mapping[str, bytes | str]) -> None:
    """Put templates and files into a folder."""
    shelf = resources.files("clearing.report") / "templates"
    for name in templates:
        (home / name).write_text((shelf / name).read_text(encoding="utf-8"), "utf-8")
    (home / MAIN).write_text(templates[0], "utf-8")
    for name, content in files.items():
        data = content.encode("utf-8") if isinstance(content, str) else content
        (home / name).write_bytes(data)


def _compiled(home: Path) -> bytes:
    """Return the PDF of a folder that was laid out."""
    first = (home / MAIN).read_text("utf-8")
    return bytes(
        typst.compile(
            str(home / first), root=str(home), format="pdf", timestamp=0,
            font_paths=[str(fonts())], ignore_system_fonts=True,
        )
    )  # fmt: skip


def _pressed_apart(home: Path) -> None:
    """Press a folder in a program of its own, so that its memory is given back.

    It runs this file and looks for libraries where this program does: nothing that lies in the
    folder from which somebody calls us is taken for one.
    """
    words = [sys.executable, "-P", str(Path(__file__).resolve()), str(home)]
    shelves = os.pathsep.join(shelf for shelf in sys.path if Path(shelf).is_absolute())
    done = subprocess.run(
        words, capture_output=True, text=True, errors="replace", check=False,
        env={**os.environ, "PYTHONPATH": shelves},
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(f"the press stopped at part {home.name}: {done.stderr[-2000:]}")


def _one_after_another(paths: Sequence[Path]) -> bytes:
    """Return one PDF with the pages of several, titled as the first."""
    whole = PdfWriter()
    for path in paths:
        whole.append(PdfReader(path), import_outline=True)
    first = PdfReader(paths[0])
    whole.add_metadata({"/Title": (first.metadata and first.metadata.title) or ""})
    if "/Lang" in first.root_object:
        whole.root_object[NameObject("/Lang")] = first.root_object["/Lang"]
    kept = io.BytesIO()
    whole.write(kept)
    return kept.getvalue()


def fonts() -> Path:
    """Return the folder of the fonts that are pressed with; the charts' library is not loaded.

    Raises
    ------
    ModuleNotFoundError
        The library that brings them is missing.

    References
    ----------
    own reasoning
    """
    found = util.find_spec("matplotlib")
    homes = found.submodule_search_locations if found is not None else None
    if not homes:
        raise ModuleNotFoundError("matplotlib is missing; its letters are used to print")
    return Path(homes[0]) / "mpl-data" / "fonts" / "ttf"


if __name__ == "__main__":
    place = Path(sys.argv[1])
    (place / PDF).write_bytes(_compiled(place))
