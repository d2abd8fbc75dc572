"""What is not recorded is named with the rules that ask for it, and nothing is called complete."""

from datetime import date

import pandas as pd
import pytest

from clearing.records import deadlines, lacking, lacking_words, puts_product_out, record_fields
from clearing.tables import to_metric
from tests.records.test_log import RATES, log

FULL = {
    "registration": "0-0", "product_l": 1.0, "mix_l": 9.0, "area_ha": 0.5, "start_time": "09:00",
    "end_time": "11:00", "site": "pasture", "equipment": "backpack", "target": "callery_pear",
    "wind_kmh": 8, "wind_from": "W", "temperature_c": 21, "certified": "nobody", "licence": "none",
    "applied_by": "A", "applied_for": "B", "reentry_h": 12, "permit": "none", "people": 2,
    "hours": 4,
}  # fmt: skip
COLUMNS = {  # a column of the log -> the fields that are blank without it
    **{column: [column] for column in ("registration", "start_time", "end_time", "site", "target",
                                       "wind_from", "certified", "licence", "applied_by",
                                       "applied_for", "permit", "people", "hours")},
    "mix_l": ["mix"], "product_l": ["amount", "rate"], "area_ha": ["rate", "area"],
    "equipment": ["method"], "wind_kmh": ["wind_speed"], "temperature_c": ["temperature"],
    "reentry_h": ["reentry"],
}  # fmt: skip


def metric(*rows: dict) -> pd.DataFrame:
    """Return a log in metric."""
    return to_metric(log(*rows))


def test_a_row_in_which_every_field_stands_lacks_nothing():
    """Number, product, place and the rest."""
    assert lacking(metric(FULL), RATES) == []


@pytest.mark.parametrize("column", FULL)
def test_a_blank_is_named_with_every_field_that_needs_it(column):
    """Product over area is blank without either of them."""
    (found,) = lacking(metric(FULL | {column: None}), RATES)
    assert [blank.field for blank in found.blanks] == COLUMNS[column]


def test_a_product_that_nobody_knows_has_no_active_ingredient():
    """The label of the settings names it; a word that is no product's has none."""
    (found,) = lacking(metric(FULL | {"herbicide": "soap"}), RATES)
    assert [blank.field for blank in found.blanks] == ["active_ingredient"]
    (found,) = lacking(metric(FULL | {"herbicide": None}), RATES)
    assert [blank.field for blank in found.blanks] == ["product_name", "active_ingredient"]


def test_work_without_product_lacks_people_and_hours_alone():
    """No rule on pesticides asks anything of mowing."""
    mowing = {"herbicide": None, "product_l": None, "job": "mow", "hours": 3}
    (found,) = lacking(metric(mowing), RATES)
    assert lacking_words(found) == "row 1 (2027-03-01, 2a): not recorded: people (no rule asks)"
    assert not puts_product_out(metric(mowing)).any()


def test_a_replaced_row_lacks_nothing_any_more():
    """Its correction is the record."""
    (found,) = lacking(metric({}, FULL | {"hours": None, "replaces": "1"}), RATES)
    assert found.record_id == "2"


def test_the_sentence_names_row_day_place_field_and_rule():
    """Wind and heat are Texas's (4 TAC 7.33(b)); the start is asked by four of the lists."""
    blank = FULL | {"wind_kmh": None, "temperature_c": None, "start_time": None}
    assert lacking_words(lacking(metric(blank), RATES)[0]) == (
        "row 1 (2027-03-01, 2a): not recorded: start time (asked by commercial plan, California, "
        "Texas, posting list); wind speed, air temperature (asked by Texas)"
    )


@pytest.mark.parametrize(("today", "said"), [("2027-03-15", "end on"), ("2027-03-16", "ended on")])
def test_the_fourteen_days_are_counted_from_the_work(today, said):
    """A guide of Montana: within 14 days of the application; March 1 and 14 days are March 15."""
    rows = metric(FULL | {"site": None})
    told = deadlines(rows, lacking(rows, RATES), date.fromisoformat(today))
    assert told[0].startswith("the federal rule asks that a record be written within 14 days")
    assert told[1:] == [f"row 1 (2027-03-01, 2a): the 14 days {said} 2027-03-15"]


def test_blanks_that_no_rule_asks_for_have_no_deadline():
    """Hours are for the plan."""
    rows = metric(FULL | {"hours": None})
    assert len(deadlines(rows, lacking(rows, RATES), date(2027, 3, 2))) == 1


def test_fields_that_this_log_does_not_keep_are_not_called_blank():
    """California's numbers of operator and site stand elsewhere, and the table says so."""
    table = record_fields().set_index("field")
    assert table.loc["site_numbers", "comes_from"] == "not in this log"
