"""No option passes a label limit, whatever the limit is of."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing.effort import over_limit
from clearing.effort.limits import applied_before
from clearing.property import OwnProduct
from clearing.rates import for_settings
from clearing.units import KG_HA_PER_LB_AC
from tests.effort.conftest import priced
from tests.small_ground import SETTINGS, replace, small_ground

LABEL = {
    "lb_ae_per_acre_year": 2.0, "lb_ae_per_acre_application": 1.5, "applications_year": 3.0,
    "spot_percent": 10.0,
}  # fmt: skip
AMINE = OwnProduct(
    "amine_2_4_d_3_8", "2,4-D amine", 0.4553, limits=LABEL, confirmed=True,
    registration="training only", label_date="2026-03-01",
)  # fmt: skip
PLACE = pd.DataFrame(
    {"block_id": ["p", "p"], "goal": "pasture", "area_ha": [1.0, 3.0]},
    index=pd.Index(["a", "b"], name="strip_id"),
)
RATES = for_settings(replace(SETTINGS, herbicides=(AMINE,)))
KEYS = ["option_id", "strip_id", "method_id", "year", "season", "job", "herbicide", "recipe_id",
        "mix_l", "ae_kg_per_ha"]  # fmt: skip


def visits(*rows):
    """Return visits of one option: year, season, job, pounds an acre, litres of leaf spray."""
    return pd.DataFrame(
        [("a1", "a", "m", year, season, job, AMINE.name, "any:foliar:2_4_d", mix,
          pounds * KG_HA_PER_LB_AC) for year, season, job, pounds, mix in rows],
        columns=KEYS,
    )  # fmt: skip


def clauses(*rows, rates=RATES):
    return over_limit(visits(*rows), PLACE, rates)["sentence"].tolist()


def log(*rows):
    table = pd.DataFrame(rows, columns=["place", "year", "herbicide", "product_l"])
    return replace(RATES, applied=table)


def test_a_year_is_summed_over_first_treatment_and_follow_ups():
    """1.2 and 0.9 lb in one year pass 2 lb; in two years they do not."""
    over = clauses((2027, "spring", "hack_and_squirt", 1.2, 0), (2027, "fall", "follow_up", 0.9, 0))
    assert len(over) == 1
    assert "2.1 lb ae an acre" in over[0]
    assert "2 lb ae an acre a year" in over[0]
    assert not clauses(
        (2027, "fall", "hack_and_squirt", 1.2, 0), (2028, "fall", "follow_up", 0.9, 0)
    )


def test_one_application_has_its_own_limit():
    """1.6 lb at once pass 1.5 lb an application, and nothing is said of a log."""
    (line,) = clauses((2027, "spring", "hack_and_squirt", 1.6, 0))
    assert "lb ae an acre at a time" in line
    assert "the log" not in line


def test_parts_of_one_date_are_one_application():
    """Stumps and hacks of one spring with 0.9 lb each are 1.8 lb at once."""
    (line,) = clauses(
        (2027, "spring", "hack_and_squirt", 0.9, 0), (2027, "spring", "cut_and_spray", 0.9, 0)
    )
    assert "1.8 lb ae an acre" in line
    assert "at a time" in line


def test_salt_and_ester_of_one_acid_count_together():
    """1.2 lb of the amine and 1.2 lb of the ester pass the 2 lb that each of them has alone."""
    both = [
        OwnProduct(name, "triclopyr", 0.4, limits={"lb_ae_per_acre_year": 2.0}, confirmed=True)
        for name in ("triclopyr_amine_3", "triclopyr_ester_4")
    ]
    rates = for_settings(replace(SETTINGS, herbicides=tuple(both)))
    rows = visits(
        (2027, "spring", "hack_and_squirt", 1.2, 0), (2027, "fall", "cut_and_spray", 1.2, 0)
    )
    rows["herbicide"] = [product.name for product in both]
    over = over_limit(rows, PLACE, rates)
    assert set(over["herbicide"]) == {"triclopyr_amine_3", "triclopyr_ester_4"}
    one = rows.assign(herbicide=both[0].name, year=[2027, 2028])
    assert not len(over_limit(one, PLACE, rates))


def test_applications_of_a_year_are_counted_by_their_dates():
    """Four seasons with the product are one too many."""
    four = [(2027, name, "follow_up", 0.1, 0) for name in ("spring", "summer", "fall", "winter")]
    assert not clauses(*four[:3])
    (line,) = clauses(*four)
    assert "4 applications in a year" in line


def test_leaves_are_sprayed_on_no_more_of_the_ground_than_the_label_has():
    """At 560 L a hectare of leaves 50 L on a hectare are 9 percent, 60 L are 11."""
    assert not clauses((2027, "spring", "foliar", 0.1, 50.0))
    (line,) = clauses((2027, "spring", "foliar", 0.1, 60.0))
    assert "11 % of the ground" in line


def test_what_the_log_says_was_put_out_counts_in_its_year():
    """1.2 lb by the plan and 1.0 lb by the log pass 2 lb in that year only."""
    litres = 1.0 * KG_HA_PER_LB_AC / AMINE.ae_kg_per_l
    told = log(("a", 2027, AMINE.name, litres))
    (line,) = clauses((2027, "fall", "hack_and_squirt", 1.2, 0), rates=told)
    assert "the log among it" in line
    assert not clauses((2028, "fall", "hack_and_squirt", 1.2, 0), rates=told)
    other = log(("b", 2027, AMINE.name, litres))
    assert not clauses((2027, "fall", "hack_and_squirt", 1.2, 0), rates=other)


def test_a_block_s_log_is_spread_over_its_strips():
    """Four litres on a block of four hectares are a litre a hectare in each strip."""
    told = log(("p", 2027, AMINE.name, 4.0))
    spread = applied_before(PLACE, {AMINE.name: 0.5}, told).set_index("strip_id")["logged"]
    assert spread.to_dict() == pytest.approx({"a": 0.5, "b": 0.5})


@settings(deadline=None, max_examples=4)
@given(st.lists(st.floats(0.05, 40.0), min_size=5, max_size=5))
def test_no_priced_option_passes_the_label_s_year(densities):
    """However thick it stands, what is offered stays under the limit in every year."""
    walked = priced(side_by_side(densities))
    kept = walked.visits[walked.visits["option_id"].isin(walked.options["option_id"])]
    year = kept.groupby(["option_id", "year", "herbicide"])["ae_kg_per_ha"].sum()
    assert (year <= 1.0 * (1 + 1e-9)).all()
    assert walked.options["strip_id"].nunique() == 3 * len(densities)


def side_by_side(densities):
    """Return one place that holds the small place once for each density, under other names."""
    grounds = [small_ground(density=each, herbicides=(tight(),)) for each in densities]
    tables = {}
    for name in ("blocks", "strips", "zones", "stocking"):
        own = [getattr(ground, name) for ground in grounds]
        ids = [column for column in ("block_id", "strip_id", "zone_id") if column in own[0]]
        renamed = [
            table.assign(**{column: table[column] + f"_{number}" for column in ids})
            for number, table in enumerate(own)
        ]
        tables[name] = pd.concat(renamed, ignore_index=True)
    return replace(grounds[0], **tables)


def tight() -> OwnProduct:
    """Return a product of which a kilogram a hectare is the limit."""
    return OwnProduct(
        "glyphosate_4", "glyphosate", 0.4793, confirmed=True,
        limits={"kg_ae_per_ha_year": 1.0, "spot_percent": 100.0},
        registration="training only", label_date="2026-03-01",
    )  # fmt: skip
