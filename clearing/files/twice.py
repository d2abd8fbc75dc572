"""Say whether a layer that lies in a file of its own and in a land file too is the same in both."""

import numpy as np
import pandas as pd
import shapely

from clearing.errors import InputError
from clearing.files.layers import Source
from clearing.files.standing import layer_of
from clearing.tables import cell_text, check, to_metric

APART_M = 0.05  # corners of the same shape, saved in degrees and metres, differ by less; own choice
M_PER_DEGREE = 111_320.0  # of latitude, roughly: for the bound alone
ALIKE = 1e-5  # share by which a number in feet and in metres may differ; own choice
IDS = {"blocks": "block_id", "strips": "strip_id", "keep_trees": "tree_id", "plots": "plot_id"}


def second_places(source: Source, name: str) -> tuple[list[str], list[str]]:
    """Return remarks and problems of a layer that stands in other files than the one it is read of.

    Where all that another file says of it stands in the one that is read, nothing is lost, and a
    remark is enough. An empty layer says nothing.

    Parameters
    ----------
    source : Source
        The file of its own, and what lies beside it.
    name : str
        The layer, such as ``blocks``.

    Raises
    ------
    InputError
        One of the files cannot be read.

    References
    ----------
    own reasoning
    """
    remarks, problems = [], []
    for other in source.beside:
        own, land = source.path.name, other.path.name
        rows, lost = lost_rows(other, source, name)
        if lost:
            problems.append(
                f"{own} and {land} both hold it, and {lost} of the {rows} shapes in {land} "
                f"{'is' if lost == 1 else 'are'} not so in {own}; if {land} is right, move {own} "
                f"out of the folder; if {own} is, the first stroke on it in 'clearing draw' takes "
                "it into land.gpkg and keeps the files as they were in earlier"
            )
        elif rows:
            remarks.append(
                f"{own} and {land} both hold {name}; {own} is read, and all that {land} says of "
                f"{name} stands in it"
            )
    return remarks, problems


def told_on_the_page(source: Source, name: str) -> list[str]:
    """Return a sentence where the page shows a layer's own file and a land file says otherwise.

    References
    ----------
    own reasoning
    """
    told = []
    for other in source.beside:
        own, land = source.path.name, other.path.name
        try:
            _, lost = lost_rows(other, source, name)
        except InputError:  # what is read is told of
            continue
        if lost:
            told.append(
                f"{own} and {land} both hold {name} and differ: those of {own} are shown, and the "
                "first stroke on them takes them into land.gpkg; the files as they were go to "
                f"earlier. If {land} is right, move {own} out of the folder first."
            )
    return told


def lost_rows(other: Source, source: Source, name: str) -> tuple[int, int]:
    """Return how many rows a layer has in another file, and how many are not so in the one read.

    Rows go by their ids where all have one, else by their order.

    References
    ----------
    own reasoning
    """
    theirs = layer_of(other, name)[0]
    if not len(theirs):
        return 0, 0
    ours = layer_of(source, name)[0].to_crs(theirs.crs)
    bound = APART_M / (M_PER_DEGREE if theirs.crs.is_geographic else 1.0)
    (one, shapes), (two, beside) = (_plain(frame, name) for frame in (theirs, ours))
    at = _places(one, two, IDS.get(name, ""))
    there = at >= 0
    near = np.zeros(len(one), dtype=bool)
    if len(two):
        found = beside[np.where(there, at, 0)]
        with np.errstate(invalid="ignore"):
            near = shapely.hausdorff_distance(shapes, found) <= bound
        near |= shapely.is_missing(shapes) | shapely.is_empty(shapes)
    same = there & near
    for column in one.columns:
        cells = two[column] if column in two else pd.Series([""] * len(two))
        pairs = zip(one[column], at, strict=True)
        same &= [bool(n >= 0 and _alike(cell, cells.iloc[n])) for cell, n in pairs]
    return len(one), int((~same).sum())


def _plain(frame: pd.DataFrame, name: str) -> tuple[pd.DataFrame, np.ndarray]:
    """Return the described columns of a layer in metric, and its shapes."""
    typed, _ = check(pd.DataFrame(frame).reset_index(drop=True), name)
    metric = to_metric(typed).drop(columns="geometry", errors="ignore")
    return metric, frame.geometry.to_numpy()


def _places(one: pd.DataFrame, two: pd.DataFrame, key: str) -> np.ndarray:
    """Return for each row of a table the row of another that is meant, -1 where there is none."""
    if key in one and key in two:
        ids, wanted = (frame[key].map(cell_text) for frame in (two, one))
        if ids.is_unique and wanted.is_unique and (wanted != "").all():
            return np.asarray(pd.Index(ids).get_indexer(pd.Index(wanted)))
    order = np.arange(len(one))
    return np.where(order < len(two), order, -1)


def _alike(one: object, two: object) -> bool:
    """Return whether a cell says what another one says, or nothing."""
    first, second = cell_text(one), cell_text(two)
    if first in ("", second):
        return True
    try:
        return bool(np.isclose(float(first), float(second), rtol=ALIKE, atol=0.0))
    except ValueError:
        return False
