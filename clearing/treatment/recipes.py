"""Find the whole recipe for a species, a job and a product; rows are never crossed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from clearing.rates import Rates
from clearing.treatment.limits import recipe_over
from clearing.treatment.products import Known, product_percent, too_weak

HALF = 0.5  # a season fits a window when at least this share of its open months lies in it
EVEN = 0.02  # kills that differ by less count as even, and the weaker mix is taken; own choice


@dataclass(frozen=True)
class Choice:
    """A recipe with the owner's product that carries it, its percent and the seasons it fits.

    ``carrier`` is the recipe's (water, oil, none), or water where an undiluted recipe has to be
    diluted because the owner's product is stronger than the handbook's.
    """

    recipe: dict[str, Any]
    known: Known
    percent: float
    seasons: str
    carrier: str = "water"

    def fits(self, dbh_cm: float) -> bool:
        """Return whether the recipe is meant for stems of this diameter [cm]."""
        least, most = self.recipe["min_dbh_cm"], self.recipe["max_dbh_cm"]
        return bool((dbh_cm >= least or least != least) and (dbh_cm <= most or most != most))


Book = dict[tuple[str, str], list[Choice]]


def recipe_book(
    species: Sequence[str], products: list[Known], rates: Rates
) -> tuple[Book, list[str]]:
    """Return the choices of each species and job, and a sentence for each that is left out.

    A species' own recipe for a job and product stands before the one of any; recipes below the
    least kill, and those whose months fit no open season, are left out.

    Parameters
    ----------
    species : sequence of str
        The owner's species.
    products : list of Known
        What may be used.
    rates : Rates
        Recipes, seasons, the figure ``least_kill``.

    References
    ----------
    own reasoning; each recipe carries its own source
    """
    asked = (list(species), products)
    known = rates.kept.setdefault("recipe_book", [])
    for before, answer in known:
        if before == asked:
            return answer  # type: ignore[no-any-return]
    known.append((asked, _made(species, products, rates)))
    return known[-1][1]  # type: ignore[no-any-return]


def _made(species: Sequence[str], products: list[Known], rates: Rates) -> tuple[Book, list[str]]:
    """Return the book, worked out."""
    by_key: dict[tuple[str, str, str], list[dict[str, Any]]] = {}
    for row in rates.recipes.to_dict("records"):
        recipe = {str(key): value for key, value in row.items()}
        by_key.setdefault((recipe["species"], recipe["method"], recipe["herbicide"]), []).append(
            recipe
        )
    least = rates.figure("any", "least_kill").value
    book: Book = {}
    left_out: list[str] = []
    for name in species:
        for job in dict.fromkeys(rates.recipes["method"]):
            for known in products:
                rows = by_key.get((rates.handbook_species(name), job, known.key))
                rows = rows or by_key.get(("any", job, known.key), [])
                good = [recipe for recipe in rows if recipe["kill"] >= least]
                if rows and not good and known.fits_job(job):
                    kill = max(recipe["kill"] for recipe in rows)
                    left_out.append(
                        f"{job} with {known.name} on {name} is not offered: the handbook's kill is "
                        f"{100 * kill:.0f} %, under {100 * least:.0f} %"
                    )
                fitting, over = _choices(good, known, name, rates)
                book.setdefault((name, job), []).extend(fitting)
                left_out += [f"{job} with {known.name} on {name}: {why}" for why in over]
    return book, left_out


def best(choices: Sequence[Choice]) -> Choice | None:
    """Return the choice that kills most; of even ones the weaker mix, then by name.

    References
    ----------
    own reasoning
    """
    if not choices:
        return None
    top = max(choice.recipe["kill"] for choice in choices)
    even = [choice for choice in choices if choice.recipe["kill"] >= top - EVEN]
    return min(even, key=lambda each: (each.percent, each.known.name, each.recipe["recipe_id"]))


def open_seasons(seasons: pd.DataFrame, months: str = "") -> str:
    """Return the seasons with open months and hours that fit a window, space separated.

    Parameters
    ----------
    seasons : DataFrame
        season, months (tuple of int or text), hours where known.
    months : str
        The window, space separated; blank = all year.

    References
    ----------
    own reasoning
    """
    window = {int(month) for month in str(months).split()}
    fitting = []
    for row in seasons.to_dict("records"):
        own = row["months"].split() if isinstance(row["months"], str) else row["months"]
        inside = [int(month) in window or not window for month in own]
        if inside and sum(inside) >= HALF * len(inside) and row.get("hours", 1.0) > 0:
            fitting.append(str(row["season"]))
    return " ".join(fitting)


def _choices(
    recipes: list[dict[str, Any]], known: Known, species: str, rates: Rates
) -> tuple[list[Choice], list[str]]:
    """Return the recipes that the label and the seasons let through, and why others are out."""
    found, over = [], []
    for recipe in recipes:
        months = rates.window(recipe["months"], recipe["method"], species)
        seasons = open_seasons(rates.seasons, months)
        if not seasons or not known.fits_job(recipe["method"]):
            continue
        asked = recipe["percent"], known.key, known.product, rates
        percent, weak = product_percent(*asked), too_weak(*asked)
        clause = "" if weak else recipe_over(recipe, known, percent, rates)
        if weak:
            over.append(f"not offered: {weak}")
        elif clause:
            over.append(f"{percent:g} % is not offered; the limit is: {clause}")
        else:
            found.append(Choice(recipe, known, percent, seasons, _carrier(recipe, percent)))
    return found, over


def _carrier(recipe: dict[str, Any], percent: float) -> str:
    """Return what the mix is made up with: the recipe's, or water where it has to be diluted."""
    carrier = str(recipe["carrier"])
    return "water" if carrier == "none" and percent < 100.0 else carrier
