"""How much grows there? Stems by block, species and size class, with an honest error."""

from clearing.survey.layout import (
    allocate_plots,
    first_look,
    nearest_neighbour_ratio,
    place_plots,
)
from clearing.survey.measure import offer_measures
from clearing.survey.sampling import (
    Estimate,
    neyman_allocation,
    plots_needed,
    ratio_total,
    regression_total,
    simple_random_mean,
    stratified_mean,
)
from clearing.survey.stocking import (
    ALL,
    class_heights,
    estimate_stocking,
    estimate_totals,
    ranges_that_add_up,
)
from clearing.survey.tally import size_class_of

__all__ = [
    "ALL",
    "Estimate",
    "allocate_plots",
    "class_heights",
    "estimate_stocking",
    "estimate_totals",
    "first_look",
    "nearest_neighbour_ratio",
    "neyman_allocation",
    "offer_measures",
    "place_plots",
    "plots_needed",
    "ranges_that_add_up",
    "ratio_total",
    "regression_total",
    "simple_random_mean",
    "size_class_of",
    "stratified_mean",
]
