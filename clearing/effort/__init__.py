"""What does it take? Dated visits with hours, product and money for every option."""

from clearing.effort.compare import compare_methods, unit_costs
from clearing.effort.contract import asked, given_away
from clearing.effort.cost_share import paid_back
from clearing.effort.first import places
from clearing.effort.limits import over_limit
from clearing.effort.options import price_options
from clearing.effort.warn import with_cautions

__all__ = [
    "asked",
    "compare_methods",
    "given_away",
    "over_limit",
    "paid_back",
    "places",
    "price_options",
    "unit_costs",
    "with_cautions",
]
