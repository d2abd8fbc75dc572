"""Set up the mixing table of a block: one row a product and strength, for the crew's tank."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from clearing import treatment
from clearing.property import Results
from clearing.report import names, words
from clearing.report.facts_printed import Mixing, MixRow
from clearing.report.kit import Kit
from clearing.report.strength_parts import LATER, Part, Parts, one_part
from clearing.report.visit_facts import plain_rows, strength_words
from clearing.treatment.mixing import ORDER
from clearing.treatment.tank_sizes import stems_a_tank

USES = {  # job -> what a tank is for, as `treatment.mix_tank` knows it
    "hack_and_squirt": "hack", "cut_and_spray": "stump", "basal_bark": "basal",
    "foliar": "leaves", "follow_up": "leaves", "upkeep": "leaves",
}  # fmt: skip
LATER_WORDS = "follow-up and upkeep"  # share a row: the same sprayer
POURING = {
    "water": "In water",
    "oil": "In oil",
    "none": "Undiluted",
}
NONE = "–"
MOST_KINDS = 3  # species that a row names before it says all other kinds; own choice
OTHERS = "all other kinds"
UNDILUTED = 100.0 - 1e-6


def mixing_of(results: Results, block_id: str, parts: Parts | None = None) -> Mixing:
    """Return the mixing table of a block for the crew's tanks.

    The tank is the filling of the work table (hand bottle or backpack); what goes in is worked out
    as for `clearing mix`. A product whose label is not confirmed has no row.

    Parameters
    ----------
    results : Results
        What the walk gave.
    block_id : str
        Block.
    parts : mapping, optional
        What `strengths.parts_of` gives, where several blocks share it.

    References
    ----------
    own reasoning; sdsu_mixing
    """
    visits = results.plan.visits
    own = plain_rows(visits[(visits["block_id"] == block_id)]) if len(visits) else []
    return mixing_table([row for row in own if row["mix_l"] > 0], results, parts)


def mixing_table(visits: list[dict[str, Any]], results: Kit, parts: Parts | None = None) -> Mixing:
    """Return the mixing table of some visits that spray: a row a use, product and strength.

    Parameters
    ----------
    visits : list of mapping
        Rows of ``walk/visits`` with a mix.
    results : Results or OwnKit
        For rates, recipes and products.
    parts : mapping, optional
        What `strengths.parts_of` gives; a run of the planner can tell it itself.

    References
    ----------
    own reasoning; sdsu_mixing
    """
    products = {known.name: known for known in treatment.known_products(results.rates)}
    recipes = {str(row["recipe_id"]): row for row in plain_rows(results.rates.recipes)}
    if parts is None:
        parts = _told_by(results)
    ready: dict[tuple[Any, ...], list[tuple[dict[str, Any], Part]]] = {}
    waiting: list[str] = []
    for row in visits:
        known = products.get(str(row["herbicide"]))
        if known is None or not known.product.confirmed:
            waiting.append(str(row["herbicide"]))
        elif row["job"] in USES:
            alone = one_part(row, recipes)
            own = parts.get(str(row["visit_id"]), ())
            if len(own) == 1 and own[0].percent != alone.percent:
                own = ()
            for part in own or (alone,):
                ready.setdefault(_key(row, part), []).append((_portion(row, part), part))
    place = {job: number for number, job in enumerate(names.JOBS)}
    keys = sorted(ready, key=lambda one: (place.get(one[0], 99), one[1], one[2]))
    whose = _whose({key: {name for _, part in ready[key] for name in part.species}
                    for key in keys})  # fmt: skip
    rows: list[MixRow] = []
    poured: dict[str, list[MixRow]] = {}
    for key in keys:
        made, carrier = _row(key, [row for row, _ in ready[key]], products[key[1]], results)
        rows.append(replace(made, species=whose[key]))
        poured.setdefault(carrier, []).append(rows[-1])
    order = [_order(carrier, own) for carrier, own in poured.items()]
    return Mixing(tuple(rows), tuple(order), confirm_lines(waiting, results))


def confirm_lines(herbicides: list[str], results: Kit) -> tuple[str, ...]:
    """Return what to confirm of some products, by the owner's names, in sentences.

    References
    ----------
    own reasoning
    """
    told = treatment.to_confirm(results.rates, results.property.settings)
    out = []
    for name in dict.fromkeys(herbicides):
        plain, said = name.replace("_", " "), names.herbicide_name(name)
        found = [line for line in told if line.startswith((f"{plain}:", f"{name}:"))]
        line = found[0].partition(" Until then")[0].partition(":")[2] if found else (
            " the label is not confirmed, so no mixing table is printed; read "
            "registration number, date, sites, methods and rates."
        )  # fmt: skip
        out.append(words.sentence(f"{said}:{names.in_words(line)}"))
    return tuple(out)


def mix_said(row: MixRow) -> str:
    """Return one tank in a line, or the part of a tank that is needed here.

    References
    ----------
    own reasoning
    """
    of = f", {row.species}" if row.species else ""
    if row.part:
        return f"{words.sentence(row.use)}{of}, {row.herbicide}: {row.part}."
    poured = [f"{row.product} of {row.herbicide}"]
    poured += [] if row.carrier == "none" else [row.carrier]
    poured += [f"{row.surfactant} of surfactant"] if row.surfactant != NONE else []
    poured += [f"{row.dye} of dye"] if row.dye != NONE else []
    reach = f"; {row.stems_a_tank} a tank" if row.stems_a_tank != NONE else ""
    note = f" {row.note}" if row.note else ""
    return f"{words.sentence(row.use)}{of}, tank of {row.tank}: {', '.join(poured)}{reach}.{note}"


def _told_by(results: Kit) -> Parts:
    """Return the strengths of a run's visits, none where nothing was run."""
    from clearing.report.strengths import parts_of  # loads slowly, and only a run asks for it

    return parts_of(results) if isinstance(results, Results) else {}


def _key(row: Mapping[str, Any], part: Part) -> tuple[Any, ...]:
    """Return what makes visits share a row: job, product, strength, carrier, surfactant."""
    job = "follow_up" if row["job"] in LATER else str(row["job"])
    diluted = part.percent < UNDILUTED
    carrier = "none" if not diluted else "water" if part.carrier == "none" else part.carrier
    extra = part.surfactant_percent if diluted else 0.0
    return (job, str(row["herbicide"]), round(part.percent, 2), carrier, extra)


def _portion(row: Mapping[str, Any], part: Part) -> dict[str, Any]:
    """Return a visit with the share of its mix and stems that is one strength's."""
    if part.mix_share == 1.0:
        return dict(row)
    mixes = {name: float(row[name]) * part.mix_share for name in ("mix_l", "mix_low_l",
                                                                  "mix_high_l")}  # fmt: skip
    product = mixes["mix_l"] * part.percent / 100.0
    return {**row, **mixes, "product_l": product, "stems": float(row["stems"]) * part.stem_share}


def _row(
    key: tuple[Any, ...], visits: list[dict[str, Any]], known: treatment.Known, results: Kit
) -> tuple[MixRow, str]:
    """Return one row, and what carries the mix."""
    job, _, _, carrier, surfactant = key
    us, figure = results.property.settings.us, results.rates.figure
    tank_l = figure(job, "refill_l").value
    mix, product, stems = (sum(float(row[name]) for row in visits)
                           for name in ("mix_l", "product_l", "stems"))  # fmt: skip
    percent = min(100.0 * product / mix, 100.0)
    shares = (surfactant / 100.0, figure("any", "dye_share").value if carrier != "none" else 0.0)
    room = 100.0 * (1.0 - sum(shares))
    if carrier != "none" and percent > room:
        percent, shares = room, (shares[0], 0.0)
    pour = _Pour(percent, shares, known.key, USES[job], carrier, us)
    answer = pour.into(tank_l)
    sized = [one for one in answer["warnings"][1:] if "surfactant" not in one or not surfactant]
    tanks = _tanks(visits, tank_l)
    poured = pour.pieces(tanks.value * tank_l) if tanks.value < 1.0 else ()
    told = "oil" if carrier == "oil" else "water"
    return MixRow(
        use=LATER_WORDS if job == "follow_up" else names.plain(names.JOBS, job),
        herbicide=names.herbicide_name(known.name),
        percent=round(answer["product_percent"], 3),
        strength=strength_words(answer["product_percent"], told),
        tank=_filled(tank_l, us),
        product=_said(answer["product_l"], us),
        carrier="none" if carrier == "none" else _carried(answer["water_l"], told, us),
        surfactant=_said(answer["surfactant_l"], us),
        dye=_said(answer["dye_l"], us),
        stems_a_tank=_a_tank(tank_l, 1000.0 * mix / stems if stems > 0 else 0.0),
        tanks=tanks,
        part=_part(poured),
        poured=poured,
        note=" ".join(f"{words.sentence(one)}." for one in sized),
    ), carrier


@dataclass(frozen=True)
class _Pour:
    """One mix, to be poured into a vessel of any size."""

    percent: float
    shares: tuple[float, float]
    herbicide: str
    use: str
    carrier: str
    us: bool

    def into(self, tank_l: float) -> dict[str, Any]:
        """Return what `clearing mix` says of a tank."""
        extras = (self.shares[0] * tank_l, self.shares[1] * tank_l)
        return treatment.mix_tank(tank_l, self.percent, None, extras, self.herbicide, self.use)

    def pieces(self, litres: float) -> tuple[str, ...]:
        """Return a part of a tank: mix, product, carrier, surfactant and dye in words.

        The mix is rounded as it is said, and what goes in is reckoned for that.
        """
        whole = words.volume((litres,) * 3, self.us)
        rounded = words.rounded(whole.value) * words.LITRES[whole.unit]
        answer = self.into(rounded)
        told = "oil" if self.carrier == "oil" else "water"
        carrier = "none" if self.carrier == "none" else _carried(answer["water_l"], told, self.us)
        return (
            whole.short, _said(answer["product_l"], self.us), carrier,
            _said(answer["surfactant_l"], self.us), _said(answer["dye_l"], self.us),
        )  # fmt: skip


def _part(poured: tuple[str, ...]) -> str:
    """Return a part of a tank in words, blank for none."""
    if not poured:
        return ""
    mix, product, carrier, surfactant, dye = poured
    if carrier == "none":
        return f"take {mix} as it is"
    more = [f"{said} {name}" for said, name in ((surfactant, "surfactant"), (dye, "dye"))
            if said != NONE]  # fmt: skip
    return f"mix {mix}: {' + '.join([f'{product} of product', carrier, *more])}"


def _order(carrier: str, rows: list[MixRow]) -> str:
    """Return the order of pouring for a carrier, without what goes into none of its tanks."""
    steps = [
        step.partition(",")[0] for step in ORDER[carrier]
        if not (step.startswith("dye") and all(row.dye == NONE for row in rows))
        and not (step.startswith("surfactant") and all(row.surfactant == NONE for row in rows))
    ]  # fmt: skip
    return f"{POURING[carrier]}: {', '.join(steps)}."


def _whose(species: Mapping[tuple[Any, ...], set[str]]) -> dict[tuple[Any, ...], str]:
    """Return whom each row is for, blank where its job and product have no other strength.

    Where a job has one product, the longest list is all the others.
    """
    alike = Counter((key[0], key[1]) for key in species)
    products = Counter(job for job, _ in alike)
    out = {}
    for key, own in species.items():
        beside = [len(other) for each, other in species.items() if each[0] == key[0]]
        longest = len(own) == max(beside) and beside.count(len(own)) == 1
        if alike[key[0], key[1]] < 2:
            out[key] = ""
        elif longest and len(own) > MOST_KINDS and products[key[0]] == 1:
            out[key] = OTHERS
        else:
            out[key] = words.listed(sorted(names.species_name(one) for one in own))
    return out


def _said(litres: float, us: bool) -> str:
    """Return a volume as it is measured, a dash for none."""
    return words.poured(litres, us) if litres > 0 else NONE


def _carried(litres: float, told: str, us: bool) -> str:
    """Return the water or oil of a tank."""
    return f"{_filled(litres, us)} {told}"


def _filled(litres: float, us: bool) -> str:
    """Return a volume to three figures, as a tank is filled up to a mark."""
    whole = words.volume((litres,) * 3, us)
    return f"{words.said(whole.value, 3)} {whole.unit}"


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
    if len(parts) == 1:  # nothing to join
        own = next(iter(parts.values()))
        return words.tanks((sum(p[0] for p in own), sum(p[1] for p in own), sum(p[2] for p in own)))
    from clearing.schedule import together  # loads slowly, and a day mostly has one strip

    return words.tanks(together(parts))
