"""Show me: the map, the tables, the files for the phone, and the work plan."""

from clearing.report.budget_chart import budget_figure, budget_svg
from clearing.report.budget_words import budget_lines
from clearing.report.decided import shortfall_lines
from clearing.report.facts import Summary
from clearing.report.gps import waypoints_gpx
from clearing.report.map_page import map, map_html
from clearing.report.picture import PhotoPicture, photo_picture
from clearing.report.summary import summarise
from clearing.report.tally_sheet import tally_sheet
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
    "tally_sheet",
    "waypoints_gpx",
]
