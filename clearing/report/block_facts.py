"""Put each block into words, and count the stems of the place."""

import math
from typing import Any

import pandas as pd

from clearing.property import Results
from clearing.report import names, words
from clearing.report.facts import (
    BlockFacts,
    SizeStems,
    SpeciesSizes,
    SpeciesStems,
    StripFacts,
)
from clearing.report.strip_facts import but_for, total_cost, total_hours
from clearing.report.visit_facts import plain_rows

BASIS = {
    "plots": "from plots counted in it",
    "one_plot": "from one plot counted in it and the spread among others of its kind",
    "photo": "from trees counted on the photo and blocks with plots; none was counted in it",
    "cover": "from its share of cover and the blocks with plots; none was counted in it",
    "kind": "from plots in blocks of its kind; none was counted in it",
    "guess": "from a guess; no plot was counted",
}
STOCK = {
    "beef": "beef cattle",
    "dairy": "dairy cattle",
    "horses": "horses",
    "sheep_goats": "sheep or goats",
}
WET = {"seasonal": "wet in season", "wet": "wet"}


def block_rows(results: Results, strips: list[StripFacts]) -> list[BlockFacts]:
    """Return the facts of every block, in the order of the blocks.

    References
    ----------
    own reasoning
    """
    by_block: dict[str, list[StripFacts]] = {}
    for strip in strips:
        by_block.setdefault(strip.block_id, []).append(strip)
    return [
        _block(row, results, tuple(by_block.get(row["block_id"], [])))
        for row in plain_rows(results.blocks.drop(columns="geometry"))
    ]


def stems_of(totals: pd.DataFrame, areas_ha: dict[str, float]) -> tuple[SpeciesStems, ...]:
    """Return stems by species on some blocks together, with their range.

    Errors of blocks with plots of their own are independent and add as squares; blocks reckoned
    from their kind or a guess err together and add straight.

    Parameters
    ----------
    totals : DataFrame
        block_id, species, stems_per_ha, low, high, basis; all size classes together.
    areas_ha : dict
        Block -> net area [ha]; other blocks are passed over.

    References
    ----------
    own reasoning
    """
    out = []
    inside = totals[totals["block_id"].isin(areas_ha)]
    for species, part in inside.groupby("species", sort=True):
        area = part["block_id"].map(areas_ha)
        value = float((part["stems_per_ha"] * area).sum())
        below = _spread((part["stems_per_ha"] - part["low"]) * area, part["basis"])
        above = _spread((part["high"] - part["stems_per_ha"]) * area, part["basis"])
        stems = words.stems(value, max(value - below, 0.0), value + above)
        key = str(species)
        out.append(SpeciesStems(key, names.species_name(key), names.latin_name(key), stems))
    return tuple(out)


def their_hours(results: Results, column: str = "", key: object = None) -> float:
    """Return a contractor's hours in the plan's visits, of one block or year where asked [h].

    References
    ----------
    own reasoning
    """
    visits = results.plan.visits
    if not len(visits):
        return 0.0
    own = visits[visits[column] == key] if column else visits
    return float(own["their_hours"].sum())


def sizes_of(
    stocking: pd.DataFrame, area_ha: float, classes: pd.DataFrame, us: bool
) -> tuple[SpeciesSizes, ...]:
    """Return the stems of a block by species and size class, each class with its own range.

    Parameters
    ----------
    stocking : DataFrame
        species, size_class, stems_per_ha, low, high of the block.
    area_ha : float
        Net area of the block [ha].
    classes : DataFrame
        The handbook's size classes, small to large.
    us : bool
        Whether sizes are said in inches.

    References
    ----------
    own reasoning
    """
    label = "label_us" if us else "label_metric"
    said = dict(zip(classes["size_class"], classes[label].astype(str), strict=True))
    out = []
    for species, part in stocking[stocking["size_class"].isin(said)].groupby("species", sort=True):
        stems = part.set_index("size_class")[["stems_per_ha", "low", "high"]] * area_ha
        rows = [SizeStems(size, said[size], words.stems(*stems.loc[size].tolist()))
                for size in said if size in stems.index]  # fmt: skip
        out.append(SpeciesSizes(str(species), names.species_name(str(species)), tuple(rows)))
    return tuple(out)


def _spread(half: pd.Series, basis: pd.Series) -> float:
    """Return the half width of a sum: squares for counted blocks, straight for the others."""
    counted = basis == "plots"
    return math.hypot(math.sqrt(float((half[counted] ** 2).sum())), float(half[~counted].sum()))


def _block(row: dict[str, Any], results: Results, strips: tuple[StripFacts, ...]) -> BlockFacts:
    """Return the facts of one block."""
    block, us = row["block_id"], results.property.settings.us
    totals = results.totals[results.totals["block_id"] == block]
    stocking = results.stocking[results.stocking["block_id"] == block]
    visits = [visit for strip in strips for visit in strip.visits if not visit.run_off]
    starts = [strip.start_year for strip in strips if strip.start_year is not None]
    ends = [strip.finish_year for strip in strips if strip.start_year is not None]
    done = None if not ends or None in ends else max(end for end in ends if end is not None)
    basis = str(totals["basis"].iloc[0]) if len(totals) else "guess"
    if basis == "plots" and int(totals["plots"].iloc[0]) == 1:
        basis = "one_plot"
    return BlockFacts(
        block_id=block,
        name=str(row["name"]),
        goal=names.plain(names.GOALS, row["goal"]),
        goal_key=row["goal"],
        area=words.area(row["area_ha"], us),
        stems=stems_of(totals, {block: row["area_ha"]}),
        sizes=sizes_of(stocking, row["area_ha"], results.rates.sizes, us),
        basis=names.plain(BASIS, basis),
        ground=_ground(row),
        priority=int(row["priority"]),
        hours=words.beside(total_hours(visits), their_hours(results, "block_id", block)),
        cost=total_cost(visits),
        first_year=min(starts) if starts else None,
        finish_year=done,
        summary=_block_sentence(strips, starts, done, results),
        strips=strips,
    )


def _ground(row: dict[str, Any]) -> str:
    """Return slope, wet ground, stock and hay of a block in words."""
    parts = [row["brush"], f"{words.said(row['slope_pct'])} % slope"]
    parts += [WET[row["wet"]]] if row["wet"] in WET else []
    parts += [f"grazed by {STOCK[row['stock']]}"] if row["stock"] in STOCK else []
    parts += ["cut for hay"] if row["hay"] in (True, "yes") else []
    return ", ".join(parts)


def _block_sentence(
    strips: tuple[StripFacts, ...], starts: list[int], done: int | None, results: Results
) -> str:
    """Return what happens in a block, in one sentence."""
    if not starts:
        return "Not in these years."
    waiting = len(strips) - len(starts)
    begun = f"Begun in {min(starts)}"
    last = results.property.settings.first_year + results.property.settings.years - 1
    stay = sum(strip.left_stems.value for strip in strips)
    stays = but_for(words.stems(stay, stay, stay))
    end = f"clear from {done} on{stays}" if done is not None else f"not all done by {last}"
    rest = f"; {waiting} of {len(strips)} strips not in these years" if waiting else ""
    return f"{begun}, {end}{rest}."
