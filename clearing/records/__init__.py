"""What was done? The season's log: rows in force, a new row, and rows that fit nothing."""

from clearing.records.begun import begun_strips
from clearing.records.doubts import (
    known_places,
    log_problems,
    place_problem,
    unknown_places,
)
from clearing.records.herbicides import herbicide_problem, products_meant
from clearing.records.log import in_force, lost_corrections, new_row, sharpen

__all__ = [
    "begun_strips",
    "herbicide_problem",
    "in_force",
    "known_places",
    "log_problems",
    "lost_corrections",
    "new_row",
    "place_problem",
    "products_meant",
    "sharpen",
    "unknown_places",
]
