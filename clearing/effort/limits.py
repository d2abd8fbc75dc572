"""Hold every option to the label's limits of a year and of an application."""

from typing import Any

import pandas as pd

from clearing.rates import Rates
from clearing.treatment import known_products, label_limits
from clearing.units import KG_HA_PER_LB_AC


def over_limit(visits: pd.DataFrame, place: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return the options that put more on a hectare than the label's limit, with the clause.

    The sum of a year counts the densest zone of each visit together: rather too much than too
    little.

    Parameters
    ----------
    visits : DataFrame
        option_id, strip_id, method_id, year, herbicide, ae_kg_per_ha.
    place : DataFrame
        Strips with their goal, indexed by strip_id.
    rates : Rates
        Products and limits.

    Returns
    -------
    DataFrame
        option_id, sentence.

    References
    ----------
    own reasoning; each limit carries its own source
    """
    products = {known.name: known.product for known in known_products(rates)}
    sprayed = visits[visits["herbicide"].isin(products) & (visits["ae_kg_per_ha"] > 0)]
    sprayed = sprayed.assign(goal=sprayed["strip_id"].map(place["goal"]))
    keys = ["option_id", "strip_id", "method_id", "year", "herbicide", "goal"]
    measures = {
        "year": sprayed.groupby(keys, as_index=False)["ae_kg_per_ha"].sum(),
        "application": sprayed.groupby(keys, as_index=False)["ae_kg_per_ha"].max(),
    }
    found = []
    pairs = sprayed[["herbicide", "goal"]].drop_duplicates().itertuples(index=False)
    for herbicide, goal in pairs:
        for limit in label_limits(products[herbicide], goal, rates):
            rows = measures[limit.per]
            mine = (rows["herbicide"] == herbicide) & (rows["goal"] == goal)
            over = rows[mine & (rows["ae_kg_per_ha"] > limit.kg_ha * (1 + 1e-9))]
            for row in over.itertuples(index=False):
                found.append((row.option_id, _sentence(row, limit.clause)))
    return pd.DataFrame(found, columns=["option_id", "sentence"])


def _sentence(row: Any, clause: str) -> str:
    """Return why an option is left out."""
    pounds = row.ae_kg_per_ha / KG_HA_PER_LB_AC
    return (
        f"strip {row.strip_id}, {row.method_id}: {row.herbicide} would reach {pounds:.1f} lb ae an "
        f"acre in its densest ground; the limit is: {clause}"
    )
