"""Lay out the first treatment of every strip and method: parts, stems, hours, product."""

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.effort.cover import overlap_factor
from clearing.effort.dates import common
from clearing.effort.hours import ENDS, ITEMS, with_hours
from clearing.effort.outings import ground_shares, outings_of
from clearing.effort.pace import (
    cut_seconds,
    mower_hours,
    pace_factor,
    spread,
    stem_seconds,
    walking_m_s,
)
from clearing.effort.sums import added_up, key_of_year
from clearing.property import GRASS_GOALS, Settings
from clearing.rates import Rates
from clearing.records.lessons import WIDTH
from clearing.treatment import join_cautions, known_products

PAIR = ["strip_id", "method_id"]
PART = [*PAIR, "job", "herbicide", "percent"]
CASE = [*PAIR, "start_year"]
NO_VISIT = ("left",)
NOT_AT_STEMS = ("call_utility", "mow_down")  # jobs whose time does not go with the stems
USED = [
    *PAIR, "zone_id", "species", "size_class", "job", "recipe_id", "herbicide", "stems",
    "stems_low", "stems_high", "dose_ml", "product_ml", "fell_after", "seasons", "cautions",
]  # fmt: skip
NAMES = ["strip_id", "method_id", "job", "recipe_id", "herbicide", "seasons", "cautions"]
COUNTED = ("stems", "seconds", "cut", "hand")
FEWEST = 0.05  # expected stems in a strip for which nobody makes a visit; own choice


def places(strips: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, rates: Rates) -> pd.DataFrame:
    """Return the strips with what their ground does to the pace, indexed by strip_id.

    ``mown``: grass on a slope that a mower is planned for; ``weight``: what the owner's priority
    counts a cleared acre for.

    References
    ----------
    own reasoning
    """
    own = ["strip_id", "block_id", "area_ha", "way_in_m"]
    own += [name for name in ("ring_ha",) if name in strips]
    theirs = ["block_id", "goal", "brush", "slope_pct", "stock", "hay", "tops", "ready_year"]
    theirs += [name for name in ("priority",) if name in blocks]
    frame = pd.DataFrame(strips[own]).merge(pd.DataFrame(blocks[theirs]), on="block_id")
    frame["slope_pct"] = frame["slope_pct"].astype(float)
    for name, work in (("pace", pace_factor), ("walk_m_s", walking_m_s)):
        frame[name] = 1.0
        for brush, rows in frame.groupby("brush"):
            frame.loc[rows.index, name] = work(str(brush), rows["slope_pct"], rates)
    steep = frame["slope_pct"] >= rates.figure("any", "mow_most_slope_pct").value
    wish = frame.get("priority", pd.Series(3, index=frame.index)).astype(int)
    weights = {each: rates.figure("priority", f"weight_{each}").value for each in set(wish)}
    frame["weight"] = wish.map(weights)
    frame["mown"] = frame["goal"].isin(GRASS_GOALS) & ~steep
    return frame.set_index("strip_id")


def parts(methods: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return the methods' treated rows with their part's percent and the zone's share of the strip.

    Whole numbers stand for strip and method (pair), for these with the part, for zone and class;
    crown_ha is the crown that a leaf spray covers [ha a stem], nought for other jobs.

    References
    ----------
    own reasoning
    """
    share = zone_share(methods)
    treated = (methods["method"] != "not_now") & ~methods["job"].isin(NO_VISIT)
    rows = methods.loc[treated, USED].copy()
    rows["share"] = rows["zone_id"].map(share).fillna(0.0)
    percent = rows["product_ml"] / rows["dose_ml"].where(rows["dose_ml"] > 0) * 100.0
    rows["percent"] = percent.fillna(0.0).round(2)
    strength = {known.name: known.product.ae_kg_per_l for known in known_products(rates)}
    full = rates.recipes.set_index("recipe_id")["l_per_ha_cover"]
    l_per_ha = pd.to_numeric(rows["recipe_id"].map(full)).astype(float)
    rows["crown_ha"] = (rows["dose_ml"] / (1000.0 * l_per_ha.where(l_per_ha > 0))).fillna(0.0)
    used = {job: rates.figure(job, "dose_factor").value for job in rows["job"].unique()}
    rows[["dose_ml", "product_ml"]] = rows[["dose_ml", "product_ml"]].mul(
        rows["job"].map(used), axis=0
    )
    rows["ae_kg_stem"] = rows["product_ml"] / 1000.0 * rows["herbicide"].map(strength).fillna(0.0)
    rows["pair"] = rows.groupby(PAIR).ngroup()
    rows["part"] = rows.groupby(["pair", *PART[2:]]).ngroup()
    rows["zone"] = pd.factorize(rows["zone_id"], sort=True)[0]
    rows["kind"] = pd.factorize(rows["size_class"], sort=True)[0]
    return rows.drop(columns="zone_id")


def zone_share(methods: pd.DataFrame) -> pd.Series:
    """Return each zone's share of its strip, by zone_id: stems lie as area in every zone.

    References
    ----------
    own reasoning
    """
    idle = methods[methods["method"] == "not_now"]
    stems = idle.groupby(["strip_id", "zone_id"])["stems_high"].sum() + 1e-12
    share = stems / stems.groupby("strip_id").transform("sum")
    return share.droplevel("strip_id")


def first_stems(rows: pd.DataFrame, futures: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return the rows of every start year with the stems that then stand there.

    The year after the last stands for a strip that was left until then.

    Parameters
    ----------
    rows : DataFrame
        As `parts` gives them.
    futures : DataFrame
        As ``walk/futures``.
    settings : Settings
        Years.

    References
    ----------
    own reasoning
    """
    keys = [*PAIR, "species", "size_class"]
    ends = ["stems", "stems_low", "stems_high"]
    named = futures.rename(columns={"stage": "size_class"})
    first = named[named["work"] == "first"][[*keys, "start_year", *ends]]
    beyond = settings.first_year + settings.years
    idle = named[(named["method_id"] == "not_now") & (named["year"] == beyond)]
    pairs = rows[PAIR].drop_duplicates()
    later = pairs.merge(idle[["strip_id", "species", "size_class", *ends]], on="strip_id")
    grown = pd.concat([first, later.assign(start_year=float(beyond))], ignore_index=True)
    known = {name: rows[name].unique() for name in keys}
    grown = grown.assign(key=_number(grown, known))[["key", "start_year", *ends]]
    short = rows.drop(columns=[*ends, "species"]).assign(key=_number(rows, known))
    short[NAMES] = short[NAMES].astype("category")  # quick to copy; `hours_of` turns them back
    out = short.merge(grown, on="key").drop(columns="key")
    for end in ends:
        out[end] = out[end] * out["share"]
    return out


def _number(frame: pd.DataFrame, known: dict[str, np.ndarray]) -> np.ndarray:
    """Return one whole number for each combination of known names, none of another's."""
    key = np.zeros(len(frame), dtype=np.int64)
    for name, values in known.items():
        at = pd.Index(values).get_indexer(frame[name])
        key = np.where((at < 0) | (key < 0), -1, key * len(values) + at)
    return key


def first_works(
    rows: pd.DataFrame, place: pd.DataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return one row a case and part: stems, hours, mix, product, acid equivalent, seasons.

    Leaf sprays take what the covered ground takes, not the sum of crowns that overlap. Parts of one
    job that share every date are one outing: they cover its ground once between them, a leaf spray
    by crowns, else by stems, and share one set-up, one way in and one way past all stems.

    Parameters
    ----------
    rows : DataFrame
        As `first_stems` gives them.
    place : DataFrame
        As `places` gives it.
    rates : Rates
        Figures of the jobs.
    settings : Settings
        Crew.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    rows = rows[_enough(rows)]
    told = _of_parts(rows, rates)
    work = rows.join(stem_seconds_of(rows, rates, settings))
    area = _strip_ha(rows, place)
    for end, apart in zip(ENDS, _apart(rows, area), strict=True):
        stems = rows[f"stems{end}"].to_numpy(dtype=float) * apart / 1000.0
        work[f"mix{end}"] = stems * rows["dose_ml"].to_numpy(dtype=float)
        work[f"product{end}"] = stems * rows["product_ml"].to_numpy(dtype=float)
        if not end:
            work["ae_kg"] = 1000.0 * stems * rows["ae_kg_stem"].to_numpy(dtype=float)
    outing = told["outing"].reindex(rows["part"]).to_numpy(dtype=np.int64)
    leaves = rows["crown_ha"].to_numpy(dtype=float)
    weight = rows["stems"].to_numpy(dtype=float) * np.where(leaves > 0, leaves, 1.0)
    work["area_share"] = ground_shares(rows, outing, weight)
    sums = [f"{name}{end}" for name in (*COUNTED, "mix", "product") for end in ENDS]
    key = key_of_year(work["part"], work["start_year"])
    kept = [*CASE, *PART[2:], "part"]
    out = added_up(work, key, [*sums, "ae_kg", "area_share"], kept)
    out["ae_kg_per_ha"] = _densest(work, key, area)
    out = out.join(told, on="part").drop(columns="part")
    out["outing"] = key_of_year(out["outing"], out["start_year"])
    return hours_of(out.join(place, on="strip_id"), rates, settings)


def _enough(rows: pd.DataFrame) -> np.ndarray:
    """Return whether each row's part has stems enough for a visit in its start year."""
    of = pd.factorize(key_of_year(rows["part"], rows["start_year"]))[0]
    stems = np.bincount(of, weights=rows["stems"].to_numpy(dtype=float))
    return stems[of] >= FEWEST if len(of) else np.zeros(0, dtype=bool)


def _strip_ha(rows: pd.DataFrame, place: pd.DataFrame) -> np.ndarray:
    """Return the area of each row's strip [ha]."""
    pairs, at, of = np.unique(rows["pair"].to_numpy(), return_index=True, return_inverse=True)
    strips = rows["strip_id"].take(at)
    return place["area_ha"].reindex(strips).to_numpy(dtype=float)[of] if len(pairs) else np.zeros(0)


def stem_seconds_of(rows: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the time at the stems of each row, and what of it goes behind the saw [s].

    Parameters
    ----------
    rows : DataFrame
        job, size_class with its number (kind), stems.
    rates : Rates
        Paces of the jobs.
    settings : Settings
        Who has a saw: without one, dead stems too are felled by hand.

    Returns
    -------
    DataFrame
        seconds, cut (of them), hand (in place of cut, without a chain saw), each with low and
        high: paces for the middle number of stems. Thin stems are cut by hand anyway where that is
        quicker. Of felling the dead all time is the sawyer's, since nobody else may be near.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    code = pd.factorize(rows["job"])[0] * (int(rows["kind"].max()) + 1 if len(rows) else 1)
    code, _ = pd.factorize(code + rows["kind"].to_numpy())
    first = np.unique(code, return_index=True)[1]
    kinds = rows[["job", "size_class"]].take(first)
    mid = kinds["size_class"].map(rates.sizes.set_index("size_class")["mid_cm"].astype(float))
    job, cm = kinds["job"].to_numpy(), mid.to_numpy(dtype=float)
    stems = rows["stems"].to_numpy(dtype=float)
    names = [f"{name}{end}" for end in ENDS for name in COUNTED[1:]]
    out = np.empty((len(names), len(rows)))
    for place, item in enumerate(ITEMS.values()):
        each = _kind_seconds(job, cm, item, rates, settings.crew.sawyers > 0)
        for at, seconds in enumerate(each, start=place * len(each)):
            np.multiply(seconds[code], stems, out=out[at])
    return pd.DataFrame(out.T, columns=names, index=rows.index, copy=False)


def _kind_seconds(
    job: np.ndarray, cm: np.ndarray, item: str, rates: Rates, saw: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the time at a stem of each job and diameter, what of it is cut, and that by hand."""
    seconds, cut, hand = np.zeros(len(cm)), np.zeros(len(cm)), np.zeros(len(cm))
    by_hand = cut_seconds(cm, 0, item, rates)
    by_saw = np.minimum(cut_seconds(cm, 1, item, rates), by_hand)
    for name in set(job) - set(NOT_AT_STEMS):
        mine = job == name
        base, per_cm = (getattr(rates.figure(name, n), item) for n in ("base_s", "per_cm_s"))
        at_stem = stem_seconds(cm, base, per_cm)
        if name == "cut_and_spray":
            first, second, at_stem = by_saw, by_hand, at_stem + (by_saw if saw else by_hand)
        elif name == "fell_dead":
            first, second = at_stem, at_stem + by_hand - by_saw
            at_stem = first if saw else second
        else:
            first = second = 0.0 * cm
        seconds[mine], hand[mine] = at_stem[mine], second[mine]
        cut[mine] = (first if saw else second)[mine]
    return seconds, cut, hand


def _apart(rows: pd.DataFrame, strip_ha: np.ndarray) -> list[np.ndarray]:
    """Return what of a dose remains where sprayed crowns overlap, for middle, low and high."""
    each_ha = rows["crown_ha"].to_numpy(dtype=float)
    leafy = each_ha > 0
    out = [np.ones(len(rows)) for _ in ENDS]
    if not leafy.any():
        return out
    own = rows[["pair", "zone", "start_year", "share", *(f"stems{end}" for end in ENDS)]][leafy]
    spot = own["pair"].to_numpy() * (int(own["zone"].max()) + 1) + own["zone"].to_numpy()
    group = pd.factorize(key_of_year(spot, own["start_year"]))[0]
    area = strip_ha[leafy] * own["share"].to_numpy(dtype=float)
    for end, factor in zip(ENDS, out, strict=True):
        crowns = own[f"stems{end}"].to_numpy(dtype=float) * each_ha[leafy]
        total = np.bincount(group, weights=crowns)[group]
        factor[leafy] = overlap_factor(total, area)
    return out


def _of_parts(rows: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return each part's recipe (of most stems at first), seasons, cautions and outing."""
    year = rows["start_year"].to_numpy()
    now = rows[year == rows.groupby("part")["start_year"].transform("min").to_numpy()]
    order = tuple(rates.seasons.sort_values("order")["season"])
    stems = now.groupby(["part", "recipe_id"], as_index=False, observed=True)["stems"].sum()
    stems = stems.sort_values("stems", ascending=False, kind="stable")
    out = stems.drop_duplicates("part").set_index("part")[["recipe_id"]].sort_index()
    shared: dict[tuple[str, ...], str] = {}
    fits = _lists(now, "seasons")
    for lists in set(fits.values()):
        both = common(list(lists), order) or common([" ".join(lists)], order)
        shared[lists] = " ".join(both)
    told = _lists(now, "cautions")
    warned = {lists: join_cautions(lists) for lists in set(told.values())}
    out["seasons"] = [shared[fits[key]] for key in out.index]
    out["cautions"] = [warned[told[key]] for key in out.index]
    own = now.drop_duplicates("part").set_index("part")[["pair", "method_id", "job"]]
    own = own.astype({"method_id": str, "job": str})
    out["outing"] = outings_of(out[["seasons"]].join(own), rates)
    return out


def _lists(now: pd.DataFrame, column: str) -> dict[int, tuple[str, ...]]:
    """Return the different texts of a column in each part."""
    found: dict[int, list[str]] = {}
    for key, text in now[["part", column]].drop_duplicates().itertuples(index=False):
        found.setdefault(key, []).append(text)
    return {key: tuple(sorted(texts)) for key, texts in found.items()}


def _densest(work: pd.DataFrame, key: np.ndarray, strip_ha: np.ndarray) -> np.ndarray:
    """Return each part's acid equivalent on a hectare of the zone that gets most [kg/ha]."""
    _, of = np.unique(key, return_inverse=True)
    zones = int(work["zone"].max()) + 1 if len(work) else 1
    _, at, cell = np.unique(of * zones + work["zone"], return_index=True, return_inverse=True)
    acid = np.bincount(cell, weights=work["ae_kg"].to_numpy(dtype=float))
    area = strip_ha[at] * work["share"].to_numpy(dtype=float)[at]
    density = np.divide(acid, area, out=np.zeros(len(at)), where=area > 0)
    densest = np.zeros(int(of.max()) + 1 if len(of) else 0)
    np.maximum.at(densest, of[at], density)
    return densest


def hours_of(out: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return works at the stems with their hours, and the ranges of hours, mix and product.

    Mowing a thicket down goes with the ground, its brush and its slope, not with the stems.

    Parameters
    ----------
    out : DataFrame
        job, stems, seconds, cut, mix, product (each with low and high), area_share and the ground.
    rates : Rates
        Figures.
    settings : Settings
        Crew.

    References
    ----------
    own reasoning
    """
    names = [name for name in NAMES if name in out and out[name].dtype == "category"]
    frame = out.assign(**{name: out[name].astype(str) for name in names})
    frame["treated_ha"] = frame["area_ha"] * frame["area_share"]
    frame["tour_ha"] = frame["treated_ha"].where(~frame["job"].isin(NOT_AT_STEMS), 0.0)
    mown = frame["job"] == "mow_down"
    mower = mower_hours(frame["treated_ha"], frame["brush"], frame["slope_pct"], rates)
    for end in ENDS:
        frame[f"ground_h{end}"] = mower[end] * mown
    frame["machine_hours"] = frame["ground_h"]
    return with_doses(with_hours(frame, rates, settings), rates)


def with_doses(works: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return works with mix and product [l] and their ranges: number of stems, and the dose used.

    Parameters
    ----------
    works : DataFrame
        job; mix, product, each with low and high for the low and the high number of stems.
    rates : Rates

    References
    ----------
    own reasoning
    """
    out = works.copy()
    used = {job: rates.figure(job, "dose_factor") for job in out["job"].unique()}
    each = {job: np.log(one.high / one.low) / WIDTH for job, one in used.items()}
    out["dose_spread"] = out["job"].map(each).astype(float)
    ends = {
        end: out["job"].map({job: getattr(one, end[1:]) / one.value for job, one in used.items()})
        for end in ENDS[1:]
    }
    for name in ("mix", "product"):
        some = out[name].where(out[name] > 0)
        for end, dose in ends.items():
            count = (out[f"{name}{end}"] / some).fillna(1.0)
            out[f"{name}{end}_l"] = spread(out[name], count, dose.astype(float))
    return out.rename(columns={"mix": "mix_l", "product": "product_l"})
