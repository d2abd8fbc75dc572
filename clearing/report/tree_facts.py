"""Say what each tree that stays is, and what to mind beside it: one text a species."""

from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing import treatment, units
from clearing.allometry import genus_of
from clearing.property import Results
from clearing.rates import handbook_table
from clearing.report import names, words

CROWN_FROM = {"diameter": ", reckoned from its thickness", "assumed": ", assumed"}
BARK = (
    "Fell away from it, and keep saw, mower and dragged tops off its bark: a wound lets rot in "
    "(common practice, no published source)."
)


@dataclass(frozen=True)
class TreeKind:
    """One species of trees that stay, and what to mind beside any of them."""

    species: str = field(metadata={"description": "Species key"})
    name: str = field(metadata={"description": "Common name"})
    latin: str = field(metadata={"description": "Latin name or blank"})
    count: int = field(metadata={"description": "Trees of this species that stay"})
    mind: tuple[str, ...] = field(metadata={"description": "What to mind, in sentences"})


@dataclass(frozen=True)
class TreeFacts:
    """Trees that stay: their species, and the sizes that occur, each said once.

    ``kind``, ``thickness`` and ``crown`` give for each tree its place in ``kinds``,
    ``thicknesses`` and ``crowns``.
    """

    kinds: tuple[TreeKind, ...] = field(metadata={"description": "Species in order of name"})
    thicknesses: tuple[str, ...] = field(metadata={"description": "Diameters in words, or blank"})
    crowns: tuple[str, ...] = field(metadata={"description": "Crowns in words"})
    radii_m: tuple[float, ...] = field(
        metadata={"description": "Radius with which each of the crowns is drawn [m]"}
    )
    kind: np.ndarray = field(metadata={"description": "Species of each tree"})
    thickness: np.ndarray = field(metadata={"description": "Diameter of each tree"})
    crown: np.ndarray = field(metadata={"description": "Crown of each tree"})


def tree_facts(results: Results) -> TreeFacts:
    """Return the trees that stay in words.

    References
    ----------
    own reasoning; what to mind: ditomaso_kyser_2007, the handbook's cautions
    """
    trees, us = results.keep_trees, results.property.settings.us
    kind, species = pd.factorize(trees["species"].astype(str), sort=True)
    counts = np.bincount(kind, minlength=len(species))
    mind = _Mind(results)
    thickness, thicknesses = pd.factorize(_thickness_words(trees, us), sort=True)
    metres = trees["crown_m"].astype(float).fillna(0.0)
    crown, crowns = pd.factorize(_crown_words(trees, us), sort=True)
    radii = metres.groupby(crown).mean() / 2
    return TreeFacts(
        kinds=tuple(
            TreeKind(
                str(key), names.species_name(str(key)), names.latin_name(str(key)), int(count),
                mind.of(str(key)),
            )
            for key, count in zip(species, counts, strict=True)
        ),
        thicknesses=tuple(str(one) for one in thicknesses),
        crowns=tuple(str(one) for one in crowns),
        radii_m=tuple(round(float(radii[place]), 2) for place in range(len(crowns))),
        kind=kind, thickness=thickness, crown=crown,
    )  # fmt: skip


def _thickness_words(trees: gpd.GeoDataFrame, us: bool) -> pd.Series:
    """Return each tree's diameter in words, blank where nobody measured it."""
    unit, factor = ("in", units.CM_PER_IN) if us else ("cm", 1.0)
    whole = (trees["dbh_cm"].astype(float) / factor).round()
    return whole.map(lambda size: f"{size:.0f} {unit} thick" if size > 0 else "")


def _crown_words(trees: gpd.GeoDataFrame, us: bool) -> pd.Series:
    """Return each tree's crown in words, with where its width comes from."""
    wide = trees["crown_m"].astype(float).fillna(0.0)
    basis = trees["crown_from"].astype(str) if "crown_from" in trees else pd.Series("", wide.index)
    said = wide.map(lambda metres: f"crown {words.length(metres, us)} across")
    return said + basis.map(lambda key: CROWN_FROM.get(key, ""))


class _Mind:
    """What to mind beside a tree that stays."""

    def __init__(self, results: Results) -> None:
        """Take the figures of the place and the products of the plan."""
        self.rates, self.us = results.rates, results.property.settings.us
        book = pd.concat([results.rates.cautions, handbook_table("cautions")], ignore_index=True)
        self.rows = {row["caution"]: row for row in reversed(book.to_dict("records"))}
        visits = results.plan.visits
        used = set(visits["herbicide"].dropna()) if "herbicide" in visits else set()
        known = treatment.known_products(results.rates)
        moves = {one.name for one in known if one.soil_active} & used
        self.moves = [names.herbicide_name(key) for key in sorted(moves)]
        self.targets = {
            target: genus_of(target, results.rates) for target in results.property.settings.targets
        }

    def of(self, species: str) -> tuple[str, ...]:
        """Return what to mind beside a tree of this species, in sentences."""
        factor = self.rates.figure("zone", "dripline_factor").value
        least = self.rates.figure("zone", "dripline_min_m").value
        reach = (
            f"The plan counts the ground within {factor:g} times its crown's radius, and at least "
            f"{words.length(least, self.us)} from the trunk, as ground of its roots."
        )
        said = [reach, self._text("dripline")]
        if self.moves:
            moving = words.listed(self.moves)
            said.append(f"Reported to move in the soil, and in this plan: {moving}.")
        genus = genus_of(species, self.rates)
        kin = [name for name, own in self.targets.items() if own and own == genus]
        if kin:
            own = words.listed([names.species_name(name) for name in kin])
            said.append(f"It is kin ({genus}) of what is treated here: {own}.")
            said.append(self._text("root_graft"))
        return (*(one for one in said if one), BARK)

    def _text(self, key: str) -> str:
        """Return a caution of the handbook in the owner's units, without figures of a visit."""
        row = self.rows.get(key)
        return treatment.caution_text(row, {}, self.us) if row is not None else ""
