"""Tell a visit's mix apart by species: which strength for which, and what share of it is whose."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from clearing.allometry import crown_width_m
from clearing.effort.follow import SMALL, Spray, sprays
from clearing.property import Results
from clearing.report.ahead import chosen_futures
from clearing.report.strength_parts import LATER, Part, one_part
from clearing.report.visit_facts import plain_rows

WIDTHS = {  # stage -> the handbook's width of its crown
    "seedling": "seedling_crown_m", "resprout": "resprout_crown_m",
    "root_sucker": "sucker_crown_m",
}  # fmt: skip


def parts_of(results: Results) -> dict[str, tuple[Part, ...]]:
    """Return the strengths of every visit that sprays, visit to parts.

    A first treatment has one; a follow-up one for each species that is sprayed, weighed by the
    ground under its small stems.

    Parameters
    ----------
    results : Results
        What the walk gave.

    References
    ----------
    own reasoning
    """
    visits = results.plan.visits
    if not len(visits):
        return {}
    recipes = {str(row["recipe_id"]): row for row in plain_rows(results.rates.recipes)}
    whose = _treated(results)
    rows = plain_rows(visits[visits["mix_l"] > 0])
    later = [row for row in rows if row["job"] in LATER]
    known = _sprays(results) if later else {}
    weights = _weights(results, known) if known else {}
    out: dict[str, tuple[Part, ...]] = {}
    for row in rows:
        spray = known.get(str(row["strip_id"]))
        if row["job"] in LATER and spray and spray.product == row["herbicide"]:
            shares = weights.get((str(row["strip_id"]), int(row["year"])), {})
            parts = _each(spray, shares)
        else:
            parts = ()
        alone = one_part(row, recipes)
        species = whose.get((row["strip_id"], row["job"], row["herbicide"], alone.percent), ())
        whole = Part(species, alone.percent, alone.carrier, alone.surfactant_percent,
                     alone.recipe_id)  # fmt: skip
        out[str(row["visit_id"])] = parts or (whole,)
    return out


def _treated(results: Results) -> dict[tuple[str, str, str, float], tuple[str, ...]]:
    """Return the species that the chosen methods treat: strip, job, product, percent."""
    methods, options = results.methods, results.plan.options
    needed = {"herbicide", "dose_ml", "product_ml", "species", "job"}
    if not len(options) or not needed <= set(methods.columns):
        return {}
    chosen = methods["strip_id"].map(options.set_index("strip_id")["method_id"])
    own = methods[(methods["method_id"] == chosen) & (methods["dose_ml"] > 0)]
    percent = (100.0 * own["product_ml"] / own["dose_ml"]).round(2)
    found: dict[tuple[str, str, str, float], set[str]] = {}
    for strip, job, product, share, species in zip(
        own["strip_id"], own["job"], own["herbicide"], percent, own["species"], strict=True
    ):
        found.setdefault((str(strip), str(job), str(product), float(share)), set()).add(species)
    return {key: tuple(sorted(own)) for key, own in found.items()}


def _sprays(results: Results) -> dict[str, Spray]:
    """Return the leaf spray of each strip's follow-ups, as they were reckoned."""
    if not {"method", "stems_high", "cautions"} <= set(results.methods.columns):
        return {}
    blocks = pd.DataFrame(results.blocks.drop(columns="geometry"))
    strips = pd.DataFrame(results.strips[["strip_id", "block_id"]])
    place = strips.merge(blocks, on="block_id").set_index("strip_id")
    return sprays(place, results.methods, results.rates)[0]


def _weights(
    results: Results, known: Mapping[str, Spray]
) -> dict[tuple[str, int], dict[str, tuple[float, float]]]:
    """Return mix and stems of each species in a follow-up: strip and year -> species -> both."""
    futures = chosen_futures(results)
    if not len(futures):
        return {}
    due = futures["work"].isin(LATER) & futures["stage"].isin(SMALL) & (futures["stems"] > 0)
    rates = results.rates
    widths = {stage: rates.figure("any", item).value for stage, item in WIDTHS.items()}
    mid = float(rates.sizes.set_index("size_class")["mid_cm"].astype(float)["under_1in"])
    thin: dict[str, float] = {}
    out: dict[tuple[str, int], dict[str, tuple[float, float]]] = {}
    for row in futures[due].itertuples():
        spray = known.get(str(row.strip_id))
        choice = spray.choices.get(str(row.species)) if spray else None
        if choice is None:
            continue
        species = str(row.species)
        if row.stage not in widths and species not in thin:
            grown = float(crown_width_m(species, [mid], "stand", rates)[0])
            thin[species] = max(grown, widths["seedling"])
        wide = widths.get(str(row.stage), thin.get(species, 0.0))
        dose = np.pi / 4.0 * wide**2 * float(choice.recipe["l_per_ha_cover"])
        own = out.setdefault((str(row.strip_id), int(row.year)), {})
        mix, stems = own.get(species, (0.0, 0.0))
        own[species] = (mix + float(row.stems) * dose, stems + float(row.stems))
    return out


def _each(spray: Spray, weights: Mapping[str, tuple[float, float]]) -> tuple[Part, ...]:
    """Return one part a species; where nothing tells their shares they share alike."""
    own = {name: weights[name] for name in sorted(spray.choices) if name in weights}
    own = own or dict.fromkeys(sorted(spray.choices), (1.0, 1.0))
    mix, stems = (sum(each[place] for each in own.values()) for place in (0, 1))
    out = []
    for name, (wet, many) in own.items():
        choice = spray.choices[name]
        out.append(Part(
            (name,), round(min(choice.percent, 100.0), 2), choice.carrier,
            float(choice.recipe["surfactant_percent"]), str(choice.recipe["recipe_id"]),
            wet / mix, many / stems,
        ))  # fmt: skip
    return tuple(out)
