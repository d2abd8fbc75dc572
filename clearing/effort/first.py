"""Lay out the first treatment of every strip and method: parts, stems, hours, product."""

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.effort.dates import common
from clearing.effort.pace import both_spreads, pace_factor, tour_m, walking_m_s
from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment import join_cautions, known_products

PAIR = ["strip_id", "method_id"]
PART = [*PAIR, "job", "herbicide", "percent"]
CASE = [*PAIR, "start_year"]
ENDS = ("", "_low", "_high")
NO_VISIT = ("left",)
FEWEST = 0.05  # expected stems in a strip for which nobody makes a visit; own choice


def places(strips: gpd.GeoDataFrame, blocks: gpd.GeoDataFrame, rates: Rates) -> pd.DataFrame:
    """Return the strips with what their ground does to the pace, indexed by strip_id.

    References
    ----------
    own reasoning
    """
    own = ["strip_id", "block_id", "area_ha", "way_in_m"]
    theirs = ["block_id", "goal", "brush", "slope_pct", "stock", "hay", "ready_year"]
    frame = pd.DataFrame(strips[own]).merge(pd.DataFrame(blocks[theirs]), on="block_id")
    frame["slope_pct"] = frame["slope_pct"].astype(float)
    for name, work in (("pace", pace_factor), ("walk_m_s", walking_m_s)):
        frame[name] = 1.0
        for brush, rows in frame.groupby("brush"):
            frame.loc[rows.index, name] = work(str(brush), rows["slope_pct"], rates)
    return frame.set_index("strip_id")


def parts(methods: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return the methods' treated rows with their part's percent and the zone's share of the strip.

    References
    ----------
    own reasoning
    """
    share = _zone_share(methods)
    rows = methods[(methods["method"] != "not_now") & ~methods["job"].isin(NO_VISIT)].copy()
    rows["share"] = rows["zone_id"].map(share).fillna(0.0)
    percent = rows["product_ml"] / rows["dose_ml"].where(rows["dose_ml"] > 0) * 100.0
    rows["percent"] = percent.fillna(0.0).round(2)
    strength = {known.name: known.product.ae_kg_per_l for known in known_products(rates)}
    rows["ae_kg_stem"] = rows["product_ml"] / 1000.0 * rows["herbicide"].map(strength).fillna(0.0)
    return rows


def _zone_share(methods: pd.DataFrame) -> pd.Series:
    """Return each zone's share of its strip, by zone_id: stems lie as area in every zone."""
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
    out = rows.drop(columns=ends).merge(grown, on=keys)
    for end in ends:
        out[end] = out[end] * out["share"]
    return out


def first_works(
    rows: pd.DataFrame, place: pd.DataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return one row a case and part: stems, hours, mix, product, acid equivalent, seasons.

    Parameters
    ----------
    rows : DataFrame
        As `first_stems` gives them.
    place : DataFrame
        As `places` gives it.
    rates : Rates
        Figures of the jobs.
    settings : Settings
        Hours a day, for the way in.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    mid = rates.sizes.set_index("size_class")["mid_cm"].astype(float)
    cm = rows["size_class"].map(mid).to_numpy()
    work = rows.assign(ae_kg=rows["stems"] * rows["ae_kg_stem"])
    for end, item in zip(ENDS, ("value", "low", "high"), strict=True):
        seconds = {j: _seconds_of(j, item, rates) for j in rows["job"].unique()}
        base = rows["job"].map({j: s[0] for j, s in seconds.items()}).to_numpy()
        per_cm = rows["job"].map({j: s[1] for j, s in seconds.items()}).to_numpy()
        work[f"seconds{end}"] = rows["stems"] * (base + per_cm * cm)
        work[f"mix{end}"] = rows[f"stems{end}"] * rows["dose_ml"] / 1000.0
        work[f"product{end}"] = rows[f"stems{end}"] * rows["product_ml"] / 1000.0
    sums = [f"{name}{end}" for name in ("stems", "seconds", "mix", "product") for end in ENDS]
    out = work.groupby([*CASE, *PART[2:]], as_index=False)[[*sums, "ae_kg"]].sum()
    out = out[out["stems"] >= FEWEST]
    out = out.merge(_of_parts(rows, rates), on=PART)
    out = out.merge(_densest(work, place), on=[*CASE, *PART[2:]])
    return hours_of(out.join(place, on="strip_id"), rates, settings)


def _seconds_of(job: str, item: str, rates: Rates) -> tuple[float, float]:
    """Return base and per-cm seconds of a job; calling the utility takes none at the stem."""
    if job == "call_utility":
        return 0.0, 0.0
    return (
        float(getattr(rates.figure(job, "base_s"), item)),
        float(getattr(rates.figure(job, "per_cm_s"), item)),
    )


def _of_parts(rows: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return each part's recipe (of most stems now), seasons, cautions and share of the strip."""
    now = rows[rows["start_year"] == rows["start_year"].min()]
    order = tuple(rates.seasons.sort_values("order")["season"])
    stems = now.groupby([*PART, "recipe_id"], as_index=False)["stems"].sum()
    stems = stems.sort_values("stems", ascending=False, kind="stable")
    recipe = stems.drop_duplicates(PART).set_index(PART)["recipe_id"]
    area = now.drop_duplicates([*PART, "zone_id"]).groupby(PART)["share"].sum()
    out = recipe.to_frame().join(area.rename("area_share"))
    shared: dict[tuple[str, ...], str] = {}
    fits = _lists(now, "seasons")
    for lists in set(fits.values()):
        both = common(list(lists), order) or common([" ".join(lists)], order)
        shared[lists] = " ".join(both)
    told = _lists(now, "cautions")
    warned = {lists: join_cautions(lists) for lists in set(told.values())}
    out["seasons"] = [shared[fits[key]] for key in out.index]
    out["cautions"] = [warned[told[key]] for key in out.index]
    return out.reset_index()


def _lists(now: pd.DataFrame, column: str) -> dict[tuple, tuple[str, ...]]:
    """Return the different texts of a column in each part."""
    found: dict[tuple, list[str]] = {}
    for *key, text in now[[*PART, column]].drop_duplicates().itertuples(index=False):
        found.setdefault(tuple(key), []).append(text)
    return {key: tuple(sorted(texts)) for key, texts in found.items()}


def _densest(work: pd.DataFrame, place: pd.DataFrame) -> pd.DataFrame:
    """Return each part's acid equivalent on a hectare of the zone that gets most [kg/ha]."""
    by_zone = work.groupby([*CASE, *PART[2:], "zone_id", "share"], as_index=False)["ae_kg"].sum()
    area = by_zone["strip_id"].map(place["area_ha"]) * by_zone["share"]
    by_zone["ae_kg_per_ha"] = by_zone["ae_kg"] / area.where(area > 0)
    return by_zone.groupby([*CASE, *PART[2:]], as_index=False)["ae_kg_per_ha"].max().fillna(0.0)


def hours_of(out: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return the works with hours and the ranges of hours and product.

    hours = set-up + (seconds x pace + slack x tour / speed) / 3600 + way in, out and back each day.

    Parameters
    ----------
    out : DataFrame
        stems, seconds, mix, product (each with low and high), area_share and the ground.
    rates : Rates
        Figures.
    settings : Settings
        Hours a day.

    References
    ----------
    own reasoning
    """
    frame = out.copy()
    frame["treated_ha"] = frame["area_ha"] * frame["area_share"]
    setup = {job: rates.figure(job, "setup_h").value for job in frame["job"].unique()}
    slack = rates.figure("walk", "tour_slack").value
    walked = frame["job"] != "call_utility"
    walk_s = slack * tour_m(frame["stems"], frame["treated_ha"], rates) / frame["walk_m_s"] * walked
    on_site = (frame["seconds"] * frame["pace"] + walk_s) / 3600.0
    a_day = settings.crew.hours_per_day
    a_day = max(a_day.values(), default=6.0) if isinstance(a_day, dict) else a_day
    days = np.ceil(on_site / max(a_day, 1.0))
    way_in = days * 2.0 * frame["way_in_m"] / frame["walk_m_s"] / 3600.0
    frame["hours"] = frame["job"].map(setup) + on_site + way_in
    stray = rates.figure("any", "dose_spread").value
    for end, dose in (("_low", 1.0 - stray), ("_high", 1.0 + stray)):
        pace = _ratio(frame[f"seconds{end}"], frame["seconds"])
        count = _ratio(frame[f"stems{end}"], frame["stems"])
        frame[f"hours{end}"] = both_spreads(frame["hours"], count, pace)
        for name in ("mix", "product"):
            frame[f"{name}{end}_l"] = both_spreads(frame[name], count, dose)
    frame = frame.rename(columns={"mix": "mix_l", "product": "product_l"})
    return frame.assign(machine_hours=0.0)


def _ratio(end: pd.Series, middle: pd.Series) -> np.ndarray:
    """Return an end over its middle, 1 where there is no middle."""
    return (end / middle.where(middle > 0)).fillna(1.0).to_numpy()
