"""A product is known by the words of its label alone, and only as strong as it is."""

import pytest

from clearing import treatment
from clearing.actives import active_of, product_actives
from clearing.property import OwnProduct
from clearing.rates import load
from clearing.treatment.products import handbook_key, handbook_keys, product_percent
from clearing.treatment.recipes import recipe_book
from tests.small_ground import replace, small_ground

# Wording of ingredient statements; the salts of the registrations read stand in label_fields,
# the rest of the wording is from memory.
LABEL_WORDS = [
    ("glyphosate", "glyphosate_4"),
    ("Glyphosate, isopropylamine salt 53.8%", "glyphosate_4"),
    ("glyphosate, N-(phosphonomethyl)glycine, in the form of its isopropylamine salt",
     "glyphosate_4"),
    ("glyphosate IPA", "glyphosate_4"),
    ("glyphosate, potassium salt", "glyphosate_4"),
    ("glyphosate, dimethylamine (DMA) salt", "glyphosate_4"),
    ("ammonium salt of glyphosate", "glyphosate_4"),
    ("triclopyr, triethylamine salt", "triclopyr_amine_3"),
    ("triclopyr triethylamine", "triclopyr_amine_3"),
    ("triclopyr TEA", "triclopyr_amine_3"),
    ("triclopyr amine", "triclopyr_amine_3"),
    ("triclopyr: 3,5,6-trichloro-2-pyridinyloxyacetic acid, triethylamine salt 44.4 %",
     "triclopyr_amine_3"),
    ("triclopyr butoxyethyl ester", "triclopyr_ester_4"),
    ("triclopyr, 2-butoxyethyl ester", "triclopyr_ester_4"),
    ("Triclopyr BEE", "triclopyr_ester_4"),
    ("triclopyr ester", "triclopyr_ester_4"),
    ("imazapyr, isopropylamine salt", "imazapyr_2"),
    ("isopropylamine salt of imazapyr", "imazapyr_2"),
    ("imazapyr", "imazapyr_4"),
    ("2,4-D amine", "amine_2_4_d_3_8"),
    ("2,4-D dimethylamine salt", "amine_2_4_d_3_8"),
    ("dimethylamine salt of 2,4-dichlorophenoxyacetic acid", "amine_2_4_d_3_8"),
    ("aminopyralid, triisopropanolamine salt", "aminopyralid_2"),
    ("aminopyralid TIPA", "aminopyralid_2"),
    ("aminopyralid potassium", "aminopyralid_2"),
]  # fmt: skip
LOOKALIKES = [
    "glyphosate + imazapyr", "2,4-D + aminopyralid", "picloram + 2,4-D", "2,4-DB",
    "2,4-DB dimethylamine salt", "2,4-D ester", "2,4-D, 2-ethylhexyl ester", "2,4-D choline",
    "2,4-D", "2,4-DP amine", "triclopyr", "triclopyr choline", "triclopyr amine + 2,4-D amine",
    "triclopyr ester and amine", "glyphosate, diquat", "imazapic, ammonium salt",
    "dicamba, dimethylamine salt", "aminocyclopyrachlor", "fluroxypyr + triclopyr ester",
    "glyfosate", "amine", "salt", "",
]  # fmt: skip


def product(active: str, strength: float, **more: object) -> OwnProduct:
    """Return a product of an owner's under a name that says nothing."""
    return replace(OwnProduct("blue_jug", active, strength), **more)


def book_of(one: OwnProduct, species: str = "callery_pear"):
    """Return the recipes of a place with this product alone, and what is left out."""
    rates = small_ground(herbicides=(one,)).rates
    return recipe_book([species], treatment.known_products(rates), rates)


@pytest.mark.parametrize(("words", "key"), LABEL_WORDS)
def test_a_product_is_found_by_the_words_of_its_label(words, key):
    """Acid and salt in any order, in capitals, with the percent of the ingredient statement."""
    rates = load()
    strength = rates.figure(key, "ae_kg_per_l").value
    assert handbook_key(product(words, strength), rates) == key


def test_every_product_of_the_handbook_has_words_of_its_own():
    """No key without words, no words without a key, and the plain words find it again."""
    assert set(product_actives()) == set(handbook_keys(load()))
    assert all(active_of(active) == active for active in product_actives().values())
    assert {key for _, key in LABEL_WORDS} == set(product_actives())
    kept = treatment.known_products(replace(load(), products=()))
    assert [known.name for known in kept] == [known.key for known in kept]


@pytest.mark.parametrize("words", LOOKALIKES)
def test_a_premix_or_lookalike_is_not_taken_for_a_part_of_it(words):
    """Another active, another salt or ester, or none named where there are several: not known."""
    assert handbook_key(product(words, 0.45), load()) == ""


def test_a_premix_is_not_planned_with_and_is_told():
    """Named like a product of the handbook or not, it has no recipe and stands to be confirmed."""
    for name in ("blue_jug", "glyphosate_4"):
        one = product("glyphosate + imazapyr", 0.4793, name=name)
        book, _ = book_of(one)
        assert not any(book.values())
        ground = small_ground(herbicides=(one,))
        told = " ".join(treatment.to_confirm(ground.rates, ground.settings))
        assert "knows no product with the active ingredient 'glyphosate + imazapyr'" in told
        (known,) = treatment.known_products(ground.rates)
        assert known.soil_active
        left = treatment.ground_left(ground.zones, ground.strips, ground.rates, "property")
        assert not {"basal_bark", "foliar", "soil_active"} & set(left["method"])


def test_the_active_ingredient_decides_and_not_the_name():
    """Imazapyr in a jug that is called glyphosate has imazapyr's recipes and waits."""
    one = product("imazapyr", 0.2397, name="glyphosate_4")
    assert handbook_key(one, load()) == "imazapyr_2"
    assert handbook_key(replace(one, ae_kg_per_l=0.47), load()) == "imazapyr_4"


def test_a_recipe_that_a_weak_product_cannot_carry_is_not_offered():
    """Half of a 4 lb product is twice a 1 lb product: left out with both numbers."""
    one = product("glyphosate", 0.4793 / 4)
    assert product_percent(50.0, "glyphosate_4", one, load()) == pytest.approx(200.0)
    book, left_out = book_of(one)
    assert not book["callery_pear", "hack_and_squirt"]
    assert any("needs 50 % of a 0.4793 kg/l product; yours would need 200 %" in line
               for line in left_out)  # fmt: skip
    leaves = book["callery_pear", "foliar"]
    assert leaves
    assert all(choice.percent <= 100.0 for choices in book.values() for choice in choices)


@pytest.mark.parametrize("share", [0.99, 1.0, 1.01])
def test_strengths_that_round_apart_are_one_product(share):
    """A percent apart, an undiluted recipe stays undiluted."""
    book, _ = book_of(product("2,4-D amine", share * 0.4553), "russian_olive")
    hacked = book["russian_olive", "hack_and_squirt"]
    assert [(choice.percent, choice.carrier) for choice in hacked] == [(100.0, "none")]


def test_an_undiluted_recipe_in_a_stronger_product_is_diluted_in_water():
    """3.8 lb undiluted is 72 percent of a product with 0.63 kg a litre, and the rest is water."""
    book, _ = book_of(product("2,4-D amine", 0.6325), "russian_olive")
    (hacked,) = book["russian_olive", "hack_and_squirt"]
    assert hacked.percent == pytest.approx(100 * 0.4553 / 0.6325)
    assert hacked.carrier == "water"


def test_a_mix_in_oil_keeps_its_carrier():
    """Basal bark is oil, whatever the strength."""
    for strength in (0.4793, 0.55):
        book, _ = book_of(product("triclopyr ester", strength))
        assert {choice.carrier for choice in book["callery_pear", "basal_bark"]} == {"oil"}


def test_the_name_decides_only_which_salt_it_is():
    """A bare acid is known by a name of the handbook's, and stays unknown without one."""
    rates = load()
    for name, key in (("triclopyr_amine_3", "triclopyr_amine_3"), ("my_jug", "")):
        own = OwnProduct(name, "triclopyr", 0.3595)
        assert handbook_key(own, rates) == key
    assert handbook_key(OwnProduct("triclopyr_amine_3", "imazapyr", 0.24), rates) == "imazapyr_2"
