"""What grows, what comes back? The stems of every strip, year by year, for each way to treat it.

Takes methods, strips, blocks, the rates, and the years of the plan.
Gives futures (`look_ahead`): stems by stage and year with low and high; seed over the edges
(`seed_reach`, `arriving`); draws of what may be (`draw_ahead`); the chosen plan followed through
(`follow_through`); and the year as a matrix (`yearly_matrix`, `growth_rate`, `stable_stage`).
"""

from clearing.forecast.draws import Draws, draw_ahead, plain_draws
from clearing.forecast.futures import look_ahead
from clearing.forecast.growth import yearly_matrix
from clearing.forecast.matrices import growth_rate, project, reproductive_value, stable_stage
from clearing.forecast.over_edges import arriving, mowed_years
from clearing.forecast.reach import seed_reach
from clearing.forecast.ring import search_ring
from clearing.forecast.standing import standing_share
from clearing.forecast.through import follow_through

__all__ = [
    "Draws",
    "arriving",
    "draw_ahead",
    "follow_through",
    "growth_rate",
    "look_ahead",
    "mowed_years",
    "plain_draws",
    "project",
    "reproductive_value",
    "search_ring",
    "seed_reach",
    "stable_stage",
    "standing_share",
    "yearly_matrix",
]
