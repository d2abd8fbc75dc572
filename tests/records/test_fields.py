"""Which rule asks for which field of the record, against the texts of the rules."""

import pytest

from clearing.records import asked_by, record_fields, record_rules, rule_lines
from clearing.sources import source_table
from clearing.tables import column_file

# typed from the rules' own lists of fields, as far as they were seen:
ASKED = {
    # 7 USC 136i-1(a)(1): product, amount, approximate date, location
    "federal_law": {"product_name", "amount", "date", "location"},
    # 7 CFR 110.3(a), edition of 2006: brand name and registration number, total amount, location,
    # size of area, crop or site, month day year, name and certification number
    "federal_rule": {"product_name", "registration", "amount", "date", "location", "area", "site",
                     "certified", "licence"},
    # Minnesota Department of Agriculture, spot records under a tenth of an acre
    "spot": {"product_name", "registration", "amount", "date", "location", "area"},
    # EPA's federal plan, records of commercial applicators
    "commercial": {"product_name", "registration", "amount", "date", "start_time", "location",
                   "area", "site", "certified", "licence", "applied_by", "applied_for"},
    # 3 CCR 6624(b) and (c), November 2024
    "california": {"product_name", "registration", "amount", "date", "start_time", "end_time",
                   "location", "area", "site", "method", "site_numbers", "certified", "licence",
                   "applied_by", "applied_for"},
    # 4 TAC 7.33(b)
    "texas": {"product_name", "registration", "mix", "rate", "date", "start_time", "location",
              "area", "site", "method", "target", "wind_speed", "wind_from", "temperature",
              "certified", "licence", "applied_by", "applied_for", "permit"},
    # 40 CFR 170.122(c), former section
    "posting": {"product_name", "registration", "active_ingredient", "date", "start_time",
                "location", "reentry"},
}  # fmt: skip


@pytest.mark.parametrize("rule", ASKED)
def test_each_rule_asks_for_the_fields_of_its_own_list(rule):
    """No field more, none less."""
    table = record_fields()
    assert set(table.loc[table[rule] != "", "field"]) == ASKED[rule]


def test_each_rule_has_its_column_and_its_source():
    """The two tables name the same rules, and each source is one of the list."""
    rules = record_rules()
    assert record_fields().columns.tolist()[4:] == rules["rule"].tolist() == list(ASKED)
    assert set(rules["source"]) <= set(source_table()["key"])


def test_every_column_that_the_table_names_is_one_of_the_log():
    """In metric, as the rooms have it."""
    named = {word for cell in record_fields()["columns"] for word in cell.split()}
    assert named <= set(column_file("records")["column"])


def test_years_of_keeping_and_days_of_writing_are_the_rules():
    """Two years (136i-1(a)(1), 110.3, state pages), written within 14 days (a guide of Montana)."""
    rules = record_rules().set_index("rule")
    assert set(rules["keep_years"]) == {2}
    assert rules.loc["federal_rule", "write_up_days"] == 14
    assert rules["write_up_days"].notna().sum() == 1
    assert "kept 2 years, written within 14 days" in rule_lines()[1]


def test_a_condition_is_said_with_the_rule():
    """Some rules ask only here or there."""
    assert asked_by("permit") == ("Texas in a regulated county",)
    assert "Minnesota spot record as spot treatment" in asked_by("area")
    with pytest.raises(KeyError):
        asked_by("shoe_size")
