"""Make the tally sheet that goes outdoors: how to count, a map a block, a box a plot."""

import itertools
import json
import math
from typing import Any

import geopandas as gpd
import pandas as pd

from clearing.property import Settings
from clearing.rates import Rates
from clearing.report import names, tally_words, words
from clearing.report.picture import PhotoPicture
from clearing.report.pressed import pressed
from clearing.report.tally_map import map_inches, plot_map

PAPER = {"us": "us-letter", "metric": "a4"}
MAP_WIDE_IN = {"us": 7.2, "metric": 6.95}
MAP_HIGHEST_IN = {"us": 7.6, "metric": 8.2}
FEW_SPECIES, BOXES_OF_FEW, BOXES_OF_MANY = 2, 3, 2  # boxes a page by how many species they hold
ROWS_OF_FEW, FREE_ROWS = 3, 1
PLACES = 6  # decimals of a degree: a tenth of a metre
COMPASS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
LONGEST_WORD, LONGEST_FOOT = 36, 32
BREAK_HERE = "\u200b"


def tally_sheet(
    placed: gpd.GeoDataFrame,
    blocks: gpd.GeoDataFrame,
    settings: Settings,
    rates: Rates,
    picture: PhotoPicture | None = None,
) -> bytes:
    """Return the tally sheet as PDF; the same plots give the same bytes.

    Parameters
    ----------
    placed : GeoDataFrame
        plot_id, block_id, radius_m, small_radius_m and small_below_cm (missing where the plot has
        one circle), order (walking order inside the block), geometry in the local grid.
    blocks : GeoDataFrame
        As ``walk/blocks``, in the same grid; those without a plot have no page.
    settings : Settings
        Name, units, targets.
    rates : Rates
        Size classes and cautions.
    picture : PhotoPicture or None
        The photo, pale under the maps.

    References
    ----------
    own reasoning
    """
    sheet = sheet_data(placed, blocks, settings, rates)
    files: dict[str, bytes | str] = {"sheet.json": json.dumps(sheet)}
    for page in sheet["blocks"]:
        own = blocks[blocks["block_id"].astype(str) == page["id"]]
        size = map_inches(own, MAP_WIDE_IN[settings.units], MAP_HIGHEST_IN[settings.units])
        files[page["map"]] = plot_map(own, _walk(placed, page["id"]), picture, settings.us, size)
    return pressed(("tally_sheet.typ",), files)


def sheet_data(
    placed: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, settings: Settings, rates: Rates
) -> dict[str, Any]:
    """Return all words of the sheet, page by page, ready for JSON.

    References
    ----------
    own reasoning
    """
    us = settings.us
    visited = blocks[blocks["block_id"].isin(placed["block_id"])]
    targets = [text.split() for text in visited["targets"].astype(str)]
    species = list(dict.fromkeys([*settings.targets, *(one for own in targets for one in own)]))
    return {
        "title": f"Tally sheet, {settings.name}",
        "paper": PAPER[settings.units],
        "property_name": _breakable(settings.name),
        "foot": _cut(settings.name),
        "lead": f"{_counted(len(placed), 'plot')} in {_counted(len(visited), 'block')}. What you "
        "count here tells how many stems there are, and how sure that is.",
        "steps": tally_words.steps(placed, us),
        "practice": tally_words.PRACTICE,
        "sizes": tally_words.size_words(rates.sizes, us),
        "species": tally_words.species_rows(species),
        "cautions": tally_words.cautions(rates),
        "back": tally_words.way_back(species, rates.sizes, settings),
        "files": tally_words.files(),
        "blocks": [
            _block(row, own, _walk(placed, row["block_id"]), settings, rates)
            for row, own in zip(visited.to_dict("records"), targets, strict=True)
        ],
    }


def size_columns(
    sizes: pd.DataFrame, below_cm: float | None, us: bool
) -> tuple[list[list[str]], list[list[str]]]:
    """Return the columns of the small and of the whole circle: thickness, and word or number.

    A size class that the break cuts gets a column on either side, which is typed by thickness.

    Parameters
    ----------
    sizes : DataFrame
        The handbook's size classes.
    below_cm : float or None
        Stems thinner than this belong to the small circle [cm]; none where there is no small one.
    us : bool
        Whether thickness is said in inches.

    References
    ----------
    own reasoning
    """
    small: list[list[str]] = []
    whole: list[list[str]] = []
    label, unit = ("label_us", "in") if us else ("label_metric", "cm")
    for row in sizes.to_dict("records"):
        low, high, word = float(row["dbh_low_cm"]), float(row["dbh_high_cm"]), str(row["word"])
        if high == 0:  # the label is the word
            word = f"under {tally_words.BREAST_HEIGHT['us' if us else 'metric']}"
        if below_cm is None or low >= below_cm - 1e-6:
            whole.append([str(row[label]), word or "measure"])
        elif high <= below_cm + 1e-6:
            small.append([str(row[label]), word or "measure"])
        else:
            edges = ((low, 2), (below_cm, 3), (high, 2))  # classes are named with two figures
            ends = [tally_words.thickness(cm, us, figures) for cm, figures in edges]
            last = row["size_class"] == sizes["size_class"].iloc[-1]
            above = f"over {ends[1]} {unit}" if last else f"{ends[1]}-{ends[2]} {unit}"
            under = f"{ends[0]}-{ends[1]} {unit}" if low else f"under {ends[1]} {unit}"
            small.append([under, "measure"])
            whole.append([above, "measure"])
    return small, whole


def _walk(placed: gpd.GeoDataFrame, block_id: str) -> gpd.GeoDataFrame:
    """Return the plots of a block in walking order."""
    own = placed[placed["block_id"].astype(str) == str(block_id)]
    return own.sort_values(["order", "plot_id"], kind="stable").reset_index(drop=True)


def _block(
    row: dict[str, Any],
    species: list[str],
    walk: gpd.GeoDataFrame,
    settings: Settings,
    rates: Rates,
) -> dict[str, Any]:
    """Return the words of one block: its map page and its boxes, page by page."""
    block_id, name = str(row["block_id"]), str(row["name"])
    species = species or list(settings.targets)
    few = len(species) <= FEW_SPECIES
    rows = [words.sentence(names.species_name(key)) for key in species]
    free = max(ROWS_OF_FEW - len(rows), FREE_ROWS) if few else FREE_ROWS
    boxes = _boxes(walk, rates.sizes, settings.us)
    per_page = BOXES_OF_FEW if few else BOXES_OF_MANY
    far = sum(one.distance(other) for one, other in itertools.pairwise(walk.geometry))
    way = f", about {words.length(far, settings.us)} on foot from first to last" if far else ""
    area = words.area(row["area_ha"], settings.us).words
    short = f"Block {block_id}" if name == block_id else f"Block {block_id} {name}"
    return {
        "id": block_id,
        "title": _breakable(short),
        "foot": _cut(short),
        "facts": f"{_counted(len(boxes), 'plot')} in {area}{way}",
        "map": f"map-{block_id.encode().hex()}.jpg",
        "alt": f"Map of block {block_id} with {_counted(len(boxes), 'plot')} in walking order",
        "rows": [_breakable(text) for text in rows] + [""] * free,
        "per_page": per_page,
        "pages": [boxes[i : i + per_page] for i in range(0, len(boxes), per_page)],
    }  # fmt: skip


def _boxes(walk: gpd.GeoDataFrame, sizes: pd.DataFrame, us: bool) -> list[dict[str, Any]]:
    """Return the box of each plot of a block."""
    degrees = walk.to_crs("EPSG:4326").geometry
    out = []
    for place, plot in enumerate(walk.itertuples()):
        large = tally_words.cord(float(plot.radius_m), us)
        nested = pd.notna(plot.small_radius_m) and pd.notna(plot.small_below_cm)
        below = float(plot.small_below_cm) if nested else None
        small, whole = size_columns(sizes, below, us)
        inner = tally_words.cord(float(plot.small_radius_m), us) if nested else ""
        heads = [[f"small circle, {inner}", small]] if small else []
        heads += [[f"whole circle, {large}", whole]] if whole else []
        point = degrees.iloc[place]
        before = walk.geometry.iloc[place - 1] if place else None
        out.append({
            "id": _breakable(str(plot.plot_id)),
            "stop": f"stop {place + 1} of {len(walk)}",
            "at": f"{point.y:.{PLACES}f}, {point.x:.{PLACES}f}",
            "way": _way(before, plot.geometry, place, us) if before is not None else "",
            "heads": [{"head": head, "columns": columns} for head, columns in heads],
        })  # fmt: skip
    return out


def _way(before: Any, here: Any, stop: int, us: bool) -> str:
    """Return how far and in which direction the plot lies from the stop before it."""
    far = before.distance(here)
    bearing = math.degrees(math.atan2(here.x - before.x, here.y - before.y)) % 360
    return f"{words.length(far, us)} {COMPASS[round(bearing / 45) % 8]} of stop {stop}"


def _counted(number: int, word: str) -> str:
    """Return a number of things in words: 1 plot, 2 plots."""
    return f"{number:,} {word}{'' if number == 1 else 's'}"


def _cut(text: str) -> str:
    """Return a name as it fits into the foot of a page."""
    plain = " ".join(text.split())
    return plain if len(plain) <= LONGEST_FOOT else f"{plain[: LONGEST_FOOT - 1]}…"


def _breakable(text: str) -> str:
    """Return a name whose over-long words may be broken at the end of a line."""
    return " ".join(
        word
        if len(word) <= LONGEST_WORD
        else BREAK_HERE.join(word[i : i + LONGEST_WORD] for i in range(0, len(word), LONGEST_WORD))
        for word in text.split()
    )
