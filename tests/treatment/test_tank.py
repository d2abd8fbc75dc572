"""The question at the tank: what was typed, which recipe, how many stems, and the page."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from clearing.cli import main
from clearing.rates import load
from clearing.treatment import dose, known_products
from clearing.treatment.recipes import best, recipe_book
from clearing.treatment.tank import ask_calibration, ask_tank
from clearing.treatment.tank_book import USES, book_rows, tank_recipes
from clearing.treatment.tank_sizes import dose_of_size_ml, stems_a_tank, tank_sizes
from clearing.treatment.tank_words import ask_and_tell
from clearing.units import CM_PER_IN, L_PER_GAL

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "published" / "treatment.csv")
PUBLISHED = PUBLISHED.set_index("quantity")
RECIPES = {row["recipe_id"]: row for row in book_rows("recipes")}
HEAVY = ["geopandas", "numpy", "pandas", "scipy", "shapely"]
STUMPS = {"tank": "0.5 gal", "herbicide": "glyphosate 4", "use": "stump"}


def ask(*words: object):
    """Return the answer of the command."""
    return CliRunner().invoke(main, ["mix", *(str(word) for word in words)])


@pytest.mark.parametrize("inches", [2, 3])
def test_a_gallon_serves_the_published_number_of_stems(inches):
    """50 trees of 2 in, or 33 of 3 in, at the volume an inch that 50 of 2 in come to."""
    ml_per_in = 1000 * L_PER_GAL / 50 / 2
    row = PUBLISHED.loc[f"basal_trees_{inches}in_a_gal"]
    assert abs(stems_a_tank(L_PER_GAL, ml_per_in * inches) - row["expected"]) <= row["tolerance"]


@pytest.mark.parametrize("recipe_id", sorted(RECIPES))
def test_a_stem_takes_at_the_tank_what_it_takes_in_the_plan(recipe_id):
    """The light arithmetic of the tank and the plan's agree, for every recipe with a diameter."""
    recipe, rates = RECIPES[recipe_id], load()
    row = next(r for r in rates.recipes.to_dict("records") if r["recipe_id"] == recipe_id)
    for dbh in (2.0, 5.08, 7.62, 11.0, 30.48):
        wanted = float(dose.recipe_dose_ml(row, "any", dbh, rates))
        size = dbh
        if recipe["dose_kind"] == "stump":
            size = wanted / float(row["ml_per_cm"])
        elif recipe["dose_kind"] == "cover":
            size = (wanted * 10 / float(row["l_per_ha_cover"]) * 4 / math.pi) ** 0.5
        assert dose_of_size_ml(recipe, size) == pytest.approx(wanted)


@given(st.sampled_from(sorted(RECIPES)), st.floats(0.05, 400), st.booleans())
def test_thicker_stems_are_never_more_a_tank(recipe_id, tank_l, us):
    """Stems a tank fall with the size, and low and high hold the middle."""
    rows = tank_sizes(RECIPES[recipe_id], tank_l, us)
    stems = [row["stems"] for row in rows]
    assert stems == sorted(stems, reverse=True)
    assert all(row["stems_low"] <= row["stems"] <= row["stems_high"] for row in rows)
    assert all(row["stems"] * row["dose_ml"] == pytest.approx(1000 * tank_l) for row in rows)


def test_sizes_outside_a_recipe_are_left_out():
    """Cuts start at 2 in, a band of bark ends at 6 in."""
    hack = ask_tank({"tank": "1gal", "herbicide": "glyphosate_4", "use": "hack"})
    bark = ask_tank({"tank": "1gal", "herbicide": "triclopyr_ester_4", "use": "basal"})
    assert min(row["size"] for row in hack["sizes"]) == 2
    assert max(row["size"] for row in bark["sizes"]) == 6


@pytest.mark.parametrize("species", ["callery_pear", "tree_of_heaven", "tallow", "any"])
def test_the_recipe_at_the_tank_is_the_one_of_the_plan(species):
    """For every product and use the first recipe is the one that the plan would take."""
    rates = load()
    book, _ = recipe_book([species], known_products(rates), rates)
    for use, job in USES.items():
        for herbicide in {row["herbicide"] for row in book_rows("recipes")}:
            plan = best([each for each in book[species, job] if each.known.key == herbicide])
            if plan is not None:
                first = tank_recipes(use, herbicide, species)[0]
                assert first["recipe_id"] == plan.recipe["recipe_id"]


def test_without_percent_the_recipe_sets_the_tank():
    """Half of it product for glyphosate on pear stumps; surfactant comes with a leaf recipe."""
    stump = ask_tank(STUMPS | {"species": "Callery pear"})
    assert stump["product_percent"] == pytest.approx(50.0)
    assert stump["recipe_id"] == "callery_pear:cut:glyphosate"
    leaves = ask_tank({"tank": "4gal", "herbicide": "glyphosate_4", "use": "leaves"})
    share = float(RECIPES[leaves["recipe_id"]]["surfactant_percent"])
    assert leaves["surfactant_l"] == pytest.approx(share / 100 * 4 * L_PER_GAL)


def test_several_recipes_are_listed():
    """Imazapyr in cuts on tree-of-heaven: half strength first, undiluted beside it."""
    typed = {"tank": "1L", "herbicide": "imazapyr_2", "use": "hack", "species": "tree of heaven"}
    answer, lines = ask_and_tell(typed)
    assert sorted(row["percent"] for row in answer["recipes"]) == [50.0, 100.0]
    assert answer["product_percent"] == pytest.approx(50.0)
    assert any("100 % undiluted" in line for line in lines)
    undiluted = ask_tank(typed | {"percent": "100"})
    assert undiluted["recipe_id"].endswith("undiluted")
    assert undiluted["carrier"] == "none"


def test_ml_per_cut_changes_how_far_a_tank_goes():
    """Half a millilitre a cut: twice the stems of one millilitre."""
    typed = {"tank": "1L", "herbicide": "glyphosate_4", "use": "hack", "percent": "50"}
    one, half = ask_tank(typed), ask_tank(typed | {"ml_per_cut": "0.5"})
    assert half["cuts_a_tank"] == pytest.approx(2 * one["cuts_a_tank"])
    pairs = zip(half["sizes"], one["sizes"], strict=True)
    assert all(more["stems"] == pytest.approx(2 * less["stems"]) for more, less in pairs)


def test_stumps_say_how_many_trees_to_fell_first():
    """15 minutes in water at 75 s a tree: a dozen; 30 in oil: two dozen."""
    water = ask_tank(STUMPS | {"seconds": "75"})["stumps_in_time"]
    oil = ask_tank(STUMPS | {"herbicide": "triclopyr_ester_4", "seconds": "75"})["stumps_in_time"]
    assert (water["minutes"], water["stems"]) == (15, 12)
    assert (oil["minutes"], oil["stems"]) == (30, 24)
    page = " ".join(ask_and_tell(STUMPS)[1])
    assert "a dozen trees" in page
    assert "round by round" in page


def told(**typed: str) -> str:
    """Return the warnings of a tank in one line."""
    return " ".join(ask_tank({"tank": "1gal", **typed})["warnings"])


def test_a_thin_recipe_says_which_limit_holds_it_and_what_is_not_known():
    """2,4-D on stumps: 8 lb in 100 gal over 3.8 lb a gallon are 2.11 %; the kill is nobody's."""
    mind = told(herbicide="2,4-D amine", use="stump", species="tallow")
    assert "8 lb ae per 100 gal, 2.11 % of this product" in mind
    assert "which strength earned the kill is not known" in mind
    assert "strength for leaves" not in mind
    assert "carries one part in 50" in told(
        herbicide="2,4-D amine", use="hack", species="tallow", percent="2"
    )


@pytest.mark.parametrize(
    ("herbicide", "percent", "words"),
    [("imazapyr_2", "10", "thin for cuts in the bark"), ("imazapyr_4", "7.5", ""),
     ("glyphosate_4", "2", "strength for leaves"), ("amine_2_4_d_3_8", "2", "one part in 50")],
)  # fmt: skip
def test_without_a_use_a_mix_is_measured_by_what_cuts_take(herbicide, percent, words):
    """Nothing of stumps, whose recipes may be as thin; silent at a strength cuts may have."""
    mind = told(herbicide=herbicide, percent=percent)
    assert words in mind
    assert ("instead of 1 mL" in mind) is bool(words)
    assert "for fresh stumps" not in mind


def test_the_surfactant_of_a_recipe_is_named_when_the_percent_is_typed():
    """0.5 % of a gallon is 0.64 fl oz; a typed nought stays silent, and so does a counted one."""
    leaves = {"herbicide": "imazapyr_2", "use": "leaves"}
    assert "0.5 % surfactant = 0.64 fl oz (19 mL)" in told(**leaves, percent="1")
    for typed in (leaves, leaves | {"percent": "1", "surfactant": "0"}):
        assert "none is counted" not in told(**typed)
        assert "adjuvant as the label asks" in told(**typed)


@pytest.mark.parametrize(
    ("name", "key"),
    [("2,4-D amine", "amine_2_4_d_3_8"), ("24D", "amine_2_4_d_3_8"), ("glyphosate", "glyphosate_4"),
     ("Triclopyr ester", "triclopyr_ester_4"), ("imazapyr 4 lb", "imazapyr_4")],
)  # fmt: skip
def test_words_find_the_herbicide_they_fit_alone(name, key):
    """As people say it; where they left out the strength, it is said which one is counted."""
    answer = ask_tank({"tank": "1gal", "percent": "2", "herbicide": name})
    assert answer["herbicide"] == key
    strength = "" if name.startswith("imazapyr") else f"counted as {key}"
    assert strength in " ".join(answer["warnings"])


@pytest.mark.parametrize(
    ("herbicide", "percent", "pounds"),
    [("glyphosate_4", "5", 20.0), ("imazapyr_2", "10", 20.0), ("amine_2_4_d_3_8", "2", 7.6)],
)
def test_acid_in_a_hundred_gallons_is_exact(herbicide, percent, pounds):
    """Percent x pounds of acid a gallon of product, the strength as labels write it."""
    answer = ask_tank({"tank": "3.3L", "percent": percent, "herbicide": herbicide})
    assert answer["ae_lb_per_100_gal"] == pounds


@pytest.mark.parametrize("words", [("--percent", "0.25"), ("--product", "2pt")])
def test_the_page_says_a_percent_with_the_same_digits_everywhere(words):
    """2 pt in 100 gal: 0.25 % in the head and in every sentence, and nothing of cuts."""
    page = ask("--tank", "100gal", *words, "--use", "leaves").stdout
    assert "= 0.25 % of the tank" in page
    assert "0.2 %" not in page
    assert "0.3 %" not in page
    assert "cuts" not in ask("--tank", "100gal", *words).stdout


def test_a_rate_is_repeated_with_its_ground():
    """Bare litres are a hectare's with --metric; said with /acre they are an acre's."""
    typed = {"calibrate": "1.2L", "tank": "15L"}
    page = " ".join(ask_and_tell(typed | {"rate": "3L"}, metric=True)[1])
    assert "3 L a hectare (41.1 fl oz an acre)" in page
    assert "in each liter" in page
    answer = ask_calibration(typed | {"rate": "3L/acre"}, us=False)
    assert answer["rate_l_per_acre"] == pytest.approx(3.0)
    assert ask_calibration(typed | {"rate": "3L/ha"})["rate_l_ha"] == 3.0


def test_a_refusal_fits_a_phone():
    """The sentence of a refusal is folded at 78 signs, whatever was typed."""
    for words in (("--herbicide", "salt"), ("--species", "talow"), ("--herbicide", "imazapyr"),
                  ("--use", "roots"), ("--dye", "two hundred gallons of it")):  # fmt: skip
        answer = ask("--tank", "1gal", "--percent", "2", *words)
        assert answer.exit_code == 2
        assert max(len(line) for line in answer.stderr.splitlines()) <= 78


@pytest.mark.parametrize(
    "typed",
    [{"tank": "0.5gal", "product": "4.5floz", "percent": "2"}, STUMPS,
     STUMPS | {"herbicide": "amine_2_4_d_3_8", "percent": "7", "species": "tallow"},
     {"tank": "100gal", "herbicide": "aminopyralid_2", "percent": "0.1", "use": "leaves"},
     {"tank": "50gal", "herbicide": "triclopyr_ester_4", "use": "basal", "species": "tallow"},
     {"tank": "1000gal", "herbicide": "amine_2_4_d_3_8", "use": "hack", "percent": "100",
      "species": "southern red oak", "ml_per_cut": "0.05"},
     {"tank": "1gal", "herbicide": "glyphosate", "use": "basal", "percent": "20"},
     {"tank": "1gal", "herbicide": "2,4-D", "use": "hack", "species": "tallow", "percent": "2"},
     {"tank": "1gal", "herbicide": "imazapyr_2", "use": "leaves", "percent": "1"},
     {"calibrate": "how"}, {"calibrate": "40floz", "tank": "4gal", "rate": "1qt", "seconds": "51"}],
)  # fmt: skip
@pytest.mark.parametrize("metric", [True, False])
def test_the_page_fits_a_phone(typed, metric):
    """No line is wider than 78 signs; nothing is called safe or allowed."""
    lines = ask_and_tell(typed, metric)[1]
    assert max(len(line) for line in lines) <= 78
    assert not any(word in " ".join(lines).split() for word in ("safe", "allowed"))
    assert any("label" in line for line in lines)


def test_the_page_says_order_rinse_and_what_to_wear():
    """Order with the university that says otherwise; a quarter, 10 s, three times; nothing out."""
    told = " ".join(" ".join(ask_and_tell({"tank": "2gal", "percent": "2"})[1]).split())
    for words in ("a third of the water; product", "North Dakota", "fill a quarter, shake 10 "
                  "seconds, drain 10 seconds", "three times", "Pour nothing out", "long sleeves",
                  "100 ft"):  # fmt: skip
        assert words in told


def test_calibration_answers_in_gallons_an_acre():
    """40 fl oz caught in 51 s: 40 gal an acre, 3.2 fl oz of a quart an acre in 4 gal."""
    answer = ask_calibration(
        {"calibrate": "40 fl oz", "tank": "4 gal", "rate": "1 qt", "seconds": "51"}
    )
    assert answer["sprayed_gal_ac"] == pytest.approx(40.0)
    assert answer["product_l"] == pytest.approx(3.2 / 128 * L_PER_GAL)
    assert answer["hours_per_acre"] == pytest.approx(51 * 128 / 3600)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--tank", "-1gal", "--percent", "2"), "is not a volume"),
        (("--tank", "nan gal", "--percent", "2"), "is not a volume"),
        (("--tank", "inf gal", "--percent", "2"), "is not a volume"),
        (("--tank", "0gal", "--percent", "2"), "over 0"),
        (("--tank", "1gal", "--percent", "120"), "from 0 to 100"),
        (("--tank", "1gal", "--percent", "-2"), "is not a percent"),
        (("--tank", "1gal", "--percent", "nan"), "is not a percent"),
        (("--tank", "1gal", "--percent", "0"), "over 0"),
        (("--tank", "1gal", "--product", "2gal"), "do not go into"),
        (("--tank", "1gal", "--percent", "2", "--dye", "99"), "do not go into"),
        (("--tank", "1gal", "--percent", "2", "--dye", "-1"), "is not a volume"),
        (("--tank", "1gal", "--percent", "2", "--ml-per-cut", "nan"), "number over 0"),
        (("--tank", "1gal", "--percent", "2", "--use", "roots"), "roots"),
        (("--tank", "1gal", "--percent", "2", "--herbicide", "salt"), "is not known"),
        (
            ("--tank", "1gal", "--percent", "2", "--herbicide", "triclopyr"),
            "write one of triclopyr_amine_3, triclopyr_ester_4",
        ),
        (("--tank", "1,5gal", "--percent", "2"), "as in 1,000"),
        (("--calibrate", "4floz", "--rate", "1qt/h"), "is not a rate"),
        (("--tank", "1gal", "--percent", "2", "--species", "talow"), "did you mean tallow"),
        (("--tank", "1gal", "--use", "basal", "--herbicide", "glyphosate_4"), "no recipe"),
        (("--tank", "1gal", "--use", "hack"), "how much product"),
        (("--percent", "2"), "how large the tank is"),
        (("--tank", "1gal", "--percent", "2", "--rate", "1qt"), "goes with --calibrate"),
        (("--calibrate", "40"), "is not a volume"),
        (("--calibrate", "40floz", "--tank", "0gal"), "over 0"),
        (("--calibrate", "40floz", "--percent", "2"), "ask one at a time"),
        (("--calibrate", "4floz", "--tank", "4gal", "--rate", "9gal"), "walk slower"),
        (("--calibrate", "4floz", "--seconds", "-3"), "over 0"),
    ],
)
def test_what_cannot_be_is_a_sentence_and_exit_2(words, told):
    """Nothing on standard output, and what would be right."""
    answer = ask(*words)
    assert answer.exit_code == 2
    assert told in " ".join(answer.stderr.split())
    assert answer.stdout == ""


def test_two_percent_with_and_without_its_sign_are_one_tank():
    """The same figures as JSON."""
    one, two = (ask("--tank", "1/2 gal", "--percent", text, "--json") for text in ("2", "2 %"))
    assert one.exit_code == 0
    assert json.loads(one.stdout) == json.loads(two.stdout)


def test_every_answer_is_json():
    """Tank, recipe, calibration and the steps of it: one JSON text each, keys as promised."""
    keys = {"tank_l", "product_l", "product_percent", "surfactant_l", "water_l", "ae_kg"}
    for words in (("--tank", "1gal", "--percent", 2), ("--calibrate",), ("--calibrate", "40floz"),
                  ("--tank", "2L", "--use", "leaves", "--herbicide", "imazapyr_2")):  # fmt: skip
        answer = ask(*words, "--json")
        assert answer.exit_code == 0
        found = json.loads(answer.stdout)
        assert "--tank" not in words or keys | {"warnings"} <= set(found)


def test_a_tank_does_not_wait_for_tables():
    """Mixing, by percent and by recipe, loads none of the heavy libraries."""
    for words in (["--percent", "2"], ["--use", "stump", "--herbicide", "glyphosate_4"]):
        code = (
            "import sys; from clearing.cli import main; "
            f"main(['mix', '--tank', '1gal', *{words!r}], standalone_mode=False); "
            f"sys.exit(' '.join(set({HEAVY!r}) & set(sys.modules)))"
        )
        run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
        assert run.stderr.strip() == ""
        assert "Tank 1.00 gal" in run.stdout


def test_an_inch_of_trunk_is_an_inch():
    """A cut an inch at 1 mL: 6 mL on 6 in, in both unit systems."""
    recipe = RECIPES["any:hack:glyphosate"]
    assert dose_of_size_ml(recipe, 6 * CM_PER_IN) == pytest.approx(6.0)
    metric = {row["size"]: row["dose_ml"] for row in tank_sizes(recipe, 1.0, us=False)}
    assert metric[15.0] == pytest.approx(6.0)  # 15 cm are 5.9 in
