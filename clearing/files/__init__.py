"""The only room that opens the owner's folder: read it, and write into it whole or not at all."""

from clearing.files.photo import open_photo
from clearing.files.plot_files import lay_plots
from clearing.files.reading import read
from clearing.files.writing import (
    add_record,
    copy_sample,
    planned_visits,
    sample_folder,
    start_property,
    write,
)

__all__ = [
    "add_record",
    "copy_sample",
    "lay_plots",
    "open_photo",
    "planned_visits",
    "read",
    "sample_folder",
    "start_property",
    "write",
]
