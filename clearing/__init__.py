"""Plan the clearing of invasive trees that sprout again from stump and root.

From blocks drawn over a photo and a count of stems in sample plots: how many stems there are and
how sure that is, where what may be done, dose, mix, hours, money, and a plan over several years.
It says what a label or a rule asks; it does not say that something may be done.

The whole walk:

- ``read(folder)``: the owner's folder as a `Property`; every problem at once (`InputError`)
- ``look(place)``: what there is to say of the ground, and what is left for each method
- ``run(place)``: the plan and every table that led to it, as `Results`
- ``write(results, folder)``: map, work plan, tables and phone files into ``out``
- ``sample_folder()``, ``copy_sample(folder)``: Sourwood Hollow, an invented farm to try it on

Its rooms, in the order of the walk; each takes tables and gives tables:

- ``files``: the owner's folder; start one, lay plots, add to the log, write
- ``land``: what do I have?
- ``survey``: how much grows there?
- ``zones``: where may what be done?
- ``records``: what was done, and what does it teach?
- ``treatment``: how can it be treated?
- ``forecast``: what comes back?
- ``effort``: what does it take?
- ``schedule``: when is it done?
- ``report``: show me; a map, charts, and all that is written
- ``app``: let me draw it
- ``budgets``: what would more or less money, or time, do?

>>> import clearing
>>> place = clearing.read(clearing.sample_folder())
>>> place.settings.name, len(place.blocks), len(place.plots)
('Sourwood Hollow', 13, 67)
>>> notes, left = clearing.look(place)
>>> left[0]
'ground left for each way of treating, of 64.1 acres:'

Lengths, areas and volumes are metric inside; a column's ending says the unit (``area_ha``).
``help(clearing.survey)`` and so on say what a room takes and gives; the columns of every table
stand in DEVELOPERS.md. A room is opened when it is first asked for.
"""

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from clearing import (
        app,
        budgets,
        effort,
        files,
        forecast,
        land,
        records,
        report,
        schedule,
        survey,
        treatment,
        zones,
    )
    from clearing.errors import ClearingError, ClearingWarning, InputError, RangeWarning
    from clearing.files import copy_sample, read, sample_folder, write
    from clearing.pipeline import look, run
    from clearing.property import Property, Results

__version__ = "0.1.0"

__all__ = [
    "ClearingError",
    "ClearingWarning",
    "InputError",
    "Property",
    "RangeWarning",
    "Results",
    "app",
    "budgets",
    "copy_sample",
    "effort",
    "files",
    "forecast",
    "land",
    "look",
    "read",
    "records",
    "report",
    "run",
    "sample_folder",
    "schedule",
    "survey",
    "treatment",
    "write",
    "zones",
]

_ROOMS = (
    "app", "budgets", "effort", "files", "forecast", "land", "records", "report", "schedule",
    "survey", "treatment", "zones",
)  # fmt: skip
_DOORS = {
    "ClearingError": "errors",
    "ClearingWarning": "errors",
    "InputError": "errors",
    "RangeWarning": "errors",
    "Property": "property",
    "Results": "property",
    "copy_sample": "files",
    "look": "pipeline",
    "read": "files",
    "run": "pipeline",
    "sample_folder": "files",
    "write": "files",
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
