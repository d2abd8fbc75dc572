"""Lay out what goes with the first treatment and after it, but for the follow-ups."""

import pandas as pd

from clearing.effort.dates import Calendar
from clearing.effort.first import CASE, ENDS, hours_of
from clearing.effort.pace import mower_ha_h
from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment import caution_ids, open_seasons

GRASS = ("pasture", "silvopasture")
HAULED_FROM = "1_3in"  # thinner tops are left to the mower


def mark_works(
    cases: pd.DataFrame, zones: pd.Series, place: pd.DataFrame, rates: Rates
) -> pd.DataFrame:
    """Return the marking before work of every case whose strip has ground under special rules.

    hours = set-up + hours a hectare x area x pace.

    References
    ----------
    own reasoning
    """
    special = cases[cases["strip_id"].map(zones).fillna(0) > 1]
    out = special.join(place, on="strip_id")
    setup, rate = rates.figure("mark", "setup_h"), rates.figure("mark", "hours_per_ha")
    ground = out["area_ha"] * out["pace"]
    for end, item in zip(ENDS, ("value", "low", "high"), strict=True):
        out[f"hours{end}"] = getattr(setup, item) + getattr(rate, item) * ground
    return _dry(out.assign(job="mark", treated_ha=0.0, cautions=caution_ids(["always"], rates)))


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
        own = rows[rows["fell_after"].astype(bool)]
    else:
        thick = rows["size_class"].map(order) >= order[HAULED_FROM]
        own = rows[(rows["job"] == "cut_and_spray") & thick]
        soon = rates.figure("any", "haul_before_years").value
        ground = own[["strip_id"]].join(place, on="strip_id")
        wanted = ground["goal"].isin(GRASS) & (ground["ready_year"] <= own["start_year"] + soon)
        own = own[wanted]
    mid = rates.sizes.set_index("size_class")["mid_cm"].astype(float)
    cm = own["size_class"].map(mid)
    work = own[[*CASE, *(f"stems{end}" for end in ENDS)]].copy()
    for end, item in zip(ENDS, ("value", "low", "high"), strict=True):
        base = getattr(rates.figure(job, "base_s"), item)
        per_cm = getattr(rates.figure(job, "per_cm_s"), item)
        work[f"seconds{end}"] = own["stems"] * (base + per_cm * cm)
        work[f"mix{end}"] = work[f"product{end}"] = 0.0
    out = work.groupby(CASE, as_index=False).sum()
    area = own.drop_duplicates([*CASE, "zone_id"]).groupby(CASE)["share"].sum()
    out = out.join(area.rename("area_share"), on=CASE).join(place, on="strip_id")
    out = hours_of(out.assign(job=job), rates, settings)
    words = caution_ids([f"job:{job}", "always"], rates)
    return _dry(out.assign(cautions=words))


def mow_works(
    by_year: pd.DataFrame, follow: pd.DataFrame, place: pd.DataFrame, days: Calendar, rates: Rates
) -> pd.DataFrame:
    """Return one mowing a mowable year of follow-up or upkeep, in the open season after the spray.

    Once upkeep ends the ground is kept as any other. Machine hours = area / (width x speed / 10 x
    efficiency); people: the same and set-up.

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
    rates : Rates
        Figures.

    References
    ----------
    kentucky_aen73
    """
    due = by_year["work"].isin(["follow_up", "upkeep"])
    out = by_year[by_year["mowable"].astype(bool) & due][[*CASE, "year"]]
    out = out.join(place, on="strip_id")
    speed = {brush: mower_ha_h("open", rates) for brush in out["brush"].unique()}
    setup, share = rates.figure("mow", "setup_h"), rates.figure("mow", "efficiency")
    pace = rates.figure("brush_open", "mow_kmh")
    spread = (1.0, share.value / share.high, pace.value / pace.low)
    out["machine_hours"] = out["area_ha"] / out["brush"].map(speed)
    for end, item, factor in zip(ENDS, ("value", "low", "high"), spread, strict=True):
        out[f"hours{end}"] = getattr(setup, item) + out["machine_hours"] * factor
    sprayed_in = follow.drop_duplicates("strip_id").set_index("strip_id")["season"]
    after = {name: _season_after(name, days) for name in days.names}
    out["season"] = out["strip_id"].map(sprayed_in).map(after).fillna(_season_after("", days))
    words = caution_ids(["machine:mower", "always"], rates)
    out = out.assign(job="mow", treated_ha=0.0, cautions=words)
    hours = out["machine_hours"]
    return _dry(out).assign(machine_hours=hours)


def _season_after(name: str, days: Calendar) -> str:
    """Return the next open season of the same year, else the same one."""
    start = days.names.index(name) if name in days.names else 0
    later = [
        n
        for n, is_open in zip(days.names[start + 1 :], days.open[start + 1 :], strict=True)
        if is_open
    ]
    return later[0] if later else days.names[start]


def seed_works(by_year: pd.DataFrame, place: pd.DataFrame, rates: Rates) -> pd.DataFrame:
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
    setup, rate = rates.figure("seed", "setup_h"), rates.figure("seed", "hours_per_ha")
    for end, item in zip(ENDS, ("value", "low", "high"), strict=True):
        out[f"hours{end}"] = getattr(setup, item) + getattr(rate, item) * out["area_ha"]
    out = out[out["season"] != ""]
    return _dry(out.assign(job="seed", treated_ha=0.0, cautions=caution_ids(["always"], rates)))


def _dry(frame: pd.DataFrame) -> pd.DataFrame:
    """Return works that use no product."""
    blank = {f"{name}{end}_l": 0.0 for name in ("mix", "product") for end in ENDS}
    blank |= {"ae_kg": 0.0, "ae_kg_per_ha": 0.0, "machine_hours": 0.0}
    stems = frame.get("stems", 0.0)
    return frame.assign(**blank, herbicide="", recipe_id="", stems=stems)
