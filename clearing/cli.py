"""The command line: parse, call, print.

Exit codes: 0 done, 1 the input has problems, 2 wrong use, 3 no plan fits.
"""

import json
import sys
import time
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clearing.log_verb import verb as log_verb
from clearing.progress import Bar

if TYPE_CHECKING:
    from clearing.property import Results

EXIT_PROBLEMS, EXIT_NO_PLAN, EXIT_STOPPED = 1, 3, 130


class _Verbs(click.Group):
    """Return verbs in the order of the work, and turn owners' problems into exit 1."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)

    def invoke(self, ctx: click.Context) -> Any:
        from clearing.errors import ClearingError

        try:
            return super().invoke(ctx)
        except ClearingError as problem:
            click.echo(str(problem), err=True)
            ctx.exit(EXIT_PROBLEMS)
        except KeyboardInterrupt:
            click.echo("Stopped; no file was left half written.", err=True)
            ctx.exit(EXIT_STOPPED)


@click.group(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="clearing")
def main() -> None:
    """Plan the clearing of invasive trees that sprout again from stump and root.

    The product label is the law; local codes and licensed people decide what this tool cannot.
    """


as_json = click.option("--json", "as_json", is_flag=True, help="Print figures as JSON.")
gap_option = click.option("--gap", default=0.001, show_default=True,
                          help="Stop when proved within this share of the best.")  # fmt: skip
seconds_option = click.option("--seconds", default=60.0, show_default=True,
                              help="Longest time for the planner.")  # fmt: skip
detail_option = click.option("--detail", is_flag=True, help="Show the planner's bound and gap.")
folder_argument = click.argument("folder", type=click.Path(path_type=Path))


@main.command()
@click.argument("folder", type=click.Path(path_type=Path), default=Path("sourwood_hollow"))
@click.option("--gap", default=0.005, show_default=True, help="Stop when proved within this share.")
@seconds_option
@detail_option
@as_json
def demo(folder: Path, gap: float, seconds: float, detail: bool, as_json: bool) -> None:
    """Copy the sample property into FOLDER, plan it, and say where the map is."""
    from clearing.files import copy_sample

    target = copy_sample(folder)
    if not as_json:
        click.echo(
            "Sourwood Hollow is invented: its land, labels and prices are for training only."
        )
    _plan(target, gap, seconds, detail, as_json)


@main.command()
@folder_argument
@click.option("--photo", type=click.Path(path_type=Path), help="An aerial TIFF, JPEG or PNG.")
def new(folder: Path, photo: Path | None) -> None:
    """Start an empty property in FOLDER."""
    from clearing.files.starting import start_empty

    start_empty(folder, photo)
    click.echo(
        f"{folder} is ready. Next: 'clearing draw {folder}', or put your blocks into it as "
        f"blocks.geojson, .gpkg, .shp, .kml, .kmz or .gpx; then 'clearing check {folder}'."
    )


@main.command()
@folder_argument
@click.option("--port", default=0, help="Where to listen on this computer; 0 takes a free one.")
@click.option("--show/--no-show", default=True, help="Open a window of the browser.")
def draw(folder: Path, port: int, show: bool) -> None:
    """Draw blocks, trees, water and lines of FOLDER over its photo, on a page in the browser."""
    from clearing.app import serve
    from clearing.files.starting import start_empty

    if folder.is_dir() and not (folder / "property.toml").exists():
        start_empty(folder, None)
    serve(folder, port, show, click.echo)


@main.command()
@folder_argument
@click.option("--error", type=click.FloatRange(0.01, 5), default=0.3, show_default=True,
              help="Wished error as a share of the mean.")  # fmt: skip
@click.option("--confidence", type=click.FloatRange(0.5, 0.999), default=0.9, show_default=True,
              help="How sure the interval shall be.")  # fmt: skip
@click.option("--cv", type=click.FloatRange(0.01, 10),
              help="First guess of the spread between plots over their mean.")  # fmt: skip
@click.option("--add", is_flag=True, help="Lay only what is missing beside plots drawn already.")
@as_json
def plots(
    folder: Path, error: float, confidence: float, cv: float | None, add: bool, as_json: bool
) -> None:
    """Lay sample plots over the blocks of FOLDER: layer, phone file, tally sheet, empty tally."""
    from clearing.files import lay_plots, read

    place = read(folder)
    with Bar(quiet=as_json) as tell:
        tell("survey")
        placed = lay_plots(place, folder, error, confidence, cv, add)
    counts = placed.groupby("block_id", sort=False).size()
    if as_json:
        figures = {"plots": len(placed), "drawn_already": len(place.plots)}
        click.echo(json.dumps(figures | {"by_block": counts.to_dict()}))
        return
    for block, number in counts.items():
        click.echo(f"block {block}: {number} plots")
    sure = f"{100 * error:.0f} % error wished, {100 * confidence:.0f} % sure"
    click.echo(f"{len(placed)} new plots beside {len(place.plots)} drawn: {sure}.")
    if len(placed):
        click.echo(f"In {folder / 'out'}: tally_sheet.pdf to print, new_plots.gpx for the phone, "
                   "new_plots.geojson, new_tally.csv. Back home, copy plots.geojson (old and new) "
                   "beside property.toml and type what was counted into tally.csv.")  # fmt: skip


@main.command()
@folder_argument
@as_json
def check(folder: Path, as_json: bool) -> None:
    """Read FOLDER and list every problem at once; write nothing."""
    from clearing import records, treatment
    from clearing.errors import InputError
    from clearing.files import read
    from clearing.pipeline import look
    from clearing.rates import for_settings

    try:
        place = read(folder)
    except InputError as found:
        if as_json:
            click.echo(json.dumps({"problems": found.problems}))
            sys.exit(EXIT_PROBLEMS)
        raise
    confirm = treatment.to_confirm(for_settings(place.settings), place.settings)
    notes, left = look(place)
    ahead = records.days_ahead(records.in_force(place.records), place.tally, date.today())
    log = [*place.log_faults, *ahead]
    if as_json:
        figures = {"problems": [], "to_confirm": list(confirm), "ground": list(notes)}
        figures |= {"ground_left": left, "defaults": list(place.settings.defaulted)}
        figures |= {"log": log}
        click.echo(json.dumps(figures))
        return
    click.echo(f"{place.settings.name}: {len(place.blocks)} blocks, {len(place.plots)} plots, "
               f"{len(place.keep_trees)} keep trees; no problems found.")  # fmt: skip
    for line in notes:
        click.echo(f"  the {'folder' if line in place.notes else 'ground'}: {line}")
    for line in log:
        click.echo(f"  the log: {line}")
    for number, line in enumerate(left):
        click.echo(f"{'    ' if number else '  '}{line}")
    for line in place.settings.defaulted:
        click.echo(f"  taken for granted: {line}")
    for line in confirm:
        click.echo(f"  to confirm: {line}")


@main.command()
@folder_argument
@gap_option
@seconds_option
@detail_option
@as_json
@click.option("--photo-mb", type=click.FloatRange(min=0, min_open=True),
              help="Most that the photo may add to the map, in MB.")  # fmt: skip
@click.option("--on", "day", callback=lambda ctx, option, text: _day(text),
              help="Day of the plan (YYYY-MM-DD or today); else the log's last.")  # fmt: skip
def plan(
    folder: Path, gap: float, seconds: float, detail: bool, as_json: bool,
    photo_mb: float | None, day: datetime | None,
) -> None:  # fmt: skip
    """Plan FOLDER and write map, work plan, tables and phone files into FOLDER/out.

    What the log has is done; what was missed by the day of the plan moves on.
    """
    _plan(folder, gap, seconds, detail, as_json, (photo_mb, day))


@main.command()
@click.option("--tank", help="Size of the tank, such as 0.5gal, 1 1/2 qt or 2L.")
@click.option("--percent", help="Product in percent of the tank, such as 2.")
@click.option("--product", help="Measured product, such as 4.5floz.")
@click.option("--herbicide", help="Such as glyphosate_4 (active ingredient and strength).")
@click.option("--use", metavar="[hack|stump|basal|leaves]",
              help="For cuts in bark, fresh stumps, a band of bark, or leaves.")  # fmt: skip
@click.option("--species", help="Such as callery_pear, for a recipe of its own.")
@click.option("--ml-per-cut", help="Mix that one cut gets, in mL.")
@click.option("--surfactant", help="A plain number is percent of the tank.")
@click.option("--dye", help="A plain number is percent of the tank.")
@click.option("--calibrate", is_flag=False, flag_value="how",
              help="Spray caught in the time of 340 sq ft; alone: how to.")  # fmt: skip
@click.option("--rate", help="With --calibrate: product, such as 1qt/ac or 3L/ha.")
@click.option("--seconds", help="Of 340 sq ft with --calibrate, of one tree with stumps.")
@click.option("--metric", is_flag=True, help="Liters first.")
@as_json
def mix(metric: bool, as_json: bool, **typed: str | None) -> None:
    """Work out one tank of mix, by percent, measure or recipe, or calibrate a sprayer."""
    from clearing.treatment.tank_words import ask_and_tell, folded

    try:
        answer, lines = ask_and_tell(typed, metric)
    except ValueError as wrong:
        raise click.UsageError(folded(str(wrong))) from wrong
    click.echo(json.dumps(answer) if as_json else "\n".join(lines))


@main.command()
@folder_argument
@click.option("--factor", "factors", multiple=True, type=click.FloatRange(0.01, 100),
              default=(0.5, 0.75, 1.0, 1.5, 2.0), show_default=True,
              help="Share of what you have a year; as often as you like.")  # fmt: skip
@click.option("--hours", "by_hours", is_flag=True, help="Vary the crew's hours, not the money.")
@click.option("--gap", default=0.005, show_default=True, help="Stop each within this share.")
@seconds_option
@as_json
def budget(
    folder: Path, factors: tuple[float, ...], by_hours: bool, gap: float, seconds: float,
    as_json: bool,
) -> None:  # fmt: skip
    """Cost, finish year and grass of FOLDER against its yearly budget or hours, with a picture."""
    from clearing import report
    from clearing.budgets import compare, unfit
    from clearing.files import read
    from clearing.files.writing import write_files
    from clearing.pipeline import run

    place, by = read(folder), "hours" if by_hours else "money"
    unfit(place.settings, by)
    with Bar(quiet=as_json) as tell:
        results = run(place, 0.05, min(seconds, 10.0), tell)
        tell("schedule")
        rows = compare(results, factors, by, (gap, seconds),
                       lambda done, number, near: tell(f"{done} of {number} plans"))  # fmt: skip
    us = place.settings.us
    out = write_files({"budget.svg": report.budget_svg(rows, us)}, folder)
    lines = report.budget_lines(rows, us)
    click.echo(json.dumps(rows) if as_json else "\n".join(lines))
    if not as_json:
        click.echo(f"Picture: {out / 'budget.svg'}")
    if all("cost" not in row for row in rows):
        sys.exit(EXIT_NO_PLAN)


main.add_command(log_verb)


@main.command(name="next")
@folder_argument
@click.option("--people", type=click.IntRange(1, 100), help="How many work; else as in [crew].")
@click.option("--hours", type=click.FloatRange(0, 24, min_open=True),
              help="Hours each of them has; else as in [crew].")  # fmt: skip
@click.option(
    "--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="Day as YYYY-MM-DD; else today."
)
@click.option("--strip", help="A strip or block, by its id or name.")
@as_json
def next_day(
    folder: Path, people: int | None, hours: float | None, day: datetime | None, strip: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Say the next day's work of the plan in FOLDER, and write its card and its page."""
    from clearing.files import next_day_files, next_work, read
    from clearing.report.next_day import Asked
    from clearing.report.next_words import next_lines
    from clearing.report.plain_facts import plain

    place = read(folder)
    asked = Asked(day.date() if day else date.today(), people, hours, strip)
    work = next_work(folder, place, asked)
    click.echo(
        json.dumps(plain(work), ensure_ascii=False) if as_json else "\n".join(next_lines(work))
    )
    out = next_day_files(work, folder)
    if not as_json:
        click.echo(f"To print: {out / 'next_day.pdf'}; for the phone: {out / 'next_day.html'}")


def _plan(
    folder: Path,
    gap: float,
    seconds: float,
    detail: bool,
    as_json: bool,
    how: tuple[float | None, datetime | None] | None = None,
) -> None:
    """Run the walk on a folder, write it, and print its summary."""
    from clearing import report
    from clearing.files.lock import hold_planning

    with hold_planning(folder, "as a command"):
        results = _planned_and_written(folder, gap, seconds, as_json, how or (None, None))
    begins = results.property.settings.first_year
    if how and how[1] is None and begins < date.today().year:
        click.echo(f"- The plan begins in {begins}; add --on today, and what was not done by now "
                   "moves on.", err=True)  # fmt: skip
    summary = report.summarise(results)
    if as_json:
        click.echo(json.dumps(report.summary_figures(summary, detail)))
    else:
        for label, value in report.summary_lines(summary, detail):
            click.echo(f"{label:<16}{value}")
        click.echo(f"{'Map':<16}{folder / 'out' / 'map.html'}")
    short = report.shortfall_lines(results)
    for sentence in short:
        click.echo(f"- {sentence}", err=True)
    if short:
        sys.exit(EXIT_NO_PLAN)


def _planned_and_written(
    folder: Path,
    gap: float,
    seconds: float,
    as_json: bool,
    how: tuple[float | None, datetime | None],
) -> "Results":
    """Return the results of a folder, written; without a plan say why and end."""
    from clearing import __version__
    from clearing.files import read, write
    from clearing.pipeline import run

    began, lines = time.time_ns(), [f"clearing {__version__}"]
    with Bar(quiet=as_json) as tell:

        def enter(room: str) -> None:
            lines.append(f"{(time.time_ns() - began) / 1e9:8.2f} s  {room}")
            tell(room)

        enter("files")
        place, (photo_mb, day) = read(folder), how
        results = run(place, gap, seconds, enter, lambda s, cost, bound, gap: tell(_near(gap)),
                      day=day)  # fmt: skip
        if results.plan.status == "none":
            if as_json:
                click.echo(json.dumps({"status": "none", "reasons": results.plan.reasons}))
            click.echo("No plan fits:", err=True)
            for sentence in results.plan.reasons:
                click.echo(f"- {sentence}", err=True)
            sys.exit(EXIT_NO_PLAN)
        enter("report")
        write(results, folder, (*lines, *results.plan.solver_log), photo_mb, began)
    return results


def _day(text: str | None) -> datetime | None:
    """Return a day of an option: as written, the day that it is, or none."""
    if text is None or text == "today":
        return None if text is None else datetime.now().replace(hour=0, minute=0, second=0)
    try:
        return datetime.strptime(text, "%Y-%m-%d")
    except ValueError:
        raise click.BadParameter(f"{text!r} is no day; write YYYY-MM-DD or today") from None


def _near(gap: float) -> str:
    """Return how near the best a plan is, while the planner works."""
    near = f"within {100 * gap:.2g} % of the best" if gap < 1 else "first plans"
    return f"schedule: {near} (Ctrl-C takes the best so far)"
