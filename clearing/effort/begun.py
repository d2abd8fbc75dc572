"""Price what is left to do in strips whose first treatment lies before the plan."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.effort.balance import paid, worth
from clearing.effort.cost_share import paid_back_inside
from clearing.effort.first import places
from clearing.effort.options import price_options
from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment.assign import MAIN_JOB

FIRST_JOBS = tuple(sorted(set(MAIN_JOB.values())))


def since(settings: Settings, year: int) -> Settings:
    """Return the settings of a plan that had begun in an earlier year and ends in the same.

    References
    ----------
    own reasoning
    """
    money = settings.money
    early = settings.first_year - year
    budget = [*money.budget_per_year[:1] * early, *money.budget_per_year]
    return replace(
        settings,
        first_year=year,
        years=settings.years + early,
        money=replace(money, budget_per_year=budget),
    )


def begun_methods(methods: pd.DataFrame, begun: pd.DataFrame) -> pd.DataFrame:
    """Return the methods that the log's treatments were: by the job, and the product if it is one.

    Where no method of a strip is of that job, none is returned for it; not_now always is, since it
    holds the stems.

    Parameters
    ----------
    methods : DataFrame
        As ``walk/methods``.
    begun : DataFrame
        strip_id, start_year, season, job, herbicide (`records.begun_strips`).

    References
    ----------
    own reasoning
    """
    facts = begun.set_index("strip_id")
    own = methods[methods["strip_id"].isin(facts.index)]
    main = own["method"].map(MAIN_JOB)
    same = main == own["strip_id"].map(facts["job"])
    product = own["strip_id"].map(facts["herbicide"])
    named = own["method_id"].str.partition(":")[2] == product
    any_named = (same & named).groupby(own["strip_id"]).transform("any")
    kept = same & (named | ~any_named)
    return own[kept | (own["method"] == "not_now")]


def begun_options(
    methods: pd.DataFrame,
    futures: pd.DataFrame,
    strips: gpd.GeoDataFrame,
    blocks: gpd.GeoDataFrame,
    begun: pd.DataFrame,
    context: tuple[Rates, Settings],
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the options of the strips begun in one year, with the visits that are still ahead.

    Priced as a plan that had begun then; what lies before the plan's first year is dropped, and
    money is put into the plan's dollars.

    Parameters
    ----------
    methods, futures : DataFrame
        Of those strips, as `begun_methods` and the forecast with `since` settings give them.
    strips, blocks : GeoDataFrame
        As ``walk/strips`` (those strips) and ``walk/blocks``.
    begun : DataFrame
        strip_id, start_year (one year), season.
    context : (Rates, Settings)
        Figures; the plan's own settings.

    Returns
    -------
    options, visits : DataFrame
        As ``walk/options`` and ``walk/visits``.

    References
    ----------
    own reasoning
    """
    rates, settings = context
    year = int(begun["start_year"].iloc[0])
    then = since(settings, year)
    if (begun["job"] == "mow_down").any():  # a mower was there already
        blocks = blocks.assign(ready_year=np.minimum(blocks["ready_year"], year))
    options, visits = price_options(methods, futures, strips, blocks, rates, then)
    options = options[options["start_year"] == year]
    wanted = options["strip_id"].map(begun.set_index("strip_id")["season"])
    same = options["start_season"] == wanted
    options = options[same | ~same.groupby(options["strip_id"]).transform("any")]
    visits = visits[visits["option_id"].isin(options["option_id"])]
    visits = visits[visits["year"] >= settings.first_year].reset_index(drop=True)
    place = places(strips, blocks, rates)
    own = options.drop(columns=["hours", "cost", "cost_low", "cost_high"]).join(
        place[["area_ha", "goal", "mown", "weight"]], on="strip_id"
    )
    last = settings.first_year + settings.years - 1
    spent = paid(visits[visits["year"] <= last], settings)
    names = {"hours": "hours", "paid": "cost", "paid_low": "cost_low", "paid_high": "cost_high"}
    sums = spent.groupby("option_id")[list(names)].sum().rename(columns=names)
    own = own.join(sums, on="option_id").fillna(dict.fromkeys(names.values(), 0.0))
    grown = (1.0 + settings.money.discount_rate) ** (settings.first_year - year)
    own["run_off"] = own["run_off"] * grown
    own["worth"] = np.asarray(worth(own, settings))
    own["paid_back"] = paid_back_inside(own, place, settings)
    return own[options.columns].reset_index(drop=True), visits
