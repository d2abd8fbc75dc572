"""The next day of a place made by hand: its plan as written, a log, a day."""

import datetime as dt
import json
from dataclasses import replace

import pandas as pd

from clearing.property import Results
from clearing.report import summarise
from clearing.report.facts_next import NextDay
from clearing.report.next_day import Asked, next_day
from clearing.report.plan_json import plan_json
from clearing.report.printed import printed_facts
from clearing.report.tables import plan_tables
from clearing.report.told import forms_told
from clearing.tables import column_file, to_metric

SUMMER = dt.date(2027, 7, 3)


def said_of(results: Results) -> dict:
    """Return plan.json as it is read back."""
    summary = summarise(results)
    forms = forms_told(results, summary, printed_facts(results, summary))
    return json.loads(plan_json(results, summary, plan_tables(results, summary), forms))


def log_of(*rows: dict) -> pd.DataFrame:
    """Return a log in metric, its rows numbered from 1."""
    columns = to_metric(pd.DataFrame(columns=column_file("records")["column"])).columns
    numbered = [{"record_id": str(at)} | row for at, row in enumerate(rows, start=1)]
    return pd.DataFrame(numbered, columns=columns)


def day_of(results: Results, day: dt.date = SUMMER, log: pd.DataFrame | None = None, **asked):
    """Return the next day of a plan; ``asked`` holds people, hours and strip."""
    return next_of(results, said_of(results), day, log, **asked)


def next_of(
    results: Results, said: dict, day: dt.date = SUMMER, log: pd.DataFrame | None = None, **asked
) -> NextDay:
    """Return the next day of a plan that was written before."""
    logged = log_of() if log is None else log
    place = replace(results.property, records=logged, blocks=results.blocks)
    return next_day(said, place, results.rates, Asked(day, **asked))
