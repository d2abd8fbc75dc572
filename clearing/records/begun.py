"""Find the strips whose first treatment stands in the log before the plan begins."""

import pandas as pd

from clearing.rates import Rates
from clearing.records.herbicides import products_meant
from clearing.records.log import in_force
from clearing.tables import cell_text

COLUMNS = ["strip_id", "start_year", "season", "job", "herbicide"]


def begun_strips(
    records: pd.DataFrame,
    strips: pd.DataFrame,
    jobs: tuple[str, ...],
    first_year: int,
    rates: Rates,
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return the strips that the log says were treated before the plan, and a sentence for each.

    The first row of a first treatment counts as the treatment of the whole strip, or of all strips
    of a block; the sentence says so, since a log does not tell which part was left.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``.
    strips : DataFrame
        strip_id, block_id.
    jobs : tuple of str
        Jobs that are a first treatment.
    first_year : int
        First year of the plan.
    rates : Rates
        Seasons with their months; products in use.

    Returns
    -------
    DataFrame
        strip_id, start_year, season, job, herbicide (blank when the log names none in use).
    tuple of str

    References
    ----------
    own reasoning
    """
    force = in_force(records)
    season = {int(month): row.season for row in rates.seasons.itertuples() for month in row.months}
    rows = []
    for row in force.sort_values("date", kind="stable").to_dict("records"):
        job = cell_text(row["job"]).strip().lower().replace(" ", "_").replace("-", "_")
        date, place = pd.Timestamp(row["date"]), cell_text(row["strip_id"])
        if job not in jobs or date.year >= first_year:
            continue
        meant = products_meant(cell_text(row["herbicide"]), rates)
        own = strips[(strips["strip_id"] == place) | (strips["block_id"] == place)]
        rows += [
            (name, date.year, season.get(date.month, ""), job, meant[0] if len(meant) == 1 else "")
            for name in own["strip_id"]
        ]
    table = pd.DataFrame(rows, columns=COLUMNS).drop_duplicates("strip_id")
    return table.reset_index(drop=True), tuple(
        f"strip {row.strip_id}: the log says {row.job.replace('_', ' ')} in {row.start_year}, so "
        "the plan counts it as treated and plans what follows; if a part of it is still to do, "
        "draw that part as a strip of its own"
        for row in table.itertuples()
    )
