"""Read the written plan for the next day's work, and lay its card and its page into the folder."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from clearing.errors import InputError
from clearing.files.planned import CHANGED, LOG, PLAN, SETTINGS, TALLY, plan_said, younger
from clearing.files.together import healed
from clearing.files.writing import write_files
from clearing.property import Property
from clearing.rates import Rates, for_settings
from clearing.report.facts_next import NextDay
from clearing.report.inputs import land_of, tally_of
from clearing.report.kit import OwnKit
from clearing.report.next_card import next_day_pdf
from clearing.report.next_day import Asked, next_day
from clearing.report.next_page import next_day_html
from clearing.report.told import known_rows

NEEDED = ("visits", "told")
TOLD = ("visits", "strips", "blocks", "cautions", "place", "paper", "doing")
LAND = "The land or property.toml was changed after this plan was made."
AGAIN = "The day below is of the old plan; 'clearing plan {folder}' makes a new one."


def next_work(folder: str | Path, place: Property, asked: Asked) -> NextDay:
    """Return the next day's work of the plan in a folder.

    Parameters
    ----------
    folder : path
        The property's folder; a plan must have been written into ``out``.
    place : Property
        The same folder as read.
    asked : Asked
        Day, people, hours, strip.

    Raises
    ------
    InputError
        No plan has been written yet, another version wrote it, or no strip has that name.

    References
    ----------
    own reasoning
    """
    healed(folder)
    said = plan_said(folder, NEEDED)
    if said is None:
        raise InputError([f"there is no plan yet; run 'clearing plan {folder}' first"], str(folder))
    if not all(name in said["told"] for name in TOLD):
        raise InputError(["plan.json was written by another version; plan anew"], "out")
    rates = for_settings(place.settings)
    stale = _changed(said, folder, place, rates)
    again = (*stale, AGAIN.format(folder=folder)) if stale else ()
    return next_day(said, place, rates, asked, again)


def _changed(
    said: Mapping[str, Any], folder: str | Path, place: Property, rates: Rates
) -> tuple[str, ...]:
    """Return a sentence for each thing of the owner's that is not as the plan had it.

    What they hold counts, not when the files were saved; of the years and the money in
    property.toml, which no sum in the plan tells apart, the time alone is known.
    """
    told, later = said["told"], younger(folder)
    out = []
    if said.get("inputs_land") != land_of(OwnKit(place, rates, place.blocks)):
        out.append(LAND)
    else:
        out += [later[name] for name in (SETTINGS, PLAN) if name in later]
    if told.get("tally_known") != tally_of(place.tally):
        out.append(CHANGED[TALLY])
    if set(told.get("log_known", ())) != set(known_rows(place.records)):
        out.append(CHANGED[LOG])
    return tuple(out)


def next_day_files(day: NextDay, folder: str | Path) -> Path:
    """Return ``out``, into which next_day.pdf and next_day.html were written, whole or not at all.

    Raises
    ------
    InputError
        They cannot be written.

    References
    ----------
    own reasoning
    """
    files = {"next_day.pdf": next_day_pdf(day), "next_day.html": next_day_html(day).encode()}
    return write_files(files, folder)
