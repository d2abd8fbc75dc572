"""Tell which jobs the owner gives away, and what a contractor asks for them."""

import numpy as np
import pandas as pd

from clearing.property import TRADES, Settings, trade_of
from clearing.units import HA_PER_ACRE

ENDS = ("", "_low", "_high")
ON_GROUND = ("mow", "mow_down", "seed", "mark")  # jobs that go with the ground, not stem by stem


def price_list(settings: Settings) -> dict[str, tuple[str, float]]:
    """Return the price of each job that a contractor named: (per_ha, per_hour or per_stem, price).

    References
    ----------
    own reasoning
    """
    found = {}
    for key, price in settings.contractor.items():
        trade, unit = trade_of(key)
        metric = ("per_ha", price / HA_PER_ACRE) if unit == "per_acre" else (unit, price)
        found.update(dict.fromkeys(TRADES.get(trade, ()), metric))
    return found


def given_away(settings: Settings) -> frozenset[str]:
    """Return the jobs that are a contractor's: those hired out, or all that have a price.

    A job for which `asked` finds nothing stays the crew's all the same.

    References
    ----------
    own reasoning
    """
    if settings.crew.who == "contractor":
        return frozenset(price_list(settings))
    return frozenset(job for trade in settings.hires for job in TRADES.get(trade, ()))


def asked(works: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return what a contractor would ask for each work [dollars], missing where no price is given.

    price x hectares (the treated ground, else the whole strip), x hours (of the mower for mowing)
    or x stems. The price stands for people, machine and material together. Nothing is asked by the
    stem for work on the ground (mowing, seeding, marking), nor where there are no stems.

    Parameters
    ----------
    works : DataFrame
        job, area_ha, treated_ha, hours, machine_hours, stems; hours and stems with low and high
        where there are any.
    settings : Settings
        Prices.

    Returns
    -------
    DataFrame
        asked, asked_low, asked_high.

    References
    ----------
    own reasoning
    """
    prices = price_list(settings)
    unit = works["job"].map({job: unit for job, (unit, _) in prices.items()})
    price = works["job"].map({job: price for job, (_, price) in prices.items()}).astype(float)
    ground = works["treated_ha"].where(works["treated_ha"] > 0, works["area_ha"])
    machine = works["machine_hours"] > 0
    by_stem = (works["stems"] > 0) & ~works["job"].isin(ON_GROUND)
    out = pd.DataFrame(index=works.index)
    for end in ENDS:
        hours = works[f"hours{end}"] if f"hours{end}" in works else works["hours"]
        spread = (hours / works["hours"].where(works["hours"] > 0)).fillna(1.0)
        hours = hours.where(~machine, works["machine_hours"] * spread)
        stems = works[f"stems{end}"] if f"stems{end}" in works else works["stems"]
        stems = stems.fillna(works["stems"]).where(by_stem)
        amount = np.select(
            [unit == "per_ha", unit == "per_hour", unit == "per_stem"],
            [ground, hours, stems],
            default=np.nan,
        )
        out[f"asked{end}"] = amount.astype(float) * price
    return out
