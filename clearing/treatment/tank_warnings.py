"""Say what a person at the tank should know before pouring."""

from dataclasses import dataclass

from clearing.treatment.tank_book import (
    USE_WORDS,
    USES,
    Row,
    book_rows,
    book_value,
    strengths,
    tank_recipes,
)
from clearing.units import KG_PER_LB, L_PER_FLOZ, L_PER_GAL

AGREE = 0.05  # share by which percent and measured product may differ before it is said
THIN_PERCENT = 15.0  # in cuts and on stumps, weaker mixes are told what they carry; own choice
DEFAULT_PERCENT = 2.0  # the strength that people have in mind for leaf sprays
PER_MIX, PER_CUT = "mix", "cut"  # limits.csv: lb ae per 100 gal of mix, mL of product in a cut


@dataclass(frozen=True)
class Tank:
    """One tank as it would be poured: percent is what was asked for, measured a poured product."""

    tank_l: float
    product_l: float
    percent: float | None
    measured: bool
    herbicide: str | None
    use: str | None
    ml_per_cut: float

    @property
    def share(self) -> float:
        """Return the product in percent of the tank."""
        return 100.0 * self.product_l / self.tank_l


def tank_warnings(tank: Tank) -> list[str]:
    """Return sentences, the most general first.

    References
    ----------
    own reasoning; figures and limits carry their own sources
    """
    lines = ["the label on the container is the law: follow it where it differs"]
    lines += _measure(tank) + _strength(tank) + _over_limits(tank)
    if tank.herbicide and (book_value("herbicides", tank.herbicide, "emulsifiable") or 0) > 0:
        lines.append(
            "an ester mixes as an emulsion in water and needs stirring; for bark and stumps the "
            "label says which oil carries it"
        )
    return lines


def ae_lb_per_100_gal(ae_kg: float, tank_l: float) -> float:
    """Return the acid equivalent of a mix as labels write it [lb per 100 gal].

    References
    ----------
    nist_hb44
    """
    return ae_kg / KG_PER_LB / (tank_l / L_PER_GAL) * 100.0


def _measure(tank: Tank) -> list[str]:
    """Return the gap between what was measured and what was meant."""
    meant = tank.percent
    if meant is None and tank.use in (None, "leaves"):
        meant = DEFAULT_PERCENT
    if not tank.measured or meant is None or abs(tank.share - meant) <= AGREE * meant:
        return []
    right = meant / 100.0 * tank.tank_l
    said = "" if tank.percent is not None else " that many have in mind for leaves"
    return [
        f"{_floz(tank.product_l)} in this tank is {tank.share:.1f} %, not {_digits(meant)} %"
        f"{said}; {_digits(meant)} % of it would be {_floz(right)}"
    ]


def _strength(tank: Tank) -> list[str]:
    """Return what a thin mix carries, and what the handbook's recipes say of this strength."""
    thin = tank.use in (None, "hack", "stump") and tank.share < THIN_PERCENT
    lines = [_thin(tank)] if thin else []
    if tank.use is None:
        return lines
    span, words = strengths(tank.use, tank.herbicide), USE_WORDS[tank.use]
    if span is None:
        lines.append(
            f"the handbook has no recipe for {tank.herbicide} on {words}: read on the label "
            "whether it is meant for that at all"
        )
    elif tank.share > span[2] * (1 + AGREE):
        lines.append(
            f"{_digits(tank.share)} % is over the handbook's recipes for {words} ({_span(span)}); "
            "the label says the most"
        )
    elif tank.share < span[0] * (1 - AGREE) and not thin:
        lines.append(
            f"{_digits(tank.share)} % is under the handbook's recipes for {words} ({_span(span)})"
        )
    return lines


def _thin(tank: Tank) -> str:
    """Return what a mix of a strength for leaves carries in a cut or on a stump, in numbers."""
    use = tank.use or "hack"
    place = "on a stump" if use == "stump" else "a cut"
    ml = tank.ml_per_cut * tank.share / 100.0
    strength = book_value("herbicides", tank.herbicide, "ae_kg_per_l") if tank.herbicide else None
    acid = ""
    if strength:
        full = 1000 * tank.ml_per_cut * strength
        acid = f" ({1000 * ml * strength:.3g} mg of acid, not {full:.3g} mg)"
    span = strengths(use, tank.herbicide) or strengths(use)
    whole = "" if span is None or span[0] == span[2] else (
        f"; the handbook's recipes for {USE_WORDS[use]} run {_span(span)}, half of them "
        f"{_digits(span[1])} % or more"
    )  # fmt: skip
    return (
        f"this is a strength for leaves: at {tank.ml_per_cut:g} mL {place} a {tank.share:.3g} % "
        f"mix carries one part in {100.0 / tank.share:.0f} of what undiluted product does, "
        f"{ml:.3g} mL of product instead of {tank.ml_per_cut:g} mL{acid}{whole}"
    )


def _over_limits(tank: Tank) -> list[str]:
    """Return the limits of the mix and of a cut that it passes, with their clause and source."""
    rows = [row for row in book_rows("limits") if row["herbicide"] in (tank.herbicide, "any")]
    if tank.use is not None:
        rows = [row for row in rows if not row["jobs"] or USES[tank.use] in row["jobs"].split()]
    strength = book_value("herbicides", tank.herbicide, "ae_kg_per_l") if tank.herbicide else None
    found = []
    if strength is not None:
        pounds = ae_lb_per_100_gal(tank.product_l * strength, tank.tank_l)
        found += [_over(row, pounds, "lb ae per 100 gal") for row in rows
                  if row["per"] == PER_MIX and pounds > _most(row)]  # fmt: skip
    if tank.use == "hack":
        product_ml = tank.ml_per_cut * tank.share / 100.0
        found += [_over(row, product_ml, "mL of product a cut") for row in rows
                  if row["per"] == PER_CUT and product_ml > _most(row)]  # fmt: skip
    return found


def _most(row: Row) -> float:
    """Return a limit with the slack of rounding."""
    return float(row["value"]) * (1 + 1e-6)


def _over(row: Row, found: float, unit: str) -> str:
    """Return one passed limit in words."""
    whence = row["locator"] if row["seen"] == "memory" else f"{row['source']}, {row['locator']}"
    return (
        f"{found:.3g} {unit} is over {float(row['value']):g} ({row['clause']}; {whence})"
    )  # fmt: skip


def recipe_warnings(tank: Tank, species: str) -> list[str]:
    """Return how a tank differs from the recipe that the handbook has for this work.

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
    percents = [float(row["percent"]) for row in found]
    if not found or any(abs(tank.share - each) <= AGREE * each for each in percents):
        return []
    whose = "any species" if found[0]["species"] == "any" else species.replace("_", " ")
    said = " or ".join(f"{_digits(each)} %" for each in percents)
    return [
        f"the handbook's recipe for {tank.herbicide} on {USE_WORDS[tank.use]} of {whose} is "
        f"{said}, this tank is {_digits(tank.share)} %"
    ]


def _span(span: tuple[float, float, float]) -> str:
    low, high = _digits(span[0]), _digits(span[2])
    return f"{low} %" if low == high else f"{low} to {high} %"


def _digits(percent: float) -> str:
    return f"{percent:.3g}" if percent < 100 else "100"


def _floz(litres: float) -> str:
    return f"{litres / L_PER_FLOZ:.2f} fl oz ({litres * 1000:.0f} mL)"
