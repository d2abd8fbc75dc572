"""Show me: the map, the tables, the files for the phone, and the work plan.

Takes the results of a run, and computes nothing of the plan anew.
Gives what it says as plain values (`summarise`), every file as bytes (`outputs`), a map to add to
(`map`), and pictures (`chart_figure` with a name of `CHARTS`, `budget_figure`).

The modules are opened when a name is first asked for, so that the next day is told at once.
"""

from typing import TYPE_CHECKING

from clearing.doors import doors

if TYPE_CHECKING:
    from clearing.report.budget_chart import budget_figure, budget_svg
    from clearing.report.budget_words import budget_lines
    from clearing.report.decided import shortfall_lines
    from clearing.report.facts import Summary
    from clearing.report.gps import waypoints_gpx
    from clearing.report.map_page import map, map_html
    from clearing.report.picture import PhotoPicture, photo_picture
    from clearing.report.summary import summarise
    from clearing.report.terminal import summary_figures, summary_lines
    from clearing.report.written import outputs
    from clearing.report.year_charts import CHARTS, chart_figure, chart_svg, chart_words

__all__ = [
    "CHARTS",
    "PhotoPicture",
    "Summary",
    "budget_figure",
    "budget_lines",
    "budget_svg",
    "chart_figure",
    "chart_svg",
    "chart_words",
    "map",
    "map_html",
    "outputs",
    "photo_picture",
    "shortfall_lines",
    "summarise",
    "summary_figures",
    "summary_lines",
    "waypoints_gpx",
]

_DOORS = {
    "CHARTS": "year_charts",
    "PhotoPicture": "picture",
    "Summary": "facts",
    "budget_figure": "budget_chart",
    "budget_lines": "budget_words",
    "budget_svg": "budget_chart",
    "chart_figure": "year_charts",
    "chart_svg": "year_charts",
    "chart_words": "year_charts",
    "map": "map_page",
    "map_html": "map_page",
    "outputs": "written",
    "photo_picture": "picture",
    "shortfall_lines": "decided",
    "summarise": "summary",
    "summary_figures": "terminal",
    "summary_lines": "terminal",
    "waypoints_gpx": "gps",
}

__getattr__, __dir__ = doors(__name__, _DOORS)
