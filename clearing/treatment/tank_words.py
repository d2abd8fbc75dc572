"""Put one tank, or one calibration, into lines that fit a phone's terminal."""

import textwrap
from typing import Any

from clearing.treatment.mixing import ORDER
from clearing.treatment.tank import Typed, ask_calibration, ask_tank
from clearing.treatment.tank_book import USE_WORDS
from clearing.treatment.tank_warnings import LARGE_L, WEAK_PERCENT
from clearing.units import KG_PER_LB, L_PER_FLOZ, L_PER_GAL, M_PER_FT

WIDTH = 76
LEFTOVERS = (
    "Pour nothing out. What is left in the tank goes on ground that the label names, the same day."
)
NOT_WITH_CALIBRATE = (
    "percent", "product", "herbicide", "use", "species", "ml_per_cut", "surfactant", "dye",
)  # fmt: skip
ORDER_NOTE = (
    "This order is a university's (South Dakota). A guide from North Dakota puts true solutions "
    "after emulsions. With one product it makes no odds; where the label gives an order, that one."
)
HOW_TO = (
    "1 Mark off 18.5 ft by 18.5 ft (340 sq ft, 1/128 of an acre) on ground like that to be "
    "sprayed; 10 by 34 ft or 1.5 by 228 ft do as well.",
    "2 With water alone in the tank, spray it at your own pace and note the seconds. Twice, and "
    "take the mean.",
    "3 Standing still, with the same tip and pressure, catch the spray for as many seconds.",
    "4 The fluid ounces caught are the gallons an acre. Ask again with them: clearing mix "
    "--calibrate 40floz --tank 4gal --rate 1qt/ac (the product an acre on your label).",
)
HOW_TO_METRIC = (
    "1 Mark off 5.62 m by 5.62 m (31.6 m2, 1/128 of an acre) on ground like that to be sprayed; "
    "3.05 by 10.37 m does as well.",
    *HOW_TO[1:3],
    "4 A liter caught is 316 L a hectare. Ask again with it: clearing mix --metric --calibrate "
    "1.2L --tank 15L --rate 3L/ha (the product a hectare on your label).",
)


def ask_and_tell(typed: Typed, metric: bool = False) -> tuple[dict[str, Any], list[str]]:
    """Return the answer to what was typed at the tank, and the lines that tell it.

    Raises
    ------
    ValueError
        Something typed is no volume, percent or name, or does not fit together.

    References
    ----------
    own reasoning
    """
    extra = [name for name in NOT_WITH_CALIBRATE if typed.get("calibrate") and typed.get(name)]
    if extra:
        words = ", ".join(f"--{name.replace('_', '-')}" for name in extra)
        raise ValueError(f"{words} and --calibrate are two questions; ask one at a time")
    if typed.get("calibrate") == "how":
        return {"how_to": list(HOW_TO_METRIC if metric else HOW_TO)}, how_to_lines(metric)
    if typed.get("calibrate"):
        answer = ask_calibration(typed, us=not metric)
        return answer, calibration_lines(answer, metric)
    for name in ("rate",) if typed.get("use") == "stump" else ("rate", "seconds"):
        if typed.get(name):
            raise ValueError(f"--{name} goes with --calibrate and the volume caught")
    answer = ask_tank(typed, us=not metric)
    return answer, tank_lines(answer, metric)


def tank_lines(answer: dict[str, Any], metric: bool = False) -> list[str]:
    """Return a tank as lines of at most 78 signs.

    Parameters
    ----------
    answer : dict
        As ``ask_tank`` gives it.
    metric : bool
        Litres and millilitres first.

    References
    ----------
    sdsu_mixing, north_dakota_order
    """
    parts = [
        [*_wrap(_title(answer, metric), "", "  "), "", *_pour(answer, metric)],
        _section("Mind", answer["warnings"][1:]),
        _order(answer),
        _recipes(answer),
        _sizes(answer, metric),
        _in_time(answer),
        _section("Before, during, after", [*answer["cautions"], LEFTOVERS]),
    ]
    return [line for number, part in enumerate(part for part in parts if part)
            for line in ([""] if number else []) + part]  # fmt: skip


def calibration_lines(answer: dict[str, Any], metric: bool = False) -> list[str]:
    """Return what a caught volume says of a sprayer as lines of at most 78 signs.

    References
    ----------
    calibration_128
    """
    acre, hectare = answer["sprayed_gal_ac"], answer["sprayed_l_ha"]
    said = [f"{acre:.1f} gal an acre", f"{hectare:.0f} L a hectare"]
    lines = [f"This sprayer, at this pace, puts out {_pair(said, metric)}."]
    if answer["seconds"]:
        a_minute = answer["caught_l"] / answer["seconds"] * 60
        flow = [f"{a_minute / L_PER_GAL:.2f} gal a minute", f"{a_minute:.2f} L a minute"]
        hours = [f"{answer['hours_per_acre']:.1f} h an acre",
                 f"{answer['hours_per_ha']:.1f} h a hectare"]  # fmt: skip
        lines.append(f"Spraying alone takes {hours[metric]}, at {flow[metric]}.")
    if answer["tank_l"]:
        feet = answer["tank_covers_ha"] * 10_000 / M_PER_FT**2
        ground = [f"{feet:,.0f} sq ft, {feet / 43_560:.2f} acre",
                  f"{answer['tank_covers_ha'] * 10_000:,.0f} m2"]  # fmt: skip
        lines.append(f"A tank of {_tank(answer['tank_l'], metric)} sprays {_pair(ground, metric)}.")
    lines += _by_rate(answer, metric)
    wrapped = [line for text in lines for line in _wrap(text, "", "  ")]
    return [*wrapped, "", *_section("Before, during, after", answer["cautions"])]


def _by_rate(answer: dict[str, Any], metric: bool) -> list[str]:
    """Return the rate as it was read, and the product that it asks of a tank."""
    ground = "a hectare, such as --rate 3L/ha," if metric else "an acre, such as --rate 1qt/ac,"
    how = f"With --tank and the product {ground} it says how much product goes into a tank."
    if answer["rate_l_ha"] is None:
        return [how]
    each = [f"{_one(answer['rate_l_per_acre'], False)} an acre",
            f"{_one(answer['rate_l_ha'], True)} a hectare"]  # fmt: skip
    read = f"The rate {answer['rate_said']} is {_pair(each, not answer['rate_an_acre'])}."
    if answer["product_l"] is None:
        return [read, how]
    one = answer["product_l"] / answer["tank_l"]
    in_each = (f"{_digits(one * 1000)} mL in each liter" if metric
               else f"{_both(one * L_PER_GAL, metric)} in each gallon")  # fmt: skip
    poured = _poured(answer["product_l"], metric)
    return [read, f"Product in the tank for this rate: {poured}, {in_each} of mix."]


def how_to_lines(metric: bool = False) -> list[str]:
    """Return how a hand sprayer is calibrated, step by step.

    References
    ----------
    calibration_128, vt_456_502
    """
    steps = HOW_TO_METRIC if metric else HOW_TO
    lines = [line for text in steps for line in _wrap(text, "  ", "    ")]
    return [f"How much does your sprayer put on {'a hectare' if metric else 'an acre'}?", *lines]


def folded(text: str) -> str:
    """Return a sentence of refusal in lines that fit, after the word that stands before it.

    References
    ----------
    own reasoning
    """
    return "\n".join(_wrap(text, "Error: ", "  ")).removeprefix("Error: ")


def _title(answer: dict[str, Any], metric: bool) -> str:
    words = [f"Tank {_tank(answer['tank_l'], metric)}"]
    words += [answer["herbicide"]] if answer["herbicide"] else []
    words += [f"for {USE_WORDS[answer['use']]}"] if answer["use"] else []
    if answer["species"] != "any":
        words.append(answer["species"].replace("_", " "))
    return ", ".join(words)


def _pour(answer: dict[str, Any], metric: bool) -> list[str]:
    """Return what goes in, part by part."""
    share = f"{_digits(answer['product_percent'])} % of the tank"
    lines = [f"  product     {_poured(answer['product_l'], metric)} = {share}"]
    for name in ("surfactant", "dye"):
        litres = answer[f"{name}_l"]
        if litres:
            of_tank = 100.0 * litres / answer["tank_l"]
            lines.append(f"  {name:<11} {_poured(litres, metric)} = {_digits(of_tank)} %")
    if answer["carrier"] != "none":
        either = "water or oil, as the label says"
        open_use = either if answer["use"] == "stump" else "water, or oil if the label says so"
        words = answer["carrier"] or open_use
        lines.append(f"  carrier     {_poured(answer['water_l'], metric)}: {words}")
    if answer["product_kg"] is not None:
        weight, acid = answer["product_kg"], answer["ae_kg"]
        lines.append(f"  weight      {_weight(weight, metric)} of product")
        lines.append(f"  acid (ae)   {_weight(acid, metric)}, "
                     f"{answer['ae_lb_per_100_gal']:.3g} lb per 100 gal")  # fmt: skip
    return lines


def _order(answer: dict[str, Any]) -> list[str]:
    """Return the order of pouring, and who says otherwise."""
    if answer["carrier"] == "none":
        return []
    lines = ["Into the tank, in this order", *_wrap(f"{'; '.join(answer['order'])}.", "  ", "  ")]
    if answer["carrier"] is None and answer["use"] == "stump":
        lines += _wrap(f"In oil: {'; '.join(ORDER['oil'])}.", "  ", "  ")
    note = [] if answer["carrier"] == "oil" else _wrap(ORDER_NOTE, "  ", "  ")
    return [*lines, *note]


def _recipes(answer: dict[str, Any]) -> list[str]:
    """Return the handbook's recipes for this work, the one used first."""
    lines = []
    for row in answer["recipes"]:
        kill = f"{100 * row['kill_low']:.0f} to {100 * row['kill_high']:.0f} %"
        carrier = "undiluted" if row["carrier"] == "none" else f"in {row['carrier']}"
        mark = "*" if row["recipe_id"] == answer["recipe_id"] else "-"
        lines.append(f"  {mark} {row['percent']:g} % {carrier}: kills {kill}")
    if not lines:
        return []
    source = f"* counted with below; source: {answer['recipe_source']}"
    return [
        "The handbook's recipes for this (your label decides)",
        *lines,
        *_wrap(source, "  ", "    "),
    ]


def _sizes(answer: dict[str, Any], metric: bool) -> list[str]:
    """Return how many stems of each size a tank serves."""
    if not answer["sizes"]:
        large = answer["tank_l"] > LARGE_L or answer["product_percent"] < WEAK_PERCENT
        if large and answer["use"] is None:
            return []
        cuts = f"{answer['cuts_a_tank']:,.0f} cuts of {answer['ml_per_cut']:g} mL"
        return [f"A tank is {cuts}."] if answer["use"] in ("hack", None) else []
    unit = answer["sizes_unit"]
    lines = [f"Sizes a tank serves, by the {answer['sizes_of']}",
             f"  {unit:>5}   {'mix for one':>21}   about      (from - to)"]  # fmt: skip
    for row in answer["sizes"]:
        ends = f"({_count(row['stems_low'])} - {_count(row['stems_high'])})"
        dose = _small(row["dose_ml"], metric)
        lines.append(f"  {row['size']:>5g}   {dose:>21}   {_count(row['stems']):>5}  {ends:>15}")
    return lines


def _in_time(answer: dict[str, Any]) -> list[str]:
    """Return how many trees to fell before their stumps are due."""
    found = answer["stumps_in_time"]
    if found is None:
        return []
    due = (
        f"Stumps are due within {found['minutes']:g} minutes of the cut (the handbook; your label "
    )
    if found["caution"]:
        return _wrap(f"{due}may ask less). {found['caution'].capitalize()}.", "", "  ")
    if found["stems"] is None:
        return _wrap(f"{due}may ask less). Common practice: fell a dozen trees, or 10 to 15 "
                     "minutes' worth, then wet their stumps, and so on round by round. With "
                     "--seconds (one tree, felled and limbed) it says how many.",
                     "", "  ")  # fmt: skip
    return _wrap(f"{due}may ask less): at {found['seconds_per_stem']:g} s a tree one sawyer fells "
                 f"{found['stems']} ({found['minutes_each']:.3g} minutes' worth), then wets them, "
                 "and so on round by round.", "", "  ")  # fmt: skip


def _section(head: str, texts: list[str]) -> list[str]:
    if not texts:
        return []
    return [head, *(line for text in texts for line in _wrap(text, "  - ", "    "))]


def _wrap(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest,
                         break_on_hyphens=False)  # fmt: skip


def _pair(said: list[str], metric: bool) -> str:
    """Return two ways of saying a figure, the owner's first."""
    one, two = reversed(said) if metric else said
    return f"{one} ({two})"


def _both(litres: float, metric: bool) -> str:
    ml = f"{litres * 1000:.0f} mL" if litres >= 0.01 else f"{litres * 1000:.2g} mL"
    return _pair([f"{litres / L_PER_FLOZ:.2f} fl oz", ml], metric)


def _one(litres: float, metric: bool) -> str:
    """Return a volume in one unit, the one that suits its size."""
    if metric:
        return f"{litres:.3g} L" if litres >= 1 else f"{litres * 1000:.3g} mL"
    floz = litres / L_PER_FLOZ
    return f"{floz / 128:.3g} gal" if floz >= 128 else f"{floz:.3g} fl oz"


def _digits(value: float) -> str:
    """Return a percent or a measure with three significant digits, as everywhere on the page."""
    return f"{value:.3g}"


def _poured(litres: float, metric: bool) -> str:
    return _tank(litres, metric) if litres >= L_PER_GAL else _both(litres, metric)


def _small(ml: float, metric: bool) -> str:
    return _pair([f"{ml / 1000 / L_PER_FLOZ:.2f} fl oz", f"{ml:,.3g} mL"], metric)


def _tank(litres: float, metric: bool) -> str:
    return _pair([f"{litres / L_PER_GAL:.2f} gal", f"{litres:.2f} L"], metric)


def _weight(kg: float, metric: bool) -> str:
    return _pair([f"{kg / KG_PER_LB:.3g} lb", f"{kg:.3g} kg"], metric)


def _count(stems: float) -> str:
    """Return a count that promises no more than it knows: whole stems, two or three digits."""
    if stems < 1:
        return "<1"
    step = 10 if stems >= 1000 else 1
    return f"{int(stems / step + 1e-9) * step:,}"
