"""Draw what other budgets, or other hours, would give: ground in grass above, cash below."""

import io
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from clearing.report import look, words
from clearing.report.budget_words import NO_PLAN, budget_sentence, finish_words, folded
from clearing.report.drawing import FONT, halo

INCHES = (7.2, 5.4)
TITLE_LETTERS = 62
HEADROOM = 1.28  # of the highest point, for the words over it
GRASS = look.sign("grass").colour
Rows = list[dict[str, Any]]


def budget_figure(rows: Rows, us: bool, inches: tuple[float, float] = INCHES) -> Figure:
    """Return the picture of solved plans: ground clear and in grass, and cash, by what there is.

    Parameters
    ----------
    rows : list of dict
        As `clearing.budgets.compare` gives them.
    us : bool
        Acres or hectares.
    inches : (width, height)
        Size of the picture.

    References
    ----------
    own reasoning
    """
    style: Any = {"font.family": FONT, "font.size": 9, "text.color": look.INK,
             "axes.edgecolor": look.LINE, "axes.labelcolor": look.INK, "svg.fonttype": "path",
             "xtick.color": look.INK, "ytick.color": look.INK, "axes.linewidth": 0.8}  # fmt: skip
    with mpl.rc_context(style):
        room = ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.12, hspace=0.06)
        figure = Figure(figsize=inches, facecolor=look.PAPER, layout=room)
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(1.35, 1))
        title = "\n".join(folded(budget_sentence(rows, us), TITLE_LETTERS))
        heading = figure.suptitle(title, x=0.02, ha="left", fontsize=11.5, fontweight="bold")
        heading.set_parse_math(False)  # two dollar signs are no formula
        fits = [row for row in rows if row["status"] not in NO_PLAN]
        _ground(upper, fits, us)
        _cash(lower, fits)
        _none_fits(lower, rows)
        _there_is(lower, rows)
        return figure


def budget_svg(rows: Rows, us: bool) -> bytes:
    """Return the picture as SVG, the same bytes each time.

    References
    ----------
    own reasoning
    """
    out = io.BytesIO()
    figure = budget_figure(rows, us)
    with mpl.rc_context({"svg.hashsalt": "clearing", "svg.fonttype": "path"}):
        FigureCanvasSVG(figure).print_svg(out, metadata={"Date": None, "Creator": None})
    return out.getvalue()


def _at(row: dict[str, Any]) -> float:
    """Return where a plan stands across: dollars or hours a year."""
    return float(row["budget"] if row["by"] == "money" else row["crew_hours"])


def _ground(axes: Axes, fits: Rows, us: bool) -> None:
    """Draw ground that is clear and ground in grass, and by when all is clear."""
    unit = "acres" if us else "ha"
    across = [_at(row) for row in fits]
    clear, grass = ([row[f"{kind}_{unit}"] for row in fits] for kind in ("cleared", "grass"))
    axes.plot(across, clear, color=look.INK, lw=1.2, ls=(0, (4, 2)), marker="o", ms=5, mfc="white")
    axes.plot(across, grass, color=GRASS, lw=2.2, marker="s", ms=6)
    for row, x, y in zip(fits, across, clear, strict=True):
        axes.annotate(f"clear by\n{finish_words(row)}" if row["finish_year"] else "not all\nclear",
                      (x, y), (0, 7), textcoords="offset points", ha="center", fontsize=8,
                      linespacing=1.05, path_effects=halo(3))  # fmt: skip
    if fits:
        most = max([*clear, *grass, 1e-9])
        axes.set_ylim(0, most * HEADROOM)
        apart = abs(clear[-1] - grass[-1]) > 0.06 * most
        _label(axes, across[-1], clear[-1], f"{unit} clear" if apart else "")
        both = "" if apart else "clear and "
        _label(axes, across[-1], grass[-1], f"{unit} {both}in grass")
    _plain(axes)
    axes.tick_params(bottom=False)


def _cash(axes: Axes, fits: Rows) -> None:
    """Draw the cash inside the years of the plan."""
    across, cost = [_at(row) for row in fits], [row["cost"] for row in fits]
    axes.plot(across, cost, color=look.INK, lw=1.8, marker="o", ms=5)
    for x, y in zip(across, cost, strict=True):
        axes.annotate(words.money(y), (x, y), (0, 7), textcoords="offset points", ha="center",
                      fontsize=8, path_effects=halo(3))  # fmt: skip
    if fits:
        axes.set_ylim(0, max([*cost, 1e-9]) * HEADROOM)
        _label(axes, across[-1], cost[-1], "cash over\nthe years", -4)
    _plain(axes)
    axes.yaxis.set_major_formatter(lambda value, _: f"${value:,.0f}")


def _none_fits(axes: Axes, rows: Rows) -> None:
    """Mark where no plan fits, with a cross and the words."""
    for row in rows:
        if row["status"] in NO_PLAN:
            words_of = NO_PLAN[row["status"]].replace("plan ", "plan\n")
            axes.plot([_at(row)], [0], marker="x", ms=8, mew=2, color=look.KEEP_OUT, clip_on=False)
            axes.annotate(words_of, (_at(row), 0), (0, 8), textcoords="offset points",
                          ha="center", fontsize=8, color=look.KEEP_OUT)  # fmt: skip


def _there_is(axes: Axes, rows: Rows) -> None:
    """Name what there is along the bottom: each plan's, and the owner's own."""
    money = bool(rows) and rows[0]["by"] == "money"
    places = [_at(row) for row in rows]
    shown = [f"${one:,.0f}" if money else f"{one:,.0f} h" for one in places]
    own = [f"{text}\nas you have" if row["share"] == 1 else text
           for text, row in zip(shown, rows, strict=True)]  # fmt: skip
    axes.set_xticks(places, own)
    wide = (max(places) if places else 1.0) * 1.16
    axes.set_xlim(0, wide)
    axes.set_xlabel("Budget a year" if money else "Hours of the crew a year")


def _label(axes: Axes, x: float, y: float, text: str, down: float = 0) -> None:
    """Write what a line is at its right end, so many points above or below it."""
    axes.annotate(text, (x, y), (9, down), textcoords="offset points", ha="left",
                  va="top" if down else "center", fontsize=9, fontweight="bold",
                  annotation_clip=False)  # fmt: skip


def _plain(axes: Axes) -> None:
    """Leave of the frame what is read: the line at zero and the scale."""
    axes.set_facecolor(look.PAPER)
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.spines["bottom"].set_color(look.INK)
    axes.tick_params(length=0)
    axes.locator_params(axis="y", nbins=4)
    axes.grid(axis="y", color=look.LINE, lw=0.6)
    axes.set_axisbelow(True)
