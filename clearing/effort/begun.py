"""Price what follows on strips that were treated before the plan."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.effort.balance import paid, worth
from clearing.effort.cost_share import paid_back_inside
from clearing.effort.first import PAIR, places
from clearing.effort.limits import over_limit
from clearing.effort.options import price_options
from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment.assign import MAIN_JOB

FIRST_JOBS = tuple(sorted(set(MAIN_JOB.values())))
DOLLARS = ("cost", "cost_low", "cost_high", "run_off", "worth", "paid_back")


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
        season_gone={} if early else settings.season_gone,
    )


def begun_methods(methods: pd.DataFrame, begun: pd.DataFrame) -> pd.DataFrame:
    """Return the methods that the log's treatments were: by the jobs and the products.

    Of the methods of a strip that have the first job those stay whose jobs are most like the log's
    (shared over all), of them those whose products are; of them, where one is of the product that
    most was put out of, those of it; of them, where the last plan had one, that. Where no method is
    of that job none is returned; not_now always is, since it holds the stems.

    Parameters
    ----------
    methods : DataFrame
        As ``walk/methods``.
    begun : DataFrame
        strip_id, start_year, season, job, herbicide, jobs, products (`records.first_treatments`),
        planned where it is known (kind of method).

    References
    ----------
    own reasoning
    """
    facts = begun.set_index("strip_id")
    own = methods[methods["strip_id"].isin(facts.index)]
    same = _likest(own, facts)
    product = own["strip_id"].map(facts["herbicide"])
    named = own["method_id"].str.partition(":")[2] == product
    any_named = (same & named).groupby(own["strip_id"]).transform("any")
    kept = same & (named | ~any_named)
    if "planned" in facts:
        hint = kept & (own["method"] == own["strip_id"].map(facts["planned"]))
        kept &= hint | ~hint.groupby(own["strip_id"]).transform("any")
    return own[kept | (own["method"] == "not_now")]


def _likest(own: pd.DataFrame, facts: pd.DataFrame) -> pd.Series:
    """Return which rows are of the methods whose jobs, then products, are most like the log's."""
    first = own[own["job"].isin(FIRST_JOBS) & (own["stems_high"] > 0)]
    score: dict[tuple[str, str], tuple[float, float]] = {}
    for (strip, method), rows in first.groupby(PAIR):
        logged, jobs = set(facts.loc[strip, "jobs"].split()), set(rows["job"])
        if facts.loc[strip, "job"] in jobs and method != "not_now":
            put_out = set(facts.loc[strip, "products"].split())
            score[strip, method] = _alike(logged, jobs), _alike(put_out, set(rows["herbicide"]))
    best: dict[str, tuple[float, float]] = {}
    for (strip, _), value in score.items():
        best[strip] = max(best.get(strip, (0.0, 0.0)), value)
    pairs = zip(own["strip_id"], own["method_id"], strict=True)
    alike = [pair in score and score[pair] == best[pair[0]] for pair in pairs]
    return pd.Series(alike, own.index, dtype=bool)


def _alike(some: set[str], others: set[str]) -> float:
    """Return the share of two sets that both have, blanks aside; nought where one is empty."""
    both = (some | others) - {""}
    return len((some & others) - {""}) / len(both) if both else 0.0


def begun_options(
    methods: pd.DataFrame,
    futures: pd.DataFrame,
    ground: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame],
    begun: pd.DataFrame,
    context: tuple[Rates, Settings],
    base: int,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the options of strips begun, with all their visits.

    Priced as a plan that had begun then, visits that are over among them. Labels are asked by
    `left_to_do`, of what is still ahead.

    Parameters
    ----------
    methods, futures : DataFrame
        Of those strips, as `begun_methods` and the forecast with `since` settings give them.
    ground : (GeoDataFrame, GeoDataFrame)
        As ``walk/strips`` (those strips) and ``walk/blocks``.
    begun : DataFrame
        strip_id, start_year, season, job.
    context : (Rates, Settings)
        Figures without what was applied; the plan's own settings.
    base : int
        Year in which the forecast begins, not after the year of any treatment.

    Returns
    -------
    options, visits : DataFrame
        As ``walk/options`` and ``walk/visits``; money of options in dollars of the base year.

    References
    ----------
    own reasoning
    """
    (rates, settings), (strips, blocks) = context, ground
    facts = begun.set_index("strip_id")
    year, start = futures["strip_id"].map(facts["start_year"]), futures["start_year"]
    futures = futures[start.isna() | (start == year) | (start == base)]  # what the balance asks for
    mown = begun.loc[begun["job"] == "mow_down"].merge(strips[["strip_id", "block_id"]])
    if len(mown):  # a mower was there already
        early = blocks["block_id"].map(mown.groupby("block_id")["start_year"].min())
        ready = np.fmin(blocks["ready_year"].astype(float), early.astype(float))
        blocks = blocks.assign(ready_year=ready.astype(int))
    then = since(settings, base)
    options, visits = price_options(methods, futures, strips, blocks, rates, then, to_come=False)
    options = options[options["start_year"] == options["strip_id"].map(facts["start_year"])]
    wanted = options["strip_id"].map(facts["season"])
    same = options["start_season"] == wanted
    options = options[same | ~same.groupby(options["strip_id"]).transform("any")]
    visits = visits[visits["option_id"].isin(options["option_id"])]
    return options.reset_index(drop=True), visits.reset_index(drop=True)


def left_to_do(
    priced: tuple[pd.DataFrame, pd.DataFrame],
    ground: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame],
    context: tuple[Rates, Settings],
    base: int,
) -> tuple[pd.DataFrame, pd.DataFrame, tuple[str, ...]]:
    """Return options of strips begun with what of their visits is still ahead, in the plan's money.

    Options whose follow-ups would pass a label's limit, the log's amounts counted, are left out;
    where that would leave a strip none, its follow-ups with product are, and a sentence says so.

    Parameters
    ----------
    priced : (DataFrame, DataFrame)
        Options as `begun_options` gives them, and of their visits those that are still ahead.
    ground : (GeoDataFrame, GeoDataFrame)
        Strips and blocks.
    context : (Rates, Settings)
        Figures with what was applied; the plan's own settings.
    base : int
        Year of the options' dollars.

    References
    ----------
    own reasoning
    """
    (options, visits), (strips, blocks), (rates, settings) = priced, ground, context
    place = places(strips, blocks, rates)
    visits = visits.merge(options[["option_id", "method_id"]], on="option_id")
    over = over_limit(visits, place, rates) if len(visits) else visits.assign(clause="")
    barred = options["option_id"].isin(over["option_id"])
    lost = barred.groupby(options["strip_id"]).transform("all")
    notes = tuple(
        f"strip {strip}: what was put out there leaves no room on the label for the year's "
        f"follow-up ({rows['clause'].iloc[0]}); its sprays of that year are left out"
        for strip, rows in over.groupby("strip_id")
        if strip in set(options["strip_id"][lost])
    )
    options = options[~barred | lost]
    if lost.any():
        year = visits["year"] == settings.first_year
        sprayed = visits["option_id"].isin(options["option_id"][lost]) & (visits["product_l"] > 0)
        visits = visits[~(year & sprayed)]
    visits = visits[visits["option_id"].isin(options["option_id"])].drop(columns="method_id")
    visits = visits.reset_index(drop=True)
    own = options.drop(columns=["hours", "cost", "cost_low", "cost_high"]).join(
        place[["area_ha", "goal", "mown", "weight"]], on="strip_id"
    )
    last = settings.first_year + settings.years - 1
    spent = paid(visits[visits["year"] <= last], settings)
    names = {"hours": "hours", "paid": "cost", "paid_low": "cost_low", "paid_high": "cost_high"}
    sums = spent.groupby("option_id")[list(names)].sum().rename(columns=names)
    own = own.join(sums, on="option_id").fillna(dict.fromkeys(names.values(), 0.0))
    own["run_off"] = own["run_off"] * grown(settings, base)
    own["worth"] = np.asarray(worth(own, settings))
    own["paid_back"] = paid_back_inside(own, place, settings)
    return own[options.columns].reset_index(drop=True), visits, notes


def grown(settings: Settings, base: int) -> float:
    """Return what a dollar of a base year is in dollars of the plan's first year.

    References
    ----------
    own reasoning
    """
    return float((1.0 + settings.money.discount_rate) ** (settings.first_year - base))


def in_dollars_of(options: pd.DataFrame, settings: Settings, base: int) -> pd.DataFrame:
    """Return options priced from a base year in dollars of the plan's first year.

    References
    ----------
    own reasoning
    """
    factor = grown(settings, base)
    if factor == 1.0:
        return options
    return options.assign(**{name: options[name] * factor for name in DOLLARS})
