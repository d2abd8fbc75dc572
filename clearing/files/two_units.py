"""Name the cells of the owner's tables that say one amount in two units, and not the same."""

import pandas as pd

from clearing.tables import column_file, name_list, rows_named
from clearing.units import METRIC_TWIN, NOUGHT

ALIKE = 0.05  # share by which an amount in two units may differ by rounding; own choice
SMALL = 0.05  # the same in the metric unit, for small amounts; own choice


def unlike_units(table: pd.DataFrame, name: str) -> list[str]:
    """Return a problem for each pair of columns, such as dbh_in and dbh_cm, whose cells differ.

    Parameters
    ----------
    table : DataFrame
        The owner's table, checked and typed.
    name : str
        Which column file describes it.

    References
    ----------
    own reasoning
    """
    described = column_file(name)
    ids = described.loc[described["kind"] == "id", "column"].tolist()
    names = rows_named(table, ids[0] if ids and name != "tally" else None)
    problems = []
    for column in described["column"]:
        stem, _, unit = column.rpartition("_")
        twin = f"{stem}_{METRIC_TWIN[unit][0]}" if unit in METRIC_TWIN and stem else ""
        if column not in table or twin not in table:
            continue
        own, metric = (pd.to_numeric(table[each], errors="coerce") for each in (column, twin))
        same = (own - NOUGHT.get(unit, 0.0)) * METRIC_TWIN[unit][1]
        apart = (same - metric).abs() > (ALIKE * metric.abs()).clip(lower=SMALL)
        if apart.any():
            first = apart.idxmax()
            problems.append(
                f"{name}: {name_list(names[apart].map(str))}: {column!r} and {twin!r} are not the "
                f"same ({own[first]:g} and {metric[first]:g} in the first); keep one of them"
            )
    return problems
