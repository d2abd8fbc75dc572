"""Plan the clearing of invasive trees that sprout again from stump and root.

>>> import clearing
>>> place = clearing.read(clearing.sample_folder())
>>> place.settings.name
'Sourwood Hollow'

``clearing.run(place)`` gives the results table by table, ``clearing.write(results, folder)`` the
map, the work plan and all other files, ``clearing.report.map(results)`` a map to show.
The rooms are opened when they are first asked for, so that ``clearing --help`` starts at once.
"""

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from clearing import forecast, report, schedule, survey
    from clearing.errors import ClearingError, ClearingWarning, InputError, RangeWarning
    from clearing.files import copy_sample, read, sample_folder, write
    from clearing.pipeline import run
    from clearing.property import Property, Results

__version__ = "0.1.0"

__all__ = [
    "ClearingError",
    "ClearingWarning",
    "InputError",
    "Property",
    "RangeWarning",
    "Results",
    "copy_sample",
    "forecast",
    "read",
    "report",
    "run",
    "sample_folder",
    "schedule",
    "survey",
    "write",
]

_ROOMS = ("forecast", "report", "schedule", "survey")
_DOORS = {
    "ClearingError": "errors",
    "ClearingWarning": "errors",
    "InputError": "errors",
    "RangeWarning": "errors",
    "Property": "property",
    "Results": "property",
    "copy_sample": "files",
    "read": "files",
    "sample_folder": "files",
    "write": "files",
    "run": "pipeline",
}


def __getattr__(name: str) -> object:
    """Return a room or a public name, opening its module on first use."""
    if name in _ROOMS:
        return importlib.import_module(f"clearing.{name}")
    if name in _DOORS:
        return getattr(importlib.import_module(f"clearing.{_DOORS[name]}"), name)
    raise AttributeError(f"clearing has no {name!r}; it has {', '.join(__all__)}")


def __dir__() -> list[str]:
    """Return the public names."""
    return sorted(__all__)
