"""The only room that opens the owner's folder: read it, and write into it whole or not at all.

Takes the folder of a property: property.toml, layers, tally, log, photo.
Gives the property (`read`) with every problem at once; starts one (`start_property`), lays plots
(`lay_plots`), adds to the log (`add_record`, `take_log_file`), says the next day's work
(`next_work`), and writes a plan (`write`).

The modules are opened when a name is first asked for, so that the next day is told at once.
"""

from typing import TYPE_CHECKING

from clearing.doors import doors

if TYPE_CHECKING:
    from clearing.files.log_rows import Added, add_record, add_records, row_of, take_log_file
    from clearing.files.next_plan import next_day_files, next_work
    from clearing.files.photo import find_photo, open_photo
    from clearing.files.pins import parse_place, read_pins, save_pins
    from clearing.files.plot_files import lay_plots
    from clearing.files.reading import read
    from clearing.files.tiles import Tiles, open_tiles
    from clearing.files.writing import (
        copy_sample,
        sample_folder,
        start_property,
        write,
    )

__all__ = [
    "Added",
    "Tiles",
    "add_record",
    "add_records",
    "copy_sample",
    "find_photo",
    "lay_plots",
    "next_day_files",
    "next_work",
    "open_photo",
    "open_tiles",
    "parse_place",
    "read",
    "read_pins",
    "row_of",
    "sample_folder",
    "save_pins",
    "start_property",
    "take_log_file",
    "write",
]

_DOORS = {
    "Added": "log_rows",
    "Tiles": "tiles",
    "add_record": "log_rows",
    "add_records": "log_rows",
    "copy_sample": "writing",
    "find_photo": "photo",
    "lay_plots": "plot_files",
    "open_photo": "photo",
    "open_tiles": "tiles",
    "parse_place": "pins",
    "next_day_files": "next_plan",
    "next_work": "next_plan",
    "read": "reading",
    "read_pins": "pins",
    "row_of": "log_rows",
    "sample_folder": "writing",
    "save_pins": "pins",
    "start_property": "writing",
    "take_log_file": "log_rows",
    "write": "writing",
}

__getattr__, __dir__ = doors(__name__, _DOORS)
