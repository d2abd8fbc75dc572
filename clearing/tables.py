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
_SHOWN = 5  # how many names a sentence lists before "and n more"


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
    seen = [str(name) for name in names]
    more = f" and {len(seen) - _SHOWN} more" if len(seen) > _SHOWN else ""
    return ", ".join(seen[:_SHOWN]) + more


def rows_named(table: pd.DataFrame, id_column: str | None) -> pd.Series:
    """Return what to call each row: its id, else its line in the file (header is line 1).

    References
    ----------
    own reasoning
    """
    lines = pd.Series([f"row {number + 2}" for number in range(len(table))], index=table.index)
    if id_column is None or id_column not in table:
        return lines
    ids = table[id_column].map(cell_text)
    return ids.where(ids != "", lines)


def did_you_mean(word: str, choices: Iterable[str]) -> str:
    """Return `` (did you mean 'x'?)`` for a near miss, else an empty text.

    References
    ----------
    own reasoning
    """
    near = difflib.get_close_matches(word.lower(), list(choices), n=1, cutoff=0.6)
    return f" (did you mean {near[0]!r}?)" if near else ""


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
    typed = pd.DataFrame(index=table.index)
    for row in described.itertuples(index=False):
        if row.column not in table:
            if row.required == "yes":
                problems.append(f"{name}: column {row.column!r} is missing ({row.description})")
            typed[row.column] = pd.Series(pd.NA, index=table.index, dtype="object")
            continue
        values, found = _typed(table[row.column], row, names)
        typed[row.column] = values
        problems += [f"{name}: {problem}" for problem in found]
    if own_id is not None and own_id in table:
        twice = names[names.duplicated() & ~names.str.startswith("row ")].unique()
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
        _, wrong = _values(text, blank, row)
        found += [
            (label, f"{row.column!r} is {text[label]!r}; {_right(row, text[label])}")
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
    for column in table.columns:
        near = did_you_mean(str(column), absent) if column not in known else ""
        if near:
            problems.append(f"{name}: column {str(column)!r} is not known{near}")
    return problems


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
            f"{row.column!r} is {text[index]!r} in {names[index]}; {_right(row, text[index])}"
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
        )
        return text, ~good.astype(bool) & ~blank
    typed = text.str.lower().str.replace(" ", "_") if row.kind == "species" else text
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
        return "write a day as YYYY-MM-DD"
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
    problems = []
    empty = values.isna() | values.map(lambda shape: shape is not None and shape.is_empty)
    if empty.any():
        problems.append(f"there is no shape for {name_list(names[empty])}; draw one")
    adrift = ~empty & values.map(lambda shape: shape is None or not finite(shape))
    if adrift.any():
        problems.append(f"{name_list(names[adrift])} has corners that are no numbers; draw it anew")
    if fits:
        types = values[~empty].map(lambda shape: shape.geom_type)
        for index in types[~types.isin(fits)].index:
            problems.append(f"{names[index]} is drawn as a {types[index]}; a {kind} is needed")
    return problems
