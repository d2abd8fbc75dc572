"""What was done? The season's log: rows in force, and a new row."""

from clearing.records.log import in_force, new_row, sharpen

__all__ = ["in_force", "new_row", "sharpen"]
