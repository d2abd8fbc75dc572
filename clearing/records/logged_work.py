"""Add the rows of the log up by piece of work: strips, job, year."""

import numpy as np
import pandas as pd

from clearing.rates import Rates
from clearing.records.done import Done, season_of, strips_named
from clearing.records.jobs import job_key
from clearing.records.log import in_force
from clearing.tables import cell_text

COLUMNS = ["strips", "job", "year", "hours", "product_l", "stems", "rows", "finished", "said"]
SUMS = ("hours", "product_l", "stems")
SAME_JOB = {"upkeep": "follow_up"}  # one job in the hand: spots on what came back


def work_done(
    records: pd.DataFrame,
    strips: pd.DataFrame,
    done: Done,
    rates: Rates,
    running: tuple[int, str] = (0, ""),
) -> pd.DataFrame:
    """Return what each job took in each year, one row for the strips that were logged together.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``.
    strips : DataFrame
        strip_id, block_id, parts of strips among them.
    done : Done
        What was treated a first time: of a strip in parts a row means the parts begun in its year,
        else all that were begun by then.
    rates : Rates
        Seasons with their months.
    running : (int, str)
        Year and season that are not over: work without an area in it may go on.

    Returns
    -------
    DataFrame
        strips (tuple of strip_id), job, year, hours [h], product_l [l], stems (each missing where
        a row of it does not say), rows, finished (whether it is over), said (follow_up or upkeep,
        as all rows say; blank for other jobs and where they differ).

    References
    ----------
    own reasoning
    """
    season = season_of(rates)
    found: dict[tuple[object, ...], list[dict[str, object]]] = {}
    for row in in_force(records).to_dict("records"):
        job, date = job_key(row["job"]), pd.Timestamp(row["date"])
        named = strips_named(cell_text(row["strip_id"]), strips, done.parents)
        if not named or pd.isna(date):
            continue
        own = _meant(named, date.year, done)
        going = (date.year, season.get(date.month, "")) == running
        going = going and not _number(row.get("area_ha")) > 0
        key = (own, SAME_JOB.get(job, job), date.year)
        said = job if SAME_JOB.get(job, job) in SAME_JOB.values() else ""
        more = {"product_l": _product(row), "going": going, "said": said}
        found.setdefault(key, []).append({**row, **more})
    table = [
        (
            *key,
            *(_sum(rows, name) for name in SUMS),
            len(rows),
            not any(row["going"] for row in rows),
            _all_say(rows),
        )
        for key, rows in found.items()
    ]
    return pd.DataFrame(table, columns=COLUMNS)


def _meant(named: list[str], year: int, done: Done) -> tuple[str, ...]:
    """Return the strips that a row means: of a strip in parts those that were begun."""
    start = dict(zip(done.begun["strip_id"], done.begun["start_year"].astype(int), strict=True))
    own = [name for name in named if name not in done.parents]
    for parent in sorted({done.parents[name] for name in named if name in done.parents}):
        parts = [name for name in named if done.parents.get(name) == parent]
        fresh = [name for name in parts if start.get(name) == year]
        by_then = [name for name in parts if start.get(name, year + 1) <= year]
        own += fresh or by_then or parts
    return tuple(sorted(own))


def _number(cell: object) -> float:
    """Return a cell as a number, missing where it is none."""
    return float(pd.to_numeric(pd.Series([cell]), errors="coerce").iloc[0])


def _product(row: dict[str, object]) -> float:
    """Return the product of a row [l]: as written, else from mix and percent."""
    product = _number(row.get("product_l"))
    if np.isnan(product):
        product = _number(row.get("mix_l")) * _number(row.get("percent")) / 100.0
    return product


def _all_say(rows: list[dict[str, object]]) -> str:
    """Return the job that all rows say, blank where they differ."""
    said = {str(row["said"]) for row in rows}
    return said.pop() if len(said) == 1 else ""


def _sum(rows: list[dict[str, object]], name: str) -> float:
    """Return the sum of a column, missing where one row does not say."""
    return float(np.sum([_number(row.get(name)) for row in rows]))
