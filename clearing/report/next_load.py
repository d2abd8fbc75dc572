"""Say what to load for a day: products and tanks by the mixing table, water, tools, containers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from clearing import treatment
from clearing.report import names, words
from clearing.report.facts_printed import MixRow
from clearing.report.kit import OwnKit
from clearing.report.mixing import USES, confirm_lines, mix_said, mixing_table
from clearing.report.next_fill import Taken
from clearing.report.strength_parts import Part

NO_GO = "no go until the label is read and confirmed"
PLAN_AGAIN = "this plan was made before its label was confirmed; plan again for its mix"
TOOLS = {  # what each job takes; common practice, no published source
    "mark": "flagging or paint",
    "hack_and_squirt": "axe or hatchet, squirt bottle",
    "cut_and_spray": "saw with fuel and bar oil, wedges, squirt bottle for the stumps",
    "basal_bark": "backpack sprayer for the bark",
    "foliar": "backpack sprayer",
    "follow_up": "backpack sprayer",
    "upkeep": "backpack sprayer",
    "hand_work": "gloves, loppers, hand tools",
    "fell_dead": "saw with fuel and bar oil, wedges",
    "haul_tops": "rope, trailer or tractor",
    "burn_tops": "water, rakes, what the fire office asks for",
    "chip_tops": "chipper",
    "mow": "tractor and mower",
    "mow_down": "tractor and mower",
    "seed": "seed, spreader",
}
ALWAYS = "first-aid kit, phone, drinking water"  # common practice, no published source
WITH_SPRAY = "the label, clean water and soap for washing, something to take up a spill"
NONE_TO_BUY = "none"


@dataclass(frozen=True)
class Load:
    """What to load, and the tanks."""

    lines: tuple[str, ...]
    mixes: tuple[MixRow, ...]
    tanks: tuple[str, ...]
    order: tuple[str, ...]
    no_go: tuple[str, ...]


def loaded(taken: Sequence[Taken], said: Mapping[str, Any], kit: OwnKit) -> Load:
    """Return what to load for a day; no tank of a product whose label is not confirmed.

    Parameters
    ----------
    taken : sequence of Taken
        What of each visit is done.
    said : mapping
        plan.json.
    kit : OwnKit
        Settings and rates as they are now.

    References
    ----------
    own reasoning; sdsu_mixing; common practice for tools
    """
    told = said["told"]
    known = {one.name: one for one in treatment.known_products(kit.rates)}
    used = list(dict.fromkeys(one.due.herbicide for one in taken if one.due.herbicide))
    ready = {name for name in used if name in known and known[name].product.confirmed}
    rows = [row for one in taken if (row := _row(one, told)) and one.due.herbicide in ready]
    parts = {row["visit_id"]: _parts(row["visit_id"], told) for row in rows}
    mixing = mixing_table(rows, kit, parts)
    lost = {one.due.herbicide for one in taken if one.due.herbicide in ready
            and one.due.job in USES and not _row(one, told)}  # fmt: skip
    no_go = [f"{words.sentence(names.herbicide_name(name))}: {NO_GO}."
             for name in used if name not in ready]  # fmt: skip
    no_go += confirm_lines([name for name in used if name not in ready], kit)
    no_go += [f"{words.sentence(names.herbicide_name(name))}: {PLAN_AGAIN}."
              for name in used if name in lost]  # fmt: skip
    lines = _products(rows, told, kit.property.settings.us)
    lines += _carriers(rows, parts, kit.property.settings.us)
    tools = [TOOLS[one.due.job] for one in taken if one.due.job in TOOLS]
    tools += [WITH_SPRAY] if used else []
    if taken:
        lines.append(words.sentence("; ".join(dict.fromkeys([*tools, ALWAYS]))) + ".")
    return Load(tuple(lines), mixing.rows, tuple(map(_tank, mixing.rows)), mixing.order,
                tuple(dict.fromkeys(no_go)))  # fmt: skip


def _tank(row: MixRow) -> str:
    """Return one tank in a line, and how many of them the day takes where it is not a part."""
    said = mix_said(row)
    return said if row.part else f"{said} {words.sentence(row.tanks.words)} for the day."


def _row(one: Taken, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return a visit's mix and stems of the day, empty where the plan tells no mix.

    Where the stems are more than thought the hours are too, so that a day that does not finish a
    visit takes about as much either way.
    """
    due, doing = one.due, told["doing"].get(one.due.visit_id, {})
    if not doing.get("mix_l"):
        return {}
    middle = doing["mix_l"] * one.share
    return {
        "visit_id": due.visit_id, "strip_id": due.strip_id, "job": due.job,
        "herbicide": due.herbicide, "recipe_id": doing["recipe_id"],
        "stems": doing["stems"] * one.share, "mix_l": middle,
        "mix_low_l": min(doing["mix_low_l"] * one.high, middle),
        "mix_high_l": max(doing["mix_high_l"] * one.low, middle),
        "product_l": doing["product_l"] * one.share,
    }  # fmt: skip


def _parts(visit: str, told: Mapping[str, Any]) -> tuple[Part, ...]:
    """Return the strengths of a visit as the plan has them."""
    return tuple(
        Part(**{**one, "species": tuple(one["species"])}) for one in told["doing"][visit]["parts"]
    )


def _products(rows: Sequence[Mapping[str, Any]], told: Mapping[str, Any], us: bool) -> list[str]:
    """Return how much of each product the day takes, and which containers the plan has for it."""
    sums: dict[str, list[float]] = {}
    for row in rows:
        share = row["product_l"] / row["mix_l"]
        own = sums.setdefault(row["herbicide"], [0.0, 0.0, 0.0])
        for at, name in enumerate(("mix_l", "mix_low_l", "mix_high_l")):
            own[at] += row[name] * share
    years = {row["herbicide"]: told["visits"][row["visit_id"]]["year"] for row in rows}
    out = []
    for name, own in sums.items():
        amount = words.volume((own[0], own[1], own[2]), us)
        bought = [
            one["containers"] for one in told["place"]["purchases"]
            if one["herbicide_key"] == name and one["year"] == years[name]
            and not one["containers"].startswith(NONE_TO_BUY)
        ]  # fmt: skip
        more = f"; the plan buys {bought[0]} for {years[name]}" if bought else ""
        line = f"{names.herbicide_name(name)} in its own container: {amount.words}{more}."
        out.append(words.sentence(line))
    return out


def _carriers(
    rows: Sequence[Mapping[str, Any]], parts: Mapping[str, tuple[Part, ...]], us: bool
) -> list[str]:
    """Return the water and the oil of the day, about."""
    litres: dict[str, float] = {}
    for row in rows:
        for part in parts[row["visit_id"]]:
            carrier = "oil" if part.carrier == "oil" else "water"
            more = row["mix_l"] * part.mix_share * max(1.0 - part.percent / 100.0, 0.0)
            litres[carrier] = litres.get(carrier, 0.0) + more
    said = {"water": "Water for mixing", "oil": "Oil that the label names for mixing"}
    rinse = {"water": ", and as much again for rinsing", "oil": ""}
    return [
        f"{said[kind]}: {words.volume((amount,) * 3, us).words}{rinse[kind]}."
        for kind, amount in sorted(litres.items(), reverse=True)
        if amount > 0.001  # a millilitre; own choice
    ]  # fmt: skip
