"""How much of a strip's ground a way of treating it leaves clear of target stems."""

import pandas as pd

from clearing.effort.first import PAIR, zone_share
from clearing.forecast.cases import LEAVING_JOBS


def clear_share(methods: pd.DataFrame) -> pd.Series:
    """Return the share of each way's ground on which it leaves no stem, by strip and method.

    1 - sum over zones of the zone's share x (stems left there / stems there): stems that nothing
    may treat, or that the utility is called for, keep their ground from counting as cleared.

    Parameters
    ----------
    methods : DataFrame
        As ``walk/methods``.

    References
    ----------
    own reasoning
    """
    share = methods["zone_id"].map(zone_share(methods)).fillna(0.0)
    left = methods["stems"].where(methods["job"].isin(LEAVING_JOBS), 0.0)
    keys = [*PAIR, "zone_id"]
    sums = (
        methods.assign(left=left, share=share)
        .groupby(keys)
        .agg(left=("left", "sum"), stems=("stems", "sum"), share=("share", "first"))
    )
    lost = sums["share"] * (sums["left"] / sums["stems"].where(sums["stems"] > 0)).fillna(0.0)
    return (1.0 - lost.groupby(PAIR).sum()).clip(0.0, 1.0)
