"""Lay out what goes with the first treatment and after it, but for the follow-ups."""

import numpy as np
import pandas as pd

from clearing.effort.dates import Calendar
from clearing.effort.first import CASE, hours_of, stem_seconds_of
from clearing.effort.hours import ENDS, ITEMS, with_hours
from clearing.effort.pace import mower_hours
from clearing.effort.sums import added_up, key_of_year
from clearing.property import GRASS_GOALS, Settings
from clearing.rates import Rates
from clearing.treatment import caution_ids, open_seasons

DRY_COLUMNS = [*CASE, "size_class", "pair", "zone", "kind", "share", *(f"stems{e}" for e in ENDS)]
HAULED_FROM = "1_3in"  # thinner tops are left to the mower


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
    return _dry(out.assign(cautions=caution_ids(["always"], rates)))


def dry_works(
    rows: pd.DataFrame, job: str, place: pd.DataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return work at the stem without product, one row a case: fell_dead or haul_tops.

    Parameters
    ----------
    rows : DataFrame
        As `first_stems` gives them.
    job : str
        fell_dead (what the method fells after the wait) or haul_tops (what was cut flush).

    References
    ----------
    own reasoning
    """
    order = rates.sizes.set_index("size_class")["order"].astype(int)
    if job == "fell_dead":
        own = rows.loc[rows["fell_after"].to_numpy(dtype=bool), DRY_COLUMNS]
    else:
        own = rows.loc[(rows["job"] == "cut_and_spray").to_numpy(), DRY_COLUMNS]
        own = own[own["size_class"].map(order) >= order[HAULED_FROM]]
        soon = rates.figure("any", "haul_before_years").value
        ground = own[["strip_id"]].join(place, on="strip_id")
        wanted = ground["goal"].isin(GRASS_GOALS) & (
            ground["ready_year"] <= own["start_year"] + soon
        )
        own = own[wanted]
    work = own.join(stem_seconds_of(own.assign(job=job), rates, settings))
    key = key_of_year(work["pair"], work["start_year"])
    sums = [f"{name}{end}" for name in ("stems", "seconds", "cut") for end in ENDS]
    out = added_up(work, key, sums, CASE)
    zone = key * (int(work["zone"].max()) + 1 if len(work) else 1) + work["zone"].to_numpy()
    at = np.unique(zone, return_index=True)[1]
    out["area_share"] = added_up(work.take(at), key[at], ["share"], [])["share"]
    blank = {f"{name}{end}": 0.0 for name in ("mix", "product") for end in ENDS}
    out = out.assign(job=job, **blank).join(place, on="strip_id")
    out = hours_of(out, rates, settings)
    words = caution_ids([f"job:{job}", "always"], rates)
    return _dry(out.assign(cautions=words))


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
    first = out["year"] == out.groupby(CASE)["year"].transform("min")
    mower = mower_hours(out["area_ha"], out["brush"].where(first, "open"), out["slope_pct"], rates)
    out = out.assign(job="mow", treated_ha=0.0, **{f"ground_h{end}": mower[end] for end in ENDS})
    out = with_hours(out, rates, settings)
    sprayed_in = follow.drop_duplicates("strip_id").set_index("strip_id")["season"]
    after = {name: _season_after(name, days) for name in days.names}
    out["season"] = out["strip_id"].map(sprayed_in).map(after).fillna(_season_after("", days))
    words = caution_ids(["machine:mower", "always"], rates)
    return _dry(out.assign(cautions=words)).assign(machine_hours=out["ground_h"])


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
    by_year: pd.DataFrame, place: pd.DataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return one seeding of each case on grassland, in the first year it can be mowed.

    References
    ----------
    own reasoning
    """
    first, last = (int(rates.figure("seed", f"{end}_month").value) for end in ("first", "last"))
    months = " ".join(str(month) for month in range(first, last + 1))
    fitting = open_seasons(rates.seasons, months) or open_seasons(rates.seasons)
    rows = by_year[by_year["mowable"].astype(bool) & (by_year["work"] != "first")]
    out = rows.groupby(CASE, as_index=False)["year"].min().join(place, on="strip_id")
    out["season"] = fitting.split()[0] if fitting else ""
    rate = rates.figure("seed", "hours_per_ha")
    for end, item in ITEMS.items():
        out[f"ground_h{end}"] = getattr(rate, item) * out["area_ha"]
    out = out[out["season"] != ""].assign(job="seed", treated_ha=0.0)
    out = with_hours(out, rates, settings)
    return _dry(out.assign(cautions=caution_ids(["always"], rates)))


def _dry(frame: pd.DataFrame) -> pd.DataFrame:
    """Return works that use no product."""
    blank = {f"{name}{end}_l": 0.0 for name in ("mix", "product") for end in ENDS}
    blank |= {"ae_kg": 0.0, "ae_kg_per_ha": 0.0, "machine_hours": 0.0}
    stems = frame.get("stems", 0.0)
    return frame.assign(**blank, herbicide="", recipe_id="", stems=stems)
