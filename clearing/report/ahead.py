"""Put the forecast of the chosen plan into words: stems, dead wood, grass, hours by season."""

from typing import Any

import pandas as pd

from clearing import schedule
from clearing.property import Results
from clearing.report import words
from clearing.report.facts import StripFacts
from clearing.report.facts_ahead import Ahead, ForecastYear, GroundYear, SeasonFacts
from clearing.report.strip_facts import thick_classes, total_hours
from clearing.report.visit_facts import plain_rows, season_order

ENDS = ("stems", "stems_low", "stems_high")
SEEDS = "seed_bank"
GRASS_JOB = "mow"


def what_is_ahead(results: Results, strips: list[StripFacts], years: tuple[int, ...]) -> Ahead:
    """Return what the years bring.

    Parameters
    ----------
    results : Results
        What the walk gave.
    strips : list of StripFacts
        Strips in order, in words.
    years : tuple of int
        Years of the plan.

    References
    ----------
    own reasoning
    """
    told = _told(results, strips, (*years, years[-1] + 1))
    return Ahead(
        place=_place(told, results),
        strips={strip: tuple(_row(one, None) for one in rows) for strip, rows in told.items()},
        ground=_ground(results, strips, years),
        seasons=_seasons(results, strips, years),
    )


def chosen_futures(results: Results) -> pd.DataFrame:
    """Return the forecast of what the plan does in each strip, columns as ``walk/futures``.

    Where all strips seed each other (`Results.followed`) that forecast; strips begun before the
    plan are not in it and come from the forecast of their option.

    References
    ----------
    own reasoning
    """
    followed, options, futures = results.followed, results.plan.options, results.futures
    if not len(futures) or not len(options):
        return followed
    known = set(followed["strip_id"]) if len(followed) else set()
    missing = options[~options["strip_id"].isin(known)]
    keys = ["strip_id", "method_id", "start_year"]
    own = futures.merge(missing[keys], on=keys[:2], suffixes=("", "_chosen"))
    same = own["start_year"].eq(own["start_year_chosen"]) | (
        own["start_year"].isna() & own["start_year_chosen"].isna()
    )
    return pd.concat([followed, own.loc[same, list(futures.columns)]], ignore_index=True)


def _told(
    results: Results, strips: list[StripFacts], years: tuple[int, ...]
) -> dict[str, list[dict[str, Any]]]:
    """Return sums of thick and thin stems, dead ones and canopy by strip, a row a year."""
    futures = chosen_futures(results)
    if not len(futures):
        return {}
    rows = futures[futures["year"].isin(years)]
    thick = thick_classes(results.rates)
    live = rows[rows["stage"] != SEEDS]
    part = live["stage"].isin(thick).map({True: "thick", False: "thin"})
    stems = live.groupby(["strip_id", "year", part])[list(ENDS)].sum()
    one = rows.drop_duplicates(["strip_id", "year", "species"]).groupby(["strip_id", "year"])
    dead, canopy = one["standing_dead"].sum(), one["canopy_pct"].max()
    out: dict[str, list[dict[str, Any]]] = {}
    for strip in (one.strip_id for one in strips):
        found = [year for year in years if (strip, year) in dead.index]
        if found:
            out[strip] = [
                {
                    "year": year, "dead": float(dead[strip, year]),
                    "canopy": float(canopy[strip, year]),
                    **{kind: _three(stems, (strip, year, kind)) for kind in ("thick", "thin")},
                }
                for year in found
            ]  # fmt: skip
    return out


def _three(stems: pd.DataFrame, key: tuple[str, int, str]) -> tuple[float, float, float]:
    """Return value, low and high of one kind of stems, nought where there is none."""
    if key not in stems.index:
        return 0.0, 0.0, 0.0
    value, low, high = (float(number) for number in stems.loc[key])
    return value, low, high


def _place(told: dict[str, list[dict[str, Any]]], results: Results) -> tuple[ForecastYear, ...]:
    """Return the whole place, year by year; ranges as `schedule.together` joins them."""
    areas = results.strips.set_index("strip_id")["area_ha"].astype(float)
    by_year: dict[int, dict[str, dict[str, Any]]] = {}
    for strip, rows in told.items():
        for row in rows:
            by_year.setdefault(row["year"], {})[strip] = row
    out = []
    for year, rows_of in sorted(by_year.items()):
        sums: dict[str, Any] = {
            kind: schedule.together({strip: [row[kind]] for strip, row in rows_of.items()})
            for kind in ("thick", "thin")
        }
        ground = sum(areas[strip] for strip in rows_of)
        under = sum(row["canopy"] * areas[strip] for strip, row in rows_of.items())
        sums |= {"year": year, "dead": sum(row["dead"] for row in rows_of.values()),
                 "canopy": under / ground if ground > 0 else 0.0}  # fmt: skip
        out.append(_row(sums, "the place"))
    return tuple(out)


def _row(row: dict[str, Any], where: str | None) -> ForecastYear:
    """Return one year in words."""
    thick, thin = words.stems(*row["thick"]), words.stems(*row["thin"])
    dead = words.stems(row["dead"], row["dead"], row["dead"])
    parts = [
        f"{thick.words} an inch and thicker",
        f"{thin.words.removeprefix('about ')} thinner, sprouts among them",
    ]
    parts += [f"{dead.short} dead and standing"] if round(row["dead"]) else []
    head = f"On {where} at" if where else "At"
    said = f"{head} the start of {row['year']}: {words.listed(parts)}."
    return ForecastYear(row["year"], thick, thin, dead, round(row["canopy"], 1), said)


def _ground(
    results: Results, strips: list[StripFacts], years: tuple[int, ...]
) -> tuple[GroundYear, ...]:
    """Return the area begun, in grass and clear by the end of each year."""
    us, visits = results.property.settings.us, results.plan.visits
    areas = dict(zip(results.strips["strip_id"], results.strips["area_ha"], strict=True))
    free = _clear_shares(results.plan.options)
    mowed: dict[str, int] = {}
    if len(visits):
        found = visits[visits["job"] == GRASS_JOB].groupby("strip_id")["year"].min()
        mowed = {str(strip): int(year) for strip, year in found.items()}
    out = []
    for year in years:
        by_then = {
            "begun": [one for one in strips if one.start_year and one.start_year <= year],
            "grass": [one for one in strips if mowed.get(one.strip_id, year + 1) <= year],
            "clear": [one for one in strips if one.finish_year and one.finish_year <= year],
        }
        sums = {
            kind: words.area(
                sum(
                    float(areas[one.strip_id])
                    * (free.get(one.strip_id, 1.0) if kind == "clear" else 1.0)
                    for one in own
                ),
                us,
            )
            for kind, own in by_then.items()
        }
        said = (
            f"By the end of {year}: {sums['begun'].short} begun, {sums['clear'].short} that need "
            f"only upkeep, {sums['grass'].short} mowed."
        )
        out.append(GroundYear(year, sums["begun"], sums["grass"], sums["clear"], said))
    return tuple(out)


def _clear_shares(options: pd.DataFrame) -> dict[str, float]:
    """Return the share of each strip's ground on which its way of treating leaves no stem."""
    if "clear_share" not in options:
        return {}
    return dict(zip(options["strip_id"], options["clear_share"].fillna(1.0), strict=True))


def _seasons(
    results: Results, strips: list[StripFacts], years: tuple[int, ...]
) -> tuple[SeasonFacts, ...]:
    """Return hours of each season of each year beside what there is."""
    labels = {str(row["season"]): str(row["label"]) for row in plain_rows(results.rates.seasons)}
    order = season_order(results.rates)
    limits = results.plan.limits
    own = plain_rows(limits[limits["kind"] == "hours"]) if len(limits) else []
    there_is = {(int(row["year"]), str(row["season"])): float(row["limit"]) for row in own}
    visits = [visit for strip in strips for visit in strip.visits if not visit.run_off]
    out = []
    for year in years:
        for key in sorted(labels, key=lambda name: order.get(name, 0)):
            part = [one for one in visits if one.year == year and one.season_key == key]
            limit = there_is.get((year, key))
            said = "" if limit is None else f"{words.said(limit)} hours"
            out.append(SeasonFacts(year, labels[key], key, total_hours(part), limit, said))
    return tuple(out)
