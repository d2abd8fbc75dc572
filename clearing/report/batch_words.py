"""Say how a day of felling and wetting goes: so many trees down, then their stumps, and again."""

from collections.abc import Mapping
from typing import Any

from clearing import treatment
from clearing.property import Settings
from clearing.rates import Rates
from clearing.report.words import said

TRIED = "cut_and_spray"


def batch_words(
    visit: Mapping[str, Any],
    product: tuple[treatment.Known | None, str],
    rates: Rates,
    settings: Settings,
) -> str:
    """Return the rounds of a day of cut-and-spray in one sentence, blank for other work.

    Parameters
    ----------
    visit : mapping
        A row of ``walk/visits``.
    product : (Known or None, str)
        The product of the visit, and what its recipe is mixed into.
    rates : Rates
        Time limit of the stump, size of the sprayer.
    settings : Settings
        Crew.

    References
    ----------
    common_practice; own reasoning
    """
    known, carrier = product
    stems, hours = float(visit["stems"]), float(visit["hours"])
    if visit["job"] != TRIED or known is None or not known.key or stems < 1 or hours <= 0:
        return ""
    crew = settings.crew
    people = max(float(visit["people"]), 1.0)
    sawyers = int(min(max(crew.sawyers, 1), people))
    at_work = sum(float(visit[name]) for name in ("stem_hours", "walk_hours", "idle_hours"))
    seconds = 3600.0 * at_work / people * sawyers / stems
    limit = treatment.day_line(known, "stump_minutes", rates)
    minutes = limit.value
    if carrier != "oil" and not limit.own:
        minutes = min(minutes, rates.figure("any", "stump_minutes").value)
    a_day = crew.hours_per_day
    if isinstance(a_day, dict):
        a_day = a_day.get(str(visit.get("season"))) or max(a_day.values(), default=6.0)
    most = min(stems, stems / hours * a_day * people)
    dose_ml = 1000.0 * float(visit["mix_l"]) / stems
    tank_l = rates.figure(TRIED, "refill_l").value
    if seconds <= 0 or dose_ml <= 0:
        return ""
    day = treatment.day_batches(seconds, minutes, sawyers, most, (dose_ml, tank_l))
    if day.caution:
        return day.caution[:1].upper() + day.caution[1:] + "."
    dozen = rates.figure("any", "batch_trees").value
    return _rounds(day, stems, most, dozen)


def _rounds(day: treatment.DayBatches, stems: float, most: float, dozen: float) -> str:
    """Return how many trees to fell at a time and in a day, or that one round does it."""
    whole = round(stems)
    if whole <= min(day.stems_each, dozen):
        return (
            f"Fell the {whole} trees, then wet their stumps."
            if whole > 1
            else "Fell the tree, then wet its stump."
        )
    worth = f"{said(day.minutes_each)} {'minute' if said(day.minutes_each) == '1' else 'minutes'}'"
    worth += "s worth" if worth.endswith("minute'") else " worth"
    some = f"{said(dozen)} trees, {day.stems_each} at the most ({worth})"
    each = f"{day.stems_each} {'tree' if day.stems_each == 1 else 'trees'} ({worth})"
    trees = some if day.stems_each > dozen else each
    wet = "wet their stumps" if day.stems_each > 1 else "wet its stump"
    pace = "done in a day" if most >= stems else f"about {said(most)} stems a day"
    return f"Fell {trees}, {wet}, and so on; {pace}, {said(day.stems_a_tank or 0.0)} to a bottle."
