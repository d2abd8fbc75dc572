"""Who counts toward a label's limit, and how what is left out is told."""

import pandas as pd

from clearing.effort import over_limit
from clearing.effort.limits import applied_before, over_words
from clearing.property import OwnProduct
from clearing.rates import for_settings
from clearing.units import KG_HA_PER_LB_AC
from tests.effort.test_limits import AMINE, KEYS, PLACE, RATES, clauses, log, visits
from tests.small_ground import SETTINGS, replace

FOUR = [(2027, name, "follow_up", 0.1, 0) for name in ("spring", "summer", "fall", "winter")]


def jug(name: str, pounds: float) -> OwnProduct:
    """Return a product of triclopyr with a yearly limit in pounds an acre."""
    return OwnProduct(
        name, "triclopyr amine", 0.4, limits={"lb_ae_per_acre_year": pounds}, confirmed=True
    )


def found(rows: list[tuple[str, str, float]], *products: OwnProduct) -> set[tuple[str, str]]:
    """Return option and product of what is over a limit: option, product, pounds an acre each."""
    table = pd.DataFrame(
        [(option, "a", "m", 2027, f"s{place}", "hack_and_squirt", name, "", 0.0,
          pounds * KG_HA_PER_LB_AC) for place, (option, name, pounds) in enumerate(rows)],
        columns=KEYS,
    )  # fmt: skip
    over = over_limit(table, PLACE, for_settings(replace(SETTINGS, herbicides=products)))
    return set(zip(over["option_id"], over["herbicide"], strict=True))


def test_two_jugs_of_one_acid_count_together_whatever_their_names():
    """1.2 and 1.2 lb out of the owner's blue and red jug pass the 2 lb of each."""
    rows = [("a1", "blue_jug", 1.2), ("a1", "red_can", 1.2)]
    over = found(rows, jug("blue_jug", 2.0), jug("red_can", 2.0))
    assert over == {("a1", "blue_jug"), ("a1", "red_can")}


def test_an_option_is_held_only_to_labels_of_products_that_it_uses():
    """2 lb out of a can of 5 lb pass, though the other option's jug has 1 lb."""
    rows = [("a1", "red_can", 2.0), ("a2", "blue_jug", 0.5)]
    assert found(rows, jug("blue_jug", 1.0), jug("red_can", 5.0)) == set()


def test_each_acid_is_held_to_its_own_label():
    """1.4 lb of 2,4-D pass beside half a pound of triclopyr, whose jug has one."""
    rows = [("a1", "blue_jug", 0.5), ("a1", AMINE.name, 1.4)]
    assert found(rows, jug("blue_jug", 1.0), AMINE) == set()


def test_just_the_limit_is_not_over_it():
    """2 lb of 2 lb are within the label."""
    assert not clauses((2027, "fall", "hack_and_squirt", 2.0 / 2, 0),
                       (2027, "spring", "hack_and_squirt", 1.0, 0))  # fmt: skip


def test_visits_without_product_are_no_applications():
    """A fourth date without acid on the ground leaves three."""
    assert not clauses(*FOUR[:3], (2027, "winter", "follow_up", 0.0, 0))
    assert clauses(*FOUR)


def test_applications_of_the_log_count_once_each():
    """Two by the plan and one by the log are the three that are let through, three and one not."""
    told = log(("a", 2027, AMINE.name, 0.01))
    assert not clauses(*FOUR[:2], rates=told)
    (line,) = clauses(*FOUR[:3], rates=told)
    assert "4 applications in a year, the log among it; " in line
    assert "log" not in clauses(*FOUR)[0]


def test_a_logged_product_that_nobody_knows_adds_no_acid():
    """Its litres count for nothing, its date for one."""
    told = log(("a", 2027, "unknown", 5.0))
    row = applied_before(PLACE, {AMINE.name: 0.5}, told).iloc[0]
    assert (row["logged"], row["times"]) == (0.0, 1.0)


def test_a_little_in_the_log_is_told_too():
    """0.3 lb by the log and twice 0.9 lb by the plan are 2.1 lb, the log among it."""
    told = log(("a", 2027, AMINE.name, 0.3 * KG_HA_PER_LB_AC / AMINE.ae_kg_per_l))
    twice = [(2027, name, "hack_and_squirt", 0.9, 0) for name in ("spring", "fall")]
    (line,) = clauses(*twice, rates=told)
    assert "2.1 lb ae an acre in the densest ground, the log among it;" in line
    assert not clauses(*twice)


def test_leaves_are_held_to_a_share_of_the_strip_s_own_ground():
    """At 560 L a hectare of leaves 165 L on three hectares are 10 percent, 185 L are 11."""
    spray = visits((2027, "spring", "foliar", 0.1, 165.0)).assign(strip_id="b")
    assert not len(over_limit(spray, PLACE, RATES))
    (line,) = over_limit(spray.assign(mix_l=185.0), PLACE, RATES)["sentence"]
    assert "11 % of the ground" in line


def test_a_follow_up_that_wets_no_leaves_sprays_no_ground():
    """Its recipe has no litres a hectare of leaves: the label's share of the ground is not met."""
    later = visits((2027, "spring", "follow_up", 0.1, 60.0))
    assert len(over_limit(later, PLACE, RATES))
    assert not len(over_limit(later.assign(recipe_id=""), PLACE, RATES))


def test_what_is_left_out_is_told_once_with_its_span():
    """Two strips and methods of one clause are one sentence, from the least to the most."""
    row = {"herbicide": "red_can", "per": "year", "clause": "2 lb", "option_id": "", "sentence": ""}
    some = row | {"strip_id": "a", "method_id": "hack_and_squirt:x"}
    more = row | {"strip_id": "b", "method_id": "cut_and_spray:x"}
    one, two = 2.5 * KG_HA_PER_LB_AC, 4.0 * KG_HA_PER_LB_AC
    (line,) = over_words([some | {"reached": one}, more | {"reached": two}])
    assert line == (
        "red can is left out in strips a, b (cut and spray, hack and squirt) where it would reach "
        "2.5 to 4.0 lb ae an acre in the densest ground; the limit is: 2 lb"
    )
    (line,) = over_words([some | {"reached": one}])
    assert "would reach 2.5 lb ae an acre" in line
