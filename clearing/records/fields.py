"""Give the fields of the record and the rules that ask for each of them."""

import functools

import pandas as pd

from clearing.rates import handbook_table

ALWAYS = "x"  # how the table says that a rule asks for a field whatever the case
DECIDES = (
    "These rules bind those that they name; your state and the product's label decide what you "
    "have to keep, and some states ask for more."
)


@functools.cache
def record_rules() -> pd.DataFrame:
    """Return the rules on records: rule, name, binds, keep_years, write_up_days, source, locator.

    References
    ----------
    usc_7_136i_1, cfr_7_110_3, minnesota_spot, montana_records, epa_plan_records, california_6624,
    texas_7_33, cfr_40_170_122
    """
    return handbook_table("record_rules")


@functools.cache
def record_fields() -> pd.DataFrame:
    """Return the fields of a record: field, words, columns of the log, comes_from, and the rules.

    A cell under a rule is blank where it does not ask, x where it does, else when or how it does.

    References
    ----------
    usc_7_136i_1, cfr_7_110_3, minnesota_spot, epa_plan_records, california_6624, texas_7_33,
    cfr_40_170_122
    """
    return handbook_table("record_fields")


@functools.cache
def asked_by(field: str) -> tuple[str, ...]:
    """Return the rules that ask for a field, by name, with the condition where there is one.

    Raises
    ------
    KeyError
        There is no such field.

    References
    ----------
    own reasoning; the table's own sources

    Examples
    --------
    >>> asked_by("permit"), asked_by("temperature")
    (('Texas in a regulated county',), ('Texas',))
    """
    row = record_fields().set_index("field").loc[field]
    names = zip(record_rules()["rule"], record_rules()["name"], strict=True)
    return tuple(
        name if row[rule] == ALWAYS else f"{name} {row[rule]}" for rule, name in names if row[rule]
    )


def rule_lines() -> list[str]:
    """Return a sentence for each rule: whom it binds, how long, by when, and where it stands.

    References
    ----------
    own reasoning; the table's own sources
    """
    lines = []
    for row in record_rules().itertuples():
        years = f"kept {row.keep_years:g} years"
        days = f", written within {row.write_up_days:g} days" if row.write_up_days > 0 else ""
        note = f" ({row.note})" if row.note else ""
        lines.append(f"{row.name}: {row.binds}; {years}{days}{note}")
    return lines
