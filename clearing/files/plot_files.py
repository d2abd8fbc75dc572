"""Lay sample plots over a property and write what one takes outdoors."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing import land, report, survey
from clearing.files.photo import open_photo
from clearing.files.writing import write_files
from clearing.land.ground import PLOT_RADIUS_M
from clearing.property import Property, Settings
from clearing.rates import for_settings
from clearing.report.tally_sheet import tally_sheet
from clearing.tables import column_file
from clearing.units import CM_PER_IN, M_PER_FT

SMALL_RADIUS_M = 3.58909  # a hundredth of an acre for the small stems; own choice
SMALL_BELOW_CM = 2.54  # stems that count as small where nobody says; own choice


def lay_plots(
    place: Property, folder: str | Path, error: float, confidence: float,
    cv: float | None = None, add: bool = False,
) -> gpd.GeoDataFrame:  # fmt: skip
    """Return new sample plots, written as layer, phone file, tally sheet and tally into ``out``.

    Parameters
    ----------
    place : Property
        Blocks to lay plots over; its visited plots tell how uneven the ground is.
    folder : path
        The property's folder.
    error, confidence : float
        Wished half-width as a share of the mean, and how sure.
    cv : float, optional
        Coefficient of variation between plots to go by instead of what was counted.
    add : bool
        Lay only what is missing beside the plots that are drawn already.

    Returns
    -------
    GeoDataFrame
        plot_id, block_id, order, radius_m, small_radius_m, small_below_cm, geometry in degrees.

    References
    ----------
    cochran_1977, stevens_olsen_2004
    """
    settings, rates = place.settings, for_settings(place.settings)
    ground = land.lay_out(place, rates)
    sizes = _plot_sizes(settings)
    plot_ha = np.pi * sizes["radius_m"] ** 2 / 1e4
    counted = (ground.blocks, ground.plots, place.tally, rates)
    look = survey.first_look(*counted, plot_ha, cv)
    needed = survey.allocate_plots(look, error, confidence, plot_ha)
    number = (needed - look["drawn"]).clip(lower=0) if add else needed
    number.index = ground.blocks.index
    placed = survey.place_plots(
        ground.blocks, number, settings.seed, sizes["radius_m"], place.plots["plot_id"]
    ).assign(**sizes)
    photo = place.photo
    picture = report.photo_picture(*open_photo(photo)) if photo is not None else None
    new = _as_layer(placed, settings.us)
    every = pd.concat([_as_layer(place.plots, settings.us), new], ignore_index=True)
    outputs = {
        "new_plots.geojson": new.to_json(drop_id=True).encode(),
        "plots.geojson": every.to_json(drop_id=True).encode(),
        "new_plots.gpx": report.waypoints_gpx(placed, "plot_id").encode(),
        "new_tally.csv": (",".join(column_file("tally")["column"]) + "\n").encode(),
    }
    if len(placed):
        outputs["tally_sheet.pdf"] = tally_sheet(placed, ground.blocks, settings, rates, picture)
    write_files(outputs, folder)
    return placed.to_crs("EPSG:4326")


def _plot_sizes(settings: Settings) -> dict[str, float]:
    """Return the circles of new plots: the owner's own, else a tenth of an acre and a hundredth."""
    small, below = settings.small_radius_m, settings.small_below_cm
    if settings.plot_radius_m is None and small is None:
        small, below = SMALL_RADIUS_M, SMALL_BELOW_CM if below is None else below
    return {
        "radius_m": PLOT_RADIUS_M if settings.plot_radius_m is None else settings.plot_radius_m,
        "small_radius_m": np.nan if small is None else small,
        "small_below_cm": np.nan if small is None else (SMALL_BELOW_CM if below is None else below),
    }


def _as_layer(plots: gpd.GeoDataFrame, us: bool) -> gpd.GeoDataFrame:
    """Return plots as an owner keeps them: degrees, and sizes in the owner's units."""
    table = plots.to_crs("EPSG:4326")
    if us:
        units = {"radius": ("ft", M_PER_FT), "small_radius": ("ft", M_PER_FT)}
        units["small_below"] = ("in", CM_PER_IN)
        for stem, (unit, factor) in units.items():
            metric = f"{stem}_cm" if stem == "small_below" else f"{stem}_m"
            value = pd.to_numeric(table[metric], errors="coerce") / factor
            table[f"{stem}_{unit}"] = value.round(4)
            table = table.drop(columns=metric)
    if "visited" in table:
        words = table["visited"].map({True: "yes", False: "no"})
        table["visited"] = words.astype(object).where(words.notna(), None)
    return table
