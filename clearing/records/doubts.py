"""Tell the rows of the log that fit nothing: herbicides, strips and rows that nobody knows."""

from collections.abc import Iterable, Mapping
from datetime import date

import pandas as pd

from clearing import land, zones
from clearing.property import Property
from clearing.rates import Rates
from clearing.records.herbicides import unknown_herbicides
from clearing.records.jobs import unknown_jobs
from clearing.records.log import in_force, lost_corrections
from clearing.records.strange_rows import odd_rows
from clearing.tables import cell_text, did_you_mean

M2_PER_HA = 10_000.0
LISTED = 40  # fewer places than these are all named in a sentence; own choice
LIST_CUT = 5  # of more places so many are named; own choice


def known_places(place: Property, rates: Rates) -> list[str]:
    """Return the blocks and strips in which work can be logged, the strips as they are cut now.

    References
    ----------
    own reasoning
    """
    return list(places_now(place, rates)["place"])


def places_now(place: Property, rates: Rates) -> pd.DataFrame:
    """Return blocks, then strips as they are cut now: place, block_id, block (name), area_ha [ha].

    References
    ----------
    own reasoning
    """
    ground = land.lay_out(place, rates)
    strips = zones.cut_strips(
        ground.blocks, ground.features, ground.strips, place.settings.strip_ha
    )
    blocks = ground.blocks.assign(strip_id=ground.blocks["block_id"])
    parts = []
    for table in (blocks, strips):
        ids = {"place": table["strip_id"].astype(str), "block_id": table["block_id"].astype(str)}
        parts.append(pd.DataFrame(ids | {"area_ha": table.geometry.area / M2_PER_HA}))
    called = {cell_text(one): cell_text(name) for one, name in
              zip(place.blocks["block_id"], place.blocks["name"], strict=True)}  # fmt: skip
    out = pd.concat(parts, ignore_index=True).drop_duplicates("place", ignore_index=True)
    return out.assign(block=out["block_id"].map(called).fillna(""))


def log_problems(
    records: pd.DataFrame,
    rates: Rates,
    places: Iterable[str],
    areas: Mapping[str, float] | None = None,
    today: date | None = None,
) -> list[str]:
    """Return a sentence for everything in the log that counts for less than the owner may think.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``.
    rates : Rates
        Products.
    places : iterable of str
        Strips and blocks of the plan.
    areas : mapping or None
        Strip or block -> its area [ha].
    today : date or None
        Later days are in the future.

    References
    ----------
    own reasoning
    """
    force = in_force(records)
    return [
        *lost_corrections(records),
        *unknown_places(records, places),
        *unknown_herbicides(force, rates),
        *unknown_jobs(force),
        *odd_rows(force, areas, today),
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
    stem, dash, number = name.rpartition("-")
    if name in places or (dash and number.isdigit() and stem.rstrip("-") in places):
        return ""  # 4a-2 is a part of 4a
    near = did_you_mean(name, places)
    there = ", ".join(places)
    if len(places) >= LISTED:
        there = ", ".join(places[:LIST_CUT]) + f" and {len(places) - LIST_CUT} more, see the map"
    return f"{name!r} is no strip or block{so}; there are {there}{near}"
