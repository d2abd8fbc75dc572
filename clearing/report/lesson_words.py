"""Say what the log taught: figure by figure, what it was, what it is now, and what it rests on."""

from typing import Any, NamedTuple

import numpy as np

from clearing.property import Results
from clearing.rates import Rates, for_settings
from clearing.report import names, words
from clearing.report.log_facts import Learned
from clearing.report.visit_facts import blank, plain_rows, season_words
from clearing.units import HA_PER_ACRE, KMH_PER_MPH

AT_STEM = ("base_s", "per_cm_s")  # the two figures of the time at a stem, told as one
AN_AREA = ("hours_per_ha", "search_h_per_ha")
BRUSH = "brush_"
GROUND = {"open": "open ground", "brushy": "brushy ground", "thicket": "thicket"}


class Said(NamedTuple):
    """How a figure is told: what it is of, its unit, and what a metric one is divided by."""

    what: str
    unit: str
    per: float = 1.0


def learned(results: Results) -> tuple[Learned, ...]:
    """Return what the log taught, the most weight first.

    Figures that no row of the log is of are left out. The two figures of the time at a stem are
    joined: the middle of their changes (half and half, by their logarithms).

    Parameters
    ----------
    results : Results
        What the walk gave.

    References
    ----------
    own reasoning
    """
    table = results.lessons
    if not len(table):
        return ()
    before = for_settings(results.property.settings)
    rows = [row for row in plain_rows(table) if row["rows"] > 0]
    at_stem = [row for row in rows if row["kind"] == "pace" and row["item"] in AT_STEM]
    others = [row for row in rows if row["kind"] != "pace" or row["item"] not in AT_STEM]
    jobs = dict.fromkeys(row["subject"] for row in at_stem)
    joined = [_joined([row for row in at_stem if row["subject"] == job]) for job in jobs]
    told = [_told(row, results, before) for row in [*joined, *others]]
    order = sorted(told, key=lambda one: (-one.weight, one.kind, one.subject, one.item, one.season))
    return tuple(order)


def _joined(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the figures of the time at a stem as one row of times the handbook's."""

    def middle(name: str) -> float:
        return float(np.exp(np.mean([np.log(row[name] / row["was"]) for row in rows])))

    return rows[0] | {
        "item": "at_stem", "was": 1.0, **{name: middle(name) for name in ("now", "low", "high")},
        "weight": float(np.mean([row["weight"] for row in rows])),
        "rows": max(row["rows"] for row in rows),
    }  # fmt: skip


def _told(row: dict[str, Any], results: Results, before: Rates) -> Learned:
    """Return one row in words."""
    us = results.property.settings.us
    said = _said(row, results, us)
    scale = 100.0 if row["kind"] == "kill" else 1.0 / said.per
    was, now, low, high = (float(row[name]) * scale for name in ("was", "now", "low", "high"))
    change = was / now if row["kind"] == "mower" else now / was if was > 0 else 1.0
    source = _source(row, before)
    now_words = f"{words.counted((now, low, high), said.unit).words.removeprefix('about ')}"
    return Learned(
        kind=str(row["kind"]), subject=str(row["subject"]), item=str(row["item"]),
        season=blank(row["season"]), was=float(row["was"]), now=float(row["now"]),
        low=float(row["low"]), high=float(row["high"]), weight=float(row["weight"]),
        rows=int(row["rows"]), change=float(change), what=said.what,
        was_words=_before(row, said, was, source), now_words=_one(now_words),
        basis=_basis(row, source), words=_sentence(row, said, (was, now_words), source),
    )  # fmt: skip


def _said(row: dict[str, Any], results: Results, us: bool) -> Said:
    """Return what a figure is of and in which unit it is told."""
    kind, subject, item = str(row["kind"]), str(row["subject"]), str(row["item"])
    if kind == "kill":
        season = blank(row["season"])
        when = f", done in {season_words(results.rates, season)[0]}" if season else ""
        return Said(
            f"{recipe_words(results.rates, item)} on {names.species_name(subject)}{when}", "%"
        )
    if kind == "stems":
        block = dict(zip(results.blocks["block_id"], results.blocks["name"], strict=True))
        return Said(
            f"Stems in {words.isolated(words.cut(str(block.get(subject, subject))))}", "times"
        )
    if kind == "back":
        return Said(f"What comes back of {names.species_name(subject)}", "times")
    brush = GROUND.get(subject.removeprefix(BRUSH), subject.removeprefix(BRUSH).replace("_", " "))
    if kind == "mower":
        return Said(f"Mowing {brush}", *(("mph", KMH_PER_MPH) if us else ("km/h", 1.0)))
    if kind == "ground":
        if subject.startswith(BRUSH):
            return Said(f"Time at a stem in {brush}", "times that of open ground")
        return Said("Walking from stem to stem", "times the shortest way")
    job = words.sentence(names.plain(names.JOBS, subject))
    if kind == "dose":
        return Said(f"{job}, mix on a stem", "times")
    if item in AN_AREA:
        return Said(job, *(("hours an acre", 1.0 / HA_PER_ACRE) if us else ("hours a ha", 1.0)))
    if item == "setup_h":
        return Said(f"{job}, setting up and cleaning up", "hours a visit")
    if item == "refill_min":
        return Said(f"{job}, a filling", "minutes")
    return Said(f"{job}, at a stem", "times")


def recipe_words(rates: Rates, recipe_id: str) -> str:
    """Return method, product and strength of a recipe in words; its id where it is not known.

    References
    ----------
    own reasoning
    """
    own = rates.recipes["recipe_id"].astype(str)
    found = plain_rows(rates.recipes[(own == recipe_id) | own.str.endswith(f":{recipe_id}")])
    if not found:
        return recipe_id
    one = found[0]
    job = words.sentence(names.plain(names.JOBS, blank(one["method"])))
    product = names.herbicide_name(blank(one["herbicide"]))
    return f"{job} with {product} at {words.said(float(one['percent']))} %" if product else job


def _source(row: dict[str, Any], before: Rates) -> str:
    """Return whose figure it was before the log."""
    if row["kind"] == "stems":
        return "count"
    item = "base_s" if row["item"] == "at_stem" else str(row["item"])
    try:
        own = row["kind"] != "kill" and before.figure(str(row["subject"]), item).seen == "owner"
    except KeyError:
        own = False
    return "settings" if own else "handbook"


def _basis(row: dict[str, Any], source: str) -> str:
    """Return what the figure rests on: the log's share and the rest."""
    share, rows = round(100 * float(row["weight"])), int(row["rows"])
    what = "stem" if row["kind"] == "kill" else "piece"
    many = f"{words.said(rows)} {what}{'' if rows == 1 else 's'}"
    of = f"{many} counted here" if what == "stem" else f"{many} of work here"
    return f"weight {share} % from {of}, {100 - share} % {source}"


def _before(row: dict[str, Any], said: Said, was: float, source: str) -> str:
    """Return what a figure was before the log."""
    if said.unit == "times":
        return "as counted" if row["kind"] == "stems" else f"the {source}'s"
    return _one(f"{words.said(was)} {said.unit}")


def _one(text: str) -> str:
    """Return one hour and one minute without their s."""
    for unit in ("hour", "minute"):
        if text.startswith(f"1 {unit}s"):
            return text.replace(f"1 {unit}s", f"1 {unit}", 1)
    return text


def _sentence(row: dict[str, Any], said: Said, told: tuple[float, str], source: str) -> str:
    """Return the lesson in one sentence."""
    was, now = told
    if said.unit == "times":
        of = "as many as were counted" if row["kind"] == "stems" else f"the {source}'s"
        of = f"the {source}'s time" if row["item"] == "at_stem" else of
        number, _, ends = now.partition(" times")
        return f"{said.what}: {number} times {of}{ends}."
    whose = "in the handbook" if source == "handbook" else "in your settings"
    if row["kind"] == "kill":
        return f"{said.what}: kills {now} of the stems; {words.said(was)} % {whose}."
    return f"{said.what}: {now}; {words.said(was)} {whose}."
