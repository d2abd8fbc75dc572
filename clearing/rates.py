"""Read the handbook, lay the owner's own figures over it, and hand both on as one argument."""

import functools
from dataclasses import dataclass, field, replace
from importlib import resources
from typing import Any

import pandas as pd

from clearing.property import OwnProduct, Season, Settings
from clearing.units import DAYS_A_MONTH

FIGURE = ("value", "low", "high", "unit", "source", "locator", "seen")
APPLIED = ["place", "year", "herbicide", "product_l"]
FIGURE_TABLES = ("species", "herbicides", "work", "growth", "rules", "regions")
LEAF_JOBS = ("foliar", "follow_up")  # sprayed on leaves, so only while they are full
BARK_JOBS = ("hack_and_squirt",)  # not while sap rises: it washes the cuts
YEAR = range(1, 13)


@dataclass(frozen=True)
class Figure:
    """A number of the handbook with its range and where it comes from."""

    value: float
    low: float
    high: float
    unit: str
    source: str
    locator: str
    seen: str


@dataclass(frozen=True)
class Rates:
    """Return every figure that the rooms use, as one table each.

    Attributes
    ----------
    figures : DataFrame
        subject, item, value, low, high, unit, source, locator, seen.
    recipes, limits, crowns, heights, seasons, cautions, sizes : DataFrame
        As in ``data/handbook``.
    products : tuple of OwnProduct
        What the owner has or would buy.
    like : dict
        An owner's species -> the species of the handbook that it resembles.
    region : str
        Where the property lies, one of ``settings.REGIONS``, or any.
    habits : DataFrame
        How each species comes back and spreads, as in ``data/handbook/habits.csv``.
    applied : DataFrame
        What the log says was put out: place (strip or block), year, herbicide, product_l.
    kept : dict
        What a room has worked out from these figures alone; changed rates start without it.
    """

    figures: pd.DataFrame
    recipes: pd.DataFrame
    limits: pd.DataFrame
    crowns: pd.DataFrame
    heights: pd.DataFrame
    seasons: pd.DataFrame
    cautions: pd.DataFrame
    sizes: pd.DataFrame
    products: tuple[OwnProduct, ...] = ()
    like: dict[str, str] = field(default_factory=dict)
    region: str = "any"
    habits: pd.DataFrame = field(default_factory=pd.DataFrame)
    applied: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=APPLIED))
    kept: dict[str, Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    def figure(self, subject: str, item: str) -> Figure:
        """Return one figure, from the subject, what it is like, or ``any``.

        Raises
        ------
        KeyError
            The handbook has no such figure: a slip in the code, not in the owner's input.
        """
        for name in (subject, self.like.get(subject, subject), "any"):
            found = self._by_name.get((name, item))
            if found is not None:
                return found
        raise KeyError(f"the handbook has no figure {item!r} for {subject!r} or any")

    @functools.cached_property
    def _by_name(self) -> dict[tuple[str, str], Figure]:
        """Return each figure by subject and item; of two the first stands."""
        rows = self.figures[["subject", "item", *FIGURE]].itertuples(index=False, name=None)
        out: dict[tuple[str, str], Figure] = {}
        for subject, item, value, low, high, *said in rows:
            out.setdefault((subject, item), Figure(float(value), float(low), float(high), *said))
        return out

    def handbook_species(self, species: str) -> str:
        """Return the handbook's species that stands in for the owner's."""
        return self.like.get(species, species)

    def window(self, months: str, job: str, species: str = "any") -> str:
        """Return a recipe's months cut to the region and the job, space separated.

        Leaf sprays (foliar, follow_up) keep the months from leaves full to leaf fall, those of the
        species where it has its own (an evergreen), else of the region. Hack-and-squirt without
        months of its own leaves out the sap rise; months that the recipe names stand. Where
        nothing is left, the recipe's own months stand.

        Parameters
        ----------
        months : str
            The recipe's months in its own order; blank = all year.
        job : str
            A job of the visits; any other job keeps its months.
        species : str
            The owner's species; any = go by the region alone.

        References
        ----------
        common_practice, memory; own reasoning

        Examples
        --------
        >>> load().window("3 4 5 6 10 11", "foliar")
        '5 6 10'
        """
        own = [int(month) for month in str(months).split()]
        kept = own
        if job in LEAF_JOBS:
            leaves = self._span("leaf_out_month", "leaf_fall_month", species)
            kept = [month for month in own or YEAR if month in leaves]
        elif job in BARK_JOBS and not own:
            sap = self._span("sap_rise_first_month", "sap_rise_last_month", "any")
            kept = [month for month in YEAR if month not in sap]
        return " ".join(str(month) for month in kept or own)

    def _span(self, first: str, last: str, species: str) -> frozenset[int]:
        """Return the months from one figure to another, over the turn of the year if need be."""
        name = self.handbook_species(species)
        named = (self.figures["subject"] == name) & (self.figures["item"] == first)
        subject = name if name != "any" and named.any() else self.region
        start, end = (int(self.figure(subject, item).value) for item in (first, last))
        return frozenset((start + step - 1) % 12 + 1 for step in range((end - start) % 12 + 1))


@functools.cache
def handbook_table(name: str) -> pd.DataFrame:
    """Return one table of the handbook; number columns are numbers, the rest text.

    References
    ----------
    own reasoning
    """
    path = resources.files("clearing") / "data" / "handbook" / f"{name}.csv"
    with path.open(encoding="utf-8") as stream:
        table = pd.read_csv(stream, dtype=str, keep_default_na=False)
    for column in table.columns:
        if column in TEXT_COLUMNS:
            continue
        numbers = pd.to_numeric(table[column].replace("", "nan"), errors="coerce")
        if numbers.notna().equals(table[column] != ""):
            table[column] = numbers
    return table


TEXT_COLUMNS = frozenset(
    ["subject", "item", "unit", "source", "locator", "seen", "note", "species", "months", "text"]
)


def load() -> Rates:
    """Return the handbook alone.

    References
    ----------
    own reasoning
    """
    figures = pd.concat([handbook_table(name) for name in FIGURE_TABLES], ignore_index=True)
    figures["low"] = figures["low"].fillna(figures["value"])
    figures["high"] = figures["high"].fillna(figures["value"])
    return Rates(
        figures=figures,
        recipes=handbook_table("recipes"),
        limits=handbook_table("limits"),
        crowns=handbook_table("crowns"),
        heights=handbook_table("heights"),
        seasons=handbook_table("seasons"),
        cautions=handbook_table("cautions"),
        sizes=handbook_table("size_classes"),
        habits=handbook_table("habits"),
    )


TANK_JOBS = ("basal_bark", "foliar", "follow_up", "upkeep")  # by backpack or sprayer
BOTTLE_JOBS = ("hack_and_squirt", "cut_and_spray")  # by hand bottle


def for_settings(settings: Settings) -> Rates:
    """Return the handbook overridden by what the owner gave in the settings.

    Owner's figures of ``[species.NAME]``, and the tank and bottle of ``[crew]``, replace the
    handbook's of the same item and are marked ``owner`` in ``seen``.

    References
    ----------
    own reasoning
    """
    base = load()
    rows: list[list[object]] = []
    like: dict[str, str] = {}
    for species, given in settings.species.items():
        for item, value in given.items():
            if item == "like":
                like[species] = str(value)
            elif isinstance(value, int | float):
                rows.append(
                    [species, item, value, value, value, "", "owner", "property.toml", "owner", ""]
                )
    for jobs, litres in ((TANK_JOBS, settings.crew.tank_l), (BOTTLE_JOBS, settings.crew.bottle_l)):
        if litres is not None:
            said = [litres, litres, litres, "l a filling", "owner", "property.toml", "owner", ""]
            rows += [[job, "refill_l", *said] for job in jobs]
    own = pd.DataFrame(rows, columns=[*base.figures.columns][:10])
    figures = pd.concat([own, base.figures], ignore_index=True) if rows else base.figures
    return replace(
        base,
        figures=figures,
        products=settings.herbicides,
        like=like,
        region=settings.region,
        seasons=season_hours(base.seasons, settings),
    )


def season_hours(handbook: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return the seasons of the year with their working days and the crew's hours.

    Working days = months x 30.4 days x share of days fit for ground work x days a week / 7,
    where the owner gave none. Closed months count no days.

    Returns
    -------
    DataFrame
        season, order, label, months (tuple of int), work_days [days], hours [h of people].

    References
    ----------
    workable_days
    """
    rows: list[tuple[object, ...]] = []
    by_month = _ground_shares(handbook, settings.region)
    for season in settings.seasons or _handbook_seasons(handbook, settings.region):
        open_months = tuple(m for m in season.months if m not in settings.closed_months)
        share = sum(by_month[month] for month in season.months) / max(len(season.months), 1)
        days = len(season.months) * DAYS_A_MONTH * share * settings.crew.days_per_week / 7
        days = season.work_days if season.work_days is not None else days
        days *= len(open_months) / max(len(season.months), 1)
        label = (season.label or season.name).replace("_", " ")
        by_season = settings.crew.hours_per_day
        hours = by_season.get(season.name, 0.0) if isinstance(by_season, dict) else by_season
        rows.append(
            (season.name, len(rows) + 1, label, open_months, days,
             days * hours * settings.crew.people)
        )  # fmt: skip
    return pd.DataFrame(rows, columns=["season", "order", "label", "months", "work_days", "hours"])


def _handbook_seasons(handbook: pd.DataFrame, region: str) -> list[Season]:
    """Return the handbook's seasons of a region, or those of any region."""
    own = handbook[handbook["region"] == region]
    rows = own if len(own) else handbook[handbook["region"] == "any"]
    return [
        Season(row.season, tuple(int(month) for month in row.months.split()))
        for row in rows.sort_values("order").itertuples()
    ]


def _ground_shares(handbook: pd.DataFrame, region: str) -> dict[int, float]:
    """Return the share of days fit for ground work in each month of a region."""
    own = handbook[handbook["region"] == region]
    rows = own if len(own) else handbook[handbook["region"] == "any"]
    return {
        int(month): float(share)
        for months, share in zip(rows["months"], rows["ground_share"], strict=True)
        for month in months.split()
    }
