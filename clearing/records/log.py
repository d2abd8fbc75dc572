"""The season's log as a table that is only ever added to."""

from dataclasses import replace

import pandas as pd

from clearing.rates import APPLIED, Rates


def in_force(records: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of the log that no later row replaces.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``.

    References
    ----------
    own reasoning
    """
    replaced = set(records["replaces"].dropna().astype(str))
    return records[~records["record_id"].astype(str).isin(replaced)].reset_index(drop=True)


def new_row(header: list[str], records: pd.DataFrame, given: dict[str, object]) -> dict[str, str]:
    """Return a row of the log as text, with the next number; what was not given stays blank.

    Parameters
    ----------
    header : list of str
        Columns of the file.
    records : DataFrame
        The log so far.
    given : dict
        Column -> value.

    References
    ----------
    own reasoning
    """
    numbers = pd.to_numeric(records["record_id"], errors="coerce")
    last = int(numbers.max()) if numbers.notna().any() else 0
    row = dict.fromkeys(header, "")
    row |= {key: "" if value is None else str(value) for key, value in given.items()}
    row["record_id"] = str(last + 1)
    return row


def sharpen(rates: Rates, records: pd.DataFrame) -> tuple[Rates, tuple[str, ...]]:
    """Return the rates that lie ahead, and what the report must say of the log.

    What the log says was put out counts against the label's sums of its year. The log does not yet
    change the handbook's paces and kills; the note says so.

    References
    ----------
    own reasoning
    """
    rows = len(in_force(records))
    if not rows:
        return rates, ()
    note = (
        f"{rows} rows of records.csv are kept as the record and what they say was put out counts "
        "against the label's sums of its year; the plan does not yet learn paces and kills from "
        "them"
    )
    return replace(rates, applied=applied(records)), (note,)


def applied(records: pd.DataFrame) -> pd.DataFrame:
    """Return what the log says was put out: place, year, herbicide, product [l].

    A row without an amount or a herbicide counts as nothing, since nobody knows what it was.

    References
    ----------
    own reasoning
    """
    force = in_force(records)
    year = pd.to_datetime(force["date"]).dt.year
    table = pd.DataFrame(
        {
            "place": force["strip_id"].astype(str),
            "year": year.astype(int),
            "herbicide": force["herbicide"].fillna("").astype(str),
            "product_l": force["product_l"].astype(float),
        }
    )
    known = (table["herbicide"] != "") & (table["product_l"] > 0)
    return table[known].reset_index(drop=True)[APPLIED]
