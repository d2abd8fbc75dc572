"""What was done, and what does it teach? The season's log, and counts after treatment.

Takes the log (`in_force`), dated counts, strips, the rates, and the day of the plan.
Gives where the land stands (`stand`): strips in parts, work done, seasons that are gone; what was
learned of kills, paces and doses (`learn_kills`, `update`); rows that fit nothing (`log_problems`);
and what a record of an application lacks (`lacking`).
"""

from clearing.records.counts import kill_counts
from clearing.records.done import Done, first_treatments, strips_named
from clearing.records.doubts import (
    known_places,
    log_problems,
    place_problem,
    places_now,
    unknown_places,
)
from clearing.records.fields import (
    asked_by,
    record_fields,
    record_rules,
    rule_lines,
)
from clearing.records.herbicides import herbicide_problem, products_meant, strength_meant
from clearing.records.jobs import job_meant, unknown_jobs
from clearing.records.kill_learning import Kill, learn_kills, posterior_kill, prior_kill
from clearing.records.lessons import Lessons, with_stems
from clearing.records.log import in_force, lost_corrections, sharpen
from clearing.records.logged_work import work_done
from clearing.records.missing import (
    deadlines,
    lacking,
    lacking_counts,
    lacking_words,
    puts_product_out,
)
from clearing.records.pace_learning import Known, prior_of, update
from clearing.records.season_now import newest_day
from clearing.records.shed import left_on_hand
from clearing.records.standing import Standing, applied_on, stand
from clearing.records.strange_rows import days_ahead, odd_rows, time_text

__all__ = [
    "Done",
    "Kill",
    "Known",
    "Lessons",
    "Standing",
    "applied_on",
    "asked_by",
    "days_ahead",
    "deadlines",
    "first_treatments",
    "herbicide_problem",
    "in_force",
    "job_meant",
    "kill_counts",
    "known_places",
    "lacking",
    "lacking_counts",
    "lacking_words",
    "learn_kills",
    "left_on_hand",
    "log_problems",
    "lost_corrections",
    "newest_day",
    "odd_rows",
    "place_problem",
    "places_now",
    "posterior_kill",
    "prior_kill",
    "prior_of",
    "products_meant",
    "puts_product_out",
    "record_fields",
    "record_rules",
    "rule_lines",
    "sharpen",
    "stand",
    "strength_meant",
    "strips_named",
    "time_text",
    "unknown_jobs",
    "unknown_places",
    "update",
    "with_stems",
    "work_done",
]
