"""What grows, what comes back? The stems of every strip, year by year, for each way to treat it."""

from clearing.forecast.arriving import arriving
from clearing.forecast.draws import Draws, draw_ahead, plain_draws
from clearing.forecast.futures import look_ahead
from clearing.forecast.growth import yearly_matrix
from clearing.forecast.matrices import growth_rate, project, reproductive_value, stable_stage
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
    "plain_draws",
    "project",
    "reproductive_value",
    "search_ring",
    "seed_reach",
    "stable_stage",
    "standing_share",
    "yearly_matrix",
]
