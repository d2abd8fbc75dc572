"""What is said of a visit: nothing tells the strength of a product whose label is unconfirmed."""

import json
import re
from dataclasses import replace

import pytest

from clearing import report
from clearing.report.plan_json import plan_json
from clearing.report.printed import printed_facts
from clearing.report.tables import plan_tables
from clearing.report.told import forms_told
from tests.report.small_place import small_results

MIX_L, PRODUCT_L = 2.93, 1.69061  # 57.7 %, which nothing else of the small place is near
# the strength as percent and share, the mix in liters and US gallons (NIST HB 44, appendix C),
# each as a number and as words round it
TELLS = {57.7, 58.0, 0.577, 0.58, 2.93, 2.9, 0.774, 0.77}
NUMBER = re.compile(r"\d+(?:\.\d+)?")


def odd_mix(units: str, confirmed: bool):
    """Return the small place, its follow-up with a mix of an odd strength."""
    results = small_results(units=units)
    visits = results.plan.visits.copy()
    odd = visits["herbicide"] == "imazapyr_2"
    for end, share in (("", 1.0), ("_low", 0.8), ("_high", 1.3)):
        visits.loc[odd, f"mix{end}_l"] = share * MIX_L
        visits.loc[odd, f"product{end}_l"] = share * PRODUCT_L
    products = [replace(one, confirmed=confirmed or one.confirmed)
                for one in results.rates.products]  # fmt: skip
    return replace(
        results,
        plan=replace(results.plan, visits=visits),
        rates=replace(results.rates, products=tuple(products)),
    )


def numbers_in(value) -> set[float]:
    """Return every number in nested lists and dictionaries, those in texts too."""
    if isinstance(value, dict):
        return set().union(*map(numbers_in, value.values()))
    if isinstance(value, list):
        return set().union(*map(numbers_in, value))
    return {round(float(one), 3) for one in NUMBER.findall(str(value))}


def told_of(units: str, confirmed: bool) -> set[float]:
    """Return every number of plan.json and of all tables."""
    results = odd_mix(units, confirmed)
    summary = report.summarise(results)
    tables = plan_tables(results, summary)
    forms = forms_told(results, summary, printed_facts(results, summary))
    plan = json.loads(plan_json(results, summary, tables, forms))
    rows = [table.to_dict("records") for table in tables.values()]
    return numbers_in(plan) | numbers_in(rows)


@pytest.mark.parametrize(("units", "mix"), [("us", 0.774), ("metric", 2.93)])
def test_a_confirmed_label_has_its_strength_told(units, mix):
    """With the label confirmed, mix and percent stand in the plan's numbers."""
    assert {57.7, mix} <= told_of(units, confirmed=True)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_an_unconfirmed_label_tells_no_strength(units):
    """No number and no word of plan.json or of a table gives the mix or the percent of it."""
    assert not TELLS & told_of(units, confirmed=False)
