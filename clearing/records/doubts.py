"""Tell the rows of the log that fit nothing: herbicides, strips and rows that nobody knows."""

from collections.abc import Iterable

import pandas as pd

from clearing import land, zones
from clearing.property import Property
from clearing.rates import Rates
from clearing.records.herbicides import unknown_herbicides
from clearing.records.log import in_force, lost_corrections
from clearing.tables import cell_text, did_you_mean, name_list


def known_places(place: Property, rates: Rates) -> list[str]:
    """Return the blocks and strips in which work can be logged, the strips as they are cut now.

    References
    ----------
    own reasoning
    """
    ground = land.lay_out(place, rates)
    strips = zones.cut_strips(
        ground.blocks, ground.features, ground.strips, place.settings.strip_ha
    )
    names = [*ground.blocks["block_id"].astype(str), *strips["strip_id"].astype(str)]
    return list(dict.fromkeys(names))


def log_problems(records: pd.DataFrame, rates: Rates, places: Iterable[str]) -> list[str]:
    """Return a sentence for everything in the log that counts for less than the owner may think.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``.
    rates : Rates
        Products.
    places : iterable of str
        Strips and blocks of the plan.

    References
    ----------
    own reasoning
    """
    return [
        *lost_corrections(records),
        *unknown_places(records, places),
        *unknown_herbicides(in_force(records), rates),
    ]


def unknown_places(records: pd.DataFrame, places: Iterable[str]) -> list[str]:
    """Return a sentence for each row in force whose strip is neither a strip nor a block.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``.
    places : iterable of str
        Strips and blocks of the plan.

    References
    ----------
    own reasoning
    """
    known, force = list(places), in_force(records)
    so = ", so the plan does not count it"
    return [
        f"records.csv row {cell_text(number)}: {why}"
        for number, name in zip(force["record_id"], force["strip_id"], strict=True)
        if (why := place_problem(cell_text(name), known, so))
    ]


def place_problem(name: str, places: list[str], so: str = "") -> str:
    """Return that a strip is none of the plan's, and what would be right, or blank.

    Parameters
    ----------
    name : str
        The strip or block of a row.
    places : list of str
        Strips and blocks of the plan.
    so : str
        What follows from it, said before what would be right.

    References
    ----------
    own reasoning
    """
    if name in places:
        return ""
    near = did_you_mean(name, places)
    return f"{name!r} is no strip or block{so}; there are {name_list(places)}{near}"
