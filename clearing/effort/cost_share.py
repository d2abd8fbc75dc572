"""Tell what cost-share programs pay back after the work."""

import calendar
import datetime
from typing import Any

import numpy as np
import pandas as pd

from clearing.effort.money import present_value
from clearing.property import Settings

COLUMNS = ["option_id", "year", "amount", "name"]


def paid_back(options: pd.DataFrame, place: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return what each option gets back from each program, and when.

    dollars a hectare x area x share of it that is cleared (`clear_share`, else all), the year after
    the strip is first mowed (grass) or done (woods), if it is so by the program's last date. Work
    of a year counts as done on 31 December of it, so what is mowed or done in the year of an
    earlier last date brings nothing; where ``mow_season_end`` says in which month the first
    mowing's season ends, mowing counts as done at the end of that month. Years after the plan's
    last are among them.

    Parameters
    ----------
    options : DataFrame
        option_id, strip_id, mow_year, finish_year; mow_season_end where it is known (month of
        mow_year).
    place : DataFrame
        Strips with block_id, goal, area_ha and mown, indexed by strip_id.
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
    columns = ["option_id", "strip_id", "mow_year", "finish_year"]
    ends = options.get("mow_season_end", np.nan)
    rows = options[columns].assign(ends=ends, clear=options.get("clear_share", 1.0))
    rows = rows.join(place[["block_id", "goal", "area_ha", "mown"]], on="strip_id")
    grass = rows["mown"].astype(bool)
    rows["ready"] = rows["mow_year"].where(grass, rows["finish_year"]).astype(float)
    rows["by"] = 12 * rows["ready"] + rows["ends"].astype(float).where(grass).fillna(12.0)
    frames = []
    for program in settings.cost_share:
        due = rows["by"] <= _last_month(program.get("finish_by"))
        for key, column in (("goals", "goal"), ("blocks", "block_id")):
            named = program.get(key)
            due &= rows[column].isin(list(named)) if named else True  # type: ignore[call-overload]
        own = rows[due]
        amount = float(str(program["dollars_per_ha"])) * own["area_ha"] * own["clear"]
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


def _last_month(finish_by: Any) -> float:
    """Return the last month [12 x year + month] that ends by a program's last date."""
    if not isinstance(finish_by, datetime.date):
        return np.inf
    whole = finish_by.day == calendar.monthrange(finish_by.year, finish_by.month)[1]
    return 12.0 * finish_by.year + finish_by.month - (0 if whole else 1)
