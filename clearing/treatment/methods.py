"""List how each strip can be treated: a whole recipe for every zone, species and size class."""

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.property import Settings
from clearing.rates import Rates
from clearing.tables import columns
from clearing.treatment.assign import (
    FOLIAR,
    MAIN_JOB,
    MOW_DOWN,
    THICKET_KINDS,
    Deed,
    Ground,
    Orders,
    Size,
    deed,
    orders,
)
from clearing.treatment.cautions import caution_ids
from clearing.treatment.dose import product_ml, recipe_dose_ml
from clearing.treatment.products import known_products
from clearing.treatment.recipes import Book, best, open_seasons, recipe_book
from clearing.treatment.waits import book_for

MIXED = "best_of_each"  # the method in which every species gets its best product
SIGNATURE = ["block_id", "flags", "fall_from", "power_from"]
CELL = [*SIGNATURE, "species", "size_class"]
PULLED = ("seedling", "under_1in")  # hand work takes these out with the root
NOT_OURS = ("call_utility", "left")  # nothing of ours is sprayed or cut
NEVER = 99.0

Offer = tuple[str, str, dict[str, str]]  # kind, name, product of each species


def list_methods(
    blocks: gpd.GeoDataFrame,
    strips: gpd.GeoDataFrame,
    zones: gpd.GeoDataFrame,
    stocking: pd.DataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return every way to treat every strip, undated.

    Hack and leave; hack, wait, then fell; cut-and-spray; split at a diameter; for thickets basal
    bark and leaf spray; each with each product that has a whole recipe for every species present,
    and once with the best product of each species; and not now. What may not be treated is listed
    with the reason. ``attrs["not_offered"]`` says which recipes were left out.

    Parameters
    ----------
    blocks, strips, zones : GeoDataFrame
        As ``walk/blocks``, ``walk/strips``, ``walk/zones``.
    stocking : DataFrame
        As ``walk/stocking``.
    rates : Rates
        Recipes, products, figures.
    settings : Settings
        Targets.

    Returns
    -------
    DataFrame
        As ``walk/methods``.

    References
    ----------
    own reasoning; each recipe carries its own source
    """
    sizes = _sizes(rates)
    cells = _cells(strips, zones, stocking, sizes)
    species = sorted(cells["species"].unique())
    book, left_out = recipe_book(species, known_products(rates), rates)
    order, facts = orders(sizes, rates), _DeedFacts(rates)
    deeds: list[tuple] = []
    out_of: dict[tuple[str, str], list[str]] = {}
    for block in blocks.to_dict("records"):
        own = cells[cells["block_id"] == block["block_id"]]
        growing = own[own["stems_high"] > 0]["species"].unique()
        alive = own[own["species"].isin(growing)][CELL].drop_duplicates()
        fitting, barred = book_for(book, block, rates)
        for name, why in barred.items():
            out_of.setdefault((name, why), []).append(str(block["block_id"]))
        offers = _offers(sorted(alive["species"].unique()), block, fitting, rates)
        deeds += _deeds(alive, offers, block, ((fitting, order), sizes, facts))
    left_out += [
        f"{name} is not offered in block{'s' if len(of) > 1 else ''} {', '.join(of)}: {why}"
        for (name, why), of in out_of.items()
    ]
    table = pd.DataFrame(deeds, columns=[*CELL, "method_id", "method", *DEED_COLUMNS])
    treated = cells.merge(table, on=CELL)
    treated = _worth_offering(treated)
    seasons = open_seasons(rates.seasons)
    out = pd.concat([_not_now(cells, seasons, rates), treated], ignore_index=True)
    out = _told(out, sizes, rates)
    keys = ["strip_id", "method_id", "zone_id", "species", "order"]
    out = out.sort_values(keys, ignore_index=True)[columns("methods")]
    out.attrs["not_offered"] = left_out
    return out


DEED_COLUMNS = [
    "job", "recipe_id", "herbicide", "dose_ml", "product_ml", "kill", "kill_low", "kill_high",
    "fell_after", "seasons", "cautions", "why_not",
]  # fmt: skip


def _sizes(rates: Rates) -> list[Size]:
    """Return the size classes in order."""
    rows = rates.sizes.sort_values("order")
    return [Size(str(r.size_class), int(r.order), float(r.mid_cm)) for r in rows.itertuples()]


def _cells(
    strips: gpd.GeoDataFrame, zones: gpd.GeoDataFrame, stocking: pd.DataFrame, sizes: list[Size]
) -> pd.DataFrame:
    """Return one row a zone, species and size class with its stems."""
    ground = pd.DataFrame(zones.drop(columns="geometry", errors="ignore")).merge(
        strips[["strip_id", "block_id"]], on="strip_id"
    )
    for column in ("fall_from", "power_from", "price_from", "near"):
        ground[column] = ground[column].fillna("").astype(str)
    grows = stocking[stocking["size_class"].isin([size.name for size in sizes])]
    grows = grows[["block_id", "species", "size_class", "stems_per_ha", "low", "high"]]
    cells = ground.merge(grows, on="block_id")
    for column, rate in (("stems", "stems_per_ha"), ("stems_low", "low"), ("stems_high", "high")):
        cells[column] = cells[rate] * cells["area_ha"]
    order = {size.name: size.order for size in sizes}
    return cells.assign(order=cells["size_class"].map(order))


def _offers(species: list[str], block: dict[str, Any], book: Book, rates: Rates) -> list[Offer]:
    """Return the kinds of method of one block with the product that each species gets."""
    offers: list[Offer] = []
    steep = float(block["slope_pct"]) >= rates.figure("any", "mow_most_slope_pct").value
    for kind, job in MAIN_JOB.items():
        if kind in THICKET_KINDS and block["brush"] != "thicket":
            continue
        if job == MOW_DOWN and steep:  # the machine's manual sets the slope: not planned there
            continue
        wanted = FOLIAR if job == MOW_DOWN else job
        fitting = {name: book.get((name, wanted), []) for name in species}
        if not fitting or not all(fitting.values()):
            continue
        names = [{choice.known.name for choice in choices} for choices in fitting.values()]
        offers += [
            (kind, product, dict.fromkeys(species, product))
            for product in sorted(set.intersection(*names))
        ]
        tops = {name: top.known.name for name in species if (top := best(fitting[name]))}
        if len(set(tops.values())) > 1:
            offers.append((kind, MIXED, tops))
    return offers


def _deeds(
    alive: pd.DataFrame,
    offers: list[Offer],
    block: dict[str, Any],
    known: tuple[tuple[Book, Orders], list[Size], "_DeedFacts"],
) -> list[tuple]:
    """Return what each offer does in each cell of a block."""
    rules, sizes, facts = known
    by_name = {size.name: size for size in sizes}
    order = {size.name: float(size.order) for size in sizes}
    rows = []
    for cell in alive.itertuples(index=False):
        flags = frozenset(str(cell.flags).split("+")) - {"open"}
        reach = order.get(cell.fall_from, NEVER), order.get(cell.power_from, NEVER)
        ground = Ground(block["goal"], flags, *reach)
        size = by_name[cell.size_class]
        for kind, name, product in offers:
            method = kind, product[cell.species], name == MIXED
            done = deed(method, cell.species, size, ground, rules)
            what = facts.of(done, cell.species, size, (flags, block))
            rows.append((*cell, f"{kind}:{name}", kind, *what))
    return rows


class _DeedFacts:
    """Look up dose, kill, seasons and cautions of a deed, each combination once."""

    def __init__(self, rates: Rates) -> None:
        self.rates = rates
        self.all_seasons = open_seasons(rates.seasons)
        self.doses: dict[tuple[str, str, str], float] = {}
        self.words: dict[tuple, str] = {}

    def of(
        self, done: Deed, species: str, size: Size, place: tuple[frozenset[str], dict[str, Any]]
    ) -> tuple:
        """Return the deed's columns of ``walk/methods``."""
        cautions = self._cautions(done, *place)
        if done.choice is None:
            kill = self._bare_kill(done.job, species, size)
            return (done.job, "", "", 0.0, 0.0, *kill, False, self.all_seasons, cautions, done.why)
        recipe = done.choice.recipe
        key = (recipe["recipe_id"], species, size.name)
        if key not in self.doses:
            dose = recipe_dose_ml(recipe, species, np.array([size.mid_cm]), self.rates)
            self.doses[key] = float(dose[0])
        dose_ml = self.doses[key]
        product = float(product_ml(dose_ml, done.choice.percent))
        kill = (recipe["kill"], recipe["kill_low"], recipe["kill_high"])
        return (
            done.job, recipe["recipe_id"], done.choice.known.name, dose_ml, product, *kill,
            done.fell_after, done.choice.seasons, cautions, done.why,
        )  # fmt: skip

    def _bare_kill(self, job: str, species: str, size: Size) -> tuple[float, float, float]:
        """Return the kill without herbicide: pulled with the root, mowed, or only cut."""
        if job not in ("hand_work", MOW_DOWN):
            return 0.0, 0.0, 0.0
        item = {"hand_work": "hand_pull_kill", MOW_DOWN: "mow_kill_seedling"}[job]
        if size.name in PULLED and (job == "hand_work" or size.name == "seedling"):
            small = self.rates.figure(species, item)
            return small.value, small.low, small.high
        back = self.rates.figure(species, "cut_resprout_share")
        return 1.0 - back.value, 1.0 - back.high, 1.0 - back.low

    def _cautions(self, done: Deed, flags: frozenset[str], block: dict[str, Any]) -> str:
        """Return the cautions of a job on its zone; the visit adds what else is true of it."""
        key = (done.job, flags)
        if key not in self.words:
            told = flags - {"water_edge", "dripline"} if done.job in NOT_OURS else flags
            words = [f"job:{done.job}", *(f"zone:{flag}" for flag in told)]
            self.words[key] = caution_ids(words, self.rates)
        return self.words[key]


def _worth_offering(treated: pd.DataFrame) -> pd.DataFrame:
    """Return the methods whose own job treats at least some stems of the strip."""
    own_job = (treated["job"] == treated["method"].map(MAIN_JOB)) & (treated["stems_high"] > 0)
    return treated[own_job.groupby([treated["strip_id"], treated["method_id"]]).transform("any")]


def _not_now(cells: pd.DataFrame, seasons: str, rates: Rates) -> pd.DataFrame:
    """Return the method that does nothing, for every zone, species and class."""
    blank: dict[str, object] = dict.fromkeys(DEED_COLUMNS, "")
    blank |= dict.fromkeys(["dose_ml", "product_ml", "kill", "kill_low", "kill_high"], 0.0)
    blank |= {"job": "left", "fell_after": False, "seasons": seasons}
    words = {
        flags: caution_ids([f"zone:{flag}" for flag in flags.split("+")], rates)
        for flags in cells["flags"].unique()
    }
    blank["cautions"] = cells["flags"].map(words)
    return cells.assign(**blank, method_id="not_now", method="not_now")


def _told(out: pd.DataFrame, sizes: list[Size], rates: Rates) -> pd.DataFrame:
    """Return the methods with what lies near named, and the caution of the owner's own things."""
    near = out["near"].where(out["near"] != "", "somebody")
    named = out["why_not"].str.contains("{near}", regex=False)
    out.loc[named, "why_not"] = [
        why.replace("{near}", name)
        for why, name in zip(out.loc[named, "why_not"], near[named], strict=True)
    ]
    order = {size.name: float(size.order) for size in sizes}
    own = caution_ids(["zone:price"], rates)
    stays = out["job"].isin(["hack_and_squirt", "basal_bark", "cut_and_spray"])
    reach = stays & (out["order"] >= out["price_from"].map(order).fillna(NEVER))
    out.loc[reach, "cautions"] = out.loc[reach, "cautions"] + " " + own
    return out
