"""Where may what be done? Strips a crew can treat in a season, and zones with one set of rules."""

from clearing.zones.neighbours import strip_neighbours
from clearing.zones.partition import draw_zones
from clearing.zones.strips import cut_strips

__all__ = ["cut_strips", "draw_zones", "strip_neighbours"]
