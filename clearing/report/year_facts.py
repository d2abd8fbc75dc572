"""Put each year of the plan into words: work, hours, money and the odds of overrunning."""

from typing import Any

import pandas as pd

from clearing.property import Results, Settings
from clearing.report import names, words
from clearing.report.block_facts import their_hours
from clearing.report.facts import PurchaseFacts, StripFacts, VisitFacts, YearFacts
from clearing.report.strip_facts import total_cost, total_hours
from clearing.report.visit_facts import plain_rows, season_order

RARE = 0.005  # odds below this are said as hardly any
OVER = 1.0  # dollars over a year's money that are told; own choice
NAMED = 4  # how many blocks a sentence names
NOTHING_TO_BUY = "none, stock is enough"


def year_rows(
    results: Results, strips: list[StripFacts], years: tuple[int, ...]
) -> list[YearFacts]:
    """Return the facts of every year of the plan.

    References
    ----------
    own reasoning
    """
    order = season_order(results.rates)
    visits = sorted(
        (visit for strip in strips for visit in strip.visits if not visit.run_off),
        key=lambda visit: (visit.year, order.get(visit.season_key, 0)),
    )
    by_year = {year: [visit for visit in visits if visit.year == year] for year in years}
    most = max([total_hours(part).high for part in by_year.values()] + [1e-9])
    return [_year(year, by_year[year], most, results, strips) for year in years]


def _year(
    year: int,
    visits: list[VisitFacts],
    most_hours: float,
    results: Results,
    strips: list[StripFacts],
) -> YearFacts:
    """Return the facts of one year."""
    hours, cost = total_hours(visits), total_cost(visits)
    odds, settings = _by_kind(results.plan.odds, year), results.property.settings
    there = _money_there_is(results, year, cost.value)
    return YearFacts(
        year=year,
        sentence=_sentence(year, visits, strips),
        hours=words.beside(hours, their_hours(results, "year", year)),
        hours_share=round(hours.value / most_hours, 3),
        hours_high_share=round(hours.high / most_hours, 3),
        cost=cost,
        hours_ready=f"{words.said(odds['hours']['be_ready_for'])} hours" if "hours" in odds else "",
        cost_ready=words.money(odds["money"]["be_ready_for"]) if "money" in odds else "",
        hours_limit=_hours_there_are(odds),
        cost_limit="" if there is None else words.money(there),
        cost_there=there,
        odds=tuple(_odds_words(kind, row, settings) for kind, row in odds.items()),
        visits=tuple(visits),
    )


def _by_kind(odds: pd.DataFrame, year: int) -> dict[str, dict[str, Any]]:
    """Return the odds of one whole year by kind (hours, money)."""
    whole = (odds["year"] == year) & (odds["season"] == "")
    rows = odds[whole & odds["kind"].isin(["hours", "money"])]
    return {row["kind"]: row for row in plain_rows(rows)}


def _hours_there_are(odds: dict[str, dict[str, Any]]) -> str:
    """Return the hours there are in a year in words, blank when there is no limit."""
    if "hours" not in odds or pd.isna(odds["hours"]["limit"]):
        return ""
    return f"{words.said(odds['hours']['limit'])} hours"


def _money_there_is(results: Results, year: int, cost: float) -> float | None:
    """Return the money there is in a year [dollars], none when no budget was given.

    The year's budget, what earlier years left where it carries over, and what was paid back: the
    year's limit less what the plan uses of it, before the year's own cost.
    """
    settings = results.property.settings
    budgets = settings.money.budget_per_year
    if not budgets:
        return None
    limits = results.plan.limits
    own = limits[(limits["kind"] == "money") & (limits["year"] == year)]
    if not len(own):
        return budgets[min(year - settings.first_year, len(budgets) - 1)]
    return float((own["limit"] - own["used"]).sum()) + cost


def dear_containers(results: Results) -> tuple[str, ...]:
    """Return a sentence for each year whose containers to buy take more than its money.

    The plan's cash counts the product that is sprayed at its price, also what is on hand; what is
    bought comes in containers. cash = the plan's use of the money + containers - product counted,
    summed up to the year where money carries over.

    References
    ----------
    own reasoning
    """
    plan, carry = results.plan, results.property.settings.money.carry_over
    if not len(plan.visits) or not len(plan.limits):
        return ()
    own = plan.visits[~(plan.visits["their_hours"] > 0)]  # a contractor brings his own
    counted = own.groupby("year")["product_cost"].sum()
    bought = plan.purchases.groupby("year")["cost"].sum()
    lines, sum_more = [], 0.0
    for row in plain_rows(plan.limits[plan.limits["kind"] == "money"].sort_values("year")):
        year = int(row["year"])
        paid, product = float(bought.get(year, 0.0)), float(counted.get(year, 0.0))
        more = paid - product
        sum_more = more + (sum_more if carry else 0.0)
        over = float(row["used"]) + sum_more - float(row["limit"])
        if over >= OVER and more > 0:
            money = "the money there is by then" if carry else "the year's money"
            lines.append(
                f"{year}: the containers to buy cost {words.money(paid)}, the plan counts "
                f"{words.money(product)} of product; {words.money(over)} more than {money}"
            )
    return tuple(lines)


def _odds_words(kind: str, row: dict[str, Any], settings: Settings) -> str:
    """Return the odds of overrunning in a sentence."""
    share = float(row["odds_over"])
    by_then = " by then" if settings.money.carry_over else ""
    what = "the hours there are" if kind == "hours" else f"the money there is{by_then}"
    if pd.isna(row["limit"]):
        return f"No limit was given for {'hours' if kind == 'hours' else 'money'}."
    return f"Odds of needing more than {what}: {odds_said(share)}."


def odds_said(share: float) -> str:
    """Return a share of draws as odds in words.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> odds_said(0.31), odds_said(0.0), odds_said(0.02), odds_said(1.0)
    ('about 3 in 10', 'hardly any', 'about 1 in 50', 'nearly certain')
    """
    if share < RARE:
        return "hardly any"
    if share < 0.095:  # below 1 in 10 the number of tries is said
        return f"about 1 in {words.said(1 / share, 1)}"
    tenths = round(share * 10)
    return "nearly certain" if tenths == 10 else f"about {tenths} in 10"


def _sentence(year: int, visits: list[VisitFacts], strips: list[StripFacts]) -> str:
    """Return what happens in a year, in one sentence."""
    if not visits:
        return "No work."
    block_of = {strip.strip_id: strip.block_name for strip in strips}
    starts = {strip.strip_id for strip in strips if strip.start_year == year}
    begun = sorted({block_of[strip] for strip in starts})
    parts = []
    if begun:
        more = len(begun) - NAMED
        begun = [words.isolated(name) for name in begun]
        named = begun if more <= 1 else [*begun[:NAMED], f"{more} more blocks"]
        parts.append(f"work begins in {words.listed(named)}")
    for job, text in (("follow_up", "follow-up"), ("mow", "mowing"), ("upkeep", "upkeep")):
        count = len({visit.strip_id for visit in visits if visit.job_key == job})
        parts += [f"{text} in {count} {'strip' if count == 1 else 'strips'}"] if count else []
    if not parts:
        parts = list(dict.fromkeys(visit.job for visit in visits))
    return f"{words.sentence(words.listed(parts))}."


def purchase_rows(results: Results) -> list[PurchaseFacts]:
    """Return what to buy, year by year, in words; years whose stock is enough are left out.

    References
    ----------
    own reasoning
    """
    us, table = results.property.settings.us, results.plan.purchases
    rows = plain_rows(table.sort_values(["year", "herbicide"]))
    return [_purchase(row, us) for row in rows if row["buy"] or row["buy_ready"]]


def _purchase(row: dict[str, Any], us: bool) -> PurchaseFacts:
    """Return one herbicide of one year in words."""
    plan, ready = row["buy"] or NOTHING_TO_BUY, row["buy_ready"] or NOTHING_TO_BUY
    name = names.herbicide_name(row["herbicide"])
    about = "about " if "about" in row["buy"] else ""  # by the handbook's price of a litre
    cost = about + words.money(row["cost"])
    paid = f", {cost}" if row["buy"] else ""
    more = f"; be ready for {ready}" if row["buy_ready"] != row["buy"] else ""
    old = f"; {row['spoils']}" if row["spoils"] else ""
    return PurchaseFacts(
        year=int(row["year"]),
        herbicide=name,
        herbicide_key=row["herbicide"],
        plan_on=words.volume((row["product_l"],) * 3, us).short,
        be_ready_for=words.volume((row["product_high_l"],) * 3, us).short,
        containers=plan,
        containers_ready=ready,
        cost=cost,
        sentence=f"{int(row['year'])}, {name}: {plan}{paid}{more}{old}.",
    )
