"""Say what a person at the tank should know before pouring."""

from clearing.treatment.tank_book import (
    USE_WORDS,
    Row,
    book_value,
    strengths,
    tank_recipes,
)
from clearing.treatment.tank_limits import Tank, ae_lb_per_100_gal, limit_of_mix, limits_passed
from clearing.units import L_PER_FLOZ, L_PER_GAL

AGREE = 0.05  # share by which percent and measured product may differ before it is said
THIN_PERCENT = 15.0  # in cuts and on stumps, weaker mixes are told what they carry; own choice
FAR = 5.0  # a thin recipe is told of where another one is so many times stronger; own choice
DEFAULT_PERCENT = 2.0  # the strength that people have in mind for leaf sprays
LARGE_L, WEAK_PERCENT = 25.0 * L_PER_GAL, 0.5  # no mix for cuts beyond these; own choice
CUTS = ("hack", "stump")


def tank_warnings(tank: Tank) -> list[str]:
    """Return sentences, the most general first.

    References
    ----------
    own reasoning; figures and limits carry their own sources
    """
    lines = ["the label on the container is the law: follow it where it differs"]
    return lines + _measure(tank) + _strength(tank) + limits_passed(tank) + _carried(tank)


def recipe_warnings(tank: Tank, species: str) -> list[str]:
    """Return how a tank stands to the recipes that the handbook has for this work.

    References
    ----------
    own reasoning; each recipe carries its own source
    """
    if tank.herbicide is None or tank.use is None:
        return []
    span = strengths(tank.use, tank.herbicide)
    if span is None or not span[0] * (1 - AGREE) <= tank.share <= span[2] * (1 + AGREE):
        return []  # said already
    found = tank_recipes(tank.use, tank.herbicide, species)
    same = [row for row in found if abs(tank.share - float(row["percent"])) <= AGREE * tank.share]
    if same:
        return _thin_recipe(tank, same[0], span[2]) if tank.use in CUTS else []
    if not found:
        return []
    whose = "any species" if found[0]["species"] == "any" else species.replace("_", " ")
    said = " or ".join(f"{_digits(float(row['percent']))} %" for row in found)
    return [
        f"the handbook's recipe for {tank.herbicide} on {USE_WORDS[tank.use]} of {whose} is "
        f"{said}, this tank is {_digits(tank.share)} %"
    ]


def surfactant_left_out(tank: Tank, recipe: Row) -> list[str]:
    """Return the surfactant that a recipe carries and the tank as typed does not.

    References
    ----------
    own reasoning; the recipe carries its own source
    """
    percent = float(recipe["surfactant_percent"] or 0)
    if not percent:
        return []
    return [
        f"the handbook's recipe carries {percent:g} % surfactant = "
        f"{_measured(percent / 100 * tank.tank_l, tank.us)} in this tank; none is counted here: "
        f"add --surfactant {percent:g}, unless your product brings its own"
    ]


def _measure(tank: Tank) -> list[str]:
    """Return the gap between what was measured and what was meant."""
    meant, large = tank.percent, tank.tank_l > LARGE_L
    if meant is None and tank.use in (None, "leaves") and not large:
        meant = DEFAULT_PERCENT
    if not tank.measured or meant is None or abs(tank.share - meant) <= AGREE * meant:
        return []
    right = meant / 100.0 * tank.tank_l
    said = "" if tank.percent is not None else " that many have in mind for leaves"
    return [
        f"{_measured(tank.product_l, tank.us)} in this tank is {_digits(tank.share)} %, not "
        f"{_digits(meant)} %{said}; {_digits(meant)} % of it would be {_measured(right, tank.us)}"
    ]


def _strength(tank: Tank) -> list[str]:
    """Return what a thin mix carries, and what the handbook's recipes say of this strength."""
    if tank.use is None:
        return [_thin(tank)] if _perhaps_for_cuts(tank) else []
    span, words = strengths(tank.use, tank.herbicide), USE_WORDS[tank.use]
    cuts, lines = tank.use in CUTS, []
    if span is None:
        lines = [_thin(tank)] if cuts and tank.share < THIN_PERCENT else []
        return [
            *lines,
            f"the handbook has no recipe for {tank.herbicide} on {words}: read on the label "
            "whether it is meant for that at all",
        ]
    if tank.share > span[2] * (1 + AGREE):
        return [
            f"{_digits(tank.share)} % is over the handbook's recipes for {words} ({_span(span)}); "
            "the label says the most"
        ]
    under = tank.share < span[0] * (1 - AGREE)
    if cuts and (under if tank.herbicide else tank.share < THIN_PERCENT):
        return [_thin(tank)]
    return [
        f"{_digits(tank.share)} % is under the handbook's recipes for {words} ({_span(span)})"
    ] if under else []  # fmt: skip


def _perhaps_for_cuts(tank: Tank) -> bool:
    """Return whether a mix of no said use could be meant for cuts and would be thin there."""
    if tank.tank_l > LARGE_L or not WEAK_PERCENT <= tank.share < THIN_PERCENT:
        return False
    own = strengths("hack", tank.herbicide) if tank.herbicide else None
    return own is None or tank.share < own[0] * (1 - AGREE) or own[2] >= FAR * tank.share


def _thin(tank: Tank) -> str:
    """Return what a thin mix carries in a cut or on a stump, in numbers."""
    use = tank.use or "hack"
    of_all = strengths("leaves", tank.herbicide) or strengths("leaves")
    leaves = of_all is not None and tank.share <= of_all[2] * (1 + AGREE)
    what = "a strength for leaves" if leaves else f"thin for {USE_WORDS[use]}"
    own = strengths(use, tank.herbicide)
    span, acid = own or strengths(use), ae_lb_per_100_gal(tank.herbicide, 1.0)
    whole = ""
    if span is not None and (own or span[0] != span[2]):
        whose = f" of {tank.herbicide}" if own and tank.herbicide else ""
        more = " or more" if span[1] < span[2] else ""
        half = f", half of them {_digits(span[1])} %{more}" if span[0] != span[2] else ""
        whole = f"; the handbook's recipes{whose} for {USE_WORDS[use]} run {_span(span)}{half}"
        if own and acid:
            whole += (
                f" ({_ends(span[0] * acid, span[2] * acid)} lb of acid in 100 gal, this tank "
                f"{tank.share * acid:.3g})"
            )
    return f"this is {what}: {_carries(tank)}{whole}"


def _carries(tank: Tank) -> str:
    """Return what a mix brings beside undiluted product."""
    place = "on a stump" if tank.use == "stump" else "a cut"
    ml = tank.ml_per_cut * tank.share / 100.0
    strength = book_value("herbicides", tank.herbicide, "ae_kg_per_l") if tank.herbicide else None
    acid = ""
    if strength:
        full = 1000 * tank.ml_per_cut * strength
        acid = f" ({1000 * ml * strength:.3g} mg of acid, not {full:.3g} mg)"
    return (
        f"at {tank.ml_per_cut:g} mL {place} a {_digits(tank.share)} % mix carries one part in "
        f"{100.0 / tank.share:.3g} of what undiluted product does, {ml:.3g} mL of product instead "
        f"of {tank.ml_per_cut:g} mL{acid}"
    )


def _thin_recipe(tank: Tank, recipe: Row, strongest: float) -> list[str]:
    """Return why a recipe in cuts or on stumps is thin, and what is not known of it."""
    limit = limit_of_mix(tank)
    if tank.share >= THIN_PERCENT or limits_passed(tank):
        return []
    if limit:
        why = f"the recipe's {_digits(tank.share)} % keeps to a limit on labels: {limit}"
    elif strongest >= FAR * tank.share:
        why = (
            f"the handbook has this thin recipe beside others of up to {_digits(strongest)} %: "
            f"{_carries(tank)}"
        )
    else:
        return []
    note = f": {recipe['note']}" if recipe["note"] else ""
    return [why, f"its kill is {_seen(recipe)}{note}"]


def _seen(recipe: Row) -> str:
    """Return how a kill is known."""
    words = {"read": f"read in {recipe['source']}", "common practice": "told as common practice",
             "memory": "from memory", "derived": f"worked out from {recipe['source']}"}  # fmt: skip
    return words.get(recipe["seen"], "assumed")


def _carried(tank: Tank) -> list[str]:
    """Return what carries the mix where that is not plain water, and what leaves ask besides."""
    if tank.use == "leaves":
        return ["on leaves, surfactant or another adjuvant as the label asks"]
    if tank.carrier == "none":
        return []
    lines = []
    if tank.use == "basal":
        lines.append(
            "a band of bark takes oil alone as carrier, no water (pnw_handbook); the label says "
            "which oil; diesel may harm the bark before the herbicide works"
        )
        if tank.herbicide and not book_value("herbicides", tank.herbicide, "carrier_oil"):
            lines.append(
                f"{tank.herbicide} mixes with water, not with oil: read on the label whether it "
                "is meant for bark at all"
            )
    ester = tank.herbicide and (book_value("herbicides", tank.herbicide, "emulsifiable") or 0) > 0
    if ester and tank.carrier == "water":
        lines.append("an ester mixes as an emulsion in water and needs stirring")
    elif ester and tank.carrier is None:
        lines.append(
            "the label decides whether oil or water carries an ester; in water it is an emulsion "
            "and needs stirring"
        )
    elif tank.use == "stump" and tank.carrier is None:
        lines.append("the label decides whether oil or water carries it on stumps")
    return lines


def _span(span: tuple[float, float, float]) -> str:
    return f"{_ends(span[0], span[2])} %"


def _ends(low: float, high: float) -> str:
    return f"{low:.3g}" if low == high else f"{low:.3g} to {high:.3g}"


def _digits(percent: float) -> str:
    return f"{percent:.3g}"


def _measured(litres: float, us: bool) -> str:
    ml = f"{litres * 1000:.0f}" if litres >= 0.01 else f"{litres * 1000:.2g}"
    one, two = f"{litres / L_PER_FLOZ:.2f} fl oz", f"{ml} mL"
    return f"{one} ({two})" if us else f"{two} ({one})"
