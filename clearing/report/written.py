"""Gather every file of a plan as bytes; the caller writes them, whole or not at all."""

from collections.abc import Iterable

from clearing.property import Results
from clearing.report.calendar_file import calendar_bytes
from clearing.report.figures_used import used_figures
from clearing.report.geopackage import geopackage_bytes
from clearing.report.gps import gpx_bytes, kml_bytes
from clearing.report.map_page import map_html
from clearing.report.picture import PhotoPicture
from clearing.report.plan_json import plan_json
from clearing.report.printed import printed_facts
from clearing.report.summary import summarise
from clearing.report.tables import csv_bytes, plan_tables
from clearing.report.told import forms_told
from clearing.report.workbook import workbook_bytes
from clearing.report.workplan import workplan_pdf


def outputs(
    results: Results, run_log_lines: Iterable[str] = (), picture: PhotoPicture | None = None
) -> dict[str, bytes]:
    """Return every file of a plan, file name to bytes.

    The same results give the same bytes, run.log aside.

    Parameters
    ----------
    results : Results
        What the walk gave.
    run_log_lines : iterable of str
        Lines of run.log.
    picture : PhotoPicture or None
        The photo for the map.

    References
    ----------
    own reasoning
    """
    summary = summarise(results)
    tables = plan_tables(results, summary)
    printed = printed_facts(results, summary)
    forms = forms_told(results, summary, printed)
    return {
        "map.html": map_html(results, picture, summary).encode(),
        "workplan.pdf": workplan_pdf(results, summary, picture, printed),
        "blocks.csv": csv_bytes(tables["blocks"]),
        "visits.csv": csv_bytes(tables["visits"]),
        "purchases.csv": csv_bytes(tables["purchases"]),
        "figures.csv": csv_bytes(used_figures(results)),
        "workbook.xlsx": workbook_bytes(tables, summary),
        "plan.json": plan_json(results, summary, tables, forms),
        "plan.gpkg": geopackage_bytes(results, summary, tables),
        "field.gpx": gpx_bytes(results, summary),
        "field.kml": kml_bytes(results, summary),
        "calendar.ics": calendar_bytes(results, summary),
        "run.log": "".join(f"{line}\n" for line in run_log_lines).encode(),
    }
