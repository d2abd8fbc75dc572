"""Lay out follow-ups and upkeep: which spray, how much of it, and how long the search takes."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from clearing.allometry import crown_width_m
from clearing.effort.cover import overlap_factor
from clearing.effort.dates import common
from clearing.effort.first import CASE, with_doses
from clearing.effort.hours import ENDS, ITEMS, with_hours
from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment import book_for, known_products, open_seasons
from clearing.treatment.dose import cover_dose_ml
from clearing.treatment.recipes import Book, Choice, recipe_book

SPROUTS = ("resprout", "root_sucker")  # stages that come back from what was treated
SMALL = ("seedling", "under_1in", *SPROUTS)  # stages that a follow-up sprays


@dataclass(frozen=True)
class Spray:
    """The leaf spray of a strip's follow-ups: product, recipe of each species, seasons."""

    product: str
    choices: dict[str, Choice]
    seasons: str


def sprays(
    place: pd.DataFrame, methods: pd.DataFrame, rates: Rates
) -> tuple[dict[str, Spray], dict[str, float]]:
    """Return each strip's follow-up spray, and the share of it that may be sprayed.

    One product for all species, the one with the best poorest kill, whose label fits the block's
    goal, stock and hay (`treatment.book_for`); beside trees that stay one without soil activity.
    By water only a product whose confirmed label names it, else the share of that ground is pulled
    by hand.

    References
    ----------
    own reasoning
    """
    idle = methods[methods["method"] == "not_now"]
    species = sorted(idle["species"].unique())
    products = {known.name: known for known in known_products(rates)}
    book, _ = recipe_book(species, list(products.values()), rates)
    found, sprayed = {}, {}
    books: dict[str, Book] = {}
    for strip_id, own in idle.groupby("strip_id"):
        alive = sorted(own[own["stems_high"] > 0]["species"].unique())
        flags = own.drop_duplicates("zone_id").set_index("zone_id")["cautions"].str.split()
        roots = any("dripline" in words for words in flags)
        block = place.loc[strip_id]
        if block["block_id"] not in books:
            books[block["block_id"]], _ = book_for(book, block, rates)
        spray = _best_spray(alive, roots, books[block["block_id"]], rates)
        stems = own.groupby("zone_id")["stems_high"].sum()
        wet = flags.map(lambda words: "water_edge" in words).reindex(stems.index)
        share = float(stems[wet].sum() / stems.sum()) if stems.sum() > 0 else 0.0
        by_water = spray.product in products and products[spray.product].by_water()
        found[str(strip_id)], sprayed[str(strip_id)] = spray, 1.0 if by_water else 1.0 - share
    return found, sprayed


def _best_spray(alive: list[str], roots: bool, book: Book, rates: Rates) -> Spray:
    """Return the leaf spray that treats all species of a strip best, or none (hand work)."""
    by_product: dict[str, dict[str, Choice]] = {}
    for name in alive:
        for choice in book.get((name, "foliar"), []):
            if not (roots and choice.known.soil_active):
                known = by_product.setdefault(choice.known.name, {})
                if name not in known or choice.recipe["kill"] > known[name].recipe["kill"]:
                    known[name] = choice
    order = tuple(rates.seasons.sort_values("order")["season"])
    full = []
    for product, choices in sorted(by_product.items()):
        seasons = common([each.seasons for each in choices.values()], order)
        if len(choices) == len(alive) and seasons:
            poorest = min(each.recipe["kill"] for each in choices.values())
            full.append((-poorest, product, Spray(product, choices, " ".join(seasons))))
    if full:
        return min(full, key=lambda each: each[:2])[2]
    return Spray("", {}, leaf_seasons(rates))


def leaf_seasons(rates: Rates) -> str:
    """Return the open seasons in which leaves are out, all open ones when there is none.

    References
    ----------
    own reasoning
    """
    months = rates.window("", "follow_up")
    return open_seasons(rates.seasons, months) or open_seasons(rates.seasons)


def follow_works(
    futures: pd.DataFrame,
    methods: pd.DataFrame,
    place: pd.DataFrame,
    rates: Rates,
    settings: Settings,
) -> pd.DataFrame:
    """Return one row a case and year of follow-up or upkeep.

    Over the ground: search a hectare x area x pace, the ring around the strip in which suckers may
    come up with it; at the stems: seconds x pace, those of hand work where no leaf spray is to be
    had or the ground bars it.

    Parameters
    ----------
    futures, methods : DataFrame
        As ``walk/futures`` and ``walk/methods``.
    place : DataFrame
        As `places` gives it; ring_ha of a strip (`forecast.search_ring`) is nought where it is not
        there.
    rates : Rates
        Figures and recipes.
    settings : Settings
        Crew.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    chosen, sprayed = sprays(place, methods, rates)
    due = futures["work"].isin(["follow_up", "upkeep"]) & futures["stage"].isin(SMALL)
    rows = futures[due][[*CASE, "year", "work", "species", "stage", *(f"stems{e}" for e in ENDS)]]
    rows = rows.reset_index(drop=True)
    each = _sprayed(rows, chosen, rates)
    part = rows["strip_id"].map(sprayed).to_numpy(dtype=float)
    area = rows["strip_id"].map(place["area_ha"]).to_numpy(dtype=float)
    group = rows.groupby([*CASE, "year"], sort=False).ngroup().to_numpy()
    for end in ENDS:
        stems = rows[f"stems{end}"].to_numpy(dtype=float)
        crowns = np.bincount(group, weights=stems * each["crown_m2"] / 1e4)[group]
        wet = stems * part * overlap_factor(crowns, area)
        rows[f"mix{end}"] = wet * each["mix_ml"] / 1000.0
        rows[f"product{end}"] = wet * each["product_ml"] / 1000.0
        if not end:
            rows["ae_kg"] = wet * each["ae_kg"]
    keys = [*CASE, "year", "work"]
    sums = [f"{name}{end}" for name in ("stems", "mix", "product") for end in ENDS]
    under = rows["stage"] == "under_1in"
    cm = float(rates.sizes.set_index("size_class")["mid_cm"]["under_1in"])
    rows["cm"] = rows["stems"] * np.where(under, cm, 0.0)
    rows["sprouts"] = rows["stems"].where(rows["stage"].isin(SPROUTS), 0.0)
    out = rows.groupby(keys, as_index=False)[[*sums, "ae_kg", "cm", "sprouts"]].sum()
    out = out.rename(columns={"work": "job"}).join(place, on="strip_id")
    out["herbicide"] = out["strip_id"].map({k: s.product for k, s in chosen.items()}).fillna("")
    out["recipe_id"] = out["strip_id"].map({k: _recipe_of(s) for k, s in chosen.items()}).fillna("")
    out["treated_ha"] = out["area_ha"] * out["strip_id"].map(sprayed)
    out["by_spray"] = out["strip_id"].map(sprayed).where(out["herbicide"] != "", 0.0)
    ground = out["treated_ha"].where(out["treated_ha"] > 0)
    out["ae_kg_per_ha"] = (out["ae_kg"] / ground).fillna(0.0)
    return _dated(_follow_hours(out, rates, settings), chosen, rates)


def _recipe_of(spray: Spray) -> str:
    """Return the recipe of the first species of a spray."""
    return next((choice.recipe["recipe_id"] for _, choice in sorted(spray.choices.items())), "")


def _sprayed(rows: pd.DataFrame, chosen: dict[str, Spray], rates: Rates) -> dict[str, np.ndarray]:
    """Return mix and product [ml], acid equivalent [kg] and crown [m2] of a stem of each row."""
    spread = {
        "seedling": rates.figure("any", "seedling_crown_m").value,
        "resprout": rates.figure("any", "resprout_crown_m").value,
        "root_sucker": rates.figure("any", "sucker_crown_m").value,
    }
    mid = rates.sizes.set_index("size_class")["mid_cm"].astype(float)["under_1in"]
    thin = {
        species: max(float(crown_width_m(species, [mid], "stand", rates)[0]), spread["seedling"])
        for species in rows["species"].unique()
    }
    known, used = {}, rates.figure("follow_up", "dose_factor").value
    keys = rows[["strip_id", "species", "stage"]].drop_duplicates()
    for strip_id, species, stage in keys.itertuples(index=False):
        spray = chosen.get(strip_id)
        choice = spray.choices.get(species) if spray else None
        if choice is None:
            known[(strip_id, species, stage)] = (0.0, 0.0, 0.0, 0.0)
            continue
        wide = spread.get(stage, thin[species])
        dose = used * float(cover_dose_ml(wide, float(choice.recipe["l_per_ha_cover"])))
        product = dose * choice.percent / 100.0
        acid = product / 1000.0 * choice.known.product.ae_kg_per_l
        known[(strip_id, species, stage)] = (dose, product, acid, np.pi / 4.0 * wide**2)
    index = pd.MultiIndex.from_frame(rows[["strip_id", "species", "stage"]])
    table = pd.DataFrame.from_dict(known, orient="index")
    names = ("mix_ml", "product_ml", "ae_kg", "crown_m2")
    if not len(table):
        return {name: np.zeros(0) for name in names}
    table.index = pd.MultiIndex.from_tuples(table.index)
    found = table.reindex(index).to_numpy(dtype=float)
    return dict(zip(names, found.T, strict=True))


def _follow_hours(out: pd.DataFrame, rates: Rates, settings: Settings) -> pd.DataFrame:
    """Return follow-ups with hours and ranges.

    What may not be sprayed, or has no spray, is pulled or cut at the pace of hand work, a sprout
    by its nominal size; the search is the same.
    """
    spray = out["by_spray"].to_numpy(dtype=float)
    paced = out["job"].where(spray > 0, "hand_work")
    frame = out.drop(columns="by_spray").assign(machine_hours=0.0, paced_as=paced)
    nominal = rates.figure("hand_work", "sprout_cm").value
    by_hand_cm = frame["cm"] + frame["sprouts"] * nominal
    searched_ha = frame["area_ha"] + frame.get("ring_ha", 0.0)
    for end, item in ITEMS.items():
        names = ("base_s", "per_cm_s", "search_h_per_ha")
        pace = {
            job: [getattr(rates.figure(job, name), item) for name in names]
            for job in ("follow_up", "upkeep")
        }
        base, per_cm = (getattr(rates.figure("hand_work", name), item) for name in names[:2])
        each = np.array([pace[job] for job in frame["job"]], dtype=float).reshape(-1, 3)
        sprayed = frame["stems"] * each[:, 0] + frame["cm"] * each[:, 1]
        pulled = frame["stems"] * base + by_hand_cm * per_cm
        frame[f"seconds{end}"] = sprayed * spray + pulled * (1.0 - spray)
        frame[f"ground_h{end}"] = each[:, 2] * searched_ha * frame["pace"]
    return with_doses(with_hours(frame.drop(columns="sprouts"), rates, settings), rates)


def _dated(out: pd.DataFrame, chosen: dict[str, Spray], rates: Rates) -> pd.DataFrame:
    """Return follow-ups with their season (of the fitting ones the one with most hours)."""
    seasons = rates.seasons.sort_values("order")
    hours = dict(zip(seasons["season"], seasons.get("hours", seasons["order"]), strict=True))
    best = {
        strip: max(spray.seasons.split(), key=lambda name: hours[name], default="")
        for strip, spray in chosen.items()
    }
    out["season"] = out["strip_id"].map(best)
    return out[out["season"].fillna("") != ""].assign(cautions="")  # `with_cautions` fills them
