"""Fill the cautions with the figures of the work: product, distance, wait, what lies near."""

import math
from collections.abc import Mapping
from typing import Any

import pandas as pd

from clearing import treatment
from clearing.property import Results
from clearing.rates import Figure
from clearing.report import names, words
from clearing.report.facts import Caution
from clearing.sources import source_rows
from clearing.units import C_PER_F, F_AT_0_C, KMH_PER_MPH

ON_EVERY_VISIT = (  # cautions of all such work, told apart from those of the place
    "label_law", "handlers_only", "protect_yourself", "eyes", "reentry", "mixing_place", "steel",
    "combustible", "two_percent", "spill", "rinse", "record", "licence", "ticks_snakes",
)  # fmt: skip
NEAR = ("crop", "building", "neighbour_tree")
WET = ("water", "well")
TENTH = 0.1  # of a mile an hour, where a label says kilometres; own choice
SAME = 1e-6  # by which a rounded unit may miss a whole number
DAY_ITEMS = (
    "wind_min_mph", "wind_max_mph", "max_temp_f", "rain_free_h", "rei_hours", "stump_minutes",
)  # fmt: skip


class CautionWords:
    """Return the cautions of visits in words, each text worked out once.

    Parameters
    ----------
    results : Results
        The plan with its zones, stocking and rates.
    """

    def __init__(self, results: Results) -> None:
        self.rates = results.rates
        self.us = results.property.settings.us
        self.rows = {str(row["caution"]): row for row in self.rates.cautions.to_dict("records")}
        self.order = {key: place for place, key in enumerate(self.rows)}
        self.products = {known.name: known for known in treatment.known_products(self.rates)}
        self.blocks = {str(row["block_id"]): row for row in results.blocks.to_dict("records")}
        self.heights = _tallest(results.stocking)
        self.near = _near_words(results.nearby)
        self.around = treatment.surroundings(results.methods, results.nearby, results.rates)
        self.last = _last_products(results.plan.visits)
        self.starts = _starts(results)
        keys = sorted({str(row["source"]) for row in self.rows.values()})
        self.titles = {row["key"]: _short(row) for row in source_rows(keys).to_dict("records")}

    def of(self, visit: Mapping[str, Any]) -> tuple[Caution, ...]:
        """Return the cautions of one visit, in the handbook's order."""
        facts = self._facts(visit)
        return tuple(self._caution(key, facts) for key in str(visit["cautions"] or "").split())

    def _caution(self, key: str, facts: Mapping[str, str]) -> Caution:
        """Return one caution; one that the handbook does not know is told by its id."""
        row = self.rows.get(key)
        if row is None:
            return Caution(key, key.replace("_", " "), general=False, source="")
        source = self.titles.get(str(row["source"]), "")
        where = f"{source}: {row['locator']}" if source else str(row["locator"])
        text = treatment.caution_text(row, facts, self.us)
        general = key in ON_EVERY_VISIT
        return Caution(key, text, general=general, source=where, order=self.order[key])

    def _facts(self, visit: Mapping[str, Any]) -> dict[str, str]:
        """Return the words that a visit puts into its cautions."""
        strip, block = str(visit["strip_id"]), str(visit["block_id"])
        height = self.heights.get(block, 0.0)
        lengths = self.rates.figure("any", "lengths_away").value
        around = self.around.get(strip, treatment.Surroundings())
        start = self.starts.get(str(visit["option_id"]))
        nearby = self.rates.figure("zone", "nearby_m").value
        return {
            "far": words.length(lengths * height, self.us) if height > 0 else "",
            "branch_years": f"{self.rates.figure('any', 'branch_fall_years').value:g}",
            "stand_until": f"{start + around.stand_years:.0f}" if start is not None else "",
            "near": self.near.get((strip, NEAR), ""),
            "wet": self.near.get((strip, WET), ""),
            "nearby": words.length(nearby, self.us),
            "genus": words.listed(list(around.graft)),
            "poison": words.listed([names.species_name(name) for name in around.poison]),
        } | self._product(visit, block)

    def _product(self, visit: Mapping[str, Any], block: str) -> dict[str, str]:
        """Return the words of a visit's product: name, re-entry, wind, heat, rain, waits."""
        used = str(visit["herbicide"] or "")
        if visit["job"] == "seed":  # new grass waits for what was sprayed last
            used = self.last.get((str(visit["option_id"]), int(visit["year"])), "")
        known = self.products.get(used)
        if known is None or not known.key:
            return {}
        figure, name = self.rates.figure, names.herbicide_name(known.name)
        said = {item: treatment.day_line(known, item, self.rates) for item in DAY_ITEMS}
        read = {item: "" if one.own else f"{one.value:g}" for item, one in said.items()}
        low, high = said["wind_min_mph"], said["wind_max_mph"]
        heat = said["max_temp_f"]
        wait = treatment.waits_of(known, self.blocks[block], self.rates)
        return {
            "product": name,
            "rei": read["rei_hours"],  # these texts tell what other labels say: blank for his own
            "wind": "" if low.own or high.own else wind_words(low.value, high.value, self.us),
            "heat": heat_words(heat.value, self.us),
            "heat_from": "your label" if heat.figure is None else seen_words(heat.figure),
            "soil_from": seen_words(figure(known.key, "soil_active")),
            "rain": read["rain_free_h"],
            "stump_minutes": f"{said['stump_minutes'].value:g}",
            "stock_wait": wait.stock.clause.replace(known.name, name) if wait.stock.days else "",
            "hay_wait": wait.hay.clause.replace(known.name, name) if wait.hay.days else "",
            "reseed_wait": wait.reseed.clause.replace(known.name, name),
        }


def _tallest(stocking: pd.DataFrame) -> dict[str, float]:
    """Return the upper height of the tallest size class that stands in each block [m]."""
    stands = stocking[stocking["stems_per_ha"] > 0]
    return {str(k): float(v) for k, v in stands.groupby("block_id")["upper_height_m"].max().items()}


def _near_words(nearby: pd.DataFrame) -> dict[tuple[str, tuple[str, ...]], str]:
    """Return what lies near each strip in words, for each of the two kinds of thing."""
    out: dict[tuple[str, tuple[str, ...]], str] = {}
    for kinds in (NEAR, WET):
        rows = nearby[nearby["kind"].isin(kinds)] if len(nearby) else nearby
        for strip, own in rows.groupby("strip_id") if len(rows) else ():
            told = [str(row.name_) or names.plain(names.FEATURES, row.kind) for row in
                    own.rename(columns={"name": "name_"}).itertuples()]  # fmt: skip
            out[(str(strip), kinds)] = words.listed(list(dict.fromkeys(told)))
    return out


def _last_products(visits: pd.DataFrame) -> dict[tuple[str, int], str]:
    """Return the product sprayed last before the end of each year, by option and year."""
    out: dict[tuple[str, int], str] = {}
    if not len(visits):
        return out
    sprayed = visits[visits["herbicide"] != ""].sort_values("year", kind="stable")
    years = range(int(visits["year"].min()), int(visits["year"].max()) + 1)
    for option, rows in sprayed.groupby("option_id"):
        for year in years:
            before = rows[rows["year"] <= year]["herbicide"]
            if len(before):
                out[(str(option), year)] = str(before.iloc[-1])
    return out


def seen_words(figure: Figure) -> str:
    """Return how a figure is known, in words.

    References
    ----------
    own reasoning
    """
    return {
        "read": "read in print",
        "memory": "from memory, your label decides",
        "assumed": "assumed, your label decides",
    }.get(figure.seen, figure.seen)


def _starts(results: Results) -> dict[str, int]:
    """Return the start year of each chosen option."""
    options = results.plan.options
    if not len(options):
        return {}
    known = options[options["start_year"].notna()]
    return dict(zip(known["option_id"], known["start_year"].astype(int), strict=True))


def wind_words(low_mph: float, high_mph: float, us: bool) -> str:
    """Return a range of wind in the owner's units, rounded to the stricter side at both ends.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> wind_words(3, 8, True), wind_words(3, 8, False)
    ('3 to 8 mph', '5 to 12 km/h')
    """
    unit, factor, step = ("mph", 1.0, TENTH) if us else ("km/h", KMH_PER_MPH, 1.0)
    low = step * math.ceil(low_mph * factor / step - SAME)
    high = step * math.floor(high_mph * factor / step + SAME)
    return f"{round(low, 1):g} to {round(high, 1):g} {unit}"


def heat_words(fahrenheit: float, us: bool) -> str:
    """Return a temperature in the owner's units, rounded to the cooler side.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> heat_words(85, True), heat_words(85, False)
    ('85 °F', '29 °C')
    """
    degrees = fahrenheit if us else (fahrenheit - F_AT_0_C) * C_PER_F
    return f"{math.floor(degrees + SAME)} °{'F' if us else 'C'}"


def _short(row: Mapping[str, str]) -> str:
    """Return a source in a few words: its title, and its year where it has one."""
    return row["title"] + (f" ({row['year']})" if row["year"].isdigit() else "")
