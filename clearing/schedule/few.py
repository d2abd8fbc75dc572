"""Hold the plan to few kinds of product a year, and to few blocks a season."""

from dataclasses import dataclass

import pandas as pd

from clearing.effort.balance import LATER
from clearing.property import Settings
from clearing.rates import Rates

OPENING = 1.0  # dollars: of two even plans the one that opens no new kind; own choice
NAMES = {"options": ["group", "option", "cost"],
         "uses": ["group", "option", "resource", "amount"],
         "limits": ["resource", "kind", "year", "season", "low", "high"]}  # fmt: skip
Tables = tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]


@dataclass(frozen=True)
class Few:
    """Return a wish for few kinds at a time, and the tables that hold a plan to it.

    Attributes
    ----------
    word : str
        What is counted: products, blocks.
    used : DataFrame
        option_id, strip_id, kind, period (names the time), year, season.
    options, uses, limits : DataFrame
        What the core takes: one group a kind and time, with the options yes and no; a strip's
        option may use a kind only where yes is chosen (sum of the strip's options <= yes), and the
        yeses of a time are at most as many as wished.
    """

    word: str
    used: pd.DataFrame
    options: pd.DataFrame
    uses: pd.DataFrame
    limits: pd.DataFrame

    def opened(self, chosen: pd.DataFrame) -> pd.DataFrame:
        """Return yes or no of each kind and time for a choice of the strips: group, option."""
        used = self.used[self.used["option_id"].isin(chosen["option"])]
        names = set(_name(self.word, used["period"], used["kind"]))
        groups = self.options["group"].drop_duplicates()
        said = groups + groups.isin(names).map({True: " yes", False: " no"})
        return pd.DataFrame({"group": groups, "option": said})


def few_products(visits: pd.DataFrame, rates: Rates, settings: Settings) -> Few:
    """Return the wish for few kinds of product a year; those on hand open free.

    Parameters
    ----------
    visits : DataFrame
        option_id, strip_id, year, herbicide, their_hours of the visits inside the plan's years.
    rates : Rates
        Products, for what is on hand.
    settings : Settings
        most_products_a_year; none = no rows.

    References
    ----------
    own reasoning
    """
    own = visits[(visits["herbicide"] != "") & ~(visits["their_hours"] > 0)]
    used = own[["option_id", "strip_id", "year"]].assign(
        kind=own["herbicide"], period=own["year"].astype(int).astype(str), season=""
    )
    on_hand = {product.name for product in rates.products if product.on_hand_l > 0}
    return _few("products", used, settings.most_products_a_year, on_hand)


def few_blocks(visits: pd.DataFrame, settings: Settings) -> Few:
    """Return the wish for a crew that is not scattered: few blocks with treatments in a season.

    Follow-ups, mowing, seeding and upkeep are short visits on a round and do not count.

    Parameters
    ----------
    visits : DataFrame
        option_id, strip_id, block_id, year, season, job, their_hours inside the plan's years.
    settings : Settings
        most_blocks_a_season; none = no rows.

    References
    ----------
    own reasoning
    """
    own = visits[~visits["job"].isin(LATER) & ~(visits["their_hours"] > 0)]
    used = own[["option_id", "strip_id", "year", "season"]].assign(
        kind=own["block_id"], period=own["year"].astype(int).astype(str) + " " + own["season"]
    )
    return _few("blocks", used, settings.most_blocks_a_season, set(own["block_id"]))


def _few(word: str, used: pd.DataFrame, most: int | None, free: set[str]) -> Few:
    """Return the tables for at most so many kinds at a time; opening one costs a token."""
    used = used.drop_duplicates().reset_index(drop=True)
    rows: dict[str, list[tuple[object, ...]]] = {name: [] for name in NAMES}
    at_once = used.groupby("period")["kind"].nunique().max() if len(used) else 0
    if most is not None and at_once > most:  # else it is kept whatever is chosen
        strips = used[["kind", "period", "year", "season", "strip_id"]].drop_duplicates()
        for (period, kind), own in strips.groupby(["period", "kind"], sort=True):
            group, opening = f"{word} {period} {kind}", 0.0 if kind in free else OPENING
            rows["options"] += [(group, f"{group} yes", opening), (group, f"{group} no", 0.0)]
            rows["uses"].append((group, f"{group} yes", f"{word} {period}", 1.0))
            for strip, year, season in own[["strip_id", "year", "season"]].itertuples(index=False):
                link = _link(word, period, kind, strip)
                rows["uses"].append((group, f"{group} yes", link, -1.0))
                rows["limits"].append((link, word, int(year), season, None, 0.0))
        for period, own in strips.groupby("period", sort=True):
            year, season = own[["year", "season"]].iloc[0]
            limit = (f"{word} {period}", word, int(year), season, None, float(most))
            rows["limits"].append(limit)
        rows["uses"] += [
            (row.strip_id, row.option_id, _link(word, row.period, row.kind, row.strip_id), 1.0)
            for row in used.itertuples()
        ]
    return Few(word, used, *(pd.DataFrame(rows[name], columns=NAMES[name]) for name in NAMES))


def _name(word: str, period: pd.Series, kind: pd.Series) -> pd.Series:
    """Return the names of the groups of kinds and times."""
    return word + " " + period.astype(str) + " " + kind.astype(str)


def _link(word: str, period: object, kind: object, strip: object) -> str:
    """Return the name of the rule that ties a strip's options to a kind and time."""
    return f"{word} {period} {kind} in {strip}"
