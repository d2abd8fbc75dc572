"""What does it take? Dated visits with hours, product and money for every option."""

from clearing.effort.limits import over_limit
from clearing.effort.options import price_options

__all__ = ["over_limit", "price_options"]
