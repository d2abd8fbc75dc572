"""Compare cells, and say what type of column holds them without loss."""

import json
import re
from datetime import date, datetime

import numpy as np
import pandas as pd
import shapely

from clearing.tables import cell_text

WHOLE = ("INTEGER", "INT", "MEDIUMINT", "SMALLINT", "TINYINT")
REAL = ("REAL", "DOUBLE", "FLOAT")
TIMES = {"DATE": r"\d{4}-\d\d-\d\d", "DATETIME": r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d.*"}
_NUMBER = re.compile(r"[-+]?(0|[1-9]\d*|(?=\.))(\.\d*)?(e[-+]?\d+)?", re.IGNORECASE)


def differing(one: pd.Series, two: pd.Series) -> np.ndarray:
    """Return which cells of two columns of one length say different things.

    A blank text and a missing cell say the same.

    References
    ----------
    own reasoning
    """
    if not len(one):
        return np.zeros(0, dtype=bool)
    first, second = (np.asarray(cells, dtype=object) for cells in (one, two))
    if any(isinstance(cell, shapely.Geometry) for cell in (*first, *second)):
        none = np.array([a is None and b is None for a, b in zip(first, second, strict=True)])
        return ~(shapely.equals_identical(first, second) | none)
    if (
        one.dtype == two.dtype
        and one.dtype != object
        and one.reset_index(drop=True).equals(two.reset_index(drop=True))
    ):
        return np.zeros(len(one), dtype=bool)
    return np.array([not _same(a, b) for a, b in zip(first, second, strict=True)], dtype=bool)


def column_type(cells: pd.Series, kind: str | None) -> str:
    """Return the type of a new column: by what the column is for, where its cells fit.

    Parameters
    ----------
    cells : Series
    kind : str or None
        As the column files say it, such as ``number``.

    References
    ----------
    own reasoning
    """
    filled = [cell for cell in cells if cell_text(cell)]
    numbers = all(isinstance(c, int | float | np.number) and not _yes_no(c) for c in filled)
    if kind is None and filled and numbers:
        kind = "integer" if all(_whole(cell) is not None for cell in filled) else "number"
    start = {"integer": "INTEGER", "number": "REAL"}.get(kind or "", "TEXT")
    return fitting_type(pd.Series(filled, dtype=object), start)


def fitting_type(cells: pd.Series, kind: str) -> str:
    """Return the type that a column must have to hold cells: its own, else a wider one.

    References
    ----------
    own reasoning
    """
    filled = [cell for cell in cells if cell_text(cell)]
    if kind in WHOLE and not all(_whole(cell) is not None for cell in filled):
        kind = "REAL" if all(_number(cell) is not None for cell in filled) else "TEXT"
    if kind in REAL and not all(_number(cell) is not None for cell in filled):
        kind = "TEXT"
    if kind in TIMES and not all(
        isinstance(cell, datetime | date) or re.fullmatch(TIMES[kind], str(cell)) for cell in filled
    ):
        kind = "TEXT"
    if kind == "BOOLEAN" and not all(_yes_no(cell) for cell in filled):
        kind = "TEXT"
    return kind


def stored(cell: object, kind: str) -> object:
    """Return a cell as a column of a type stores it; a blank is stored as nothing.

    References
    ----------
    own reasoning
    """
    if isinstance(cell, bytes):
        return cell
    if isinstance(cell, list | tuple | np.ndarray | dict):
        return json.dumps(cell.tolist() if isinstance(cell, np.ndarray) else cell)
    if cell_text(cell) == "":
        return None
    if isinstance(cell, str) and kind not in (*WHOLE, *REAL):
        return cell
    if kind in WHOLE:
        return _whole(cell)
    if kind in REAL:
        return _number(cell)
    if isinstance(cell, datetime | date):
        return _day(cell, kind)
    if _yes_no(cell) and kind != "BOOLEAN":
        return "yes" if cell else "no"
    return int(bool(cell)) if _yes_no(cell) else cell_text(cell)


def said_otherwise(meant: pd.Series, found: pd.Series) -> np.ndarray:
    """Return which cells, read back, do not say what was meant: 5 and "5" say the same.

    References
    ----------
    own reasoning
    """
    apart = differing(meant, found)
    for i in np.flatnonzero(apart):
        apart[i] = not _read_as(meant.iloc[i], found.iloc[i])
    return apart


def _same(one: object, two: object) -> bool:
    """Return whether two cells say the same."""
    if one is two:
        return True
    plain = str | int | float
    if isinstance(one, plain) and isinstance(two, plain) and one == two:
        return True
    if any(isinstance(cell, list | tuple | np.ndarray | dict) for cell in (one, two)):
        return cell_text(one) == cell_text(two) and type(one) is type(two)
    blank = [bool(pd.isna(cell)) or cell == "" for cell in (one, two)]
    return all(blank) if any(blank) else bool(one == two)


def _read_as(meant: object, found: object) -> bool:
    """Return whether a cell was read back as what was meant, in whichever type."""
    if isinstance(meant, shapely.Geometry) and isinstance(found, shapely.Geometry):
        parts = [shapely.get_parts(shape) for shape in (meant, found)]
        one, two = (p[0] if len(p) == 1 else s for p, s in zip(parts, (meant, found), strict=True))
        return bool(shapely.equals_identical(one, two))
    if isinstance(meant, list | tuple | np.ndarray | dict):
        return str(stored(meant, "TEXT")) == str(found)
    if isinstance(found, datetime | date) or isinstance(meant, datetime | date):
        try:
            one, two = pd.Timestamp(str(meant)), pd.Timestamp(str(found))
        except ValueError:
            return False
        return abs(one.tz_localize(None) - two.tz_localize(None)) < pd.Timedelta(milliseconds=1)
    if _yes_no(meant):
        return found == ("yes" if meant else "no")
    if isinstance(found, int | float | np.number) and _number(meant) is not None:
        near = 1e-6 if isinstance(found, np.float32) else 0.0
        return abs(float(found) - _number(meant)) <= near * abs(float(found))  # type: ignore[operator]
    return cell_text(meant) == cell_text(found)


def _yes_no(cell: object) -> bool:
    """Return whether a cell is a truth value."""
    return isinstance(cell, bool | np.bool_)


def _number(cell: object) -> float | None:
    """Return a cell as a number that says the same, none where there is none."""
    if _yes_no(cell):
        return None
    if isinstance(cell, str):  # 01 is a name and no number
        return float(cell) if _NUMBER.fullmatch(cell.strip()) else None
    if isinstance(cell, int | float | np.number) and np.isfinite(cell):
        return float(cell)
    return None


def _whole(cell: object) -> int | None:
    """Return a cell as a whole number that says the same, none where there is none."""
    if isinstance(cell, int | np.integer) and not _yes_no(cell):
        return int(cell)
    if isinstance(cell, str):
        plain = re.fullmatch(r"0|-?[1-9]\d*", cell.strip())
        return int(cell) if plain and len(cell) < 19 else None
    value = _number(cell)
    return int(value) if value is not None and value.is_integer() else None


def _day(when: datetime | date, kind: str) -> str:
    """Return a day or a time as a column of its type holds it."""
    if kind == "DATE" or not isinstance(when, datetime):
        return when.strftime("%Y-%m-%d")
    return when.strftime("%Y-%m-%dT%H:%M:%S.") + f"{when.microsecond // 1000:03d}Z"
