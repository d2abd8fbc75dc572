"""Check the owner's tables against the column files and bring them into metric."""

import difflib
import functools
import re
from collections.abc import Iterable
from importlib import resources
from typing import Any

import numpy as np
import pandas as pd
import shapely

from clearing.units import METRIC_TWIN, NOUGHT

YES = {"yes": True, "no": False, "true": True, "false": False, "1": True, "0": False}
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
ROW = "row"  # name of an index that holds each row's number in its file
FIRST_DAY, LAST_DAY = "1990-01-01", "2200-12-31"  # no day of a plan lies outside; own choice
DRAWN = {  # what a kind of shape is in plain words
    "Point": "a point", "MultiPoint": "several points", "LineString": "a line",
    "MultiLineString": "several lines", "LinearRing": "a line", "Polygon": "an area",
    "MultiPolygon": "several areas", "GeometryCollection": "several kinds of shape at once",
}  # fmt: skip
NOUNS = {  # what a row is to the owner, by its id
    "block_id": "block ", "strip_id": "strip ", "tree_id": "tree ", "plot_id": "plot ",
    "pin": "pin ",
}  # fmt: skip
_SHOWN = 5  # how many names a sentence lists before "and n more"
_LETTERS = 60  # of a name or cell that a sentence repeats; own choice


@functools.cache
def column_file(name: str, shelf: str = "owner") -> pd.DataFrame:
    """Return the description of one table: a row a column.

    Parameters
    ----------
    name : str
        Table, such as ``blocks``.
    shelf : str
        ``owner`` (what the owner brings), ``walk`` (between rooms) or ``out`` (what is written).

    Returns
    -------
    DataFrame
        column, kind, unit, required, minimum, maximum, choices, description; all text.

    References
    ----------
    own reasoning
    """
    path = resources.files("clearing") / "data" / "columns" / shelf / f"{name}.csv"
    with path.open(encoding="utf-8") as stream:
        return pd.read_csv(stream, dtype=str, keep_default_na=False)


def columns(name: str, shelf: str = "walk") -> list[str]:
    """Return the column names of one table, in order.

    References
    ----------
    own reasoning
    """
    return column_file(name, shelf)["column"].tolist()


def name_list(names: Iterable[object]) -> str:
    """Return names as a person would list them, cut after five.

    References
    ----------
    own reasoning
    """
    seen = [shortened(name) for name in names]
    more = f" and {len(seen) - _SHOWN} more" if len(seen) > _SHOWN else ""
    return ", ".join(seen[:_SHOWN]) + more


def shortened(text: object) -> str:
    """Return a text in one line, cut where it is longer than a sentence can repeat.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> shortened("a   b"), len(shortened("x" * 1000))
    ('a b', 60)
    """
    line = " ".join(str(text)[: 10 * _LETTERS].split())
    return line if len(line) <= _LETTERS else f"{line[: _LETTERS - 3]}..."


def rows_named(table: pd.DataFrame, id_column: str | None) -> pd.Series:
    """Return what to call each row: its id, else its row in the file (the headings are row 1).

    In a layer, which has no row of headings, rows are counted from 1.

    References
    ----------
    own reasoning
    """
    numbers = table.index if table.index.name == ROW else range(2, len(table) + 2)
    layer = "geometry" in table
    numbers = range(1, len(table) + 1) if layer else numbers
    where = " of the layer" if layer else ""
    lines = pd.Series([f"row {number}{where}" for number in numbers], index=table.index)
    if id_column is None or id_column not in table:
        return lines
    ids = table[id_column].map(cell_text)
    return ids.where(ids != "", lines)


def plain_name(column: str) -> str:
    """Return a name in small letters with underscores.

    References
    ----------
    own reasoning
    """
    return column.strip().lower().replace(" ", "_").replace("-", "_")


def did_you_mean(word: str, choices: Iterable[str]) -> str:
    """Return `` (did you mean 'x'?)`` for a near miss, else an empty text.

    References
    ----------
    own reasoning
    """
    known = {choice.lower(): choice for choice in choices}
    near = difflib.get_close_matches(word[:_LETTERS].lower(), list(known), n=1, cutoff=0.6)
    return f" (did you mean {known[near[0]]!r}?)" if near else ""


def check(table: pd.DataFrame, name: str) -> tuple[pd.DataFrame, list[str]]:
    """Return the owner's table with typed columns, and every problem found in it.

    Parameters
    ----------
    table : DataFrame
        As read: text cells (and a ``geometry`` column for layers), blank where nothing stands.
    name : str
        Which column file describes it.

    Returns
    -------
    DataFrame
        Described columns only, typed; blanks are missing; absent optional columns are added.
    list of str
        Problems, each naming row, value and what would be right. Empty when all is well.

    References
    ----------
    own reasoning
    """
    described = column_file(name)
    problems = _unknown_columns(table, described, name)
    ids = described.loc[described["kind"] == "id", "column"].tolist()
    own_id = ids[0] if ids and name != "tally" else None
    names = rows_named(table, own_id)
    called = names
    if own_id in table:
        own = table[own_id].map(cell_text) != ""
        called = names.where(~own, NOUNS.get(str(own_id), "") + names)
    typed = pd.DataFrame(index=table.index)
    for row in described.itertuples(index=False):
        if row.column not in table:
            if row.required == "yes":
                problems.append(f"{name}: column {row.column!r} is missing ({row.description})")
            typed[row.column] = pd.Series(pd.NA, index=table.index, dtype="object")
            continue
        values, found = _typed(table[row.column], row, called)
        typed[row.column] = values
        problems += [f"{name}: {problem}" for problem in found]
    if own_id is not None and own_id in table:
        twice = names[names.duplicated() & (called != names)].unique()
        if len(twice):
            problems.append(f"{name}: {own_id!r} is used twice: {name_list(twice)}")
    return typed, problems


def to_metric(table: pd.DataFrame) -> pd.DataFrame:
    """Return the table with each pair such as dbh_in and dbh_cm folded into the metric column.

    The metric value wins where both stand.

    References
    ----------
    nist_hb44
    """
    out = table.copy()
    for column in table.columns:
        stem, _, suffix = column.rpartition("_")
        if suffix not in METRIC_TWIN or not stem:
            continue
        metric, factor = METRIC_TWIN[suffix]
        twin = f"{stem}_{metric}"
        own = (pd.to_numeric(table[column], errors="coerce") - NOUGHT.get(suffix, 0.0)) * factor
        given = pd.to_numeric(out[twin], errors="coerce") if twin in out else None
        out[twin] = own if given is None else given.fillna(own)
        out = out.drop(columns=column)
    return out


def faulty_cells(table: pd.DataFrame, name: str) -> list[tuple[Any, str]]:
    """Return each cell of the owner's table that cannot be read: its row, and what would be right.

    Parameters
    ----------
    table : DataFrame
        As read: text cells, blank where nothing stands. Columns that are missing are passed over.
    name : str
        Which column file describes it; it holds no shapes.

    Returns
    -------
    list of (label, str)
        Label of the row in the table, and the sentence without the row's name.

    References
    ----------
    own reasoning
    """
    found: list[tuple[Any, str]] = []
    for row in column_file(name).itertuples(index=False):
        if row.column not in table:
            continue
        text = table[row.column].map(cell_text)
        blank = text == ""
        if row.required == "yes":
            said = f"{row.column!r} is blank; write it ({row.description})"
            found += [(label, said) for label in text.index[blank]]
        if blank.all():  # as most columns of a log are; a blank cell is never wrong
            continue
        _, wrong = _values(text, blank, row)
        found += [
            (label, f"{row.column!r} is {shortened(text[label])!r}; {_right(row, text[label])}")
            for label in text.index[wrong]
        ]
    return found


def cell_text(cell: Any) -> str:
    """Return a cell as its text: blank where missing, and 1 for a number column's 1.0.

    References
    ----------
    own reasoning
    """
    if isinstance(cell, (list, tuple, np.ndarray)):
        return " ".join(cell_text(each) for each in cell)
    if cell is None or pd.isna(cell):
        return ""
    whole = isinstance(cell, float) and cell.is_integer()
    return str(int(cell) if whole else cell).strip()


def _unknown_columns(table: pd.DataFrame, described: pd.DataFrame, name: str) -> list[str]:
    """Return a sentence for each near miss of a described column; other extras pass."""
    known = described["column"].tolist()
    absent = [column for column in known if column not in table]
    problems = []
    for column in [str(column) for column in table.columns if column not in known]:
        stem = plain_name(column).rpartition("_")[0]
        units = [c for c in known if c.rpartition("_")[0] in (stem, plain_name(column))]
        sized = {c for c in known if c.rpartition("_")[2] in (*METRIC_TWIN, "pct")} | _metric(known)
        units = [c for c in units if c in sized]
        near = did_you_mean(column, absent)
        if units and not set(units) - set(absent):
            problems.append(
                f"{name}: column {shortened(column)!r} has no unit that is read; write the figures "
                f"in {' or '.join(repr(each) for each in units)}"
            )
        elif near:
            problems.append(f"{name}: column {shortened(column)!r} is not known{near}")
    return problems


def _metric(known: list[str]) -> set[str]:
    """Return the metric columns among those that can be given in two units."""
    pairs = [column.rpartition("_") for column in known]
    return {f"{stem}_{METRIC_TWIN[unit][0]}" for stem, _, unit in pairs if unit in METRIC_TWIN}


def _typed(values: pd.Series, row: Any, names: pd.Series) -> tuple[pd.Series, list[str]]:
    """Return one column in its type and the problems of its cells."""
    if row.column == "geometry":
        return values, _geometry_problems(values, row.kind, names)
    text = values.map(cell_text)
    blank = text == ""
    problems = []
    if row.required == "yes" and blank.any():
        problems.append(f"{row.column!r} is blank in {name_list(names[blank])}")
    typed, wrong = _values(text, blank, row)
    for index in text[wrong].index[: _SHOWN + 1]:
        problems.append(
            f"{row.column!r} is {shortened(text[index])!r} in {shortened(names[index])}; "
            + _right(row, text[index])
        )
    hidden = int(wrong.sum()) - _SHOWN - 1
    if hidden > 0:
        problems.append(f"{row.column!r} is wrong in {hidden} more rows")
    return typed.mask(blank, pd.NA if typed.dtype == object else float("nan")), problems


def _values(text: pd.Series, blank: pd.Series, row: Any) -> tuple[pd.Series, pd.Series]:
    """Return the cells of one column in its type, and which of them cannot be read."""
    if row.kind in ("number", "integer"):
        return _numbers(text, row)
    if row.kind in ("choice", "yes_no"):
        return _choices(text, row)
    if row.kind == "date":
        good = (
            text.str.fullmatch(_DATE)
            & pd.to_datetime(text, format="%Y-%m-%d", errors="coerce").notna()
            & text.between(FIRST_DAY, LAST_DAY)
        )
        return text, ~good.astype(bool) & ~blank
    typed = text.str.lower().str.replace(" ", "_") if row.kind == "species" else text
    if row.kind == "id":  # a name stands in one line, whatever was typed
        typed = text.str.split().str.join(" ")
    return typed, pd.Series(False, index=text.index)


def _numbers(text: pd.Series, row: Any) -> tuple[pd.Series, pd.Series]:
    """Return numbers and which cells are none, or lie outside the column's range."""
    value = pd.to_numeric(text, errors="coerce")
    value = value.where(value.abs() != float("inf"))
    wrong = value.isna() & (text != "")
    if row.minimum:
        wrong |= value < float(row.minimum)
    if row.maximum:
        wrong |= value > float(row.maximum)
    if row.kind == "integer":
        wrong |= value.notna() & (value % 1 != 0)
    return value.astype(float), wrong


def _choices(text: pd.Series, row: Any) -> tuple[pd.Series, pd.Series]:
    """Return lower-case choices (booleans for yes_no) and which cells are none of them."""
    word = text.str.lower().str.replace(r"[\s-]+", "_", regex=True)
    if row.kind == "yes_no":
        return word.map(YES).astype(object), ~word.isin(YES) & (text != "")
    return word, ~word.isin(row.choices.split()) & (text != "")


def _right(row: Any, found: str) -> str:
    """Return what would be right in a cell of this column."""
    if row.kind == "choice":
        options = row.choices.split()
        return f"write one of {', '.join(options)}{did_you_mean(found, options)}"
    if row.kind == "yes_no":
        return "write yes or no"
    if row.kind == "date":
        years = f", from {FIRST_DAY} to {LAST_DAY}" if _DATE.fullmatch(found) else ""
        return f"write a day as YYYY-MM-DD{years}"
    kind = "a whole number" if row.kind == "integer" else "a number"
    if row.minimum and row.maximum:
        return f"write {kind} from {row.minimum} to {row.maximum}"
    return f"write {kind}" + (f" of {row.minimum} or more" if row.minimum else "")


def finite(shape: Any) -> bool:
    """Return whether all coordinates of a shape are numbers.

    References
    ----------
    own reasoning
    """
    return bool(np.isfinite(shapely.get_coordinates(shape)).all())


def _geometry_problems(values: pd.Series, kind: str, names: pd.Series) -> list[str]:
    """Return the problems of a geometry column: none, empty, or of another kind."""
    fits = {"polygon": ("Polygon", "MultiPolygon"), "point": ("Point", "MultiPoint")}.get(kind)
    needed = {"polygon": "an area", "point": "one point"}.get(kind)
    problems = []
    empty = values.isna() | values.map(lambda shape: shape is not None and shape.is_empty)
    if empty.any():
        problems.append(f"there is no shape for {name_list(names[empty])}; draw one")
    adrift = ~empty & values.map(lambda shape: shape is None or not finite(shape))
    if adrift.any():
        problems.append(
            f"{name_list(names[adrift])}: not all corners are numbers; draw the shape anew"
        )
    if fits:
        types = values[~empty].map(lambda shape: shape.geom_type)
        for index in types[~types.isin(fits)].index:
            drawn = DRAWN.get(types[index], types[index])
            problems.append(f"{names[index]} is drawn as {drawn}; {needed} is needed")
    return problems
