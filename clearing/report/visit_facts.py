"""Put the visits of the plan into words and the owner's units."""

from dataclasses import dataclass
from typing import Any

import pandas as pd

from clearing.property import Results, Settings
from clearing.rates import Rates
from clearing.report import names, words
from clearing.report.batch_words import batch_words
from clearing.report.caution_facts import CautionWords
from clearing.report.facts import VisitFacts
from clearing.report.standing import UNCONFIRMED


@dataclass(frozen=True)
class Known:
    """What the words of visits are looked up in: recipes and seasons by their keys."""

    rates: Rates
    settings: Settings
    warn: CautionWords
    recipes: dict[str, dict[str, Any]]
    seasons: dict[str, tuple[str, str]]


def visit_rows(results: Results, visits: pd.DataFrame, run_off: bool = False) -> list[VisitFacts]:
    """Return visits in words, in the order of the year.

    References
    ----------
    own reasoning
    """
    if not len(visits):
        return []
    rates, settings = results.rates, results.property.settings
    order = season_order(rates)
    turn = {job: place for place, job in enumerate(names.JOBS)}  # marking comes first
    rows = sorted(
        plain_rows(visits),
        key=lambda row: (
            row["year"],
            order.get(row["season"], 0),
            str(row["strip_id"]),
            turn.get(row["job"], len(turn)),
            str(row["visit_id"]),
        ),
    )
    known = Known(
        rates,
        settings,
        CautionWords(results),
        {row["recipe_id"]: row for row in plain_rows(rates.recipes)},
        {row["season"]: season_words(rates, row["season"]) for row in plain_rows(rates.seasons)},
    )
    return [_visit(row, known, confirmed_names(rates), run_off) for row in rows]


def confirmed_names(rates: Rates) -> frozenset[str]:
    """Return the names of the products whose label the owner has confirmed.

    References
    ----------
    own reasoning
    """
    return frozenset(product.name for product in rates.products if product.confirmed)


def season_order(rates: Rates) -> dict[str, int]:
    """Return each season's place in the year.

    References
    ----------
    own reasoning
    """
    table = rates.seasons
    return dict(zip(table["season"].astype(str), table["order"].astype(int), strict=True))


def season_words(rates: Rates, key: str) -> tuple[str, str]:
    """Return a season's label and its months in words; the key itself when it is not known.

    References
    ----------
    own reasoning
    """
    found = plain_rows(rates.seasons[rates.seasons["season"] == key])
    if not found:
        return key.replace("_", " "), ""
    return str(found[0]["label"]), names.month_words(found[0]["months"])


def plain_rows(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a table as dictionaries.

    References
    ----------
    own reasoning
    """
    return [{str(name): cell for name, cell in row.items()} for row in table.to_dict("records")]


def blank(value: Any) -> str:
    """Return a cell as text, missing as an empty text.

    References
    ----------
    own reasoning
    """
    return "" if value is None or value is pd.NA or value != value else str(value)


def year_or_none(value: Any) -> int | None:
    """Return a year cell as a whole number, missing as none.

    References
    ----------
    own reasoning
    """
    return None if pd.isna(value) else int(value)


def _visit(
    row: dict[str, Any], known: Known, confirmed: frozenset[str], run_off: bool
) -> VisitFacts:
    """Return one visit in words; nothing tells the strength of an unconfirmed product."""
    us, season = known.settings.us, str(row["season"])
    label, months = known.seasons.get(season, (season.replace("_", " "), ""))
    herbicide = blank(row["herbicide"])
    ready = not herbicide or herbicide in confirmed
    mix = _volume(row, "mix", us) if ready else None
    product = _volume(row, "product", us) if ready else None
    percent = 100.0 * row["product_l"] / row["mix_l"] if mix is not None else 0.0
    recipe = known.recipes.get(blank(row["recipe_id"]), {})
    carrier = _carrier(recipe) if ready else ""
    bottle = (known.warn.products.get(herbicide), str(recipe.get("carrier", "water")))
    return VisitFacts(
        visit_id=str(row["visit_id"]),
        strip_id=str(row["strip_id"]),
        block_id=str(row["block_id"]),
        year=int(row["year"]),
        season=label,
        season_key=str(row["season"]),
        when=f"{label} {int(row['year'])}",
        months=months,
        job=names.plain(names.JOBS, row["job"]),
        job_key=str(row["job"]),
        herbicide=names.herbicide_name(herbicide),
        herbicide_key=herbicide,
        stems=words.stems(row["stems"], row["stems"], row["stems"]).short if row["stems"] else "",
        hours=words.hours(row["hours"], row["hours_low"], row["hours_high"]),
        machine_hours=f"{words.said(row['machine_hours'])} mower hours"
        if row["machine_hours"]
        else "",
        mix=mix,
        product=product,
        mix_words=_mix_words(herbicide, mix, product, strength_words(percent, carrier)),
        cost=words.cost(row["cost"], row["cost_low"], row["cost_high"]),
        percent=percent,
        carrier=carrier,
        parts=_parts(row),
        rounds=batch_words(row, bottle, known.rates, known.settings) if ready else "",
        waits=_waits(row),
        cautions=known.warn.of(row),
        confirmed=ready,
        run_off=run_off,
    )


PARTS = {
    "stem_hours": "at the stems",
    "walk_hours": "walking and looking",
    "refill_hours": "refilling",
    "way_in_hours": "on the way in and out",
    "setup_hours": "setting up and cleaning",
    "break_hours": "resting",
    "idle_hours": "waiting for the saw",
}
MONEY = {
    "wages": "wages",
    "product_cost": "herbicide and its oil",
    "machine_cost": "machines and fuel",
    "other_cost": "seed and contractors",
}
UNDILUTED = 99.5  # percent from which a mix is told as undiluted; own choice
SMALL_PART = 0.05  # a part under this share of the whole is not told; own choice
SMALL_HOURS = 0.25  # nor one under a quarter of an hour; own choice


def _parts(row: dict[str, Any]) -> str:
    """Return what hours and cost are made of, the larger parts first."""
    hours, cost = float(row["hours"]), float(row["cost"])
    times = sorted(((float(row[name]), said) for name, said in PARTS.items()), reverse=True)
    told = [
        f"{words.said(value)} h {said}"
        for value, said in times
        if value > max(SMALL_PART * hours, SMALL_HOURS)
    ]
    sums = sorted(((float(row[name]), said) for name, said in MONEY.items()), reverse=True)
    paid = [f"{words.money(value)} {said}" for value, said in sums if value > SMALL_PART * cost]
    their = float(row["their_hours"])
    theirs = [f"a contractor's work of about {words.said(their)} h"] if their > 0 else []
    first = words.listed(told) if len(told) > 1 else ""
    second = words.listed(paid) if len(paid) > 1 else ""
    parts = [text for text in (first, second, *theirs) if text]
    return words.sentence("; ".join(parts)) + "." if parts else ""


def _waits(row: dict[str, Any]) -> str:
    """Return how long stock and hay wait by the label, in words."""
    told = []
    for column, what in (("stock_wait_days", "stock stays off"), ("hay_wait_days", "hay waits")):
        days = row.get(column)
        if days is not None and days == days and days > 0:
            told.append(f"{what} {words.said(float(days))} days")
    return f"After it, as the label asks: {words.listed(told)}." if told else ""


def _volume(row: dict[str, Any], what: str, us: bool) -> words.Amount | None:
    """Return mix or product of a visit, none where nothing is sprayed."""
    three = (row[f"{what}_l"], row[f"{what}_low_l"], row[f"{what}_high_l"])
    return words.volume(three, us) if three[0] > 0 else None


def strength_words(percent: float, carrier: str) -> str:
    """Return a strength and what carries it, such as 20 % in oil; blank without product.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> strength_words(50.0, "water"), strength_words(100.0, "water with 0.5 % surfactant")
    ('50 % in water', 'undiluted')
    """
    if percent <= 0:
        return ""
    if percent >= UNDILUTED:
        return "undiluted"
    return f"{words.said(percent)} % in {carrier or 'water'}"


def _carrier(recipe: dict[str, Any]) -> str:
    """Return what a recipe is mixed into, and its surfactant; water if not said, blank for none."""
    if not recipe:
        return ""
    carrier = "oil" if recipe["carrier"] == "oil" else "water"
    surfactant = float(recipe["surfactant_percent"])
    return carrier + (f" with {surfactant:g} % surfactant" if surfactant > 0 else "")


def _mix_words(
    herbicide: str, mix: words.Amount | None, product: words.Amount | None, strength: str
) -> str:
    """Return mix and product of a visit in one sentence, or what to confirm first."""
    if not herbicide:
        return ""
    name = names.herbicide_name(herbicide)
    if mix is None or product is None:
        return f"{words.sentence(name)}: {UNCONFIRMED}."
    return f"{words.sentence(mix.words)} of mix, with {product.short} of {name} in it: {strength}."
