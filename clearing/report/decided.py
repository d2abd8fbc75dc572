"""Say what simple rules would cost, what would help most, and what to keep back."""

from typing import Any

import pandas as pd

from clearing.property import Results
from clearing.report import words
from clearing.report.facts import RuleFacts
from clearing.report.visit_facts import plain_rows, season_words
from clearing.report.year_facts import odds_said
from clearing.schedule.limits import limit_words
from clearing.schedule.prices import price_lines
from clearing.schedule.reserve import EIGHTY

WORTH_SAYING = 0.2  # odds of running over from here on are told; own choice
MOST_NAMED = 4  # seasons that a sentence names; own choice
SHORT = 0.05  # hours and dollars of shortfall that are not told; own choice
SMALL = 1.0  # dollars and hours that make no difference; own choice
FOLLOW_NOTE = "years of follow-up as in the middle"
HELP_NOTE = "Reckoned with strips that may be done in part, so only about, and for a small change."
RULE_NOTE = (
    "Each rule takes the strips in its order, at the earliest season that fits, by the cheapest "
    "way. Costs as the plan's: all years in today's money, own time at its worth, less what "
    "cleared ground brings."
)
RULES_KEEP_NONE = " The rules keep no reserve of hours and money; the plan does."
PROOF_NOTE = (
    "The proof that no plan is better holds for plans that keep the same hours and money back."
)


def rule_note(results: Results) -> str:
    """Return how simple rules are reckoned, and what they are not held to; blank without any.

    References
    ----------
    own reasoning
    """
    if not len(results.plan.thumb):
        return ""
    return RULE_NOTE + (RULES_KEEP_NONE if results.property.settings.keeps_reserve else "")


def rule_rows(results: Results) -> tuple[RuleFacts, ...]:
    """Return the plan and the simple rules beside it, in words.

    References
    ----------
    own reasoning
    """
    table = results.plan.thumb
    return tuple(_rule(row) for row in plain_rows(table)) if len(table) else ()


def _rule(row: dict[str, Any]) -> RuleFacts:
    """Return one rule in words."""
    plan, more = row["rule"] == "plan", float(row["more_than_plan"])
    extra = "" if plan else words.money(more) if abs(more) >= SMALL else "about the same"
    if not row["keeps_limits"]:
        extra = "does not fit"
    finish = row["finish_year"]
    waits = int(row["waiting"])
    return RuleFacts(
        rule=words.sentence(str(row["words"])),
        plan=plan,
        more=extra,
        cash=words.money(float(row["cash"])),
        hours=words.said(float(row["hours"])),
        finish="not all" if pd.isna(finish) else str(int(finish)),
        waits=f"{waits} {'strip waits' if waits == 1 else 'strips wait'}" if waits else "",
    )


def rule_sentence(results: Results) -> str:
    """Return by how much the plan is better than simple rules, in one sentence; blank without any.

    References
    ----------
    own reasoning
    """
    table = results.plan.thumb
    if not len(table):
        return ""
    rules = table[(table["rule"] != "plan") & table["keeps_limits"]]
    if not len(rules):
        return "No simple rule (worst block, nearest, smallest outliers first) keeps the limits."
    told, less = (
        [f"{row['words']} {words.money(abs(row['more_than_plan']))}" for row in plain_rows(rules)
         if sign * row["more_than_plan"] >= SMALL] for sign in (1.0, -1.0)
    )  # fmt: skip
    even = [row["words"] for row in plain_rows(rules) if abs(row["more_than_plan"]) < SMALL]
    parts = [f"simple rules would cost more here: {words.listed(told)}"] if told else []
    start = "" if told else "simple rules would cost "
    parts += [f"{start}less, {_for_less(results)}: {words.listed(less)}"] if less else []
    cost = "costs" if len(even) == 1 else "cost"
    parts += [f"{words.listed(even)} {cost} about the same"] if even else []
    return words.sentence("; ".join(parts)) + "."


def _for_less(results: Results) -> str:
    """Return why a simple rule may cost less than the plan."""
    if results.property.settings.keeps_reserve:
        return "since they keep no reserve"
    return "within the margin at which the planner stopped"


def help_lines(results: Results) -> tuple[str, ...]:
    """Return what one more crew day, or more money, would save; blank where nothing is scarce.

    References
    ----------
    own reasoning
    """
    return price_lines(results.plan.prices)


def risk_lines(results: Results) -> tuple[str, ...]:
    """Return the seasons and years that may well run over, the likeliest first.

    References
    ----------
    own reasoning
    """
    odds = results.plan.odds
    if not len(odds):
        return ()
    high = odds[odds["odds_over"] >= WORTH_SAYING].sort_values(
        ["odds_over", "year"], ascending=[False, True], kind="stable"
    )
    hours = high[(high["kind"] == "hours") & (high["season"] != "")]
    money = high[high["kind"] == "money"]
    by_then = " by then" if results.property.settings.money.carry_over else ""
    out = [_over("more hours than there are", hours, results),
           _over(f"more money than there is{by_then}", money, results)]  # fmt: skip
    return tuple(line for line in out if line)


def _over(what: str, rows: pd.DataFrame, results: Results) -> str:
    """Return the odds of some seasons or years in one sentence."""
    told = [f"{_when(row, results)} {odds_said(float(row['odds_over']))}"
            for row in plain_rows(rows.head(MOST_NAMED))]  # fmt: skip
    left = len(rows) - len(told)
    told += [f"{left} more at about 1 in 5 or likelier"] if left else []
    return f"Odds of needing {what}: {words.listed(told)} ({FOLLOW_NOTE})." if told else ""


def cascade_lines(results: Results) -> tuple[str, ...]:
    """Return how far the forecast of the whole plan lies from the follow-ups that were planned.

    References
    ----------
    own reasoning
    """
    found = results.plan.cascades
    if not found:
        return ()
    planned, foretold = found["planned_hours"], found["foretold_hours"]
    off = foretold - planned
    if words.said(planned) == words.said(foretold):
        return (
            "Seed that travels on from strip to strip hardly changes the follow-ups "
            f"(about {words.said(planned)} hours).",
        )
    less = "more" if off > 0 else "less"
    return (
        f"Follow-ups take {words.said(planned)} hours in the plan; with seed that travels on from "
        f"strip to strip the forecast makes it {words.said(foretold)}, {words.said(abs(off))} "
        f"{less} ({words.money(found['foretold_cost'])} for {words.money(found['planned_cost'])}).",
    )


def shortfall_lines(results: Results) -> tuple[str, ...]:
    """Return by how much work already begun passes what there is, a sentence a limit.

    References
    ----------
    own reasoning
    """
    table = results.plan.shortfall
    lines = []
    for row in plain_rows(table[table["amount"] > SHORT] if len(table) else table):
        what, _, when = limit_words(str(row["resource"])).partition(" in ")
        amount = float(row["amount"])
        many = words.money(amount) if what == "money" else f"{words.said(amount)} {what}"
        verb = "is" if what == "money" else "are"
        lines.append(f"work already begun needs {many} more than there {verb} in {when}")
    return tuple(lines)


def reserve_lines(results: Results) -> tuple[str, ...]:
    """Return what to keep back so that tight seasons and years hold 8 times in 10.

    Where the plan itself keeps a reserve, what its proof holds for as well.

    References
    ----------
    own reasoning
    """
    table = results.plan.reserve
    if not len(table):
        return ()
    proof = (PROOF_NOTE,) if results.property.settings.keeps_reserve else ()
    rows = table[(table["confidence"] - EIGHTY).abs() < 1e-9]
    tight = rows[~rows["holds"].astype(bool)]
    if not len(tight):
        hold = "Hours and money of every season and year hold at least 8 times in 10"
        return (f"{hold} ({FOLLOW_NOTE}).", *proof)
    tight = tight.assign(share=(tight["holds_with"] - tight["limit"]) / tight["limit"])
    most = tight.nlargest(MOST_NAMED, "share").sort_index()  # in the order of time
    told = [_short(row, results) for row in plain_rows(most)]
    left = len(tight) - len(told)
    told += [f"less in {left} more"] if left else []
    return (f"To hold 8 times in 10 there would have to be more: {words.listed(told)}.", *proof)


def _short(row: dict[str, Any], results: Results) -> str:
    """Return how much more a season or year would need, in words."""
    more = float(row["holds_with"]) - float(row["limit"])
    amount = words.money(more) if row["kind"] == "money" else f"{words.said(more)} hours"
    return f"{amount} in {_when(row, results)}"


def _when(row: dict[str, Any], results: Results) -> str:
    """Return a season and year, or a year, in words."""
    if not row["season"]:
        return str(int(row["year"]))
    return f"{season_words(results.rates, str(row['season']))[0]} {int(row['year'])}"
