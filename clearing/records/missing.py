"""Say which fields of the record are blank, which rules ask for them, and by when."""

import functools
from dataclasses import dataclass
from datetime import date, timedelta

import pandas as pd

from clearing.rates import Rates
from clearing.records.fields import asked_by, record_fields, record_rules
from clearing.records.herbicides import products_meant
from clearing.records.jobs import SPRAYS, job_meant
from clearing.records.log import in_force
from clearing.tables import cell_text

OF_ANY_WORK = {"people": "people", "hours": "hours"}  # what the plan learns from; own choice
NOTHING = "nothing of what these rules list is blank"


@dataclass(frozen=True)
class Blank:
    """One field of a row in which nothing stands, and the rules that ask for it."""

    field: str
    words: str
    asked: tuple[str, ...]


@dataclass(frozen=True)
class Lacking:
    """One row of the log in force and what is not recorded in it."""

    record_id: str
    date: str
    strip_id: str
    blanks: tuple[Blank, ...]


def puts_product_out(records: pd.DataFrame) -> pd.Series:
    """Return whether each row put product out: by its job, or a product or amount that it names.

    References
    ----------
    own reasoning
    """
    amounts = records[["product_l", "mix_l"]].apply(pd.to_numeric, errors="coerce") > 0
    named = records["herbicide"].map(cell_text) != ""
    return amounts.any(axis=1) | named | records["job"].map(job_meant).isin(SPRAYS)


def lacking(records: pd.DataFrame, rates: Rates) -> list[Lacking]:
    """Return each row in force in which a field of the record is blank.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``, in metric.
    rates : Rates
        Products, whose labels name the active ingredient.

    References
    ----------
    own reasoning
    """
    force = in_force(records)
    words = force["herbicide"].map(cell_text)
    known = {word: len(products_meant(word, rates)) == 1 for word in words.unique()}
    out = []
    for row, with_product in zip(force.to_dict("records"), puts_product_out(force), strict=True):
        blanks = _of_product(row, known[cell_text(row["herbicide"])]) if with_product else []
        blanks += [
            Blank(column, words, ()) for column, words in OF_ANY_WORK.items()
            if not cell_text(row[column])
        ]  # fmt: skip
        if blanks:
            number, day, place = (
                cell_text(row[name]) for name in ("record_id", "date", "strip_id")
            )
            out.append(Lacking(number, day, place, tuple(blanks)))
    return out


def lacking_counts(rows: list[Lacking]) -> list[str]:
    """Return for each field that is blank somewhere in how many rows it is, and who asks for it.

    Parameters
    ----------
    rows : list of Lacking
        What is not recorded.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> lacking_counts([Lacking("4", "2027-03-01", "2a", (Blank("wind", "wind", ("Texas",)),))])
    ['wind: not recorded in 1 row (asked by Texas)']
    """
    counted: dict[Blank, int] = {}
    for one in rows:
        for blank in one.blanks:
            counted[blank] = counted.get(blank, 0) + 1
    return [
        f"{blank.words}: not recorded in {number} row{'' if number == 1 else 's'} ({_who(blank)})"
        for blank, number in counted.items()
    ]


def _who(blank: Blank) -> str:
    """Return which rules ask for a field."""
    return f"asked by {', '.join(blank.asked)}" if blank.asked else "no rule asks"


def lacking_words(one: Lacking) -> str:
    """Return what is not recorded in a row as a sentence, with the rules that ask for it.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> blanks = (Blank("wind", "wind", ("Texas",)), Blank("hours", "hours", ()))
    >>> lacking_words(Lacking("4", "2027-03-01", "2a", blanks))
    'row 4 (2027-03-01, 2a): not recorded: wind (asked by Texas); hours (no rule asks)'
    """
    groups: dict[tuple[str, ...], list[str]] = {}
    for blank in one.blanks:
        groups.setdefault(blank.asked, []).append(blank.words)
    said = []
    for rules, words in groups.items():
        asked = f"asked by {', '.join(rules)}" if rules else "no rule asks"
        said.append(f"{', '.join(words)} ({asked})")
    return f"row {one.record_id} ({one.date}, {one.strip_id}): not recorded: {'; '.join(said)}"


def deadlines(records: pd.DataFrame, rows: list[Lacking], today: date) -> list[str]:
    """Return by when rows with blanks are to be written up, and how long the record is kept.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``.
    rows : list of Lacking
        What is not recorded.
    today : date
        The day from which days are counted.

    References
    ----------
    montana_records, cfr_7_110_3
    """
    rule = record_rules().set_index("rule").loc["federal_rule"]
    days, years = int(rule["write_up_days"]), int(rule["keep_years"])
    lines = [
        f"the federal rule asks that a record be written within {days} days of the application, "
        f"and kept for {years} years; the plan counts older rows too, so keep them all"
    ]
    for one in rows:
        if not any(blank.asked for blank in one.blanks):
            continue
        last = date.fromisoformat(one.date) + timedelta(days=days)
        when = f"end on {last}" if last >= today else f"ended on {last}"
        lines.append(f"row {one.record_id} ({one.date}, {one.strip_id}): the {days} days {when}")
    return lines if puts_product_out(in_force(records)).any() else lines[:1]


@functools.cache
def _asked() -> tuple[tuple[str, list[str], Blank], ...]:
    """Return of each field of the record where it comes from, its columns, and its blank."""
    return tuple(
        (row.comes_from, row.columns.split(), Blank(row.field, row.words, asked_by(row.field)))
        for row in record_fields().itertuples()
    )


def _of_product(row: dict[str, object], known: bool) -> list[Blank]:
    """Return the blank fields of a row that put product out; its product may be known or not."""
    found = []
    for comes_from, columns, blank in _asked():
        if comes_from == "label":
            there = known
        elif comes_from in ("log", "worked out"):
            there = all(cell_text(row[column]) for column in columns)
        else:
            continue
        if not there:
            found.append(blank)
    return found
