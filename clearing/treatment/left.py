"""Say how much ground the zones leave for each way of treating, by size class."""

from dataclasses import replace
from typing import Any

import geopandas as gpd
import pandas as pd

from clearing.rates import Rates
from clearing.treatment.assign import (
    FELLED_FROM,
    MAIN_JOB,
    Deed,
    Ground,
    Orders,
    Size,
    deed,
    orders,
)
from clearing.treatment.products import WATER_SITES, Known, known_products
from clearing.treatment.recipes import Book, Choice
from clearing.units import HA_PER_ACRE

KINDS = ("hack_and_leave", "hack_then_fell", "cut_and_spray", "basal_bark", "foliar")
HACKED = ("hack_and_leave", "hack_then_fell")  # told for stems thick enough to hack
NOT_SPRAYED = ("by_hand", "utility")  # what is left when no method is
WORDS = {
    "hack_and_leave": "hack and leave standing",
    "hack_then_fell": "hack, wait, then fell",
    "cut_and_spray": "cut and spray",
    "basal_bark": "basal bark",
    "foliar": "leaf spray",
    "soil_active": "products that move in the soil",
    "by_hand": "hand work or nothing",
    "utility": "the utility or a line-clearance crew",
}
EVERY_SIZE = "all"
ANYWHERE = "any"  # kind of ground that every label is taken to name
ANY_RECIPE: dict[str, Any] = {  # ground is asked about, not whether a recipe fits the stem
    "recipe_id": "", "kill": 1.0, "min_dbh_cm": float("nan"), "max_dbh_cm": float("nan"),
}  # fmt: skip
NEVER = 99.0
SIGNATURE = ["flags", "fall_from", "power_from"]


def ground_left(
    zones: gpd.GeoDataFrame, strips: gpd.GeoDataFrame, rates: Rates, by: str = "block_id"
) -> pd.DataFrame:
    """Return how much ground is left for each way of treating stems of each size class.

    Asked of the rule that gives every stem its job (`deed`), with the owner's products and what
    their labels say of the water's edge, and a recipe that fits every stem: so it is the ground
    alone that says no. A job that no product of the owner's is labelled for is not listed.

    Parameters
    ----------
    zones, strips : DataFrame
        As ``walk/zones`` and ``walk/strips``; shapes are not needed.
    rates : Rates
        Size classes and products.
    by : str
        ``block_id``, ``strip_id``, or ``property`` for all ground in one.

    Returns
    -------
    DataFrame
        The column named by ``by``, method, size_class, area_ha, share of the ground. Methods:
        the five kinds; ``soil_active`` (a product that moves in the soil, by any job);
        ``by_hand`` (no product at all); ``utility``. Size class ``all``: ground left for stems of
        every size; for ``by_hand`` and ``utility``, ground on which some size is left to them.

    References
    ----------
    own reasoning; danger_tree_guide, osha_1910_333 for the reaches
    """
    sizes = [
        Size(str(row.size_class), int(row.order), float(row.mid_cm))
        for row in rates.sizes.sort_values("order").itertuples()
    ]
    ground = pd.DataFrame(zones[["strip_id", *SIGNATURE, "area_ha"]]).fillna("")
    ground = ground.merge(pd.DataFrame(strips[["strip_id", "block_id"]]), on="strip_id")
    ground = ground.assign(property=ANYWHERE)
    rows = []
    for signature in ground[SIGNATURE].drop_duplicates().itertuples(index=False, name=None):
        answers = _answers(signature, sizes, rates)
        rows += [(*signature, *key, yes) for key, yes in answers.items()]
    asked = pd.DataFrame(rows, columns=[*SIGNATURE, "method", "size_class", "yes"])
    table = ground.merge(asked, on=SIGNATURE)
    table["left_ha"] = table["area_ha"].where(table["yes"].astype(bool), 0.0)
    keys = [by, "method", "size_class"]
    sums = table.groupby(keys, sort=False)[["left_ha", "area_ha"]].sum()
    sums["share"] = (sums["left_ha"] / sums["area_ha"]).fillna(0.0)
    out = sums.drop(columns="area_ha").rename(columns={"left_ha": "area_ha"}).reset_index()
    rank = {name: number for number, name in enumerate([*WORDS, *(s.name for s in sizes), "all"])}
    order = out[["method", "size_class"]].apply(lambda column: column.map(rank))
    first = out[by].map({name: i for i, name in enumerate(dict.fromkeys(ground[by]))})
    order = order.assign(first=first).sort_values(["first", "method", "size_class"]).index
    return out.loc[order].reset_index(drop=True)


def left_lines(table: pd.DataFrame, rates: Rates, us: bool = True) -> list[str]:
    """Return a head and a line for each method of a `ground_left` table, all its ground as one.

    Parameters
    ----------
    table : DataFrame
        As `ground_left` gives it, by block, strip or property.
    rates : Rates
        Names of the size classes.
    us : bool
        Speak acres and inches (else hectares and centimetres).

    References
    ----------
    own reasoning
    """
    if not len(table):
        return []
    label = rates.sizes.set_index("size_class")["label_us" if us else "label_metric"]
    size, unit = (HA_PER_ACRE, "acres") if us else (1.0, "ha")
    some = table[table["share"] > 0]
    total = float((some["area_ha"] / some["share"]).groupby(some.iloc[:, 0]).max().sum())
    left = table.groupby(["method", "size_class"], sort=False)["area_ha"].sum() / total
    lines = [f"ground left for each way of treating, of {total / size:.1f} {unit}:"]
    for method in dict.fromkeys(table["method"]):
        sizes = label.index[list(label.index).index(FELLED_FROM) * (method in HACKED) :]
        runs: list[tuple[str, str, str]] = []  # percent, first class, last class
        for name in sizes:
            percent, said = _percent(float(left[method][name])), str(label[name])
            first = runs.pop()[1] if runs and runs[-1][0] == percent else said
            runs.append((percent, first, said))
        parts = [f"{percent} ({first}{f' to {last}' if last != first else ''})"
                 for percent, first, last in runs]  # fmt: skip
        told = ", ".join(parts) if len(runs) > 1 else f"{runs[0][0]}, stems of any size"
        lines.append(f"{WORDS[method]}: {told}")
    return lines


def _percent(share: float) -> str:
    """Return a share in words: none and all are said only where they hold."""
    if share <= 0.0:
        return "none"
    if share >= 1.0 - 1e-9:
        return "all"
    rounded = round(100 * share)
    return "under 1 %" if rounded < 1 else "over 99 %" if rounded > 99 else f"{rounded} %"


def _answers(
    signature: tuple[str, str, str], sizes: list[Size], rates: Rates
) -> dict[tuple[str, str], bool]:
    """Return whether each method is left on one kind of ground, by method and size class."""
    order = {size.name: float(size.order) for size in sizes}
    flags, fall_from, power_from = signature
    ground = Ground(ANYWHERE, frozenset(flags.split("+")) - {"open"},
                    order.get(fall_from, NEVER), order.get(power_from, NEVER))  # fmt: skip
    known = [_anywhere(each) for each in known_products(rates)]
    rules = orders(sizes, rates)
    book = _book(known)
    soil = _book([each for each in known if each.soil_active])
    kinds = [kind for kind in KINDS if book["any", MAIN_JOB[kind]]]
    out: dict[tuple[str, str], bool] = {}
    for size in sizes:
        done = {kind: _done(kind, size, ground, (book, rules)) for kind in kinds}
        for kind in kinds:
            out[kind, size.name] = done[kind].job == MAIN_JOB[kind]
        if any(soil.values()):
            tried = [_done(kind, size, ground, (soil, rules)) for kind in kinds]
            out["soil_active", size.name] = any(each.choice is not None for each in tried)
        utility = any(each.job == "call_utility" for each in done.values())
        sprayed = any(each.choice is not None for each in done.values())
        out["by_hand", size.name] = not utility and not sprayed
        out["utility", size.name] = utility
    for method in dict.fromkeys(method for method, _ in out):
        yes = [out[method, size.name] for size in sizes]
        out[method, EVERY_SIZE] = any(yes) if method in NOT_SPRAYED else all(yes)
    return out


def _done(kind: str, size: Size, ground: Ground, known: tuple[Book, Orders]) -> Deed:
    """Return what a kind of method does here when any product may be taken."""
    return deed((kind, "", True), "any", size, ground, known)


def _anywhere(known: Known) -> Known:
    """Return a product whose label names this ground, and the water's edge only if it does."""
    sites = (ANYWHERE, *(site for site in known.product.sites if site in WATER_SITES))
    return replace(known, product=replace(known.product, sites=sites))


def _book(known: list[Known]) -> Book:
    """Return for each job the products whose label names it, with a recipe for every stem."""
    return {
        ("any", job): [Choice(ANY_RECIPE, each, 0.0, "") for each in known if each.fits_job(job)]
        for job in dict.fromkeys(MAIN_JOB.values())
    }
