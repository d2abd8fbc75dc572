"""Price what lies ahead from where the land stands: strips begun, work that is over, the rest."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import geopandas as gpd
import pandas as pd

from clearing import effort, forecast
from clearing.effort.arrivals import Calm
from clearing.effort.dates import calendar
from clearing.property import Settings
from clearing.rates import APPLIED, Rates
from clearing.records import Standing
from clearing.records.logged_work import SAME_JOB
from clearing.records.season_now import OVER

YEARLY = ("follow_up", "upkeep", "mow")  # what is due each year anew: missed, it is not made up
NOTED_BY_NOBODY = ("mark",)
AT_A_TIME = 40  # strips that are priced together, so that memory goes with what is kept; own choice
Land = tuple[pd.DataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame]  # methods, strips, blocks
Tables = tuple[pd.DataFrame, pd.DataFrame]


@dataclass(frozen=True)
class Priced:
    """Return what the planner chooses from.

    Attributes
    ----------
    futures, options, visits : DataFrame
        As ``walk/futures``, ``walk/options``, ``walk/visits``; futures of leaving strips alone,
        and of strips begun: all the others would be many times more than everything else.
    over : DataFrame
        Visits of strips begun that lie behind: as foretold from what the rates say now.
    notes : tuple of str
        Sentences on what was missed.
    mowed : DataFrame
        Strips and years in which all that is treated by then is mowed (`forecast.mowed_years`).
    calm : Calm
        When strips that are treated at once come to rest.
    """

    futures: pd.DataFrame
    options: pd.DataFrame
    visits: pd.DataFrame
    over: pd.DataFrame
    notes: tuple[str, ...]
    mowed: pd.DataFrame
    calm: Calm


def price_ahead(ground: Land, standing: Standing, rates: Rates, settings: Settings) -> Priced:
    """Return options and visits of what lies ahead.

    Strips begun are held to what was done there; others may start from now on. The forecast of
    each strip begins with the year of its counts.

    Parameters
    ----------
    ground : (DataFrame, GeoDataFrame, GeoDataFrame)
        Methods, strips, blocks.
    standing : Standing
        Where the land stands (`records.stand`).
    rates : Rates
        Figures.
    settings : Settings
        The plan's own: from now on.

    References
    ----------
    own reasoning
    """
    kept: list[_Part] = []
    notes: list[str] = []
    bare = unapplied(rates)
    for base, names, begun in _groups(ground, standing, rates):
        if begun is None:
            for first in range(0, len(names), AT_A_TIME):
                few = names[first : first + AT_A_TIME]
                kept.append(_fresh(ground, few, base, rates, settings))
            continue
        part, told = _goes_on(ground, (names, begun), standing, (bare, rates, settings), base)
        kept.append(part)
        notes += told
    futures, options, visits, over = (
        _joined([part.tables[at] for part in kept]) for at in range(4)
    )
    options = options.sort_values(["strip_id", "option_id"], ignore_index=True)
    options.attrs["removed"] = effort.over_words([row for part in kept for row in part.removed])
    return Priced(
        futures, options, visits, over, tuple(dict.fromkeys(notes)),
        pd.concat([part.mowed for part in kept]),
        effort.calm_of_all([part.calm for part in kept]),
    )  # fmt: skip


@dataclass(frozen=True)
class _Part:
    """Return strips priced together: futures, options, visits, and visits that lie behind.

    And what is asked of all their futures later, and the options that a label took out.
    """

    tables: tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame, pd.DataFrame]
    mowed: pd.DataFrame
    calm: Calm
    removed: tuple[dict[str, object], ...] = ()


def _fresh(ground: Land, names: list[str], base: int, rates: Rates, settings: Settings) -> _Part:
    """Return strips that were not begun; of their futures that of leaving them alone is kept."""
    strips, methods = (table[table["strip_id"].isin(names)] for table in (ground[1], ground[0]))
    then = effort.since(settings, base)
    futures = forecast.look_ahead(methods, strips, ground[2], rates, then)
    start = futures["start_year"]  # what is over is asked for by the balance alone
    futures = futures[start.isna() | (start >= settings.first_year) | (start == base)]
    options, visits = effort.price_options(methods, futures, strips, ground[2], rates, then)
    removed, priced = tuple(options.attrs.pop("removed")), len(options)
    options = effort.in_dollars_of(_from_now(options, settings), settings, base)
    if len(options) < priced:
        visits = visits[visits["option_id"].isin(options["option_id"])]
    futures = futures[~(futures["start_year"] < settings.first_year)]
    mowed, calm = forecast.mowed_years(futures), effort.calm_of(futures, settings.first_year)
    alone = futures[futures["method_id"] == "not_now"].reset_index(drop=True)
    return _Part((alone, options, visits, visits.iloc[:0]), mowed, calm, removed)


def _goes_on(
    ground: Land,
    started: tuple[list[str], pd.DataFrame],
    standing: Standing,
    known: tuple[Rates, Rates, Settings],
    base: int,
) -> tuple[_Part, list[str]]:
    """Return strips begun with what is left to do there, and sentences on it."""
    (names, begun), (bare, rates, settings) = started, known
    methods, strips, blocks = ground[0], ground[1][ground[1]["strip_id"].isin(names)], ground[2]
    futures, options, visits = _from_the_start(
        (methods, strips, blocks), begun, standing, (bare, settings), base
    )
    later, over, told = _left((options, visits), standing, rates, settings)
    options, later, more = effort.left_to_do(
        (options, later), (strips, blocks), (rates, settings), base
    )
    mowed, calm = forecast.mowed_years(futures), effort.calm_of(futures, settings.first_year)
    return _Part((futures, options, later, over), mowed, calm), [*told, *more]


def unapplied(rates: Rates) -> Rates:
    """Return the rates without what the log says was put out; what was made of recipes is kept.

    References
    ----------
    own reasoning
    """
    return same_recipes(replace(rates, applied=pd.DataFrame(columns=APPLIED)), rates)


def same_recipes(fresh: Rates, old: Rates) -> Rates:
    """Return fresh rates with the recipe book that was made of the same recipes and products.

    References
    ----------
    own reasoning
    """
    if "recipe_book" in old.kept:
        fresh.kept["recipe_book"] = old.kept["recipe_book"]
    return fresh


def _groups(
    ground: Land, standing: Standing, rates: Rates
) -> Iterator[tuple[int, list[str], pd.DataFrame | None]]:
    """Yield base year, strips, and what was begun there: strips that are priced together."""
    methods, strips, _ = ground
    bases = strips.set_index("strip_id")["block_id"].map(standing.counted_in)
    begun = standing.done.begun.set_index("strip_id", drop=False)
    named = effort.begun_methods(methods, standing.done.begun) if len(begun) else methods.iloc[:0]
    able = set(named.loc[named["method"] != "not_now", "strip_id"])
    begun = begun[begun["strip_id"].isin(able)]
    fresh = bases[~bases.index.isin(begun.index)]
    for base, own in fresh.groupby(fresh):
        yield int(base), own.index.tolist(), None
    started = begun["start_year"].astype(int)
    base = pd.concat([bases.reindex(begun.index), started], axis=1).min(axis=1).astype(int)
    for first, own in begun.groupby(base):
        yield int(first), own.index.tolist(), own.reset_index(drop=True)


def _from_now(options: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return the options that do not start in a season that is over."""
    gone = {name for name, share in settings.season_gone.items() if share >= OVER}
    past = options["start_year"] < settings.first_year
    past |= (options["start_year"] == settings.first_year) & options["start_season"].isin(gone)
    out = options[~past]
    out.attrs = options.attrs
    return out


def _left(
    priced: Tables, standing: Standing, rates: Rates, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    """Return visits that are still ahead, those that lie behind, and what was missed and moves on.

    What is due each year anew and was missed is not made up (the forecast grows on without it);
    anything else that the log does not have moves to the first season that is not over.
    """
    options, visits = priced
    first, days = settings.first_year, calendar(rates.seasons)
    gone = [name for name, share in settings.season_gone.items() if share >= OVER]
    past = (visits["year"] < first) | ((visits["year"] == first) & visits["season"].isin(gone))
    job = visits["job"].replace(SAME_JOB)
    keys = zip(visits["strip_id"], job, strict=True)
    ever = pd.Series([key in standing.logged_jobs for key in keys], index=visits.index)
    keys_of_year = zip(visits["strip_id"], job, visits["year"], strict=True)
    this = pd.Series([key in standing.logged for key in keys_of_year], index=visits.index)
    main = visits["option_id"].map(options.set_index("option_id")["method"]).map(effort.MAIN_JOB)
    yearly = visits["job"].isin(YEARLY)
    done = (this & yearly) | (ever & ~yearly & past) | (this & ~yearly) | (visits["job"] == main)
    done |= visits["job"].isin(NOTED_BY_NOBODY) & past
    missed = past & ~done & ~yearly
    open_now = [n for n, is_open in zip(days.names, days.open, strict=True)
                if is_open and n not in gone]  # fmt: skip
    moved = visits[missed].assign(year=first, season=open_now[0] if open_now else days.names[0])
    ahead = visits[~past & ~done]
    told = [
        f"strip {strip}: {str(what).replace('_', ' ')} was planned for {year} and is not in the "
        "log; it moves on"
        for strip, what, year in visits.loc[missed, ["strip_id", "job", "year"]]
        .drop_duplicates(["strip_id", "job"]).itertuples(index=False)
    ]  # fmt: skip
    out = pd.concat([moved, ahead]) if len(moved) else ahead
    order = {name: at for at, name in enumerate(days.names)}
    out = out.assign(at=out["season"].map(order))
    out = out.sort_values(["option_id", "year", "at"], kind="stable").drop(columns="at")
    return out.reset_index(drop=True), visits[done | (past & ~missed)].reset_index(drop=True), told


def foretold_work(
    ground: Land, standing: Standing, rates: Rates, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return futures, options and all visits of strips begun, those that lie behind among them.

    Parameters
    ----------
    ground : (DataFrame, GeoDataFrame, GeoDataFrame)
        Methods, strips begun, blocks.
    standing, rates, settings
        As `price_ahead` takes them.

    References
    ----------
    own reasoning
    """
    parts = []
    for base, names, begun in _groups(ground, standing, rates):
        if begun is None:
            continue
        land = (ground[0], ground[1][ground[1]["strip_id"].isin(names)], ground[2])
        parts.append(_from_the_start(land, begun, standing, (rates, settings), base))
    if not parts:
        return pd.DataFrame(), pd.DataFrame(), pd.DataFrame()
    futures, options, visits = (_joined(list(part)) for part in zip(*parts, strict=True))
    return futures, options, visits


def _from_the_start(
    ground: Land,
    begun: pd.DataFrame,
    standing: Standing,
    known: tuple[Rates, Settings],
    base: int,
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return futures, options and all visits of strips begun, from their first treatment on."""
    (methods, strips, blocks), (rates, settings) = ground, known
    own = effort.begun_methods(methods, begun)
    then = effort.since(settings, base)
    futures = forecast.look_ahead(own, strips, blocks, rates, then, standing.seen)
    options, visits = effort.begun_options(own, futures, (strips, blocks), begun, known, base)
    year = futures["strip_id"].map(begun.set_index("strip_id")["start_year"])
    started = (futures["start_year"] == year) | (futures["method_id"] == "not_now")
    return futures[started], options, visits


def purse(settings: Settings, owner: Settings, over: pd.DataFrame) -> Settings:
    """Return the plan's settings with the year's money less what its work has cost by now.

    Money that is carried over is what earlier years had, less what their work cost by the rates.

    Parameters
    ----------
    settings, owner : Settings
        From now on, and as the owner has them.
    over : DataFrame
        Visits that lie behind: year, cost.

    References
    ----------
    own reasoning
    """
    budget = list(settings.money.budget_per_year)
    if not budget or not len(over):
        return settings
    spent = over.groupby("year")["cost"].sum()
    had = owner.money.budget_per_year
    first = budget[0] - float(spent.get(settings.first_year, 0.0))
    if settings.money.carry_over:
        for year in range(owner.first_year, settings.first_year):
            of_year = had[min(year - owner.first_year, len(had) - 1)]
            first += of_year - float(spent.get(year, 0.0))
    rest = budget[1:] or budget
    fresh = replace(settings.money, budget_per_year=[max(first, 0.0), *rest])
    return replace(settings, money=fresh)


def _joined(parts: list[pd.DataFrame]) -> pd.DataFrame:
    """Return tables one under the other, empty ones left out."""
    some = [part for part in parts if len(part)]
    return pd.concat(some, ignore_index=True) if some else parts[0]
