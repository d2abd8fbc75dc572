"""What does it take? Dated visits with hours, product and money for every option.

Takes methods, futures, strips, blocks, the rates, crew and prices.
Gives options and their visits (`price_options`), the methods of a strip side by side
(`compare_methods`, `unit_costs`), money back from a cost share (`paid_back`), what a contractor
asks (`asked`), and what seed over an edge costs (`price_arrivals`).
"""

from clearing.effort.arrivals import calm_of, calm_of_all, price_arrivals, with_arrivals
from clearing.effort.begun import (
    FIRST_JOBS,
    begun_methods,
    begun_options,
    in_dollars_of,
    left_to_do,
    since,
)
from clearing.effort.compare import compare_methods, unit_costs
from clearing.effort.contract import asked, given_away
from clearing.effort.cost_share import paid_back
from clearing.effort.first import places
from clearing.effort.foretold import follow_sums
from clearing.effort.limits import over_limit, over_words
from clearing.effort.options import price_options
from clearing.effort.warn import with_cautions
from clearing.treatment.assign import MAIN_JOB

__all__ = [
    "FIRST_JOBS",
    "MAIN_JOB",
    "asked",
    "begun_methods",
    "begun_options",
    "calm_of",
    "calm_of_all",
    "compare_methods",
    "follow_sums",
    "given_away",
    "in_dollars_of",
    "left_to_do",
    "over_limit",
    "over_words",
    "paid_back",
    "places",
    "price_arrivals",
    "price_options",
    "since",
    "unit_costs",
    "with_arrivals",
    "with_cautions",
]
