"""Where may what be done? Strips a crew can treat in a season, and zones with one set of rules.

Takes blocks, features, keep trees and stocking.
Gives strips (`cut_strips`), zones that partition them (`draw_zones`), strips side by side
(`strip_neighbours`), and what lies near each (`what_is_near`).
"""

from clearing.zones.cut_parts import part_off, split_strips
from clearing.zones.nearby import what_is_near
from clearing.zones.neighbours import strip_neighbours
from clearing.zones.partition import draw_zones
from clearing.zones.reach import beyond_the_line, within_the_line
from clearing.zones.shade import with_shade
from clearing.zones.strips import ACCESS, cut_strips

__all__ = [
    "ACCESS",
    "beyond_the_line",
    "cut_strips",
    "draw_zones",
    "part_off",
    "split_strips",
    "strip_neighbours",
    "what_is_near",
    "with_shade",
    "within_the_line",
]
