"""Turn property.toml into settings in metric, with every problem named at once."""

import datetime
from typing import Any

from clearing.asking import Asker, listed
from clearing.own_crew import CREW_KEYS, own_crew
from clearing.own_products import MUCH, own_product, yes
from clearing.own_seasons import months_of, own_seasons
from clearing.property import (
    PRICE_UNITS,
    TRADES,
    Money,
    Settings,
    trade_of,
)
from clearing.tables import did_you_mean
from clearing.units import HA_PER_ACRE, L_PER_GAL, METRIC_TWIN

KEYS = {
    "property": ["name", "region", "units", "first_year", "years"],
    "targets": ["species"],
    "species": [],
    "crew": [*CREW_KEYS],
    "contractor": [],
    "money": [
        "budget_per_year", "carry_over", "discount_rate", "mower_per_hour",
        "mower_hours_a_season", "oil_per_gal", "oil_per_l", "value_per_acre_year",
        "value_per_ha_year",
    ],
    "cost_share": [
        "name", "dollars_per_acre", "dollars_per_ha", "finish_by", "goals", "blocks", "notes",
    ],
    "strips": ["acres", "hectares"],
    "season": ["name", "months", "work_days"],
    "plots": [
        "radius_ft", "radius_m", "small_radius_ft", "small_radius_m", "small_below_in",
        "small_below_cm",
    ],
    "herbicide": [
        "active_ingredient", "lb_ae_per_gal", "kg_ae_per_l", "price", "container_gal",
        "container_l", "on_hand_gal", "on_hand_l", "on_hand_counted", "registration", "date",
        "sites", "methods", "limits", "confirmed", "shelf_years",
    ],
    "plan": [
        "done_when", "clear_by", "before", "most_blocks_a_season", "most_products_a_year",
        "confidence", "seed", "grass",
    ],
    "closed_months": [],
}  # fmt: skip
MANY = ("species", "herbicide")  # tables of tables: [herbicide.NAME]
LISTS = ("cost_share", "season")  # arrays of tables: [[season]]
# own choices where the owner says nothing; the report names each that was used
YEARS, STRIP_ACRES, SEEDLINGS_PER_ACRE = 6, 3.0, 40.0
VALUE_PER_ACRE = {"pasture": 60.0, "silvopasture": 50.0, "woodland": 20.0}
GOALS = ("pasture", "silvopasture", "woodland")
DONE_WHEN = ("stems_over_1in", "stems_over_25mm", "seedlings_per_acre", "seedlings_per_ha")
WITHOUT_STEMS = ("mowing", "seeding", "marking")  # trades that work ground, not stem by stem
REGIONS = ("upper_south", "southeast", "midwest", "northeast", "gulf_coast", "plains", "west")


def settings_from(raw: dict[str, Any]) -> tuple[Settings | None, list[str]]:
    """Return the settings of a parsed property.toml, and every problem in it.

    Parameters
    ----------
    raw : dict
        As tomllib reads the file.

    Returns
    -------
    Settings or None
        None when there are problems.
    list of str
        Problems, each naming the key, what was found and what would be right.

    References
    ----------
    own reasoning
    """
    ask = Asker(raw)
    for section in KEYS.keys() - set(LISTS) - {"closed_months"}:
        ask.table(section)  # notes what is no table
    unknown = _unknown_keys(raw)
    targets = ask.names("targets", "species")
    if not targets:
        ask.problems.append(
            "property.toml: [targets] species lists nothing; name at least one tree"
        )
    first_year = ask.number("property", "first_year", low=1990, high=2200, whole=True)
    if first_year is None and "first_year" not in ask.table("property"):
        ask.problems.append("property.toml: [property] first_year is missing; write a year")
    years = ask.number("property", "years", low=1, high=40, default=YEARS, whole=True)
    years = int(years or YEARS)
    species = {name: ask.table("species", name) for name in ask.table("species")}
    herbicides = [own_product(name, ask) for name in ask.table("herbicide")]
    seasons = own_seasons(ask)
    settings = Settings(
        name=ask.text("property", "name", default="My place"),
        region=ask.choice("property", "region", choices=REGIONS, default=REGIONS[0]),
        units=ask.choice("property", "units", choices=("us", "metric"), default="us"),
        first_year=int(first_year or 0),
        years=years,
        targets=tuple(targets),
        species=species,
        crew=own_crew(ask, {season.label: season.name for season in seasons}),
        contractor=_contractor(ask),
        hires=_hires(ask),
        money=_money(ask, years),
        cost_share=tuple(_cost_share(ask)),
        strip_ha=_strip_ha(ask),
        seasons=tuple(seasons),
        closed_months=_closed_months(ask),
        herbicides=tuple(product for product in herbicides if product is not None),
        **_plot_sizes(ask),
        **_plan(ask, (int(first_year or 1990), int(first_year or 1990) + years - 1)),
        defaulted=tuple(ask.defaulted),
    )
    problems = list(dict.fromkeys(unknown + ask.problems))
    return (None if problems else settings), problems


def _unknown_keys(raw: dict[str, Any]) -> list[str]:
    """Return a sentence for every section and key that is not known."""
    problems = []
    for section, body in raw.items():
        if section not in KEYS:
            problems.append(
                f"property.toml: [{section}] is not known{did_you_mean(section, KEYS)}; "
                f"sections are {', '.join(KEYS)}"
            )
            continue
        if section in MANY:
            entries = list(body.items()) if isinstance(body, dict) else []
        elif section in LISTS and isinstance(body, list):
            entries = [(section, entry) for entry in body]
        else:
            entries = [(section, body)]
        for name, entry in entries:
            if not isinstance(entry, dict) or not KEYS[section]:
                continue
            where = f"[{section}.{name}]" if section in MANY else f"[{section}]"
            where = f"[[{section}]]" if section in LISTS else where
            problems += [
                f"property.toml: {where} {key} is not known{did_you_mean(key, KEYS[section])}"
                for key in entry
                if key not in KEYS[section]
            ]
    return problems


def _contractor(ask: Asker) -> dict[str, float]:
    """Return the prices that a contractor named, by trade and unit."""
    prices: dict[str, float] = {}
    known = [
        f"{trade}_{unit}" for trade in TRADES for unit in PRICE_UNITS
        if unit != "per_stem" or trade not in WITHOUT_STEMS
    ]  # fmt: skip
    for key, found in ask.table("contractor").items():
        trade, unit = trade_of(key)
        if key == "hires":
            continue
        if not trade:
            near = did_you_mean(key, known)
            right = f"jobs are {', '.join(TRADES)}, units {', '.join(PRICE_UNITS)}"
            ask.wrong(("contractor", key), found, f"write a job and its unit{near}; {right}")
        elif unit == "per_stem" and trade in WITHOUT_STEMS:
            right = f"{trade} is priced by ground or time: {trade}_per_acre or {trade}_per_hour"
            ask.wrong(("contractor", key), found, f"write another unit; {right}")
        elif trade in {trade_of(other)[0] for other in prices}:
            ask.wrong(("contractor", key), found, f"{trade} has a price already; keep one")
        else:
            prices[key] = ask.number("contractor", key, low=0, high=MUCH) or 0.0
    return prices


def _hires(ask: Asker) -> tuple[str, ...]:
    """Return the trades that the owner gives away; each needs a price."""
    hires = ask.names("contractor", "hires")
    priced = {trade_of(key)[0] for key in ask.table("contractor")}
    for name in hires:
        right = f"give its price too, such as {name}_per_acre"
        if name not in TRADES:
            right = f"write jobs out of {', '.join(TRADES)}{did_you_mean(name, TRADES)}"
        if name not in priced:
            ask.wrong(("contractor", "hires"), name, right)
    return tuple(hires)


def _cost_share(ask: Asker) -> list[dict[str, object]]:
    """Return the programs that pay some of the cost back, in dollars a hectare."""
    programs: list[dict[str, object]] = []
    for number, entry in enumerate(ask.tables("cost_share"), start=1):
        name = str(entry.get("name") or f"program {number}")
        own = Asker({name: entry})
        per_ha = own.number(name, "dollars_per_ha", low=0, high=MUCH)
        per_acre = own.number(name, "dollars_per_acre", low=0, high=MUCH)
        if ("dollars_per_ha" in entry) == ("dollars_per_acre" in entry):
            right = "write what it pays, either an acre or a hectare"
            own.wrong((name, "dollars_per_acre"), entry.get("dollars_per_acre"), right)
        goals = own.names(name, "goals")
        for goal in goals:
            if goal not in GOALS:
                own.wrong((name, "goals"), goal, f"write goals out of {', '.join(GOALS)}")
        paid = per_ha if per_ha is not None else (per_acre or 0.0) / HA_PER_ACRE
        programs.append({
            "name": name, "dollars_per_ha": paid, "goals": tuple(goals),
            "blocks": tuple(str(block) for block in listed(entry.get("blocks", []))),
            "finish_by": _date(own, name), "notes": str(entry.get("notes", "")),
        })  # fmt: skip
        lead = f"property.toml: [[cost_share]] {name}: "
        ask.problems += [text.replace(f"property.toml: [{name}] ", lead) for text in own.problems]
    return programs


def _date(own: Asker, name: str) -> datetime.date | None:
    """Return the last date of a program: a date, a year, or none."""
    found = own.table(name).get("finish_by")
    if isinstance(found, int) and not isinstance(found, bool) and 1990 <= found <= 2200:
        return datetime.date(found, 12, 31)
    return own.day(name, "finish_by", such="2031-12-31")


def _money(ask: Asker, years: int) -> Money:
    """Return what may be spent, by year."""
    budget = ask.numbers("money", "budget_per_year", low=0, high=MUCH)
    if len(budget) == 1:
        budget = budget * years
    per_ha = {goal: value / HA_PER_ACRE for goal, value in VALUE_PER_ACRE.items()}
    per_acre, metric = (
        ask.named_numbers("money", f"value_per_{unit}_year", low=0, high=MUCH, names=GOALS)
        for unit in ("acre", "ha")
    )
    for goal in per_acre.keys() & metric.keys():
        right = f"value_per_ha_year names {goal} too; keep one of them"
        ask.wrong(("money", "value_per_acre_year", goal), per_acre[goal], right)
    per_ha |= {goal: value / HA_PER_ACRE for goal, value in per_acre.items()} | metric
    return Money(
        budget_per_year=budget,
        carry_over=yes(ask, "money", "carry_over"),
        discount_rate=ask.number("money", "discount_rate", low=0, high=0.5, default=0.04) or 0.0,
        mower_per_hour=ask.number("money", "mower_per_hour", low=0, high=10_000),
        mower_hours_a_season=ask.number("money", "mower_hours_a_season", low=0, high=MUCH),
        oil_per_l=_oil_per_l(ask),
        value_per_ha_year=per_ha,
    )


def _oil_per_l(ask: Asker) -> float | None:
    """Return what a liter of oil for mixing costs [dollars]; none where nothing is said."""
    by_gal, by_l = (
        ask.number("money", f"oil_per_{unit}", low=0, high=10_000) for unit in ("gal", "l")
    )
    if by_gal is not None and by_l is not None:
        ask.wrong(("money", "oil_per_l"), by_l, "oil_per_gal is given too; keep one of them")
    return by_l if by_gal is None else by_gal / L_PER_GAL


def _strip_ha(ask: Asker) -> float:
    """Return the wished area of a strip [ha]."""
    if "hectares" in ask.table("strips"):
        return ask.number("strips", "hectares", low=0.05, high=100) or 1.0
    acres = ask.number("strips", "acres", low=0.1, high=250, default=STRIP_ACRES)
    return (acres or STRIP_ACRES) * HA_PER_ACRE


def _closed_months(ask: Asker) -> tuple[int, ...]:
    """Return the months in which nothing is done."""
    found = ask.raw.get("closed_months", [])
    months = months_of(found)
    if months is None:
        ask.wrong(("closed_months",), found, "write a list of months from 1 to 12")
    if len(set(months or ())) == 12:
        ask.wrong(("closed_months",), found, "leave at least one month open")
    return months or ()


def _plot_sizes(ask: Asker) -> dict[str, Any]:
    """Return the sizes that hold for plots which state none, in metric."""
    out: dict[str, Any] = {}
    for key, value in ask.named_numbers("plots", low=0.01, high=300).items():
        stem, _, suffix = key.rpartition("_")
        metric, factor = METRIC_TWIN.get(suffix, (suffix, 1.0))
        name = f"plot_{stem}_{metric}" if stem == "radius" else f"{stem}_{metric}"
        if f"{stem}_{suffix}" in KEYS["plots"]:
            out[name] = value * factor
    return out


def _plan(ask: Asker, span: tuple[int, int]) -> dict[str, Any]:
    """Return the wishes for the plan, which reaches from one year to another."""
    done = ask.named_numbers("plan", "done_when", low=0, high=1e6, names=DONE_WHEN)
    for one, two in (DONE_WHEN[:2], DONE_WHEN[2:]):
        if {one, two} <= set(done):
            right = f"{two} is given too; keep one of them"
            ask.wrong(("plan", "done_when", one), done[one], right)
    seedlings = done.get("seedlings_per_acre", SEEDLINGS_PER_ACRE) / HA_PER_ACRE
    thick = done.get("stems_over_1in", 0.0) / HA_PER_ACRE
    before = ask.given(("plan", "before"), None)
    pairs = [] if before is None else listed(before)
    if not all(isinstance(pair, list) and len(pair) == 2 for pair in pairs):
        ask.wrong(("plan", "before"), before, 'write pairs of blocks such as [["2", "5"]]')
        pairs = []
    circle = in_a_circle([(str(one), str(two)) for one, two in pairs])
    if circle:
        right = f"it goes in a circle ({' before '.join(circle)}); take one of these wishes out"
        ask.wrong(("plan", "before"), before, right)

    def whole(key: str, low: float, high: float) -> int | None:
        found = ask.number("plan", key, low=low, high=high, whole=True)
        return None if found is None else int(found)

    return {
        "stems_over_1in": done.get("stems_over_25mm", thick),
        "seedlings_per_ha": done.get("seedlings_per_ha", seedlings),
        "clear_by": whole("clear_by", *span),
        "before": tuple((str(one), str(two)) for one, two in pairs),
        "most_blocks_a_season": whole("most_blocks_a_season", 1, 1000),
        "most_products_a_year": whole("most_products_a_year", 1, 100),
        "grass": ask.choice("plan", "grass", choices=("cool", "warm"), default="cool"),
        "confidence": ask.number("plan", "confidence", low=0.5, high=0.999) or 0.9,
        "keeps_reserve": ask.given(("plan", "confidence"), None) is not None,
        "seed": int(ask.number("plan", "seed", low=0, high=2**31, default=1, whole=True) or 0),
    }


def in_a_circle(pairs: list[tuple[str, str]]) -> list[str]:
    """Return blocks of which each has to come before the next and the last before the first.

    References
    ----------
    own reasoning
    """
    after: dict[str, set[str]] = {}
    for one, two in pairs:
        after.setdefault(one, set()).add(two)
    for start in after:
        paths = [[start]]
        seen: set[str] = set()
        while paths:
            path = paths.pop()
            for then in sorted(after.get(path[-1], ())):
                if then == start:
                    return [*path, start]
                if then not in seen:
                    seen.add(then)
                    paths.append([*path, then])
    return []
