"""The season's log as a table that is only ever added to."""

from dataclasses import replace

import pandas as pd

from clearing.rates import APPLIED, Rates
from clearing.records.herbicides import products_meant, unknown_herbicides
from clearing.tables import cell_text


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
    replaced: set[str] = set()
    kept = []
    for row_id, gone in zip(records["record_id"][::-1], records["replaces"][::-1], strict=True):
        kept.append(cell_text(row_id) not in replaced)
        replaced |= {cell_text(gone)} - {""}
    return records[pd.Series(kept[::-1], index=records.index, dtype=bool)].reset_index(drop=True)


def lost_corrections(records: pd.DataFrame) -> list[str]:
    """Return a sentence for each row that replaces none of the rows before it, or one replaced.

    A row that was set aside because it cannot be read may be replaced too.

    References
    ----------
    own reasoning
    """
    ids, told = list(records.attrs.get("set_aside", ())), []
    done: dict[str, str] = {}
    for row in records.to_dict("records"):
        own, wanted = cell_text(row["record_id"]), cell_text(row["replaces"])
        if wanted and wanted not in ids:
            told.append(
                f"records.csv row {own}: 'replaces' is {wanted!r} and no row before it has this "
                "number, so it replaces nothing"
            )
        elif wanted and wanted in done:
            told.append(
                f"records.csv row {own}: 'replaces' is {wanted!r}, which row {done[wanted]} "
                f"replaces too, so both count; write {done[wanted]} if this row corrects that one"
            )
        done.setdefault(wanted, own)
        ids.append(own)
    return told


def sharpen(rates: Rates, records: pd.DataFrame) -> tuple[Rates, tuple[str, ...]]:
    """Return the rates that lie ahead, and what the report must say of the log.

    What the log says was put out counts against the label's sums of its year. Told, too, are rows
    whose herbicide is none of the products in use, and rows that replace nothing.

    References
    ----------
    own reasoning
    """
    force = in_force(records)
    if not len(force):
        return rates, ()
    one = len(force) == 1
    note = (
        f"{len(force)} row{' of records.csv is' if one else 's of records.csv are'} counted: what "
        f"{'it says' if one else 'they say'} was done is done, and what was put out counts against "
        "the label's sums of its year"
    )
    told = (note, *lost_corrections(records), *unknown_herbicides(force, rates))
    return replace(rates, applied=applied(records, rates)), told


def applied(records: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return what the log says was put out: place, year, herbicide (product in use), product [l].

    A row without an amount, or with a herbicide that is none of the products in use, counts as
    nothing, since nobody knows what it was.

    References
    ----------
    own reasoning
    """
    table = put_out(records, rates)
    return table.assign(year=table["day"].dt.year.astype(int))[APPLIED]


def put_out(records: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return what the log says was put out: place, day, herbicide (product in use), product [l].

    References
    ----------
    own reasoning
    """
    force = in_force(records)
    meant = [products_meant(cell_text(words), rates) for words in force["herbicide"]]
    table = pd.DataFrame(
        {
            "place": force["strip_id"].astype(str),
            "day": pd.to_datetime(force["date"]),
            "herbicide": [names[0] if len(names) == 1 else "" for names in meant],
            "product_l": force["product_l"].astype(float),
        }
    )
    known = (table["herbicide"] != "") & (table["product_l"] > 0)
    return table[known].reset_index(drop=True)
