"""Say what a strip is like at the end of each year, from the visits of the plan."""

from dataclasses import dataclass

import pandas as pd

# job -> state of the ground that it leaves; jobs not named here leave it as it was
LEAVES = {
    "hack_and_squirt": "standing_dead",
    "basal_bark": "standing_dead",
    "cut_and_spray": "cut",
    "hand_work": "cut",
    "mow_down": "cut",
    "fell_dead": "cut",
    "foliar": "follow_up",
    "follow_up": "follow_up",
    "mow": "grass",
    "seed": "grass",
}
# method -> state that its first treatment leaves, whatever the small stems between get
FIRST = {
    "hack_and_leave": "standing_dead",
    "hack_then_fell": "standing_dead",
    "split": "standing_dead",
    "basal_bark": "standing_dead",
    "cut_and_spray": "cut",
    "mow_then_spray": "cut",
}
FIRST_JOBS = (
    "hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "hand_work", "mow_down",
)  # fmt: skip
STAND_YEARS = 6.0  # the handbook's middle; the caller gives the rates' own
LASTING = ("grass", "clear")  # a spot spray is shown in its year and changes no such ground
LATER = {"foliar": 1, "follow_up": 2, "mow": 3, "seed": 3}  # order inside one season


@dataclass(frozen=True)
class State:
    """The state of one strip in one year."""

    year: int
    key: str
    age: int
    work: bool


def strip_states(
    visits: pd.DataFrame,
    seasons: dict[str, int],
    years: tuple[int, ...],
    treated: bool,
    finish_year: int | None,
    stand_years: float = STAND_YEARS,
) -> list[State]:
    """Return the state of one strip at the end of each year.

    The last work of a year that changes the ground is shown; where two kinds of work share a
    season, the one with more stems. From the finish year on a strip not in grass is clear.

    Parameters
    ----------
    visits : DataFrame
        Visits of this strip: year, season, job, stems.
    seasons : dict
        Season -> its order in the year.
    years : tuple of int
        Years of the plan.
    treated : bool
        Whether the plan treats the strip at all.
    finish_year : int or None
        First year in which it is done.
    stand_years : float
        Years for which dead stems may stand: so long the ground is not shown as clear.

    References
    ----------
    own reasoning
    """
    if not treated:
        return [State(year, "not_now", 0, work=False) for year in years]
    rows = sorted(
        zip(visits["year"], visits["season"], _shown_jobs(visits), visits["stems"], strict=True),
        key=lambda row: (row[0], seasons.get(row[1], 0), LATER.get(row[2], 0), row[3]),
    )
    out: list[State] = []
    ground, since = "untouched", years[0]
    for year in years:
        now = [job for when, _, job, _ in rows if when == year]
        shown = ""
        for job in now:
            shown = LEAVES.get(job, shown)
            if job in LEAVES and not (shown == "follow_up" and ground in LASTING):
                ground, since = shown, year
        fallen = ground != "standing_dead" or year - since >= stand_years
        if finish_year is not None and year >= finish_year and ground not in LASTING and fallen:
            ground, since, shown = "clear", year, ""
        key = shown or ground
        out.append(State(year, key, year - since if key == ground else 0, work=bool(now)))
    return out


def _shown_jobs(visits: pd.DataFrame) -> list[str]:
    """Return the jobs, each job of a first treatment as the one that names its method's state."""
    if "method" not in visits:
        return [str(job) for job in visits["job"]]
    state = {"standing_dead": "hack_and_squirt", "cut": "cut_and_spray"}
    return [
        state[FIRST[method]] if job in FIRST_JOBS and method in FIRST else str(job)
        for job, method in zip(visits["job"], visits["method"], strict=True)
    ]
