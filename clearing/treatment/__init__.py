"""How can it be treated? Recipes, doses, label limits and cautions for every strip.

Takes blocks, strips, zones, stocking and the rates (the handbook and the owner's labels).
Gives methods (`list_methods`): a whole recipe for each zone and size class, with dose, kill,
months, and the reason where there is none; what the labels ask (`label_limits`, `to_confirm`,
`label_wait`); one tank of mix (`mix_tank`); the ground left for each method (`ground_left`).

The modules are opened when a name is first asked for, so that a tank is mixed at once.
"""

from typing import TYPE_CHECKING

from clearing.doors import doors

if TYPE_CHECKING:
    from clearing.treatment.batches import DayBatches, day_batches
    from clearing.treatment.cautions import (
        Surroundings,
        caution_ids,
        caution_text,
        join_cautions,
        surroundings,
        visit_words,
    )
    from clearing.treatment.label_lines import DayLine, day_line
    from clearing.treatment.left import ground_left, left_lines
    from clearing.treatment.limits import Limit, acid_of, label_limits, to_confirm
    from clearing.treatment.methods import list_methods
    from clearing.treatment.mixing import mix_tank
    from clearing.treatment.products import Known, known_products
    from clearing.treatment.recipes import open_seasons
    from clearing.treatment.waits import book_for, label_wait, waits_of

__all__ = [
    "DayBatches",
    "DayLine",
    "Known",
    "Limit",
    "Surroundings",
    "acid_of",
    "book_for",
    "caution_ids",
    "caution_text",
    "day_batches",
    "day_line",
    "ground_left",
    "join_cautions",
    "known_products",
    "label_limits",
    "label_wait",
    "left_lines",
    "list_methods",
    "mix_tank",
    "open_seasons",
    "surroundings",
    "to_confirm",
    "visit_words",
    "waits_of",
]

_DOORS = {
    "DayBatches": "batches",
    "DayLine": "label_lines",
    "Known": "products",
    "Limit": "limits",
    "Surroundings": "cautions",
    "acid_of": "limits",
    "book_for": "waits",
    "caution_ids": "cautions",
    "caution_text": "cautions",
    "day_batches": "batches",
    "day_line": "label_lines",
    "ground_left": "left",
    "join_cautions": "cautions",
    "known_products": "products",
    "label_limits": "limits",
    "label_wait": "waits",
    "left_lines": "left",
    "list_methods": "methods",
    "mix_tank": "mixing",
    "open_seasons": "recipes",
    "surroundings": "cautions",
    "to_confirm": "limits",
    "visit_words": "cautions",
    "waits_of": "waits",
}

__getattr__, __dir__ = doors(__name__, _DOORS)
