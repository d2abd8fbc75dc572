"""Say how plots are counted, in plain steps: the words of the tally sheet's first page."""

import math
from typing import Any

import geopandas as gpd
import pandas as pd

from clearing import units
from clearing.property import Settings
from clearing.rates import Rates
from clearing.report import names
from clearing.report.words import listed, said

# cautions of the handbook that hold for whoever walks and counts
HANDBOOK_CAUTIONS = ("standing_dead", "reentry", "ticks_snakes", "thorns")
BEFORE = {"reentry": "Ground that was sprayed: "}
OWN_CAUTIONS = (
    "Look up at every stop: dead tops and hung limbs come down without warning. No counting under "
    "them, and none on a windy day (common practice, no published source).",
    "Stay two tree lengths away from a tree that is marked as a danger (29 CFR 1910.266).",
)
PRACTICE = "Slope, fork and edge are counted by common practice (no published source)."
BREAST_HEIGHT = {"us": "4.5 ft", "metric": "1.37 m"}
HALF_STEPS_IN = 2  # a tape round a stem is read to the half inch


def cord(metres: float, us: bool) -> str:
    """Return a radius as it is measured along a cord: feet and inches, or metres.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> cord(11.3497, True), cord(3.048, True), cord(11.3497, False)
    ('37 ft 3 in', '10 ft', '11.35 m')
    """
    if not us:
        return f"{metres:.2f} m"
    feet, inches = divmod(round(metres / units.M_PER_FT * 12), 12)
    return f"{feet} ft {inches} in" if inches else f"{feet} ft"


def thickness(centimetres: float, us: bool, figures: int = 3) -> str:
    """Return a diameter as a number in inches or centimetres.

    References
    ----------
    nist_hb44
    """
    return said(centimetres / units.CM_PER_IN if us else centimetres, figures)


def steps(placed: gpd.GeoDataFrame, us: bool) -> list[list[str]]:
    """Return how to count, step by step: what it is about, and what to do.

    Parameters
    ----------
    placed : GeoDataFrame
        radius_m, small_radius_m, small_below_cm of the plots; they say which circles there are.
    us : bool
        Whether lengths are in feet and inches.

    References
    ----------
    own reasoning; common_practice
    """
    return [
        ["Find the center", "Open new_plots.gpx in a map app on the phone: each plot is there by "
         "name. Walk the stops in the order of the map. Where the phone first says that you are "
         "there, push in a stake, and do not move it to an easier or a better spot: the plots "
         "tell the truth only where chance has put them."],
        ["Lay out the circle", f"Tie a cord to the stake and knot it {_knots(placed, us)}. Hold it "
         "level on a slope, not along the ground."],
        ["Count", _what_counts(placed, us)],
        ["Size is taken at breast height", "4.5 ft (1.37 m) above the ground, on the uphill side. "
         "Forked below breast height: two stems. Forked above it: one. A stem that does not "
         "reach breast height is a seedling."],
        ["On the edge", "A stem counts when its middle at breast height is inside the circle."],
        ["Over the block's edge", "Where the circle reaches over the edge of the block, count only "
         "what stands inside the block. The tool knows how much of the circle that is."],
        ["Nothing there", "Tick \u201cvisited, none found\u201d. A zero is a count and must be "
         "written down. Where you could not get to the plot, leave the box empty and say why in "
         "the notes."],
        ["Trees that stay, and dead ones", "Trees that stay go into the lower table, with their "
         "species and thickness (keep = yes). Dead stems of the species go into a free row, with "
         "the word dead beside the name (status = dead)."],
    ]  # fmt: skip


def _nested(placed: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the plots that have an inner circle."""
    return placed[placed["small_radius_m"].notna() & placed["small_below_cm"].notna()]


def _knots(placed: gpd.GeoDataFrame, us: bool) -> str:
    """Return where the cord is knotted, from the stake."""
    large = sorted({cord(float(one), us) for one in placed["radius_m"]})
    small = sorted({cord(float(one), us) for one in _nested(placed)["small_radius_m"]})
    if len(large) == 1 and not small:
        return f"at {large[0]} from the stake"
    if len(large) == len(small) == 1 and len(_nested(placed)) == len(placed):
        return f"twice, at {small[0]} (small circle) and at {large[0]} (whole circle)"
    return "at the lengths that stand in the box of the plot; they are not the same everywhere"


def _what_counts(placed: gpd.GeoDataFrame, us: bool) -> str:
    """Return which stems count where."""
    text = "Every living stem of the species named here gets a stroke in the column of its size."
    nested = _nested(placed)
    if not len(nested):
        return text
    unit = "in" if us else "cm"
    breaks = {f"{thickness(float(one), us)} {unit}" for one in nested["small_below_cm"]}
    which = breaks.pop() if len(breaks) == 1 else "the thickness named in the box"
    where = "" if len(nested) == len(placed) else " In a box with two circles:"
    return (
        f"{text}{where} stems under {which} only inside the small circle; stems of {which} and "
        "more in the whole circle, the small one included."
    ).replace(". stems", ". Stems")


def size_words(sizes: pd.DataFrame, us: bool) -> list[list[str]]:
    """Return for each size class its word, its thickness, and the tape round the stem.

    The tape reads pi times the thickness, said to the half inch or the centimetre.

    References
    ----------
    own reasoning
    """
    label = "label_us" if us else "label_metric"
    rows = []
    for row in sizes.to_dict("records"):
        low, high = float(row["dbh_low_cm"]), float(row["dbh_high_cm"])
        last = row["size_class"] == sizes["size_class"].iloc[-1]
        if high == 0:
            across, round_it = f"shorter than {BREAST_HEIGHT['us' if us else 'metric']}", ""
        else:
            ends = (_tape(low, us), _tape(high, us))
            unit = "in" if us else "cm"
            if last:
                round_it = f"over {ends[0]} {unit}"
            else:
                round_it = f"{ends[0]} to {ends[1]} {unit}" if low else f"under {ends[1]} {unit}"
            across = str(row[label])
        rows.append([str(row["word"]) or "no word: measure it", across, round_it])
    return rows


def _tape(centimetres: float, us: bool) -> str:
    """Return what a tape round a stem of this diameter reads."""
    if us:
        return f"{round(math.pi * centimetres / units.CM_PER_IN * HALF_STEPS_IN) / HALF_STEPS_IN:g}"
    return f"{math.pi * centimetres:.0f}"


def cautions(rates: Rates) -> list[str]:
    """Return what to mind while counting, most grave first.

    References
    ----------
    osha_1910_266, common_practice; the handbook's own carry their source
    """
    known = dict(zip(rates.cautions["caution"], rates.cautions["text"], strict=True))
    told = [_joined(BEFORE.get(key, ""), known[key]) for key in HANDBOOK_CAUTIONS if key in known]
    return [*OWN_CAUTIONS, *told]


def _joined(before: str, text: str) -> str:
    """Return a sentence behind its beginning."""
    return f"{before}{text[:1].lower()}{text[1:]}" if before else text


def way_back(species: list[str], sizes: pd.DataFrame, settings: Settings) -> list[list[str]]:
    """Return column by column what is typed into tally.csv.

    References
    ----------
    own reasoning
    """
    us = settings.us
    column, last = ("dbh_in" if us else "dbh_cm"), sizes.iloc[-1]
    label = str(last["label_us" if us else "label_metric"])
    middle = thickness(float(last["mid_cm"]), us)
    keys = listed([f"{key} for {names.species_name(key)}" for key in species])
    return [
        ["plot_id", "the name at the head of the box"],
        ["species", f"{keys}; other trees by their common name with underscores"],
        [f"{column} or size", "the thickness where it was measured, else the word at the head of "
         f"the column; where the head says measure, {column} from inside the column ({label}: "
         f"{middle} where nobody measured)"],
        ["count", "the number of stems"],
        ["keep", "yes for trees that stay, else blank"],
        ["status", "dead, resprout or new; blank is live"],
        ["date", "year-month-day, such as 2027-03-09"],
        ["none found", "one line with count 0 and size seedling; a plot with no line at all does "
         "not count as a zero"],
    ]  # fmt: skip


def files() -> list[list[str]]:
    """Return the files that belong to the sheet, in the property's folder.

    References
    ----------
    own reasoning
    """
    return [
        ["out/new_plots.gpx", "the plots for the phone"],
        ["out/plots.geojson", "the layer plots, old and new: copy it beside property.toml"],
        ["out/new_tally.csv", "an empty table with these heads; type here, save as tally.csv"],
    ]


def species_rows(species: list[str]) -> list[dict[str, Any]]:
    """Return common and Latin name of each species that is counted.

    References
    ----------
    own reasoning
    """
    return [{"name": names.species_name(key), "latin": names.latin_name(key)} for key in species]
