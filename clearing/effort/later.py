"""Lay out what goes with the first treatment and after it, but for the follow-ups."""

import numpy as np
import pandas as pd

from clearing.effort.dates import Calendar, calendar
from clearing.effort.first import CASE, COUNTED, hours_of, stem_seconds_of
from clearing.effort.hours import ENDS, ITEMS, with_hours
from clearing.effort.pace import mower_hours
from clearing.effort.sums import added_up, key_of_year
from clearing.property import GRASS_GOALS, Settings
from clearing.rates import Rates
from clearing.treatment import known_products, label_wait, open_seasons

DRY_COLUMNS = [*CASE, "size_class", "pair", "zone", "kind", "share", *(f"stems{e}" for e in ENDS)]
HAULED_FROM = "1_3in"  # thinner tops are left to the mower
TOPS = {"haul": "haul_tops", "burn": "burn_tops", "chip": "chip_tops"}  # the owner's word -> job


def mark_works(
    cases: pd.DataFrame, zones: pd.Series, place: pd.DataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return the marking before work of every case whose strip has ground under special rules.

    Over the ground: hours a hectare x area x pace.

    References
    ----------
    own reasoning
    """
    special = cases[cases["strip_id"].map(zones).fillna(0) > 1]
    out = special.join(place, on="strip_id").assign(job="mark", treated_ha=0.0)
    rate = rates.figure("mark", "hours_per_ha")
    for end, item in ITEMS.items():
        out[f"ground_h{end}"] = getattr(rate, item) * out["area_ha"] * out["pace"]
    out = with_hours(out, rates, settings)
    return _dry(out)


def dry_works(
    rows: pd.DataFrame,
    job: str,
    place: pd.DataFrame,
    rates: Rates,
    settings: Settings,
    felled_later: bool = False,
) -> pd.DataFrame:
    """Return work at the stem without product, one row a case: felling of the dead, or the tops.

    Where the owner says nothing of the tops they are hauled from grass that is mowed soon
    (``haul_before_years``) and left elsewhere.

    Parameters
    ----------
    rows : DataFrame
        As `first_stems` gives them.
    job : str
        fell_dead (what the method fells after the wait), or haul_tops, burn_tops or chip_tops.
    place : DataFrame
        As `places` gives it.
    rates, settings
        Figures, and the crew.
    felled_later : bool
        Whether the tops are those of dead stems that are felled after the wait, else of what was
        cut flush.

    References
    ----------
    own reasoning
    """
    order = rates.sizes.set_index("size_class")["order"].astype(int)
    felled = rows["fell_after"].to_numpy(dtype=bool)
    if job == "fell_dead":
        own = rows.loc[felled, DRY_COLUMNS]
    else:
        cut = felled if felled_later else (rows["job"] == "cut_and_spray").to_numpy()
        own = rows.loc[cut, DRY_COLUMNS]
        own = own[own["size_class"].map(order) >= order[HAULED_FROM]]
        soon = rates.figure("any", "haul_before_years").value
        ground = own[["strip_id"]].join(place, on="strip_id")
        mowed = ground["goal"].isin(GRASS_GOALS)
        mowed &= ground["ready_year"] <= own["start_year"] + soon
        asked = ground["tops"].map(TOPS)
        left = mowed & (ground["tops"] == "") & (job == "haul_tops")
        own = own[(asked == job) | left]
    work = own.join(stem_seconds_of(own.assign(job=job), rates, settings))
    key = key_of_year(work["pair"], work["start_year"])
    sums = [f"{name}{end}" for name in COUNTED for end in ENDS]
    out = added_up(work, key, sums, CASE)
    zone = key * (int(work["zone"].max()) + 1 if len(work) else 1) + work["zone"].to_numpy()
    at = np.unique(zone, return_index=True)[1]
    out["area_share"] = added_up(work.take(at), key[at], ["share"], [])["share"]
    blank = {f"{name}{end}": 0.0 for name in ("mix", "product") for end in ENDS}
    out = out.assign(job=job, **blank).join(place, on="strip_id")
    return _dry(hours_of(out, rates, settings))


def mow_works(
    by_year: pd.DataFrame,
    follow: pd.DataFrame,
    place: pd.DataFrame,
    days: Calendar,
    known: tuple[Rates, Settings],
) -> pd.DataFrame:
    """Return one mowing a mowable year of follow-up or upkeep, in the open season after the spray.

    Once upkeep ends the ground is kept as any other. The first mowing of a strip goes at the pace
    of its brush, later ones at that of open ground, on a slope slower; people: as long as the
    mower, and set-up, way in and breaks.

    Parameters
    ----------
    by_year : DataFrame
        One row a case and year: work, mowable.
    follow : DataFrame
        Follow-ups with their season, one of each strip at least.
    place : DataFrame
        As `places` gives it.
    days : Calendar
        Seasons.
    known : (Rates, Settings)
        Figures, and the crew.

    References
    ----------
    kentucky_aen73
    """
    rates, settings = known
    due = by_year["work"].isin(["follow_up", "upkeep"])
    out = by_year[by_year["mowable"].astype(bool) & due][[*CASE, "year"]]
    out = out.join(place, on="strip_id")
    out = out[out["mown"]]  # not where the slope is the machine's manual's to judge
    first = out["year"] == out.groupby(CASE)["year"].transform("min")
    mower = mower_hours(out["area_ha"], out["brush"].where(first, "open"), out["slope_pct"], rates)
    out = out.assign(job="mow", treated_ha=0.0, **{f"ground_h{end}": mower[end] for end in ENDS})
    out = with_hours(out, rates, settings)
    sprayed_in = follow.drop_duplicates("strip_id").set_index("strip_id")["season"]
    after = {name: _season_after(name, days) for name in days.names}
    out["season"] = out["strip_id"].map(sprayed_in).map(after).fillna(_season_after("", days))
    return _dry(out).assign(machine_hours=out["ground_h"])


def _season_after(name: str, days: Calendar) -> str:
    """Return the next open season of the same year, else the same one."""
    start = days.names.index(name) if name in days.names else 0
    later = [
        n
        for n, is_open in zip(days.names[start + 1 :], days.open[start + 1 :], strict=True)
        if is_open
    ]
    return later[0] if later else days.names[start]


def seed_works(
    mow: pd.DataFrame,
    follow: pd.DataFrame,
    place: pd.DataFrame,
    days: Calendar,
    known: tuple[Rates, Settings],
) -> pd.DataFrame:
    """Return one seeding of each case on grassland, in the first sowing season after it is mowed.

    Of the sowing window of the region and the owner's kind of grass the season is taken that ends
    as long after the strip's spray as the label asks (``reseed_days``), else the one that comes
    longest after it. Later spraying there is spots on regrowth.

    Parameters
    ----------
    mow : DataFrame
        Mowings with year and season.
    follow : DataFrame
        Follow-ups with season and herbicide, one of each strip at least.
    place : DataFrame
        As `places` gives it.
    days : Calendar
        Seasons.
    known : (Rates, Settings)
        Figures, products; region and kind of grass.

    References
    ----------
    own reasoning; the wait carries its own source
    """
    rates, settings = known
    window = sowing_seasons(rates, settings)
    products = {one.name: one for one in known_products(rates)}
    chosen = {}
    for strip, spray in follow.drop_duplicates("strip_id").set_index("strip_id").iterrows():
        product = products.get(str(spray["herbicide"]))
        asked = label_wait(product, "reseed_days", rates).days if product and product.key else 0.0
        chosen[strip] = days.after_spray(str(spray["season"]), window, asked)
    order = {name: at for at, name in enumerate(days.names)}
    first = mow.sort_values("year", kind="stable").drop_duplicates(CASE)
    out = first[[*CASE, "year", "season"]].rename(columns={"season": "mown_in"})
    out["season"] = out["strip_id"].map(chosen).fillna(window[0] if window else "")
    out = out[out["season"] != ""].join(place, on="strip_id")
    out["year"] += (out["season"].map(order) < out["mown_in"].map(order)).astype(int)
    rate = rates.figure("seed", "hours_per_ha")
    for end, item in ITEMS.items():
        out[f"ground_h{end}"] = getattr(rate, item) * out["area_ha"]
    out = with_hours(out.assign(job="seed", treated_ha=0.0), rates, settings)
    return _dry(out.drop(columns="mown_in"))


def sowing_seasons(rates: Rates, settings: Settings) -> list[str]:
    """Return the open seasons that fit the sowing window of the region and the kind of grass.

    Where none lies half inside the window, those with most of its months.

    References
    ----------
    own reasoning; the window carries its own source
    """
    grass = f"{settings.grass}_grass"
    first, last = (
        int(rates.figure(rates.region, f"{grass}_{end}_month").value) for end in ("first", "last")
    )
    window = set(range(first, last + 1))
    fitting = open_seasons(rates.seasons, " ".join(map(str, sorted(window)))).split()
    if fitting:
        return fitting
    every = open_seasons(rates.seasons).split()
    days = calendar(rates.seasons)
    months = dict(zip(days.names, days.months, strict=True))
    inside = {name: len(window & set(months[name])) for name in every}
    return [
        name for name in every if inside[name] and inside[name] == max(inside.values())
    ] or every


def _dry(frame: pd.DataFrame) -> pd.DataFrame:
    """Return works that use no product; `with_cautions` fills their cautions."""
    blank = {f"{name}{end}_l": 0.0 for name in ("mix", "product") for end in ENDS}
    blank |= {"dose_spread": 0.0, "ae_kg": 0.0, "ae_kg_per_ha": 0.0, "machine_hours": 0.0}
    stems = frame.get("stems", 0.0)
    return frame.assign(**blank, herbicide="", recipe_id="", cautions="", stems=stems)
