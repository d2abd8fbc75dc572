"""The small place a year on, with a log and the last plan, both made by hand."""

from dataclasses import replace
from typing import Any

import pandas as pd

from clearing.files.last_plan import VISITS
from clearing.property import LastPlan, Results
from clearing.records.lessons import LESSONS
from clearing.records.logged_work import COLUMNS
from clearing.tables import column_file
from tests.report.small_place import option, small_plan, small_results, visit

LOG = column_file("records")["column"].tolist()


def planned(strip: str, year: int, season: str, job: str, herbicide: str = "") -> dict[str, Any]:
    """Return a visit of the last plan: 10 hours (8 to 13), $120 (90 to 160), 1 l (0.8 to 1.3)."""
    product = 1.0 if herbicide else 0.0
    ends = {"": 1.0, "_low": 0.8, "_high": 1.3}
    return {
        "strip_id": strip, "job": job, "year": year, "season": season, "method": "hack_and_leave",
        "herbicide": herbicide, "recipe_id": "hack_glyphosate" if herbicide else "",
        **{f"hours{end}": 10.0 * share for end, share in ends.items()},
        **{f"product{end}_l": product * share for end, share in ends.items()},
        "cost": 120.0, "cost_low": 90.0, "cost_high": 160.0,
    }  # fmt: skip


def last_plan(**changed: Any) -> LastPlan:
    """Return the last plan: 1a and 1b in summer 2027, 2 in summer 2028, 3 not in these years."""
    strips: dict[str, dict[str, object]] = {
        "1a": {"method": "hack_and_leave", "when": "summer 2027", "start_year": 2027},
        "1b": {"method": "cut_and_spray", "when": "summer 2027", "start_year": 2027},
        "2": {"method": "mow_then_spray", "when": "summer 2028", "start_year": 2028},
        "3": {"method": "not_now", "when": "not in these years", "start_year": None},
    }
    strips = {name: {"block_id": name[0], "area_ha": 2.0} | one for name, one in strips.items()}
    visits = [
        planned("1a", 2027, "summer", "hack_and_squirt", "glyphosate_4"),
        planned("1b", 2027, "summer", "cut_and_spray", "glyphosate_4"),
        planned("1a", 2028, "fall", "follow_up", "imazapyr_2"),
        planned("2", 2028, "summer", "mow_down"),
    ]
    made = LastPlan("old", "old", pd.DataFrame(visits, columns=VISITS), strips, 2027, 2030)
    return replace(made, **changed)


def lesson(kind: str, subject: str, item: str, now: float, rows: int = 9) -> tuple[Any, ...]:
    """Return what the log taught of a figure that was 1: a tenth less to a tenth more."""
    return (kind, subject, item, "", 1.0, now, 0.9 * now, 1.1 * now, 0.83, rows)


def logged(
    work: list[tuple[Any, ...]], rows: list[dict[str, Any]] = [], lessons: list[Any] = [],  # noqa: B006
    begun: tuple[str, ...] = ("1a",), units: str = "us", name: str = "Road field",
) -> Results:  # fmt: skip
    """Return the small place in 2028 with this work done, these rows of the log and lessons.

    Strip 1a is begun in 2027; 1b is planned for summer 2029, 2 for summer 2028, as it was.
    """
    made = small_results(name, units)
    visits = [
        visit("1a", 2028, "fall", "follow_up", "imazapyr_2"),
        visit("1b", 2029, "summer", "cut_and_spray", "glyphosate_4"),
        visit("2", 2028, "summer", "mow_down"),
    ]
    cut = min([one[2] for one in work if "1b" in one[0]], default=2029)
    options = [
        option("1a", "hack_and_leave", 2027, 2029), option("1b", "cut_and_spray", cut, None),
        option("2", "mow_then_spray", 2028, 2030), option("3", "not_now", None, None),
    ]  # fmt: skip
    settings = replace(made.property.settings, first_year=2028, years=3)
    log = pd.DataFrame(rows, columns=LOG)
    return replace(
        made,
        property=replace(made.property, settings=settings, records=log, last=last_plan()),
        plan=small_plan(visits, options),
        work_done=pd.DataFrame(work, columns=COLUMNS[:-1]).assign(said=""),
        over=pd.DataFrame({"strip_id": list(begun)}),
        lessons=pd.DataFrame(lessons, columns=LESSONS),
    )


def row(record: str, strip: str, job: str, **cells: Any) -> dict[str, Any]:
    """Return a row of the log of June 2027."""
    return {"record_id": record, "date": "2027-06-10", "strip_id": strip, "job": job} | cells
