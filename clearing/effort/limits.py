"""Hold every option to the label's limits of a year, of an application, and of ground sprayed."""

from typing import Any

import pandas as pd

from clearing.rates import Rates
from clearing.treatment import Limit, acid_of, known_products, label_limits
from clearing.units import KG_HA_PER_LB_AC

KEYS = ["option_id", "strip_id", "method_id", "year", "acid", "goal"]
OVER = ["option_id", "strip_id", "method_id", "herbicide", "per", "reached", "clause", "sentence"]
SLACK = 1e-9


def over_limit(visits: pd.DataFrame, place: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return the options that put more on the ground than the label's limits, with the clause.

    The sum of a year counts the densest zone of each visit together, follow-ups and what the log
    says was put there in that year among them: rather too much than too little. Salts and esters
    of one acid count together, each against the limits of every one of them that is used.

    Parameters
    ----------
    visits : DataFrame
        option_id, strip_id, method_id, year, season, job, herbicide, recipe_id, mix_l,
        ae_kg_per_ha.
    place : DataFrame
        Strips with block_id, goal and area_ha, indexed by strip_id.
    rates : Rates
        Products, limits, recipes and what the log says was applied.

    Returns
    -------
    DataFrame
        option_id, strip_id, method_id, herbicide, per, reached (as `Limit.value` of that kind),
        clause, sentence.

    References
    ----------
    own reasoning; each limit carries its own source
    """
    known = {one.name: one for one in known_products(rates)}
    acid = {name: acid_of(one.key or name) for name, one in known.items()}
    sprayed = visits[visits["herbicide"].isin(known) & (visits["ae_kg_per_ha"] > 0)]
    sprayed = sprayed.assign(
        goal=sprayed["strip_id"].map(place["goal"]),
        acid=sprayed["herbicide"].map(acid),
        share=_share_sprayed(sprayed, place, rates),
    )
    logged = applied_before(place, {n: one.product.ae_kg_per_l for n, one in known.items()}, rates)
    logged["acid"] = logged["herbicide"].map(acid)
    sums = ["logged", "times"]
    logged = logged.groupby(["strip_id", "year", "acid"], as_index=False)[sums].sum()
    found = []
    pairs = sprayed[["herbicide", "goal"]].drop_duplicates().itertuples(index=False)
    for herbicide, goal in pairs:
        users = sprayed[sprayed["herbicide"] == herbicide]["option_id"]
        mine = (sprayed["acid"] == acid[herbicide]) & (sprayed["goal"] == goal)
        mine = sprayed[mine & sprayed["option_id"].isin(set(users))]
        for limit in label_limits(known[herbicide].product, goal, rates):
            reached = _reached(limit, mine, logged)
            over = reached[reached["reached"] > limit.value * (1 + SLACK)]
            found += [
                (row.option_id, row.strip_id, row.method_id, herbicide, limit.per, row.reached,
                 limit.clause, _sentence(row, herbicide, limit))
                for row in over.itertuples()
            ]  # fmt: skip
    return pd.DataFrame(found, columns=OVER)


def over_words(removed: list[dict[str, object]]) -> list[str]:
    """Return what is not offered because of a label's limit, one sentence a product and clause.

    Parameters
    ----------
    removed : list of dict
        Rows of `over_limit`.

    References
    ----------
    own reasoning
    """
    sentences = []
    over = pd.DataFrame(removed, columns=OVER)
    for (herbicide, per, clause), rows in over.groupby(["herbicide", "per", "clause"]):
        kinds = sorted(rows["method_id"].str.split(":").str[0].unique())
        methods = ", ".join(kind.replace("_", " ") for kind in kinds)
        least, most = (_reach_words(per, rows["reached"].agg(end)) for end in ("min", "max"))
        reach = most if least == most else f"{least.split()[0]} to {most}"
        strips = ", ".join(sorted(rows["strip_id"].unique()))
        sentences.append(
            f"{herbicide.replace('_', ' ')} is left out in strips {strips} ({methods}) where it "
            f"would reach {reach}; the limit is: {clause}"
        )
    return sentences


def applied_before(place: pd.DataFrame, strength: dict[str, float], rates: Rates) -> pd.DataFrame:
    """Return what the log says was put on each strip, by year and product.

    What was logged for a block is spread over its strips; the ground is taken as the whole strip.

    Parameters
    ----------
    place : DataFrame
        Strips with block_id and area_ha, indexed by strip_id.
    strength : dict
        Acid equivalent of each product [kg/l].
    rates : Rates
        Table ``applied``: place (strip or block), year, herbicide, product_l.

    Returns
    -------
    DataFrame
        strip_id, year, herbicide, logged [kg ae/ha], times.

    References
    ----------
    own reasoning
    """
    ground = place[["block_id", "area_ha"]].reset_index()
    block_ha = ground.groupby("block_id")["area_ha"].sum()
    frames = []
    for key, area in (
        ("strip_id", ground.set_index("strip_id")["area_ha"]),
        ("block_id", block_ha),
    ):
        rows = rates.applied[rates.applied["place"].isin(area.index)]
        if key == "block_id":
            rows = rows[~rows["place"].isin(ground["strip_id"])]
        kg = rows["product_l"] * rows["herbicide"].map(strength).fillna(0.0)
        rows = rows.assign(logged=kg / rows["place"].map(area), times=1.0)
        rows = rows.merge(ground[["strip_id", "block_id"]], left_on="place", right_on=key)
        frames.append(rows[["strip_id", "year", "herbicide", "logged", "times"]])
    both = pd.concat(frames, ignore_index=True)
    return both.groupby(["strip_id", "year", "herbicide"], as_index=False).sum()


def _share_sprayed(visits: pd.DataFrame, place: pd.DataFrame, rates: Rates) -> pd.Series:
    """Return the share of each visit's strip whose leaves are wetted; nought for other jobs."""
    per_ha = rates.recipes.drop_duplicates("recipe_id").set_index("recipe_id")["l_per_ha_cover"]
    wetted_ha = visits["mix_l"] / visits["recipe_id"].map(per_ha)
    return (wetted_ha / visits["strip_id"].map(place["area_ha"])).fillna(0.0)


def _reached(limit: Limit, visits: pd.DataFrame, logged: pd.DataFrame) -> pd.DataFrame:
    """Return what each option reaches of one limit in each year, with what the log adds."""
    own = visits[visits["job"].map(limit.holds_for)]
    by_date = own.groupby([*KEYS, "season"], as_index=False)
    if limit.per == "spot":
        return by_date["share"].sum().rename(columns={"share": "reached"})
    if limit.per in ("mix", "cut"):  # held where the recipes are picked
        return own.head(0).assign(reached=0.0)
    if limit.per == "application":
        return by_date["ae_kg_per_ha"].sum().rename(columns={"ae_kg_per_ha": "reached"})
    by_year = own.groupby(KEYS)
    if limit.per == "year":
        frame, added = by_year["ae_kg_per_ha"].sum().rename("reached").reset_index(), "logged"
    else:
        dates = own.drop_duplicates([*KEYS, "season"])
        frame, added = dates.groupby(KEYS).size().rename("reached").reset_index(), "times"
    before = frame.merge(logged, on=["strip_id", "year", "acid"], how="left")
    more = before[added].fillna(0.0).to_numpy()
    return frame.assign(reached=frame["reached"] + more, before=more)


def _sentence(row: Any, herbicide: str, limit: Limit) -> str:
    """Return why an option is left out."""
    reach = _reach_words(limit.per, row.reached)
    log = ", the log among it" if getattr(row, "before", 0.0) > 0 else ""
    return (
        f"strip {row.strip_id}, {row.method_id}: {herbicide} would reach {reach}{log}; "
        f"the limit is: {limit.clause}"
    )


def _reach_words(per: str, reached: float) -> str:
    """Return what is reached of one kind of limit, in words."""
    if per in ("year", "application"):
        return f"{reached / KG_HA_PER_LB_AC:.1f} lb ae an acre in the densest ground"
    if per == "spot":
        return f"{100 * reached:.0f} % of the ground in one spraying"
    return f"{reached:.0f} applications in a year"
