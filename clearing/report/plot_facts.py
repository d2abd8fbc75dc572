"""Say what was counted on each sample plot."""

from dataclasses import dataclass, field

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
    us = results.property.settings.us
    tally = _classed(results)
    groups = {str(plot): rows for plot, rows in tally.groupby("plot_id")}
    labels = _labels(results, us)
    block_names = dict(zip(results.blocks["block_id"], results.blocks["name"], strict=True))
    out = []
    for row in plain_rows(results.plots.drop(columns="geometry")):
        rows, visited = groups.get(str(row["plot_id"])), bool(row.get("visited"))
        block = blank(row.get("block_id"))
        out.append(
            PlotFacts(
                str(row["plot_id"]), block, str(block_names.get(block, block)),
                _circle(row, us), _counted(rows, visited, labels),
            )
        )  # fmt: skip
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


def _counted(rows: pd.DataFrame | None, visited: bool, labels: dict[str, str]) -> tuple[str, ...]:
    """Return what stood on a plot, a sentence a species and state."""
    if rows is None or not len(rows):
        return ("Visited, none found." if visited else "Not counted yet.",)
    keep = rows["keep"].eq(True).fillna(False).astype(bool)
    state = rows["status"].map(lambda one: STATES.get(blank(one), "")).mask(keep, "stay")
    counts = pd.to_numeric(rows["count"], errors="coerce").fillna(0)
    order = {label: place for place, label in enumerate(labels)}
    out = []
    for (species, how), own in rows.assign(state=state, many=counts).groupby(["species", "state"]):
        sums = own.groupby("size_class")["many"].sum()
        sums = sums[sums > 0].sort_index(key=lambda index: index.map(order))
        if not len(sums):
            continue
        parts = [_part(many, labels.get(str(size), str(size))) for size, many in sums.items()]
        said = f" ({how})" if how and how != "stay" else ", stays" if how else ""
        name = words.sentence(names.species_name(str(species)))
        out.append(f"{name}{said}: {sums.sum():g} ({', '.join(parts)}).")
    days = sorted({str(day)[:10] for day in rows.get("date", pd.Series()).dropna()})
    when = (f"Counted on {words.listed(days)}.",) if days else ()
    return (*(out or ["Visited, none found."]), *when)


def _part(many: float, label: str) -> str:
    """Return so many stems of a size: 6 of 1-3 in, 9 seedlings, 2 over 10 in."""
    if label[:1].isdigit():
        return f"{many:g} of {label}"
    return f"{many:g} {label}s" if label == "seedling" and many != 1 else f"{many:g} {label}"
