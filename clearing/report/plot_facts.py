"""Say what was counted on each sample plot."""

from dataclasses import dataclass, field
from typing import cast

import pandas as pd

from clearing import survey
from clearing.property import Results
from clearing.report import names, words
from clearing.report.tally_words import thickness
from clearing.report.visit_facts import blank, plain_rows

STATES = {"dead": "dead", "resprout": "resprouts", "new": "new"}
NEEDED = ("plot_id", "species", "dbh_cm", "size", "count", "keep", "status")


@dataclass(frozen=True)
class PlotFacts:
    """One sample plot and what was counted there."""

    plot_id: str = field(metadata={"description": "Plot"})
    block_id: str = field(metadata={"description": "Block"})
    block_name: str = field(metadata={"description": "Name of the block"})
    circle: str = field(metadata={"description": "How large the circle is, in one sentence"})
    counted: tuple[str, ...] = field(metadata={"description": "What stood there, in sentences"})


def plot_facts(results: Results) -> tuple[PlotFacts, ...]:
    """Return every plot with what was counted there, in the order of the plots.

    References
    ----------
    own reasoning
    """
    if "plot_facts" not in results.kept:
        results.kept["plot_facts"] = _made(results)
    return cast(tuple[PlotFacts, ...], results.kept["plot_facts"])


def _made(results: Results) -> tuple[PlotFacts, ...]:
    """Return every plot with what was counted there."""
    us = results.property.settings.us
    counted = _counted(_classed(results), _labels(results, us))
    block_names = dict(zip(results.blocks["block_id"], results.blocks["name"], strict=True))
    out = []
    for row in plain_rows(results.plots.drop(columns="geometry")):
        plot, block = str(row["plot_id"]), blank(row.get("block_id"))
        none = "Visited, none found." if row.get("visited") else "Not counted yet."
        told = counted.get(plot, (none,))
        out.append(
            PlotFacts(plot, block, str(block_names.get(block, block)), _circle(row, us), told)
        )
    return tuple(out)


def _labels(results: Results, us: bool) -> dict[str, str]:
    """Return the words for each size class in the owner's units."""
    sizes = results.rates.sizes
    return dict(zip(sizes["size_class"], sizes["label_us" if us else "label_metric"], strict=True))


def _classed(results: Results) -> pd.DataFrame:
    """Return the tally with the size class of each row; no rows where nothing was counted."""
    tally = results.property.tally
    if not set(NEEDED) <= set(tally.columns):
        return pd.DataFrame(columns=[*NEEDED, "date", "size_class"])
    return tally.assign(size_class=survey.size_class_of(tally, results.rates.sizes))


def _circle(row: dict[str, object], us: bool) -> str:
    """Return how large the plot is."""
    radius, small = (pd.to_numeric(row.get(key)) for key in ("radius_m", "small_radius_m"))
    said = f"A circle of {words.length(float(radius), us)} round the stake"
    below = pd.to_numeric(row.get("small_below_cm"))
    if pd.isna(small) or pd.isna(below):
        return f"{said}."
    limit = f"{thickness(float(below), us)} {'in' if us else 'cm'}"
    return f"{said}; stems under {limit} within {words.length(float(small), us)} of it."


def _counted(tally: pd.DataFrame, labels: dict[str, str]) -> dict[str, tuple[str, ...]]:
    """Return what stood on each plot that has rows, a sentence a species and state."""
    keep = tally["keep"].eq(True).fillna(False).astype(bool)
    rows = pd.DataFrame({
        "plot": tally["plot_id"].astype(str), "species": tally["species"].astype(str),
        "state": tally["status"].map(lambda one: STATES.get(blank(one), "")).mask(keep, "stay"),
        "size": tally["size_class"].astype(str),
        "many": pd.to_numeric(tally["count"], errors="coerce").fillna(0),
    })  # fmt: skip
    order = {label: place for place, label in enumerate(labels)}
    sums = rows.groupby(["plot", "species", "state", "size"])["many"].sum()
    sums = sums[sums > 0].reset_index()
    sums["order"] = sums["size"].map(order).fillna(len(order))
    sums = sums.sort_values(["plot", "species", "state", "order"], kind="stable")
    stood: dict[str, dict[tuple[str, str], list[tuple[str, float]]]] = {}
    for plot, species, state, size, many in sums.drop(columns="order").itertuples(index=False):
        kinds = stood.setdefault(plot, {})
        kinds.setdefault((species, state), []).append((labels.get(size, size), many))
    days: dict[str, set[str]] = {}
    for plot, day in zip(rows["plot"], tally.get("date", pd.Series(index=tally.index, dtype=str)),
                         strict=True):  # fmt: skip
        days.setdefault(plot, set()).update({str(day)[:10]} if pd.notna(day) else ())
    return {
        plot: (
            *([_stood(kind, sizes) for kind, sizes in stood.get(plot, {}).items()]
              or ["Visited, none found."]),
            *((f"Counted on {words.listed(sorted(when))}.",) if when else ()),
        )
        for plot, when in days.items()
    }  # fmt: skip


def _stood(kind: tuple[str, str], sizes: list[tuple[str, float]]) -> str:
    """Return what stood of one species in one state, in a sentence."""
    species, state = kind
    said = f" ({state})" if state and state != "stay" else ", stays" if state else ""
    name = words.sentence(names.species_name(species))
    parts = ", ".join(_part(many, label) for label, many in sizes)
    return f"{name}{said}: {sum(many for _, many in sizes):g} ({parts})."


def _part(many: float, label: str) -> str:
    """Return so many stems of a size: 6 of 1-3 in, 9 seedlings, 2 over 10 in."""
    if label[:1].isdigit():
        return f"{many:g} of {label}"
    return f"{many:g} {label}s" if label == "seedling" and many != 1 else f"{many:g} {label}"
