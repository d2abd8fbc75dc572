"""How can it be treated? Recipes, doses, label limits and cautions for every strip."""

from clearing.treatment.cautions import caution_ids, join_cautions
from clearing.treatment.limits import Limit, label_limits, to_confirm
from clearing.treatment.methods import list_methods
from clearing.treatment.mixing import mix_tank
from clearing.treatment.products import Known, known_products
from clearing.treatment.recipes import open_seasons

__all__ = [
    "Known",
    "Limit",
    "caution_ids",
    "join_cautions",
    "known_products",
    "label_limits",
    "list_methods",
    "mix_tank",
    "open_seasons",
    "to_confirm",
]
