"""The tables that the planner solves: options in groups, what they use, what there is."""

from dataclasses import dataclass

import numpy as np
import pandas as pd


@dataclass(frozen=True)
class Instance:
    """Return one problem: one option a group, resources between limits, least cost.

    Attributes
    ----------
    options : DataFrame
        group, option, cost; one row an option, sorted.
    uses : DataFrame
        group, option, resource, amount (may be negative).
    limits : DataFrame
        resource, low, high (missing = none).
    """

    options: pd.DataFrame
    uses: pd.DataFrame
    limits: pd.DataFrame

    @classmethod
    def from_tables(
        cls, options: pd.DataFrame, uses: pd.DataFrame, limits: pd.DataFrame
    ) -> "Instance":
        """Return an instance of three tables, in an order that does not depend on the rows'.

        Parameters
        ----------
        options : DataFrame
            group, option, cost. An option's name is its own within its group.
        uses : DataFrame
            option, resource, amount; with a column group where names repeat between groups.
        limits : DataFrame
            resource, low, high; blank = none.

        Raises
        ------
        ValueError
            An option stands twice, or a use names an option that is not there.

        References
        ----------
        own reasoning
        """
        chosen = options[["group", "option", "cost"]].astype({"cost": float})
        if chosen.duplicated(["group", "option"]).any():
            twice = chosen[chosen.duplicated(["group", "option"])]["option"].tolist()
            raise ValueError(f"options stand twice: {twice[:5]}")
        used = uses.copy()
        if "group" not in used:
            if chosen["option"].duplicated().any():
                raise ValueError("option names repeat between groups: uses need a column 'group'")
            used = used.merge(chosen[["group", "option"]], on="option", how="left")
        lost = used["group"].isna()
        if lost.any():
            raise ValueError(
                f"uses name options that are not there: {used[lost]['option'].tolist()[:5]}"
            )
        keys = ["group", "option", "resource"]
        used = used.groupby(keys, as_index=False)["amount"].sum()
        bounds = limits[["resource", "low", "high"]].copy()
        bounds[["low", "high"]] = bounds[["low", "high"]].apply(pd.to_numeric, errors="coerce")
        return cls(
            chosen.sort_values(["group", "option"], ignore_index=True),
            used.sort_values(keys, ignore_index=True),
            bounds.sort_values("resource", ignore_index=True),
        )

    def impossible(self) -> list[str]:
        """Return sentences for limits that no choice can keep, each taken alone.

        The least that each group must use of a resource is summed over the groups.

        References
        ----------
        own reasoning
        """
        sentences = []
        for row in self.limits.itertuples():
            least, most = self._range(row.resource)
            if not np.isnan(row.high) and least > row.high + 1e-9:
                sentences.append(
                    f"{row.resource}: at the least {least:,.1f} is needed, "
                    f"and there is {row.high:,.1f}"
                )
            if not np.isnan(row.low) and most < row.low - 1e-9:
                sentences.append(
                    f"{row.resource}: at the most {most:,.1f} can be had, "
                    f"and {row.low:,.1f} is asked"
                )
        return sentences

    def _range(self, resource: object) -> tuple[float, float]:
        """Return the least and the most of a resource that one option a group can use."""
        own = self.uses[self.uses["resource"] == resource]
        frame = self.options.merge(own, on=["group", "option"], how="left")
        by_group = frame.assign(amount=frame["amount"].fillna(0.0)).groupby("group")["amount"]
        return float(by_group.min().sum()), float(by_group.max().sum())
