"""What do I have? Blocks, trees and features in one equal-area grid, with their net areas.

Takes the layers as the owner drew them, in any coordinate system (a `clearing.Property`).
Gives `Ground` (`lay_out`): blocks mended and without overlaps, keep trees with crowns, features and
plots, all in metres; what was mended; and sentences on it.
"""

from clearing.land.grid import local_grid, to_grid
from clearing.land.ground import ENDS_APART, Ground, lay_out, with_crowns
from clearing.land.mending import mend_blocks
from clearing.land.problems import shape_problems
from clearing.land.words import area_words, distance_words

__all__ = [
    "ENDS_APART",
    "Ground",
    "area_words",
    "distance_words",
    "lay_out",
    "local_grid",
    "mend_blocks",
    "shape_problems",
    "to_grid",
    "with_crowns",
]
