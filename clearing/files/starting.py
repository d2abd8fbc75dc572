"""Start an empty property: settings with its name and next year, empty tables, its photo."""

import json
import time
from importlib import resources
from pathlib import Path

from clearing.files.writing import start_property


def start_empty(folder: Path, photo: Path | None) -> None:
    """Return nothing; write the settings and empty tables of a new property, and copy its photo.

    Raises
    ------
    InputError
        As `start_property`.

    References
    ----------
    own reasoning
    """
    name = json.dumps(folder.resolve().name.replace("_", " "))  # quoted as TOML quotes, too
    template = resources.files("clearing") / "data" / "new_property.toml"
    text = template.read_text(encoding="utf-8")
    start_property(folder, text.format(name=name, year=time.localtime().tm_year + 1), photo)
