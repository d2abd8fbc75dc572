"""The tables that the planner solves: options in groups, what they use, what there is."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from clearing.schedule.checks import problems_of

SHAPES = {
    "uses": ["group", "option", "resource", "amount"],
    "limits": ["resource", "low", "high", "elastic"],
    "marks": ["group", "option", "mark"],
    "pairs": ["pair", "group", "mark", "other", "other_mark", "cost"],
    "pair_uses": ["pair", "resource", "amount"],
}


def _none_of(name: str) -> pd.DataFrame:
    """Return one of the core's tables without rows."""
    numbers = {column: float for column in ("amount", "cost") if column in SHAPES[name]}
    return pd.DataFrame(columns=SHAPES[name]).astype(numbers)


@dataclass(frozen=True)
class Instance:
    """Return one problem: one option a group, resources between limits, least cost.

        least  sum_o cost[o] x[o] + sum_p cost[p] w[p]
        where  sum_{o in g} x[o] = 1                      for each group g, x whole
               y[g,m] = sum_{o in g carries m} x[o]       whether g carries mark m
               w[p] = y[g,m] (1 - y[h,k])                 for each pair p = (g, m, h, k)
               low[r] <= sum_o a[o,r] x[o] + sum_p b[p,r] w[p] <= high[r]

    Attributes
    ----------
    options : DataFrame
        group, option, cost; one row an option, sorted.
    uses : DataFrame
        group, option, resource, amount (may be negative).
    limits : DataFrame
        resource, low, high (missing = none), elastic (the high may be passed: first the least
        total shortfall, then the least cost).
    marks : DataFrame
        group, option, mark: the option carries the mark.
    pairs : DataFrame
        pair, group, mark, other, other_mark, cost (0 or more): charged when the chosen option of
        the group carries the mark and the chosen option of the other does not carry the other mark.
    pair_uses : DataFrame
        pair, resource, amount (0 or more): used when the pair is charged.
    """

    options: pd.DataFrame
    uses: pd.DataFrame
    limits: pd.DataFrame
    marks: pd.DataFrame = field(default_factory=lambda: _none_of("marks"))
    pairs: pd.DataFrame = field(default_factory=lambda: _none_of("pairs"))
    pair_uses: pd.DataFrame = field(default_factory=lambda: _none_of("pair_uses"))

    @classmethod
    def from_tables(
        cls,
        options: pd.DataFrame,
        uses: pd.DataFrame,
        limits: pd.DataFrame,
        marks: pd.DataFrame | None = None,
        pairs: pd.DataFrame | None = None,
        pair_uses: pd.DataFrame | None = None,
    ) -> "Instance":
        """Return an instance of its tables, in an order that does not depend on the rows'.

        Parameters
        ----------
        options : DataFrame
            group, option, cost. An option's name is its own within its group.
        uses : DataFrame
            option, resource, amount; with a column group where names repeat between groups.
        limits : DataFrame
            resource, low, high; blank = none; elastic (optional).
        marks, pairs, pair_uses : DataFrame, optional
            As the attributes.

        Raises
        ------
        ValueError
            All that is wrong with the tables, in one message.

        References
        ----------
        own reasoning
        """
        bounds = limits.reindex(columns=SHAPES["limits"])
        bounds[["low", "high"]] = bounds[["low", "high"]].apply(pd.to_numeric, errors="coerce")
        tables = {
            "options": options[["group", "option", "cost"]].astype({"cost": float}),
            "uses": _with_group(uses, options),
            "limits": bounds.assign(elastic=bounds["elastic"].eq(True)),
            "marks": _none_of("marks") if marks is None else marks[SHAPES["marks"]],
            "pairs": _none_of("pairs") if pairs is None else pairs[SHAPES["pairs"]],
            "pair_uses": _none_of("pair_uses") if pair_uses is None else pair_uses,
        }
        found = problems_of(tables)
        if found:
            raise ValueError("; ".join(found))
        used = _summed(tables["uses"], SHAPES["uses"][:-1])
        return cls(
            tables["options"].sort_values(["group", "option"], ignore_index=True),
            used,
            tables["limits"].sort_values("resource", ignore_index=True),
            tables["marks"].drop_duplicates().sort_values(SHAPES["marks"], ignore_index=True),
            tables["pairs"].sort_values("pair", ignore_index=True),
            _summed(tables["pair_uses"], SHAPES["pair_uses"][:-1]),
        )

    def cost_of(self, chosen: pd.DataFrame) -> tuple[float, "pd.Series[float]"]:
        """Return what a choice costs and what it uses of each resource, charged pairs among it.

        Parameters
        ----------
        chosen : DataFrame
            group, option; share (optional): with shares a pair is charged for
            max(0, share that carries the mark - share of the other that carries the other mark).

        Raises
        ------
        ValueError
            It names an option that is not there.

        References
        ----------
        own reasoning
        """
        own = self._with_shares(chosen)
        cost = float((own["cost"] * own["share"]).sum())
        used = self.uses.merge(own[["group", "option", "share"]], on=["group", "option"])
        amounts = used["amount"] * used["share"]
        by_resource = amounts.groupby(used["resource"]).sum()
        charge = self._charge(own)
        cost += float((self.pairs["cost"].to_numpy(dtype=float) * charge.to_numpy()).sum())
        extra = self.pair_uses["amount"] * self.pair_uses["pair"].map(charge).astype(float)
        by_pair = extra.groupby(self.pair_uses["resource"]).sum()
        names = pd.Index([*self.limits["resource"], *by_resource.index, *by_pair.index]).unique()
        both = by_resource.reindex(names, fill_value=0.0) + by_pair.reindex(names, fill_value=0.0)
        return cost, both.astype(float)

    def charged(self, chosen: pd.DataFrame) -> pd.DataFrame:
        """Return the pairs that a choice charges: pair.

        References
        ----------
        own reasoning
        """
        charge = self._charge(self._with_shares(chosen))
        return pd.DataFrame({"pair": charge.index[charge.to_numpy() > 0.5]})

    def _with_shares(self, chosen: pd.DataFrame) -> pd.DataFrame:
        """Return the chosen options with cost and share."""
        own = chosen[["group", "option"]].assign(share=chosen.get("share", 1.0))
        own = own.merge(self.options, on=["group", "option"], how="left")
        if own["cost"].isna().any():
            lost = own.loc[own["cost"].isna(), "option"].tolist()
            raise ValueError(f"the choice names options that are not there: {lost[:5]}")
        return own

    def _charge(self, own: pd.DataFrame) -> "pd.Series[float]":
        """Return for each pair the share that is charged."""
        names = pd.Index(self.pairs["pair"])
        if not len(names):
            return pd.Series([], index=names, dtype=float)
        carried = self.marks.merge(own[["group", "option", "share"]], on=["group", "option"])
        held = carried.groupby(["group", "mark"])["share"].sum()
        near, far = (
            held.reindex(pd.MultiIndex.from_frame(self.pairs[list(keys)]), fill_value=0.0)
            for keys in (("group", "mark"), ("other", "other_mark"))
        )
        return pd.Series(np.maximum(near.to_numpy() - far.to_numpy(), 0.0), index=names)


def _with_group(uses: pd.DataFrame, options: pd.DataFrame) -> pd.DataFrame:
    """Return the uses with the group of each option; missing where there is no such option."""
    if "group" in uses:
        return uses[SHAPES["uses"]]
    if options.duplicated(["group", "option"]).any():
        raise ValueError(
            f"options stand twice: "
            f"{options[options.duplicated(['group', 'option'])]['option'].tolist()[:5]}"
        )
    if options["option"].duplicated().any():
        raise ValueError("option names repeat between groups: uses need a column 'group'")
    return uses.merge(options[["group", "option"]], on="option", how="left")[SHAPES["uses"]]


def _summed(table: pd.DataFrame, keys: list[str]) -> pd.DataFrame:
    """Return amounts summed by keys, sorted."""
    out = table.astype({"amount": float}).groupby(keys, as_index=False)["amount"].sum()
    return out.sort_values(keys, ignore_index=True)
