"""Tell the page what the tool makes of the land: strips, zones, stems, and the plan by year."""

from pathlib import Path
from typing import Any

import geopandas as gpd

from clearing import land, pipeline
from clearing.errors import InputError
from clearing.files.planned import read_plan
from clearing.property import Property
from clearing.report import look, words
from clearing.report.block_facts import BASIS, stems_of
from clearing.report.layers import label_place, shape_of, to_degrees, zone_shapes


def ground_known(place: Property) -> dict[str, Any]:
    """Return what is known of a property before it is planned, ready for JSON.

    Parameters
    ----------
    place : Property
        As `clearing.read` gives it.

    Returns
    -------
    dict
        ``strips``: id, block_id, name, shape, at (place of the name), area (words); ``zones``:
        flag, words, shape, at; ``stems``: words for the place and each block ("block 2: about
        3,000 stems (2,100 to 4,200) of Callery pear"), with block_id (blank for the place),
        species, value, low, high, basis; ``notes`` and ``left``: sentences as `pipeline.look`
        gives them. Shapes are lists of latitude and longitude in degrees.

    References
    ----------
    own reasoning
    """
    seen = pipeline.see(place)
    notes, left = pipeline.notes_on(place, seen)
    grid, us = seen.ground.grid.to_wkt(), place.settings.us
    return {
        "strips": _strips(seen.strips, grid, us),
        "zones": zone_shapes(seen.zones, grid),
        "stems": _stems(seen),
        "notes": list(notes),
        "left": left,
    }


def _strips(strips: gpd.GeoDataFrame, grid: str, us: bool) -> list[dict[str, Any]]:
    """Return the strips as the page draws and names them."""
    areas = strips["area_ha"].to_numpy(float) * 1e4
    layer = to_degrees(strips, grid).rename(columns={"name": "called"})
    return [
        {
            "id": str(row.strip_id), "block_id": str(row.block_id), "name": str(row.called),
            "shape": shape_of(row.geometry), "at": label_place(row.geometry),
            "area": land.area_words(area, us),
        }
        for row, area in zip(layer.itertuples(), areas, strict=True)
    ]  # fmt: skip


def _stems(seen: pipeline.Seen) -> list[dict[str, Any]]:
    """Return the stems of the place and of each block in words, with their range."""
    blocks, totals = seen.ground.blocks, seen.totals
    areas = dict(zip(blocks["block_id"].astype(str), blocks["area_ha"].astype(float), strict=True))
    wholes = [("", areas)] if len(areas) > 1 else []
    out = []
    for block_id, own in (*wholes, *((name, {name: area}) for name, area in areas.items())):
        rows = totals[totals["block_id"] == block_id].set_index("species")["basis"]
        for each in stems_of(totals, own):
            where = f"block {block_id}" if block_id else "all blocks"
            out.append({
                "block_id": block_id, "species": each.name, "value": each.stems.value,
                "low": each.stems.low, "high": each.stems.high,
                "basis": BASIS.get(str(rows.get(each.species, "")), ""),
                "words": words.sentence(f"{where}: {each.stems.words} of {each.name}"),
            })  # fmt: skip
    return out


def plan_known(home: Path) -> dict[str, Any] | None:
    """Return the plan that was written last as the page shows it, None when there is none.

    Parameters
    ----------
    home : Path
        The property's folder.

    Returns
    -------
    dict
        ``years``; ``headline``; ``strips``: id, block_id, name, shape, at, years (for each year
        state, years in that state, whether work is done, words); ``signs``: key, words, colour,
        pattern, outline of each state as the map has them; ``stale``: sentences on what changed
        since; ``problems``: why the plan cannot be shown (nothing else stands there then).

    References
    ----------
    own reasoning
    """
    try:
        planned = read_plan(home)
    except InputError as found:
        return {"problems": list(found.problems)}
    if planned is None:
        return None
    layer = planned.strips.to_crs("EPSG:4326").set_index("strip_id").geometry
    told = [strip for strip in planned.said["strips"] if strip["strip_id"] in layer.index]
    return {
        "problems": [],
        "headline": planned.said["property"]["headline"],
        "years": [row["year"] for row in planned.said["years"]],
        "signs": [
            {"key": sign.key, "words": sign.words, "colour": sign.colour,
             "pattern": sign.pattern, "outline": sign.outline}
            for sign in look.SIGNS
        ],
        "strips": [
            {
                "id": strip["strip_id"], "block_id": strip["block_id"], "name": strip["name"],
                "shape": shape_of(layer[strip["strip_id"]]),
                "at": label_place(layer[strip["strip_id"]]),
                "years": [
                    [year["state"], year["years_in_state"], int(year["work"]), year["words"]]
                    for year in strip["years"]
                ],
            }
            for strip in told
        ],
        "stale": list(planned.stale),
    }  # fmt: skip
