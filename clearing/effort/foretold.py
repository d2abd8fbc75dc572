"""Add up the follow-ups of one plan as the evaluating forecast sees them."""

import pandas as pd

from clearing.effort.follow import follow_works
from clearing.effort.money import with_cost
from clearing.property import Settings
from clearing.rates import Rates


def follow_sums(
    futures: pd.DataFrame,
    methods: pd.DataFrame,
    place: pd.DataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return hours and cash of follow-ups and upkeep by strip and year, inside the plan's years.

    Parameters
    ----------
    futures : DataFrame
        As ``walk/futures``, one case a strip (`forecast.follow_through`).
    methods : DataFrame
        As ``walk/methods``.
    place : DataFrame
        As `places` gives it.
    rates : Rates
        Figures and recipes.
    settings : Settings
        Years, crew, money.

    Returns
    -------
    DataFrame
        strip_id, year, hours [h, a contractor's among them], cost [dollars of that year].

    References
    ----------
    own reasoning; each figure carries its own source
    """
    names = ["strip_id", "year", "hours", "cost"]
    last = settings.first_year + settings.years - 1
    ahead = futures[futures["year"].between(settings.first_year, last)]
    if not ahead["work"].isin(["follow_up", "upkeep"]).any():
        return pd.DataFrame(columns=names)
    works = follow_works(ahead, methods, place, rates, settings)
    priced = with_cost(works.assign(saw_hours=0.0), rates, settings)
    priced["hours"] += priced["their_hours"]
    return priced.groupby(["strip_id", "year"], as_index=False)[["hours", "cost"]].sum()
