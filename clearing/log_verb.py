"""The verb ``log``: add rows, list those in force, check them all, print the record."""

import json
import re
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    import pandas as pd

    from clearing.property import Property

EXIT_PROBLEMS = 1
TYPED = {  # option -> column of the log, or an amount with its unit
    "date": "date", "strip": "strip_id", "side": "side", "job": "job", "people": "people",
    "hours": "hours", "herbicide": "herbicide", "registration": "registration",
    "percent": "percent", "stems": "stems", "site": "site", "target": "target",
    "equipment": "equipment", "wind_from": "wind_from", "start": "start_time", "end": "end_time",
    "reentry": "reentry_h", "applied_by": "applied_by", "certified": "certified",
    "licence": "licence", "applied_for": "applied_for", "permit": "permit",
    "replaces": "replaces", "notes": "notes", "area": "area", "wind": "wind", "heat": "heat",
    "product": "product", "mix": "mix",
}  # fmt: skip
NEEDED = ("date", "strip", "job")
OWN_TO_A_ROW = ("record_id", "replaces", "entry")
ROW = r"records\.csv row ([^:]*): (.*)"


@click.command("log")
@click.argument("folder", type=click.Path(path_type=Path))
@click.argument("action", type=click.Choice(["add", "list", "check", "print"]))
@click.argument("file", required=False, type=click.Path(path_type=Path, exists=True,
                                                        dir_okay=False))  # fmt: skip
@click.option("--date", help="Day of the work as YYYY-MM-DD.")
@click.option("--strip", help="Strip or block where the work was done.")
@click.option("--area", help="Ground that was treated, such as 2acres; alone in your own unit.")
@click.option("--side", help="Side of the strip on which it lies: near, far, north, east ...")
@click.option("--job", help="What was done.")
@click.option("--people", help="How many worked.")
@click.option("--hours", help="Hours of all people together.")
@click.option("--herbicide", help="Active ingredient and strength.")
@click.option("--registration", help="Registration number on the label.")
@click.option("--product", help="Product used before dilution, such as 12floz.")
@click.option("--mix", help="Mixed solution used, such as 3gal.")
@click.option("--percent", help="Product in percent of the mix.")
@click.option("--stems", help="Stems treated when they were counted.")
@click.option("--site", help="Crop, commodity or site as the label calls it.")
@click.option("--target", help="Species that was treated.")
@click.option("--equipment", help="What it was put on with.")
@click.option("--wind", help="Wind speed, such as 5mph; alone in your own unit.")
@click.option("--wind-from", help="Where the wind came from.")
@click.option("--heat", help="Air temperature, such as 75F; alone in your own unit.")
@click.option("--start", help="Start of the work as HH:MM.")
@click.option("--end", help="End of the work as HH:MM.")
@click.option("--reentry", help="Re-entry hours of the label.")
@click.option("--by", "applied_by", help="Who applied it.")
@click.option("--certified", help="Certified applicator in charge where one is needed.")
@click.option("--license", "--licence", "licence", help="License number if one is needed.")
@click.option("--for", "applied_for", help="Person for whom it was applied.")
@click.option("--permit", help="Permit number where one is needed.")
@click.option("--replaces", help="Number of the entry that this corrects; the rest stays.")
@click.option("--notes", help="Anything worth remembering.")
@click.option("--year", type=int, help="With list or print: this year alone.")
@click.option("--json", "as_json", is_flag=True, help="Print figures as JSON.")
def _log(
    folder: Path, action: str, file: Path | None, year: int | None, as_json: bool, **typed: Any
) -> None:
    """Keep the season's log of FOLDER: add a row or the phone's FILE, list, check, print."""
    from clearing.files import read

    given = {key: value for key, value in typed.items() if value is not None}
    if given and (action != "add" or file is not None):
        beside = f"{action} FILE" if file is not None else action
        raise click.UsageError(f"{_option(next(iter(given)))} goes with add alone, not {beside}")
    if file is not None and action != "add":
        raise click.UsageError(f"a file goes with add, not with {action}")
    if year is not None and action not in ("list", "print"):
        raise click.UsageError("--year goes with list or print")
    place = read(folder)
    if action == "check":
        _check(place, as_json)
    elif action == "list":
        _list(place, year, as_json)
    elif action == "print":
        _print(place, folder, year, as_json)
    elif file is not None:
        _take(folder, place, file, as_json)
    else:
        _add(folder, place, given, as_json)


verb = _log


def _option(name: str) -> str:
    """Return an option as it is typed."""
    said = {"applied_by": "by", "applied_for": "for", "licence": "license"}.get(name, name)
    return f"--{said.replace('_', '-')}"


def _row(folder: Path, given: dict[str, Any]) -> dict[str, object]:
    """Return what was typed as a row of the log; of a correction the rest is that of the old row.

    A typed blank clears what stood there. Another product has another label's number.
    """
    from clearing.files import row_of

    typed = {TYPED[key]: value for key, value in given.items()}
    old: dict[str, str] = {}
    if typed.get("replaces"):
        old = row_of(folder, str(typed["replaces"]))
        if typed.get("herbicide", old.get("herbicide")) != old.get("herbicide"):
            old.pop("registration", None)
        old = {key: cell for key, cell in old.items() if key not in OWN_TO_A_ROW}
    return old | typed


def _add(folder: Path, place: "Property", given: dict[str, Any], as_json: bool) -> None:
    """Add one row, and say its number, what it changes, what is odd or not recorded in it."""
    from clearing.files import add_record, read, row_of
    from clearing.files.log_file import words_apart
    from clearing.rates import for_settings
    from clearing.records import lacking, lacking_words

    gone = str(given.get("replaces") or "")
    missing = [name for name in NEEDED if not (gone or given.get(name))]
    if missing:
        words = ", ".join(_option(name) for name in missing)
        raise click.UsageError(f"a row needs {words} (or name the file from the phone)")
    if set(given) == {"replaces"}:
        raise click.UsageError("--replaces needs what is to be changed, such as --hours 6")
    number = add_record(folder, place, _row(folder, given))
    apart = words_apart(row_of(folder, gone), row_of(folder, number)) if gone else []
    again = read(folder)
    doubts = [line for _, line in _doubts(again, {number})]
    if as_json:
        click.echo(json.dumps({"record_id": number, "changed": apart, "doubts": doubts}))
        return
    instead = f" in place of row {gone}" if gone else ""
    click.echo(f"row {number} is in {folder / 'records.csv'}{instead}")
    if gone:
        click.echo(f"changed (was / is): {', '.join(apart)}" if apart else "nothing was changed")
    for line in doubts:
        click.echo(f"kept, but look at it: {line}")
    for one in lacking(again.records, for_settings(again.settings)):
        if one.record_id == number:
            click.echo(lacking_words(one))


def _problems(place: "Property") -> list[str]:
    """Return all that is odd about the log, by the clock of today."""
    from clearing import records
    from clearing.rates import for_settings

    rates = for_settings(place.settings)
    there = records.places_now(place, rates)
    areas = dict(zip(there["place"], there["area_ha"].astype(float), strict=True))
    return records.log_problems(place.records, rates, list(areas), areas, _today())


def _doubts(place: "Property", numbers: set[str]) -> list[tuple[str, str]]:
    """Return number and sentence for all that is odd about some rows."""
    found = (re.match(ROW, line) for line in _problems(place))
    return [(one.group(1), one.group(2)) for one in found if one and one.group(1) in numbers]


def _today() -> date:
    """Return the day by the clock."""
    return date.today()


def _take(folder: Path, place: "Property", file: Path, as_json: bool) -> None:
    """Add the rows of the phone's file, and say which were there already and which were refused."""
    from clearing.errors import InputError
    from clearing.files import read, take_log_file

    try:
        data = file.read_bytes()
    except OSError as cause:
        raise InputError([f"{file.name} cannot be read: {cause.strerror}"], file.name) from cause
    done = take_log_file(folder, place, data, file.name)
    doubts = [f"row {number}: {line}" for number, line in
              (_doubts(read(folder), set(done.added)) if done.added else [])]  # fmt: skip
    if as_json:
        click.echo(json.dumps({"added": done.added, "known": done.known, "refused": done.refused,
                               "doubts": doubts}))  # fmt: skip
    else:
        click.echo(f"{_counted(len(done.added), 'row')} of {file.name} added"
                   f"{': ' + ', '.join(done.added) if done.added else ''}; "
                   f"{len(done.known)} there already; {len(done.refused)} not taken")  # fmt: skip
        for line in doubts:
            click.echo(f"kept, but look at it: {line}")
        for line in done.refused:
            click.echo(f"- {line}", err=True)
    sys.exit(EXIT_PROBLEMS if done.refused else 0)


def _counted(number: int, word: str) -> str:
    """Return a number of things in words: 1 row, 2 rows."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def _of_year(records: "pd.DataFrame", year: int | None) -> "pd.DataFrame":
    """Return the rows of one year, or all."""
    if year is None:
        return records
    return records[records["date"].astype(str).str[:4] == f"{year:04d}"].reset_index(drop=True)


def _list(place: "Property", year: int | None, as_json: bool) -> None:
    """List the rows in force."""
    from clearing.records import in_force
    from clearing.report.names import JOBS, plain
    from clearing.report.record_facts import amount
    from clearing.tables import cell_text

    force = _of_year(in_force(place.records), year)
    if as_json:
        click.echo(force.to_json(orient="records"))
        return
    for row in force.to_dict("records"):
        product = amount("product_l", row["product_l"], place.settings.us)
        words = [
            cell_text(row["record_id"]), cell_text(row["date"]), cell_text(row["strip_id"]),
            plain(JOBS, cell_text(row["job"])), amount("hours", row["hours"], place.settings.us),
            f"{product} {cell_text(row['herbicide'])}".strip(),
            f"(in place of {cell_text(row['replaces'])})" if cell_text(row["replaces"]) else "",
        ]  # fmt: skip
        click.echo("  ".join(word for word in words if word))
    for line in place.log_faults:
        click.echo(f"- {line}", err=True)


def _check(place: "Property", as_json: bool) -> None:
    """Say what is wrong with the log, what is not recorded, and by when it should be."""
    from clearing import records
    from clearing.errors import InputError
    from clearing.rates import for_settings
    from clearing.records.fields import DECIDES
    from clearing.records.missing import NOTHING

    rates, log = for_settings(place.settings), place.records
    problems = [*place.log_faults, *_problems(place)]
    rows = records.lacking(log, rates)
    told = [records.lacking_words(one) for one in rows]
    days = records.deadlines(log, rows, _today()) if len(log) else []
    force = records.in_force(log)
    said = f"{_counted(len(log), 'row')}, {len(force)} in force"
    if as_json:
        blanks = [
            {"record_id": one.record_id, "date": one.date, "strip_id": one.strip_id,
             "blank": [{"field": b.field, "asked_by": b.asked} for b in one.blanks]}
            for one in rows
        ]  # fmt: skip
        figures = {"rows": len(log), "in_force": len(force), "faults": place.log_faults,
                   "problems": problems, "missing": blanks, "deadlines": days,
                   "decides": DECIDES}  # fmt: skip
        click.echo(json.dumps(figures))
        sys.exit(EXIT_PROBLEMS if problems else 0)
    click.echo(f"{said}; {'problems below' if problems else 'no problems found'}.")
    if len(log):
        for line in [*(told or [NOTHING]), *days, DECIDES]:
            click.echo(f"  {line}")
    if problems:
        raise InputError(problems, f"records.csv ({said})")


def _print(place: "Property", folder: Path, year: int | None, as_json: bool) -> None:
    """Write the record to print and as a table into out."""
    from clearing.files.writing import write_files
    from clearing.rates import for_settings
    from clearing.report.record_pages import record_csv, record_pdf

    rates = for_settings(place.settings)
    out = write_files(
        {"record.pdf": record_pdf(place, rates, year), "record.csv": record_csv(place, year)},
        folder,
    )
    names = [str(out / name) for name in ("record.pdf", "record.csv")]
    click.echo(json.dumps({"files": names}) if as_json else f"Record: {' and '.join(names)}")
    for line in () if as_json else place.log_faults:
        click.echo(f"- {line}", err=True)
