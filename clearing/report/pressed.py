"""Press a typesetter's template and what it pours into a PDF: same input, same bytes."""

import tempfile
from collections.abc import Mapping
from importlib import resources, util
from pathlib import Path

import typst


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
    shelf = resources.files("clearing.report") / "templates"
    with tempfile.TemporaryDirectory() as desk:
        home = Path(desk)
        for name in templates:
            (home / name).write_text((shelf / name).read_text(encoding="utf-8"), "utf-8")
        for name, content in files.items():
            data = content.encode("utf-8") if isinstance(content, str) else content
            (home / name).write_bytes(data)
        return bytes(
            typst.compile(
                str(home / templates[0]), root=str(home), format="pdf", timestamp=0,
                font_paths=[str(fonts())], ignore_system_fonts=True,
            )
        )  # fmt: skip


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
