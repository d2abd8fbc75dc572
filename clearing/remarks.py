"""Say what does not fit together in what the owner brought."""

import pandas as pd
import shapely

from clearing import land, records, zones
from clearing.property import GRASS_GOALS, Property
from clearing.rates import Rates
from clearing.tables import name_list

OVER_M2 = 20.0  # ground over the property line that is taken for a slip of the hand; own choice
SHARED_M2 = 20.0  # ground that two of the owner's strips share by a slip of the hand; own choice


def what_to_mind(
    place: Property,
    ground: land.Ground,
    strips: pd.DataFrame,
    offers: pd.DataFrame,
    rates: Rates,
) -> tuple[str, ...]:
    """Return sentences for what does not fit together in what the owner brought.

    Parameters
    ----------
    place : Property
        As `clearing.read` gives it.
    ground : Ground
        The layers in their grid.
    strips, offers : DataFrame
        As ``walk/strips`` and ``walk/offers``.
    rates : Rates
        Figures.

    References
    ----------
    own reasoning
    """
    parts = [str(name).rpartition("-")[0] for name in strips["strip_id"]]
    places = [*ground.blocks["block_id"], *strips["strip_id"], *parts]
    return (
        *place.notes,
        *over_the_line(ground, place.settings.us),
        *shared_strips(ground, place.settings.us),
        *said_of(offers),
        *records.unknown_places(place.records, places),
        *lost_blocks(place),
        *too_steep(ground, rates),
        *lost_wishes(place),
    )


def over_the_line(ground: land.Ground, us: bool) -> tuple[str, ...]:
    """Return a sentence for each block that reaches over a closed property line.

    References
    ----------
    own reasoning
    """
    theirs = zones.beyond_the_line(ground.features, ground.blocks.geometry)
    if theirs is None:
        return ()
    area = ground.blocks.intersection(theirs).area
    return tuple(
        f"block {name}: {land.area_words(over, us)} lie on the neighbor's side of the property "
        "line as drawn; draw one of them anew, or settle with the neighbor before any work there"
        for name, over in zip(ground.blocks["block_id"], area, strict=True)
        if over > OVER_M2
    )


def shared_strips(ground: land.Ground, us: bool) -> tuple[str, ...]:
    """Return a sentence for each of the owner's strips that an earlier one takes ground from.

    References
    ----------
    own reasoning
    """
    said = []
    for block, drawn in ground.strips.groupby("block_id", sort=True):
        shape = ground.blocks.loc[ground.blocks["block_id"] == block, "geometry"].union_all()
        names = drawn["strip_id"].astype(str).tolist()
        areas = shapely.intersection(shapely.make_valid(drawn.geometry.to_numpy()), shape)
        for at, own in enumerate(areas):
            common = shapely.area(shapely.intersection(areas[:at], own))
            others = [name for name, area in zip(names, common, strict=False) if area > SHARED_M2]
            if not others:
                continue
            lost = shapely.intersection(own, shapely.union_all(areas[:at])).area
            whole = lost > own.area - SHARED_M2
            said.append(
                f"strip {names[at]}: {'all' if whole else land.area_words(lost, us)} of it lies in "
                f"{name_list(others)}, which {'comes' if len(others) == 1 else 'come'} first and "
                f"{'keeps' if len(others) == 1 else 'keep'} that ground; "
                + ("it is no strip; " if whole else "")
                + "draw them beside each other"
            )
    return tuple(said)


def said_of(offers: pd.DataFrame) -> tuple[str, ...]:
    """Return a sentence for each measure that the owner gave, whether it helped or not.

    References
    ----------
    own reasoning
    """
    asked = offers[(offers["measure"] != "ground") & (offers["estimator"] == "ratio")]
    return tuple(
        f"{row.why}; {'used for blocks without plots' if row.helps else 'not used'}"
        for row in asked.itertuples()
    )


def too_steep(ground: land.Ground, rates: Rates) -> tuple[str, ...]:
    """Return a sentence for each block of grass on which no mowing is planned for its slope.

    References
    ----------
    own reasoning
    """
    most = rates.figure("any", "mow_most_slope_pct").value
    return tuple(
        f"block {row.block_id} has a slope of {row.slope_pct:g} %: from {most:g} % on no mowing is "
        "planned, since the machine's manual decides there; it counts as ready when it is clear"
        for row in ground.blocks.itertuples()
        if row.goal in GRASS_GOALS and row.slope_pct >= most
    )


def lost_blocks(place: Property) -> tuple[str, ...]:
    """Return a sentence for each block that a cost-share program names and the land has not.

    References
    ----------
    own reasoning
    """
    known = sorted(place.blocks["block_id"].astype(str))
    return tuple(
        f"[[cost_share]] {program['name']} names block {name}, which is not drawn; "
        f"blocks are {name_list(known)}"
        for program in place.settings.cost_share
        for name in program.get("blocks") or ()  # type: ignore[attr-defined]
        if str(name) not in known
    )


def lost_wishes(place: Property) -> tuple[str, ...]:
    """Return a sentence for each block that an order wish names and the land has not.

    References
    ----------
    own reasoning
    """
    known = sorted(place.blocks["block_id"].astype(str))
    named = sorted({name for pair in place.settings.before for name in pair} - set(known))
    return tuple(
        f"[plan] before names block {name}, which is not drawn, so this wish is not weighed; "
        f"blocks are {name_list(known)}"
        for name in named
    )
