"""How much grows there? Stems by block, species and size class, with an honest error.

Takes blocks, visited plots and the tally of what was counted in them.
Gives stocking (`estimate_stocking`, `estimate_totals`): stems a hectare with standard error, low
and high; whether a cheap measure helps (`offer_measures`); how many plots are wanted and where
(`first_look`, `allocate_plots`, `place_plots`); and the estimators of the textbooks
(`ratio_total`, `stratified_mean`, `plots_needed` and others).

The modules are opened when a name is first asked for.
"""

from typing import TYPE_CHECKING

from clearing.doors import doors

if TYPE_CHECKING:
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

_DOORS = {
    "ALL": "stocking",
    "Estimate": "sampling",
    "allocate_plots": "layout",
    "class_heights": "stocking",
    "estimate_stocking": "stocking",
    "estimate_totals": "stocking",
    "first_look": "layout",
    "nearest_neighbour_ratio": "layout",
    "neyman_allocation": "sampling",
    "offer_measures": "measure",
    "place_plots": "layout",
    "plots_needed": "sampling",
    "ranges_that_add_up": "stocking",
    "ratio_total": "sampling",
    "regression_total": "sampling",
    "simple_random_mean": "sampling",
    "size_class_of": "tally",
    "stratified_mean": "sampling",
}

__getattr__, __dir__ = doors(__name__, _DOORS)
