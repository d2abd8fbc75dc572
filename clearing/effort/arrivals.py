"""Price the seed that crosses an edge: what an untreated strip costs a treated one beside it."""

import numpy as np
import pandas as pd

from clearing.effort.first import CASE
from clearing.effort.follow import follow_works
from clearing.effort.hours import ENDS, PARTS
from clearing.effort.money import present_value, with_cost
from clearing.property import Settings
from clearing.rates import Rates
from clearing.tables import columns

LEAST_HOURS = 0.01  # hours of a year below which seed over an edge is left out; own choice
LATE = "follow_up"
ADDED = (
    "stems", "hours", "hours_low", "hours_high", "mix_l", "mix_low_l", "mix_high_l", "product_l",
    "product_low_l", "product_high_l", "ae_kg", "ae_kg_per_ha", "cost", "cost_low", "cost_high",
    "own_hours", "stem_hours", "break_hours", "their_hours", "wages", "product_cost",
    "machine_cost", "other_cost",
)  # fmt: skip


def price_arrivals(
    arriving: pd.DataFrame,
    methods: pd.DataFrame,
    place: pd.DataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return what the seed of each strip costs each other: one row a pair and year of seed.

    The seedlings come up in the spring after, and the follow-up of that year meets them: their
    stems take time and product; walking and searching the ground is in the follow-up already.
    Worked out as the mean of all that reaches a strip in a year, shared by seedlings, so that it
    adds up in proportion.

    Parameters
    ----------
    arriving : DataFrame
        strip_id, from_id, species, year (of the seed), seedlings (`forecast.arriving`).
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
        As ``walk/arrivals``; hours and money in the year after the seed; paid is the discounted
        cost with own time at its worth [dollars].

    References
    ----------
    own reasoning; each figure carries its own source
    """
    last = settings.first_year + settings.years - 1
    seeds = arriving[(arriving["year"] <= last) & (arriving["seedlings"] > 0)]
    if not len(seeds):
        return pd.DataFrame(columns=columns("arrivals"))
    met = _met(seeds, methods, place, rates, settings)
    total = seeds.groupby(["strip_id", "year"])["seedlings"].transform("sum")
    share = seeds.assign(share=seeds["seedlings"] / total)
    pairs = share.groupby(["strip_id", "from_id", "year"], as_index=False)[
        ["seedlings", "share"]
    ].sum()
    out = pairs.merge(met, on=["strip_id", "year"])
    for name in ADDED:
        out[name] = out[name] * out["share"]
    out["stems"] = out["seedlings"]
    worth = out["own_hours"] * settings.crew.wage_per_hour
    out["due_year"] = out["year"] + 1
    out["paid"] = present_value(
        out["cost"] + worth, out["due_year"], settings.first_year, settings.money.discount_rate
    )
    felt = out["hours"] + out["their_hours"] >= LEAST_HOURS
    return out[felt].sort_values(["strip_id", "from_id", "year"], ignore_index=True)[
        columns("arrivals")
    ]


def _met(
    seeds: pd.DataFrame,
    methods: pd.DataFrame,
    place: pd.DataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return hours, product and cost at the stems of all seedlings that reach a strip in a year."""
    one = seeds.groupby(["strip_id", "species", "year"], as_index=False)["seedlings"].sum()
    spread = {name: rates.figure(str(name), "seed_to_seedling") for name in one["species"].unique()}
    rows = one.assign(method_id=LATE, start_year=0, work=LATE, stage="seedling")
    rows["stems"] = rows["seedlings"]
    for end, item in (("_low", "low"), ("_high", "high")):
        ratio = {name: getattr(fig, item) / fig.value for name, fig in spread.items()}
        rows[f"stems{end}"] = rows["stems"] * rows["species"].map(ratio)
    works = follow_works(rows, methods, place, rates, settings)
    busy = works["stem_hours"] + works["refill_hours"]
    rest = 1.0 - works["break_hours"] / works["hours"].where(works["hours"] > 0)
    own = busy / rest.fillna(1.0)
    ratio = (own / works["hours"].where(works["hours"] > 0)).fillna(0.0)
    for end in ENDS:
        works[f"hours{end}"] *= ratio
    works["stem_hours"], works["break_hours"] = busy, own - busy
    works[[name for name in PARTS if name not in ("stem_hours", "break_hours")]] = 0.0
    out = with_cost(works.assign(machine_hours=0.0, saw_hours=0.0), rates, settings)
    return out.drop(columns=[name for name in CASE if name != "strip_id"])


def with_arrivals(visits: pd.DataFrame, charged: pd.DataFrame) -> pd.DataFrame:
    """Return a plan's visits with the seedlings that came over an edge in their follow-ups.

    Where the year has no follow-up or upkeep the seedlings make one of their own, with the cautions
    and waits of the strip's other follow-ups.

    Parameters
    ----------
    visits : DataFrame
        Visits of the chosen options, as ``walk/visits``.
    charged : DataFrame
        Rows of ``walk/arrivals`` that the plan brings about.

    References
    ----------
    own reasoning
    """
    if not len(charged):
        return visits
    sums = charged.groupby(["strip_id", "due_year"])[list(ADDED)].sum()
    herb = charged.drop_duplicates(["strip_id", "due_year"]).set_index(["strip_id", "due_year"])
    out = visits.copy()
    late = out["job"].isin([LATE, "upkeep"]) & (out["hours"] + out["their_hours"] > 0)
    own = out[late].drop_duplicates(["strip_id", "year"])
    keys = pd.MultiIndex.from_frame(own[["strip_id", "year"]].astype({"year": int}))
    found = sums.reindex(keys).fillna(0.0).set_axis(own.index)
    out.loc[own.index, list(ADDED)] += found
    lone = sums.index.difference(keys)
    return pd.concat([out, *(_lone(key, sums, herb, visits) for key in lone)], ignore_index=True)


def _lone(
    key: tuple[str, int], sums: pd.DataFrame, herb: pd.DataFrame, visits: pd.DataFrame
) -> pd.DataFrame:
    """Return a follow-up that is made for seedlings from over the edge alone."""
    strip, year = key
    own = visits[visits["strip_id"] == strip]
    late = own[own["job"].isin([LATE, "upkeep"])]
    like = (late if len(late) else own).iloc[[-1]].copy()
    numbers = like.select_dtypes("number").columns.difference(["stock_wait_days", "hay_wait_days"])
    like[numbers] = 0.0
    facts = {name: herb.loc[key, name] for name in ("season", "herbicide", "recipe_id", "job")}
    like = like.assign(year=year, **facts, people=float(herb.loc[key, "people"]))
    like["treated_ha"] = float(herb.loc[key, "treated_ha"])
    like[list(ADDED)] = sums.loc[[key], list(ADDED)].to_numpy()
    like["visit_id"] = like["option_id"] + f"#seed{year}"
    return like


def unmet(charged: pd.DataFrame, last: int) -> float:
    """Return the hours that seed over an edge still makes after the last year.

    Parameters
    ----------
    charged : DataFrame
        Rows of ``walk/arrivals`` that the plan brings about.
    last : int
        Last year of the plan.

    References
    ----------
    own reasoning
    """
    return float(np.sum(charged.loc[charged["due_year"] > last, "hours"]))
