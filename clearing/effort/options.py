"""Make options of methods and start dates, and price them."""

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.effort.balance import by_age, dated_options, left_alone, not_now
from clearing.effort.cleared import clear_share
from clearing.effort.dates import Calendar, calendar, common
from clearing.effort.first import CASE, PAIR, first_stems, first_works, parts, places
from clearing.effort.follow import follow_works
from clearing.effort.hours import ENDS
from clearing.effort.later import TOPS, dry_works, mark_works, mow_works, seed_works
from clearing.effort.limits import over_limit
from clearing.effort.money import with_cost
from clearing.effort.warn import WAITS
from clearing.property import Settings
from clearing.rates import Rates
from clearing.tables import columns
from clearing.treatment.assign import MAIN_JOB

SCRATCH = [  # what the hours were worked out from, and no visit needs
    "goal", "priority", "weight", "brush", "slope_pct", "stock", "hay", "tops", "ready_year",
    "way_in_m", "pace", "walk_m_s", "ring_ha", "tour_ha", "area_share", "cm",
    *(f"{name}{end}" for name in ("seconds", "cut", "ground_h") for end in ENDS),
    *(f"{name}{end}" for name in ("mix", "product") for end in ENDS[1:]),
]  # fmt: skip
DAY_ORDER = (  # of one season's jobs: what must come first stands first
    "mark", "call_utility", "mow_down", "hack_and_squirt", "cut_and_spray", "basal_bark", "foliar",
    "hand_work", "fell_dead", "haul_tops", "chip_tops", "burn_tops", "follow_up", "upkeep", "mow",
    "seed",
)  # fmt: skip


def price_options(
    methods: pd.DataFrame,
    futures: pd.DataFrame,
    strips: gpd.GeoDataFrame,
    blocks: gpd.GeoDataFrame,
    rates: Rates,
    settings: Settings,
    to_come: bool = True,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return every option (strip, method, start) with its dated visits, hours and money.

    Parameters
    ----------
    methods, futures : DataFrame
        As ``walk/methods`` and ``walk/futures``.
    strips, blocks : GeoDataFrame
        As ``walk/strips`` and ``walk/blocks``.
    rates : Rates
        Figures, seasons, products.
    settings : Settings
        Years, crew, money.
    to_come : bool
        Whether all of it lies ahead: only then label limits take options out.

    Returns
    -------
    options, visits : DataFrame
        As ``walk/options`` and ``walk/visits``; visits after the last year are among them.
        ``options.attrs["removed"]`` are the rows of `over_limit` of options that were taken out.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    place, days = places(strips, blocks, rates), calendar(rates.seasons)
    rows = first_stems(parts(methods, rates), futures, settings)
    first = first_works(rows, place, rates, settings) if len(rows) else rows
    if not len(first):
        options = left_alone(place, pd.Series(dtype=float))[columns("options")]
        options.attrs["removed"] = []
        return options, pd.DataFrame(columns=columns("visits"))
    fell = dry_works(rows, "fell_dead", place, rates, settings)
    wishes = set(place["tops"])
    tops = [
        (job, later, dry_works(rows, job, place, rates, settings, later))
        for word, job in TOPS.items()
        for later in (False, True)
        if word in wishes or (word == "haul" and "" in wishes)
    ]
    by_year = _by_year(futures)
    follow = follow_works(futures, methods, place, rates, settings)
    mow = mow_works(by_year, follow, place, days, (rates, settings))
    later = pd.concat(
        [follow, mow, seed_works(mow, follow, place, days, (rates, settings))],
        ignore_index=True,
    )
    starts = _ready(_starts(first, days), place)
    zones = methods.groupby("strip_id")["zone_id"].nunique()
    mark = mark_works(starts[CASE].drop_duplicates(), zones, place, rates, settings)
    first, mark, later = (_kept(works) for works in (first, mark, later))
    works = [_first_dated(starts, first, days), _same_day(starts, mark)]
    felled = rates.figure("any", "fell_wait_months").value
    dried = rates.figure("burn_tops", "wait_months").value
    works.append(_after_wait(_same_day(starts, _kept(fell)), days, felled))
    for job, later_felled, top in tops:
        dated = (
            _after_wait(_same_day(starts, _kept(top)), days, felled) if later_felled
            else _after_first(starts, first, _kept(top), days)
        )  # fmt: skip
        works.append(_after_wait(dated, days, dried) if job == "burn_tops" else dated)
    works.append(starts.merge(later, on=CASE))
    visits = pd.concat(works, ignore_index=True)
    visits = _finished(with_cost(visits, rates, settings), days)
    beyond = settings.first_year + settings.years
    ahead = visits[visits["start_year"] < beyond]
    removed = over_limit(ahead if to_come else ahead.iloc[:0], place, rates)
    ahead = ahead[~ahead["option_id"].isin(removed["option_id"])]
    tail = by_age(ahead, settings)
    options = dated_options(ahead, tail, by_year, place, settings, days, clear_share(methods))
    options["start_season"] = options["place"].map(dict(enumerate(days.names)))
    idle = not_now(place, visits[visits["start_year"] == beyond], tail, settings)
    options = pd.concat([options, idle], ignore_index=True)[columns("options")]
    options = options.sort_values(["strip_id", "option_id"], ignore_index=True)
    options.attrs["removed"] = removed.to_dict("records")
    ahead = ahead.assign(**dict.fromkeys(WAITS, 0.0))  # what the label asks comes with the cautions
    return options, ahead[columns("visits")].reset_index(drop=True)


def _kept(works: pd.DataFrame) -> pd.DataFrame:
    """Return works without what only their hours needed."""
    return works.drop(columns=SCRATCH, errors="ignore")


def _by_year(futures: pd.DataFrame) -> pd.DataFrame:
    """Return one row a case and year: work, mowable, done."""
    keys = [*CASE, "year"]
    return futures.drop_duplicates(keys)[[*keys, "work", "mowable", "done"]]


def _starts(first: pd.DataFrame, days: Calendar) -> pd.DataFrame:
    """Return one row an option: case and the season in which its own job starts."""
    method = first["method_id"].str.split(":").str[0]
    own = first[first["job"] == method.map(MAIN_JOB)]
    rows = []
    for pair, part in own.groupby(PAIR):
        lists = part["seasons"].unique().tolist()
        fitting = common(lists, days.names) or common([" ".join(lists)], days.names)
        rows += [(*pair, days.names.index(name)) for name in fitting]
    seasons = pd.DataFrame(rows, columns=[*PAIR, "place"])
    out = own[CASE].drop_duplicates().merge(seasons, on=PAIR)
    out["method"] = out["method_id"].str.split(":").str[0]
    names = out["place"].map(dict(enumerate(days.names)))
    year = out["start_year"].astype(int).astype(str)
    out["option_id"] = out["strip_id"] + ":" + out["method_id"] + ":" + year + ":" + names
    return out


def _ready(starts: pd.DataFrame, place: pd.DataFrame) -> pd.DataFrame:
    """Return the options without those that mow a thicket down before a mower can go there."""
    ready = starts["strip_id"].map(place["ready_year"]).astype(float)
    early = (starts["method"] == "mow_then_spray") & (starts["start_year"] < ready)
    return starts[~early].reset_index(drop=True)


def _put(frame: pd.DataFrame, fitting: pd.Series, days: Calendar) -> pd.DataFrame:
    """Return works with the year and season of the first fit from the option's start on."""
    pairs = pd.MultiIndex.from_arrays([fitting, frame["place"]])
    found = {pair: days.next_fit(*pair) for pair in pairs.unique()}
    dates = [found[pair] for pair in pairs]
    return frame.assign(
        year=frame["start_year"].astype(int) + np.array([years for years, _ in dates], dtype=int),
        season=[days.names[at] for _, at in dates],
    )


def _first_dated(starts: pd.DataFrame, first: pd.DataFrame, days: Calendar) -> pd.DataFrame:
    """Return the first treatment's parts, each in its season."""
    merged = starts.merge(first, on=CASE)
    return _put(merged, merged["seasons"], days)


def _same_day(starts: pd.DataFrame, works: pd.DataFrame) -> pd.DataFrame:
    """Return works in the season in which the option starts."""
    merged = starts.merge(works, on=CASE)
    season = merged["option_id"].str.split(":").str[-1]
    return merged.assign(year=merged["start_year"].astype(int), season=season)


def _after_first(
    starts: pd.DataFrame, first: pd.DataFrame, haul: pd.DataFrame, days: Calendar
) -> pd.DataFrame:
    """Return the hauling or chipping of tops in the season in which they are cut."""
    cut = first[first["job"] == "cut_and_spray"].drop_duplicates(PAIR)
    merged = starts.merge(haul, on=CASE).merge(cut[[*PAIR, "seasons"]], on=PAIR)
    return _put(merged, merged["seasons"], days)


def _after_wait(dated: pd.DataFrame, days: Calendar, months: float) -> pd.DataFrame:
    """Return works put off to the first open season so many months after their own."""
    found = {name: days.after(days.names.index(name), months) for name in dated["season"].unique()}
    later = [found[name] for name in dated["season"]]
    return dated.assign(
        year=dated["year"] + np.array([years for years, _ in later], dtype=int),
        season=[days.names[at] for _, at in later],
    )


def _finished(visits: pd.DataFrame, days: Calendar) -> pd.DataFrame:
    """Return visits in the order of their dates, numbered within their option."""
    order = {name: at for at, name in enumerate(days.names)}
    rank = {job: at for at, job in enumerate(DAY_ORDER)}
    out = visits.assign(at=visits["season"].map(order), rank=visits["job"].map(rank))
    out = out.sort_values(
        ["option_id", "year", "at", "rank", "job", "herbicide"], ignore_index=True
    )
    number = out.groupby("option_id").cumcount() + 1
    out["visit_id"] = out["option_id"] + "#" + number.astype(str)
    return out.assign(cautions=out["cautions"].fillna(""))
