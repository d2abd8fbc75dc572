"""What grows, what comes back? The stems of every strip, year by year, for each way to treat it."""

from clearing.forecast.futures import look_ahead
from clearing.forecast.matrices import growth_rate, project

__all__ = ["growth_rate", "look_ahead", "project"]
