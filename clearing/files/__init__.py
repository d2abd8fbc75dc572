"""The only room that opens the owner's folder: read it, and write into it whole or not at all."""

from clearing.files.photo import find_photo, open_photo
from clearing.files.pins import parse_place, read_pins, save_pins
from clearing.files.plot_files import lay_plots
from clearing.files.reading import read
from clearing.files.tiles import Tiles, open_tiles
from clearing.files.writing import (
    add_record,
    copy_sample,
    planned_visits,
    sample_folder,
    start_property,
    write,
)

__all__ = [
    "Tiles",
    "add_record",
    "copy_sample",
    "find_photo",
    "lay_plots",
    "open_photo",
    "open_tiles",
    "parse_place",
    "planned_visits",
    "read",
    "read_pins",
    "sample_folder",
    "save_pins",
    "start_property",
    "write",
]
