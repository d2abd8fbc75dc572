"""How can it be treated? Recipes, doses, label limits and cautions for every strip."""

from clearing.treatment.cautions import caution_ids, join_cautions
from clearing.treatment.ground_left import ground_left, left_lines
from clearing.treatment.limits import Limit, label_limits, to_confirm
from clearing.treatment.methods import list_methods
from clearing.treatment.mixing import mix_tank
from clearing.treatment.products import Known, known_products
from clearing.treatment.recipes import open_seasons

__all__ = [
    "Known",
    "Limit",
    "caution_ids",
    "ground_left",
    "join_cautions",
    "known_products",
    "label_limits",
    "left_lines",
    "list_methods",
    "mix_tank",
    "open_seasons",
    "to_confirm",
]
