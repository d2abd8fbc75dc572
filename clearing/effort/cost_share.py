"""Tell what cost-share programs pay back after the work."""

import datetime
from typing import Any

import numpy as np
import pandas as pd

from clearing.effort.money import present_value
from clearing.property import GRASS_GOALS, Settings

COLUMNS = ["option_id", "year", "amount", "name"]


def paid_back(options: pd.DataFrame, place: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return what each option gets back from each program, and when.

    dollars a hectare x area, the year after the strip is first mowed (grass) or done (woods), if
    it is so by the year of the program's last date. Years after the plan's last are among them.

    Parameters
    ----------
    options : DataFrame
        option_id, strip_id, mow_year, finish_year.
    place : DataFrame
        Strips with block_id, goal and area_ha, indexed by strip_id.
    settings : Settings
        The programs.

    Returns
    -------
    DataFrame
        option_id, year, amount [dollars of that year], name.

    References
    ----------
    own reasoning
    """
    rows = options[["option_id", "strip_id", "mow_year", "finish_year"]].join(
        place[["block_id", "goal", "area_ha"]], on="strip_id"
    )
    grass = rows["goal"].isin(GRASS_GOALS)
    rows["ready"] = rows["mow_year"].where(grass, rows["finish_year"]).astype(float)
    frames = []
    for program in settings.cost_share:
        due = rows["ready"] <= _last_year(program.get("finish_by"))
        for key, column in (("goals", "goal"), ("blocks", "block_id")):
            named = program.get(key)
            due &= rows[column].isin(list(named)) if named else True  # type: ignore[call-overload]
        own = rows[due]
        amount = float(str(program["dollars_per_ha"])) * own["area_ha"]
        own = own.assign(year=own["ready"] + 1, amount=amount, name=str(program["name"]))
        frames.append(own[COLUMNS])
    if not frames:
        return pd.DataFrame(columns=COLUMNS)
    return pd.concat(frames, ignore_index=True).astype({"year": int})


def paid_back_inside(options: pd.DataFrame, place: pd.DataFrame, settings: Settings) -> np.ndarray:
    """Return what each option gets back inside the years, discounted [dollars].

    References
    ----------
    own reasoning
    """
    rows = paid_back(options, place, settings)
    rows = rows[rows["year"] < settings.first_year + settings.years]
    rate = settings.money.discount_rate
    now = present_value(rows["amount"], rows["year"], settings.first_year, rate)
    total = pd.Series(now, index=rows["option_id"], dtype=float).groupby(level=0).sum()
    return options["option_id"].map(total).fillna(0.0).to_numpy(dtype=float)


def _last_year(finish_by: Any) -> float:
    """Return the year of a program's last date, none = no end."""
    return float(finish_by.year) if isinstance(finish_by, datetime.date) else np.inf
