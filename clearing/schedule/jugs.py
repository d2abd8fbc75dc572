"""Hold the plan to few kinds of product a year, those on hand first."""

import pandas as pd

from clearing.property import Settings
from clearing.rates import Rates

OPENING = 1.0  # dollars: of two even plans the one that opens no new kind; own choice
GROUP = "product"


def jug_tables(
    visits: pd.DataFrame, rates: Rates, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return the choices, uses and limits that hold each year to the wished kinds of product.

    One group a product and year, with the options yes and no: a strip's option may use a product
    in a year only where yes is chosen (sum of the strip's options <= yes), and the yeses of a year
    are at most as many as wished. A product that is not on hand costs a token more.

    Parameters
    ----------
    visits : DataFrame
        option_id, strip_id, year, herbicide of the visits inside the years of the plan.
    rates : Rates
        Products, for what is on hand.
    settings : Settings
        most_products_a_year; none = no rows.

    Returns
    -------
    DataFrame, DataFrame, DataFrame
        group, option, cost; group, option, resource, amount; resource, kind, year, season, low,
        high.

    References
    ----------
    own reasoning
    """
    most = settings.most_products_a_year
    used = _own(visits)[["option_id", "strip_id", "year", "herbicide"]].drop_duplicates()
    pairs = used[["herbicide", "year"]].drop_duplicates().sort_values(["year", "herbicide"])
    on_hand = {product.name for product in rates.products if product.on_hand_l > 0}
    options, uses, limits = [], [], []
    if most is not None:
        for herbicide, year in pairs.itertuples(index=False):
            group = f"{GROUP} {herbicide} {int(year)}"
            opening = 0.0 if herbicide in on_hand else OPENING
            options += [(group, f"{group} yes", opening), (group, f"{group} no", 0.0)]
            uses.append((group, f"{group} yes", f"products {int(year)}", 1.0))
            for strip in sorted(_strips(used, herbicide, year)):
                uses.append((group, f"{group} yes", _link(herbicide, year, strip), -1.0))
                limits.append((_link(herbicide, year, strip), "products", int(year), "", None, 0.0))
        for year in sorted(pairs["year"].unique()):
            limits.append((f"products {int(year)}", "products", int(year), "", None, float(most)))
        uses += [
            (row.strip_id, row.option_id, _link(row.herbicide, row.year, row.strip_id), 1.0)
            for row in used.itertuples()
        ]
    return (
        pd.DataFrame(options, columns=["group", "option", "cost"]),
        pd.DataFrame(uses, columns=["group", "option", "resource", "amount"]),
        pd.DataFrame(limits, columns=["resource", "kind", "year", "season", "low", "high"]),
    )


def not_opened(chosen: pd.DataFrame, visits: pd.DataFrame) -> set[str]:
    """Return the options that use a product in a year for which the plan said no.

    Parameters
    ----------
    chosen : DataFrame
        group, option of the plan.
    visits : DataFrame
        option_id, year, herbicide.

    References
    ----------
    own reasoning
    """
    visits = _own(visits)
    closed = chosen[chosen["option"].astype(str).str.endswith(" no")]["group"]
    group = GROUP + " " + visits["herbicide"] + " " + visits["year"].astype(int).astype(str)
    return set(visits[group.isin(closed)]["option_id"])


def _own(visits: pd.DataFrame) -> pd.DataFrame:
    """Return the visits with a product that no contractor brings along."""
    return visits[(visits["herbicide"] != "") & ~(visits["their_hours"] > 0)]


def _strips(used: pd.DataFrame, herbicide: str, year: float) -> set[str]:
    """Return the strips in which some option uses a product in a year."""
    rows = used[(used["herbicide"] == herbicide) & (used["year"] == year)]
    return set(rows["strip_id"].astype(str))


def _link(herbicide: str, year: float, strip: str) -> str:
    """Return the name of the rule that ties a strip's options to a product and year."""
    return f"products {int(year)} {herbicide} in {strip}"
