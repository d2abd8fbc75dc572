"""What do I have? Blocks, trees and features in one equal-area grid, with their net areas."""

from clearing.land.grid import local_grid, to_grid
from clearing.land.ground import Ground, lay_out
from clearing.land.problems import shape_problems

__all__ = ["Ground", "lay_out", "local_grid", "shape_problems", "to_grid"]
