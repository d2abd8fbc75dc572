"""Show ground with rules of its own in the years in which the rule matters."""

from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from clearing.property import Results
from clearing.report import names
from clearing.report.facts import StripFacts, Summary

# jobs that bring trunks down or leave them to fall
FALLS = frozenset({"hack_and_squirt", "basal_bark", "cut_and_spray", "fell_dead"})
STANDS = "standing_dead"
DEAD_FROM = 0.5  # dead stems from which dead trees are shown; own choice: rounds to one stem
ROUGH_M = 0.3  # driplines are drawn this rough; own choice: thinner than their line on the screen
MOST_CORNERS = 12_000  # of all driplines together; own choice: a tenth of a megabyte
ROUGHEST_M = 100.0  # from there on they stay as they are; own choice
WHOLE_FLAGS = ("fall_reach", "water_edge", "power_line", "dripline")


def dead_stand(strip: StripFacts, summary: Summary) -> list[int]:
    """Return 1 for each year in which dead trees stand in a strip at its end, or are its state.

    References
    ----------
    own reasoning
    """
    ahead = {row.year: row.dead.value for row in summary.ahead.strips.get(strip.strip_id, ())}
    return [
        int(year.state == STANDS or ahead.get(year.year + 1, 0.0) > DEAD_FROM)
        for year in strip.years
    ]


def ruled_pieces(results: Results, summary: Summary) -> list[dict[str, Any]]:
    """Return each strip's ground with a rule: strip_id, flag, words, years (places), shape.

    Shapes lie in the grid. Pieces that matter in no year of the plan are left out.

    References
    ----------
    own reasoning
    """
    zones = results.zones
    flags = zones["flags"].astype(str).str.split("+")
    by_strip = {strip.strip_id: strip for strip in summary.strips}
    out = []
    for flag in WHOLE_FLAGS:
        has = flags.map(lambda held, flag=flag: flag in held).astype(bool)
        for strip_id, own in zones[has].groupby("strip_id", sort=False):
            years = years_of(flag, by_strip[strip_id], summary)
            shape = own.union_all()
            if years and not shape.is_empty:
                out.append(
                    {"strip_id": strip_id, "flag": flag, "words": names.ZONES[flag],
                     "years": years, "shape": shape}
                )  # fmt: skip
    return _lighter(out)


def years_of(flag: str, strip: StripFacts, summary: Summary) -> list[int]:
    """Return the places of the years in which a rule matters in a strip.

    Fall reach: while trunks are brought down or dead stems stand. Power line: the same years, and
    every year with work. Water edge and dripline: every year with work.

    References
    ----------
    own reasoning
    """
    ahead = {row.year: row for row in summary.ahead.strips.get(strip.strip_id, ())}
    jobs: dict[int, set[str]] = {}
    for visit in strip.visits:
        jobs.setdefault(visit.year, set()).add(visit.job_key)
    out = []
    for place, year in enumerate(strip.years):
        at_ends = [ahead[end].dead.value for end in (year.year, year.year + 1) if end in ahead]
        falls = year.state == STANDS or max(at_ends, default=0.0) > 0
        falls = falls or bool(FALLS & jobs.get(year.year, set())) or strip.start_year == year.year
        if (flag != "fall_reach" and year.work) or (flag in ("fall_reach", "power_line") and falls):
            out.append(place)
    return out


def _lighter(pieces: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the pieces with driplines of fewer corners, however many trees there are."""
    own = [piece for piece in pieces if piece["flag"] == "dripline"]
    shapes: list[BaseGeometry] = [_thinned(piece["shape"], ROUGH_M) for piece in own]
    rough = ROUGH_M
    while rough < ROUGHEST_M and shapely.get_num_coordinates(shapes).sum() > MOST_CORNERS:
        rough *= 2
        shapes = [_closed(piece["shape"], rough) for piece in own]
    for piece, shape in zip(own, shapes, strict=True):
        piece["shape"] = shape
    return pieces


def _closed(shape: BaseGeometry, rough: float) -> BaseGeometry:
    """Return a shape whose parts that lie near each other are one, with fewer corners."""
    return _thinned(shape.buffer(rough, quad_segs=2).buffer(-rough, quad_segs=2), rough)


def _thinned(shape: BaseGeometry, rough: float) -> BaseGeometry:
    """Return a shape with fewer corners, part by part: all at once takes many times as long."""
    return shapely.union_all(shapely.simplify(shapely.get_parts(shape), rough))
