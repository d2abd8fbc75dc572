"""Set up the mixing table of a block: one row a product and strength, for the crew's tank."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from clearing import schedule, treatment
from clearing.property import Results
from clearing.report import names, words
from clearing.report.facts_printed import Mixing, MixRow
from clearing.report.visit_facts import blank, plain_rows, strength_words
from clearing.treatment.mixing import ORDER
from clearing.treatment.tank_sizes import stems_a_tank

USES = {  # job -> what a tank is for, as `treatment.mix_tank` knows it
    "hack_and_squirt": "hack", "cut_and_spray": "stump", "basal_bark": "basal",
    "foliar": "leaves", "follow_up": "leaves", "upkeep": "leaves",
}  # fmt: skip
LATER = ("follow_up", "upkeep")  # share a row: the same sprayer, the mean of the species' strengths
LATER_WORDS = "follow-up and upkeep"
MEAN = (
    "Follow-ups are reckoned with the mean of the species' strengths; mix for each species the "
    "strength of its leaf spray."
)
POURING = {
    "water": "In water",
    "oil": "In oil",
    "none": "Undiluted",
}
NONE = "–"
UNDILUTED = 100.0 - 1e-6


Sorts = Mapping[tuple[str, str, str, float], frozenset[str]]


def sorts_by_mix(results: Results) -> Sorts:
    """Return the species that a strip's job treats with a product at a strength.

    Strip, job, product and percent of product -> species, of the methods that the plan chose.

    References
    ----------
    own reasoning
    """
    methods, options = results.methods, results.plan.options
    needed = {"herbicide", "dose_ml", "product_ml", "species", "job"}
    if not len(options) or not needed <= set(methods.columns):
        return {}
    chosen = methods["strip_id"].map(options.set_index("strip_id")["method_id"])
    own = methods[(methods["method_id"] == chosen) & (methods["dose_ml"] > 0)]
    found: dict[tuple[str, str, str, float], set[str]] = {}
    percent = (100.0 * own["product_ml"] / own["dose_ml"]).round(2)
    for *key, species in zip(
        own["strip_id"], own["job"], own["herbicide"], percent, own["species"], strict=True
    ):
        found.setdefault((str(key[0]), str(key[1]), str(key[2]), float(key[3])), set()).add(species)
    return {key: frozenset(names_) for key, names_ in found.items()}


def mixing_of(results: Results, block_id: str, sorts: Sorts | None = None) -> Mixing:
    """Return the mixing table of a block for the crew's tanks.

    The tank is the filling of the work table (hand bottle or backpack); what goes in is worked out
    as for `clearing mix`. A product whose label is not confirmed has no row.

    Parameters
    ----------
    results : Results
        What the walk gave.
    block_id : str
        Block.
    sorts : mapping, optional
        What `sorts_by_mix` gives, where several blocks share it.

    References
    ----------
    own reasoning; sdsu_mixing
    """
    visits = results.plan.visits
    own = plain_rows(visits[(visits["block_id"] == block_id)]) if len(visits) else []
    return mixing_table([row for row in own if row["mix_l"] > 0], results, sorts)


def mixing_table(
    visits: list[dict[str, Any]], results: Results, sorts: Sorts | None = None
) -> Mixing:
    """Return the mixing table of some visits that spray.

    Parameters
    ----------
    visits : list of mapping
        Rows of ``walk/visits`` with a mix.
    results : Results
        For rates, recipes and products.
    sorts : mapping, optional
        What `sorts_by_mix` gives.

    References
    ----------
    own reasoning; sdsu_mixing
    """
    products = {known.name: known for known in treatment.known_products(results.rates)}
    recipes = {str(row["recipe_id"]): row for row in plain_rows(results.rates.recipes)}
    ready: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    waiting: list[str] = []
    for row in visits:
        known = products.get(str(row["herbicide"]))
        if known is None or not known.product.confirmed:
            waiting.append(str(row["herbicide"]))
        if row["job"] not in USES or known is None or not known.product.confirmed:
            continue
        recipe = recipes.get(blank(row["recipe_id"]), {})
        ready.setdefault(_key(row, recipe), []).append(row)
    place = {job: number for number, job in enumerate(names.JOBS)}
    sorts = sorts_by_mix(results) if sorts is None else sorts
    strengths: dict[tuple[str, str], set[float]] = {}
    for key in ready:
        strengths.setdefault((key[0], key[1]), set()).add(key[2])
    rows, carriers = [], []
    for key in sorted(ready, key=lambda one: (place.get(one[0], 99), one[1], one[2])):
        known = products[key[1]]
        recipe = recipes.get(blank(ready[key][0]["recipe_id"]), {})
        made, carrier = _row(key[0], ready[key], recipe, known, results)
        several = len(strengths[key[0], key[1]]) > 1
        rows.append(replace(made, species=_species(ready[key], key[2], sorts) if several else ""))
        carriers.append(carrier)
    order = [
        f"{POURING[carrier]}: {', '.join(ORDER[carrier])}." for carrier in dict.fromkeys(carriers)
    ]
    return Mixing(tuple(rows), tuple(order), confirm_lines(waiting, results))


def confirm_lines(herbicides: list[str], results: Results) -> tuple[str, ...]:
    """Return what to confirm of some products, by the owner's names, in sentences.

    References
    ----------
    own reasoning
    """
    told = treatment.to_confirm(results.rates, results.property.settings)
    out = []
    for name in dict.fromkeys(herbicides):
        plain = name.replace("_", " ")
        found = [line for line in told if line.startswith((f"{plain}:", f"{name}:"))]
        line = found[0].partition(" Until then")[0] if found else (
            f"{plain}: the label is not confirmed, so no mixing table is printed; read "
            "registration number, date, sites, methods and rates."
        )  # fmt: skip
        out.append(words.sentence(names.in_words(line)))
    return tuple(out)


def _key(row: Mapping[str, Any], recipe: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return what makes visits share a row: job, product, strength, carrier, surfactant."""
    if row["job"] in LATER:
        return ("follow_up", str(row["herbicide"]), 0.0, "", 0.0)
    percent = 100.0 * float(row["product_l"]) / float(row["mix_l"])
    more = (str(recipe.get("carrier", "water")), float(recipe.get("surfactant_percent", 0.0)))
    return (str(row["job"]), str(row["herbicide"]), round(percent, 2), *more)


def _row(
    job: str, visits: list[dict[str, Any]], recipe: Mapping[str, Any], known: treatment.Known,
    results: Results,
) -> tuple[MixRow, str]:  # fmt: skip
    """Return one row, and what carries the mix."""
    us, figure = results.property.settings.us, results.rates.figure
    tank_l = figure(job, "refill_l").value
    mix, product, stems = (sum(float(row[name]) for row in visits)
                           for name in ("mix_l", "product_l", "stems"))  # fmt: skip
    percent = min(100.0 * product / mix, 100.0)
    dye_l = 0.0 if percent >= UNDILUTED else figure("any", "dye_share").value * tank_l
    share = float(recipe.get("surfactant_percent", 0.0)) / 100.0
    surfactant_l = 0.0 if percent >= UNDILUTED else share * tank_l
    room = 100.0 * (tank_l - dye_l - surfactant_l) / tank_l
    extras = (surfactant_l, dye_l if percent <= room else 0.0)
    percent = min(percent, 100.0 if percent >= UNDILUTED else room)
    answer = treatment.mix_tank(tank_l, percent, None, extras, known.key, USES[job])
    carrier = "none" if answer["carrier"] == "none" else str(recipe.get("carrier", "water"))
    carrier = carrier if carrier in ORDER else "water"
    sized = [one for one in answer["warnings"][1:] if "surfactant" not in one or not surfactant_l]
    notes = [MEAN] if job == "follow_up" else []
    told = "oil" if carrier == "oil" else "water"
    return MixRow(
        use=LATER_WORDS if job == "follow_up" else names.plain(names.JOBS, job),
        herbicide=names.herbicide_name(known.name),
        percent=round(answer["product_percent"], 3),
        strength=strength_words(answer["product_percent"], told),
        tank=_said(tank_l, us),
        product=_said(answer["product_l"], us),
        carrier="none" if carrier == "none" else f"{_said(answer['water_l'], us)} {told}",
        surfactant=_said(surfactant_l, us),
        dye=_said(extras[1], us),
        stems_a_tank=_a_tank(tank_l, 1000.0 * mix / stems if stems > 0 else 0.0),
        tanks=_tanks(visits, tank_l),
        note=" ".join([*notes, *(f"{words.sentence(one)}." for one in sized)]),
    ), carrier


def _species(visits: list[dict[str, Any]], percent: float, sorts: Sorts) -> str:
    """Return the species that some visits treat at one strength, in words."""
    found: set[str] = set()
    for row in visits:
        key = (str(row["strip_id"]), str(row["job"]), str(row["herbicide"]), percent)
        found |= sorts.get(key, frozenset())
    return words.listed(sorted(names.species_name(one) for one in found))


def _said(litres: float, us: bool) -> str:
    """Return a volume in words, a dash for none."""
    return words.volume((litres,) * 3, us).short if litres > 0 else NONE


def _a_tank(tank_l: float, dose_ml: float) -> str:
    """Return how many stems a tank serves, in words."""
    if dose_ml <= 0:
        return NONE
    stems = stems_a_tank(tank_l, dose_ml)
    return words.stems(stems, stems, stems).short


def _tanks(visits: list[dict[str, Any]], tank_l: float) -> words.Amount:
    """Return the tanks of some visits together; ranges as `schedule.together` joins them."""
    parts: dict[str, list[tuple[float, float, float]]] = {}
    for row in visits:
        ends = tuple(float(row[name]) / tank_l for name in ("mix_l", "mix_low_l", "mix_high_l"))
        parts.setdefault(str(row["strip_id"]), []).append((ends[0], ends[1], ends[2]))
    return words.counted(schedule.together(parts), "tanks")
