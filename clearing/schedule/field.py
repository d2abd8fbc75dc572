"""Put the owner's options, limits and wishes into the tables of the planner's core."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from clearing.forecast import Draws
from clearing.property import Settings
from clearing.rates import Rates
from clearing.schedule.few import Few, few_blocks, few_products
from clearing.schedule.instance import Instance
from clearing.schedule.limits import field_limits, field_uses, order_rows
from clearing.schedule.solver import solve

ROUNDING = 1e-6  # an excess below this is none

ASKED = [  # of a visit, for what it uses of hours, mower, money, kinds of product and blocks
    "option_id", "strip_id", "block_id", "year", "season", "job", "herbicide", "hours",
    "their_hours", "machine_hours", "cost",
]  # fmt: skip


@dataclass(frozen=True)
class Around:
    """What goes with the options: money back, seed between strips, draws, strips already begun.

    Attributes
    ----------
    income : DataFrame, optional
        option_id, year, amount of the cost share; `options.paid_back` holds its worth.
    arrivals : DataFrame, optional
        As ``walk/arrivals``: what the seed of each strip not yet treated costs each treated one.
    draw : callable, optional
        Chosen options -> `forecast.Draws`; none = the visits' own ranges alone.
    begun : frozenset of str
        Strips whose first treatment is done: their follow-ups may pass the limits.
    order : DataFrame, optional
        What rules of thumb go by (`thumb.strip_order`); none = they are not tried.
    told : callable
        Told seconds, cost, bound and gap while the planner works.
    start : DataFrame, optional
        group, option of a plan to begin from.
    """

    income: pd.DataFrame | None = None
    arrivals: pd.DataFrame | None = None
    draw: Callable[[pd.DataFrame], Draws] | None = None
    begun: frozenset[str] = frozenset()
    order: pd.DataFrame | None = None
    told: Callable[[float, float, float, float], None] | None = None
    start: pd.DataFrame | None = None


@dataclass(frozen=True)
class Field:
    """One property as the core takes it.

    ``instance`` is what is solved; ``plain`` the same without the helper groups of `few`, for
    reasons and rules of thumb; ``limits`` the owner's limits with kind, year and season;
    ``offered`` the options that may be chosen; ``shortfall`` by how much work begun passes limits.
    """

    instance: Instance
    plain: Instance
    limits: pd.DataFrame
    offered: pd.DataFrame
    few: tuple[Few, ...] = field(default=())
    shortfall: pd.DataFrame = field(default_factory=pd.DataFrame)


def field_instance(
    options: pd.DataFrame,
    visits: pd.DataFrame,
    rates: Rates,
    settings: Settings,
    around: Around,
    limits: pd.DataFrame,
) -> Field:
    """Return the core's tables of the options that are offered.

    cost of an option = discounted cost + run-off - worth - what is paid back. Marks: an option
    carries each year from its start on; a pair is charged when a strip is treated by a year
    (``treated_by``) and the strip that seeds it is not by the year of the seed. Wishes for few
    kinds at a time hold for work that is not begun.

    Parameters
    ----------
    options, visits : DataFrame
        As ``walk/options`` and ``walk/visits``.
    rates : Rates
        Seasons, products.
    settings : Settings
        Years and wishes.
    around : Around
        What goes with them.
    limits : DataFrame
        As `field_limits` gives them, or tightened.

    References
    ----------
    own reasoning
    """
    groups = pd.DataFrame({
        "group": options["strip_id"],
        "option": options["option_id"],
        "cost": options["cost"] + options["run_off"] - options["worth"] - options["paid_back"],
    })  # fmt: skip
    visits = visits.loc[visits["option_id"].isin(options["option_id"]), ASKED]
    uses = field_uses(visits, settings, around.income)
    strip = groups.set_index("option")["group"]
    uses = uses.assign(group=uses["option"].map(strip))
    order = rates.seasons.set_index("season")["order"].astype(int).to_dict()
    order_uses, order_limits = order_rows(options, order, settings.before)
    last = settings.first_year + settings.years - 1
    inside = visits[visits["year"] <= last]
    free = inside[~inside["strip_id"].isin(around.begun)]  # work begun is bound to no wish
    few = (few_products(free, rates, settings), few_blocks(free, settings))
    plain_limits = pd.concat(_some([limits, order_limits]))
    pairs = _pairs(options, around.arrivals, settings)
    tables = (groups, pd.concat(_some([uses, order_uses])))
    shortfall = pd.DataFrame(columns=["resource", "amount"])
    if around.begun:
        kept, need = committed((groups, uses), limits, pairs, around.begun)
        tables = tuple(rows[rows["option"].isin(kept)] for rows in tables)
        groups = tables[0]
        shortfall, plain_limits = room_for(need, plain_limits)
    plain = Instance.from_tables(*tables, plain_limits, **_known(pairs, groups))
    if not any(len(each.options) for each in few):
        return Field(plain, plain, limits, options, few, shortfall)
    whole = Instance.from_tables(
        pd.concat(_some([groups, *(each.options for each in few)])),
        pd.concat(_some([tables[1], *(_uses_of(each, groups) for each in few)])),
        pd.concat(_some([plain_limits, *(each.limits for each in few)])),
        **_known(pairs, groups),
    )
    return Field(whole, plain, limits, options, few, shortfall)


def committed(
    tables: tuple[pd.DataFrame, pd.DataFrame],
    limits: pd.DataFrame,
    pairs: dict[str, pd.DataFrame],
    begun: frozenset[str],
) -> tuple[set[str], pd.Series]:
    """Return the options that are kept, and what the strips already begun need of each limit.

    Of each strip begun the option is taken with which they together pass the limits least, then
    cost least; their follow-ups may meet all the seed of strips that are not treated yet.

    Parameters
    ----------
    tables : (DataFrame, DataFrame)
        group, option, cost; group, option, resource, amount.
    limits : DataFrame
        resource, low, high.
    pairs : dict
        Marks, pairs and their uses.
    begun : frozenset of str
        Strips whose first treatment is done.

    References
    ----------
    own reasoning
    """
    groups, uses = tables
    own = groups[groups["group"].isin(begun)]
    theirs = uses[uses["group"].isin(begun)]
    answer = solve(Instance.from_tables(own, theirs, limits.assign(elastic=True)), gap=0.0)
    taken = set(answer.chosen["option"])
    need = theirs[theirs["option"].isin(taken)].groupby("resource")["amount"].sum()
    if pairs:
        rows, amounts = pairs["pairs"], pairs["pair_uses"]
        met = rows[rows["group"].isin(begun) & ~rows["other"].isin(begun)]["pair"]
        seed = amounts[amounts["pair"].isin(met)].groupby("resource")["amount"].sum()
        need = need.add(seed, fill_value=0.0)
    others = groups[~groups["group"].isin(begun)]["option"]
    return taken | set(others), need


def room_for(need: pd.Series, limits: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return by how much work already begun passes the limits, and limits that give way to it.

    Work that is not begun keeps what is left: where work begun passes a limit, none.

    References
    ----------
    own reasoning
    """
    needed = limits["resource"].map(need).fillna(0.0).astype(float)
    high = limits["high"].astype(float)
    over = (needed - high).clip(lower=0.0).fillna(0.0)
    rows = limits.assign(amount=over)[over > ROUNDING]
    return rows[["resource", "amount"]].reset_index(drop=True), limits.assign(
        high=np.where(over > 0, needed, high)
    )


def _known(pairs: dict[str, pd.DataFrame], groups: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """Return marks and pairs of the options that are there."""
    if not pairs:
        return {}
    marks = pairs["marks"]
    return {**pairs, "marks": marks[marks["option"].isin(groups["option"])]}


def _uses_of(few: Few, groups: pd.DataFrame) -> pd.DataFrame:
    """Return what the helper groups, and the options that are there, use."""
    own = few.uses["option"].isin(groups["option"]) | few.uses["group"].isin(few.options["group"])
    return few.uses[own]


def _pairs(
    options: pd.DataFrame, arrivals: pd.DataFrame | None, settings: Settings
) -> dict[str, pd.DataFrame]:
    """Return marks, pairs and their uses, empty where no seed crosses an edge."""
    if arrivals is None or not len(arrivals):
        return {}
    known = set(options["strip_id"])
    rows = arrivals[arrivals["strip_id"].isin(known) & arrivals["from_id"].isin(known)]
    years = np.array(sorted({*rows["year"], *rows["treated_by"]}), dtype=int)
    own = options.loc[options["start_year"].notna(), ["strip_id", "option_id", "start_year"]]
    marks = own.merge(pd.DataFrame({"mark": years}), how="cross")
    marks = marks[marks["start_year"] <= marks["mark"]]
    marks = marks.rename(columns={"strip_id": "group", "option_id": "option"})
    name = pair_names(rows)
    pairs = pd.DataFrame({
        "pair": name, "group": rows["strip_id"], "mark": rows["treated_by"],
        "other": rows["from_id"], "other_mark": rows["year"], "cost": rows["paid"],
    })  # fmt: skip
    return {
        "marks": marks[["group", "option", "mark"]],
        "pairs": pairs,
        "pair_uses": _pair_uses(rows.assign(pair=name), settings),
    }


def pair_names(arrivals: pd.DataFrame) -> pd.Series:
    """Return the name of each row of seed between strips, as the core knows it.

    References
    ----------
    own reasoning
    """
    year = arrivals["year"].astype(int).astype(str)
    return arrivals["from_id"] + " > " + arrivals["strip_id"] + " " + year + " " + arrivals["part"]


def _pair_uses(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return hours and money of the follow-ups that meet seed over an edge, by pair."""
    last = settings.first_year + settings.years - 1
    inside = rows[rows["due_year"] <= last]
    year = inside["due_year"].astype(int).astype(str)
    hours = inside[["pair"]].assign(
        resource="hours " + year + " " + inside["season"], amount=inside["hours"]
    )
    money = inside[["pair", "due_year", "cost"]]
    if settings.money.carry_over:
        later = pd.DataFrame({"until": range(settings.first_year, last + 1)})
        money = money.merge(later, how="cross")
        money = money[money["until"] >= money["due_year"]].assign(due_year=lambda t: t["until"])
    spent = money[["pair"]].assign(
        resource="money " + money["due_year"].astype(int).astype(str), amount=money["cost"]
    )
    both = pd.concat([hours, spent], ignore_index=True)
    return both[both["amount"] > 0].reset_index(drop=True)


def _some(frames: list[pd.DataFrame]) -> list[pd.DataFrame]:
    """Return the frames that have rows (the first in any case)."""
    return [frame for at, frame in enumerate(frames) if len(frame) or at == 0]


def offered_options(
    options: pd.DataFrame, settings: Settings, begun: frozenset[str]
) -> tuple[pd.DataFrame, list[str]]:
    """Return the options that keep clear_by, and the strips that have none.

    A strip on which nothing grows (its one option is to leave it, and leaves nothing to do) has
    nothing to clear; one already begun stays what it is.

    Parameters
    ----------
    options : DataFrame
        As ``walk/options``.
    settings : Settings
        clear_by.
    begun : frozenset of str
        Strips whose first treatment is done.

    References
    ----------
    own reasoning
    """
    if settings.clear_by is None:
        return options, []
    late = options["finish_year"].fillna(np.inf) > settings.clear_by
    lone = options["strip_id"].map(options["strip_id"].value_counts()) == 1
    idle = lone & (options["method"] == "not_now") & (options["run_off"] == 0)
    offered = options[~late | idle | options["strip_id"].isin(begun)]
    return offered, sorted(set(options["strip_id"]) - set(offered["strip_id"]))


def owners_limits(settings: Settings, rates: Rates) -> pd.DataFrame:
    """Return the limits of the owner's crew, mower and purse.

    References
    ----------
    own reasoning
    """
    return field_limits(settings, rates.seasons)
