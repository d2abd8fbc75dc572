"""Price the seed that crosses an edge: what an untreated strip costs a treated one beside it."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from clearing.effort.first import CASE
from clearing.effort.follow import SMALL, follow_works
from clearing.effort.hours import ENDS, PARTS
from clearing.effort.money import present_value, with_cost
from clearing.forecast.growth import vital_rates
from clearing.property import Settings
from clearing.rates import Rates
from clearing.tables import columns

LEAST_HOURS = 0.01  # hours of a year below which seed over an edge is left out; own choice
LATE = "follow_up"
ADDED = (
    "stems", "hours", "hours_low", "hours_high", "mix_l", "mix_low_l", "mix_high_l", "product_l",
    "product_low_l", "product_high_l", "ae_kg", "ae_kg_per_ha", "cost", "cost_low", "cost_high",
    "own_hours", "stem_hours", "walk_hours", "way_in_hours", "setup_hours", "break_hours",
    "their_hours", "wages", "product_cost",
    "machine_cost", "other_cost",
)  # fmt: skip


@dataclass(frozen=True)
class Calm:
    """Return when strips that are treated at once come to rest.

    Attributes
    ----------
    small : Series
        Small stems that a strip still has of its own, by strip and year (`own_small`).
    upkeep_after : Series
        Years until it comes to upkeep, by strip (`years_to_upkeep`).
    """

    small: pd.Series
    upkeep_after: pd.Series


def calm_of(futures: pd.DataFrame, first_year: int) -> Calm:
    """Return when strips that are treated in the first year come to rest.

    Parameters
    ----------
    futures : DataFrame
        As ``walk/futures``, of every way of treating the strips.
    first_year : int
        First year of the plan.

    References
    ----------
    own reasoning
    """
    return Calm(own_small(futures, first_year), years_to_upkeep(futures, first_year))


def calm_of_all(parts: list[Calm]) -> Calm:
    """Return what is known of strips part by part in one.

    References
    ----------
    own reasoning
    """
    return Calm(
        pd.concat([one.small for one in parts]), pd.concat([one.upkeep_after for one in parts])
    )


def price_arrivals(
    arriving: pd.DataFrame,
    known: tuple[pd.DataFrame, Calm],
    place: pd.DataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return what the seed of each strip costs each other: a row a pair, year of seed and part.

    The seedlings come up in the spring after, and the follow-up of that year meets them. Two parts:
    their stems take time and product (worked out for all that reaches a strip in a year, and shared
    by seedlings); and where all that can come keeps the strip from being done, a strip that would
    have come to upkeep is searched as in a follow-up again (what that takes beyond upkeep, shared
    by seedlings).

    Parameters
    ----------
    arriving : DataFrame
        strip_id, from_id, species, year (of the seed), seedlings (`forecast.arriving`).
    known : (DataFrame, Calm)
        ``walk/methods``, and when each strip comes to rest.
    place : DataFrame
        As `places` gives it.
    rates : Rates
        Figures and recipes.
    settings : Settings
        Years, done_when, crew, money.

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
    methods, _ = known
    sums = seeds.groupby(["strip_id", "from_id", "year"], as_index=False)["seedlings"].sum()
    total = sums.groupby(["strip_id", "year"])["seedlings"].transform("sum")
    sums = sums.assign(share=sums["seedlings"] / total)
    lasting = with_the_bank(seeds, rates).rename("lasting")
    sums = sums.join(lasting, on=["strip_id", "year"])
    stems = sums.merge(_met(seeds, methods, place, rates, settings), on=["strip_id", "year"])
    stems = stems.assign(part="stems", treated_by=stems["year"])
    search = _searched(sums, known, place, rates, settings)
    parts = [part for part in (stems, search) if len(part)]
    if not parts:  # nothing that there is to treat with meets them
        return pd.DataFrame(columns=columns("arrivals"))
    out = pd.concat(parts, ignore_index=True)
    for name in ADDED:
        out[name] = out[name] * out["share"]
    out["stems"] = out["seedlings"].where(out["part"] == "stems", 0.0)
    worth = out["own_hours"] * settings.crew.wage_per_hour
    out["due_year"] = out["year"] + 1
    out["paid"] = present_value(
        out["cost"] + worth, out["due_year"], settings.first_year, settings.money.discount_rate
    )
    felt = out["hours"] + out["their_hours"] >= LEAST_HOURS
    order = ["strip_id", "from_id", "year", "part"]
    return out[felt].sort_values(order, ignore_index=True)[columns("arrivals")]


def _searched(
    sums: pd.DataFrame,
    known: tuple[pd.DataFrame, Calm],
    place: pd.DataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return what a follow-up takes beyond upkeep, where seed keeps a strip from being done."""
    methods, calm = known
    rows = sums.assign(treated_by=sums["year"] + 1 - sums["strip_id"].map(calm.upkeep_after))
    limit = settings.seedlings_per_ha * rows["strip_id"].map(place["area_ha"])
    due = pd.MultiIndex.from_arrays([rows["strip_id"], rows["year"] + 1])
    own = calm.small.reindex(due).fillna(0.0).to_numpy()
    rows = rows[(rows["lasting"] + own > limit) & (rows["treated_by"] >= settings.first_year)]
    if not len(rows):
        return rows
    both = _more_search(sorted(rows["strip_id"].unique()), methods, place, rates, settings)
    return rows.astype({"treated_by": int}).assign(part="search").merge(both, on="strip_id")


def _more_search(
    strips: list[str],
    methods: pd.DataFrame,
    place: pd.DataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return what a follow-up that finds nothing takes beyond upkeep that finds nothing."""
    species = methods.loc[methods["method"] == "not_now", ["strip_id", "species"]]
    first = species.drop_duplicates("strip_id").set_index("strip_id")["species"].reindex(strips)
    found = []
    for work in (LATE, "upkeep"):
        empty = pd.DataFrame({"strip_id": strips, "species": first.to_numpy(), "work": work})
        empty = empty.assign(method_id=LATE, start_year=0, year=0, stage="seedling")
        empty = empty.assign(**{f"stems{end}": 0.0 for end in ENDS})
        works = follow_works(empty, methods, place, rates, settings)
        found.append(with_cost(works.assign(saw_hours=0.0), rates, settings).set_index("strip_id"))
    follow, upkeep = found
    out = follow.drop(columns=[name for name in (*CASE, "year") if name in follow])
    names = [name for name in ADDED if name in out]
    out[names] = (out[names] - upkeep[names].reindex(out.index)).clip(lower=0.0)
    return out.reset_index()


def with_the_bank(seeds: pd.DataFrame, rates: Rates) -> pd.Series:
    """Return the seedlings that all seed of this and earlier years brings up, by strip and year.

    c(t) = c(t - 1) x what lasts of a seed bank a year + seedlings(t), species by species.

    Parameters
    ----------
    seeds : DataFrame
        strip_id, species, year, seedlings.
    rates : Rates
        Figures.

    References
    ----------
    own reasoning
    """
    flow = seeds.pivot_table(
        index=["strip_id", "species"], columns="year", values="seedlings", aggfunc="sum"
    ).fillna(0.0)
    species = flow.index.get_level_values("species")
    lasts = {name: vital_rates(name, rates).bank_survival for name in species.unique()}
    keep, total = species.map(lasts).to_numpy(dtype=float), np.zeros(len(flow))
    for year in flow.columns:
        total = total * keep + flow[year].to_numpy()
        flow[year] = total
    return flow.groupby("strip_id").sum().stack()


def own_small(futures: pd.DataFrame, first_year: int) -> pd.Series:
    """Return the small stems that a strip treated at once still has, by strip and year.

    The middle of its ways, of seedlings and sprouts before the year's work.

    Parameters
    ----------
    futures : DataFrame
        As ``walk/futures``.
    first_year : int
        First year of the plan.

    References
    ----------
    own reasoning
    """
    early = futures[(futures["start_year"] == first_year) & futures["stage"].isin(SMALL)]
    sums = early.groupby(["strip_id", "method_id", "year"])["stems"].sum()
    return sums.groupby(["strip_id", "year"]).median()


def years_to_upkeep(futures: pd.DataFrame, first_year: int) -> pd.Series:
    """Return after how many years each strip comes to upkeep: the middle of its ways, from then on.

    Parameters
    ----------
    futures : DataFrame
        As ``walk/futures``.
    first_year : int
        First year of the plan.

    References
    ----------
    own reasoning
    """
    early = futures[futures["start_year"] == first_year]
    busy = early[early["work"].isin(["first", LATE])]
    last = busy.groupby(["strip_id", "method_id"])["year"].max() + 1 - first_year
    return last.groupby("strip_id").median().round().astype(int)


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
    works["stem_hours"], works["break_hours"] = busy, own - busy  # the way there is made anyway
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
