"""Put beside every visit what to mind there, and how long stock and hay must wait after it."""

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.effort.dates import Calendar, calendar
from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment import (
    Known,
    Surroundings,
    caution_ids,
    join_cautions,
    known_products,
    surroundings,
    visit_words,
    waits_of,
)
from clearing.treatment.assign import MAIN_JOB

KILLED_STANDING = ("hack_and_squirt", "basal_bark")  # jobs that leave dead stems up
ASKED = ["strip_id", "block_id", "job", "herbicide", "season", "standing", "cautions"]
WAITS = ("stock_wait_days", "hay_wait_days")


def with_cautions(
    visits: pd.DataFrame,
    methods: pd.DataFrame,
    nearby: pd.DataFrame,
    blocks: gpd.GeoDataFrame,
    rates: Rates,
    settings: Settings,
    options: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Return the visits with all their cautions, in the handbook's order, and the label's waits.

    Parameters
    ----------
    visits : DataFrame
        As ``walk/visits``; cautions that the method brings stand in them already.
    methods, nearby : DataFrame
        As ``walk/methods`` and ``walk/nearby``.
    blocks : GeoDataFrame
        block_id, stock, hay, slope_pct, goal.
    rates : Rates
        Cautions, products, seasons.
    settings : Settings
        Targets, crew.
    options : DataFrame, optional
        As ``walk/options``: those begun before the plan left their dead stems then.

    References
    ----------
    own reasoning; each caution and wait carries its own source
    """
    if not len(visits):
        return visits.assign(**dict.fromkeys(WAITS, 0.0))
    products = {known.name: known for known in known_products(rates)}
    around = surroundings(methods, nearby, rates)
    place = {str(row["block_id"]): row for row in blocks.to_dict("records")}
    days = calendar(rates.seasons)
    facts = _Facts(place, products, rates, settings, days)
    keys = visits.assign(
        standing=_standing(visits, around, days, _begun(options, days, settings)),
        cautions=visits["cautions"].fillna(""),
    )
    kinds, of = alike(keys[ASKED])
    found = [facts.cautions(row, around) for row in kinds.to_dict("records")]
    told = np.array(found, dtype=object)[of]
    pairs, own = alike(visits[["herbicide", "block_id"]])
    waiting = np.array([facts.waits(*pair) for pair in pairs.itertuples(index=False, name=None)])
    out = visits.assign(cautions=told)
    for place_in, column in enumerate(WAITS):
        out[column] = waiting[own, place_in]
    return out


def alike(rows: pd.DataFrame) -> tuple[pd.DataFrame, np.ndarray]:
    """Return the different rows of a table, and for each row which of them it is.

    References
    ----------
    own reasoning
    """
    code = np.zeros(len(rows), dtype=np.int64)
    for name in rows.columns:
        own, kinds = pd.factorize(rows[name])
        code = np.unique(code * (len(kinds) + 1) + own, return_inverse=True)[1]
    _, first, of = np.unique(code, return_index=True, return_inverse=True)
    return rows.iloc[first].reset_index(drop=True), of


class _Facts:
    """Look up what is true of a visit's block, product and season."""

    def __init__(
        self,
        place: dict[str, dict[Any, Any]],
        products: dict[str, Known],
        rates: Rates,
        settings: Settings,
        days: Calendar,
    ) -> None:
        self.place, self.products, self.rates = place, products, rates
        self.paid = settings.crew.who != "family"
        self.steep = rates.figure("any", "steep_percent").value
        self.summer = {name: days.summery(at) for at, name in enumerate(days.names)}
        self.order = {name: at for at, name in enumerate(rates.cautions["caution"])}
        self.told: dict[tuple[frozenset[str], str], str] = {}

    def cautions(self, visit: dict[str, Any], around: dict[str, Any]) -> str:
        """Return the ids of the cautions of a visit, in the handbook's order."""
        known = self.products.get(visit["herbicide"])
        block = self.place[str(visit["block_id"])] | {
            "steep_pct": self.steep,
            "summer": self.summer.get(visit["season"], False),
            "standing": visit["standing"],
            "paid": self.paid,
        }
        product = (known.key or known.name, known.soil_active) if known else ("", False)
        words = visit_words(visit["job"], product, block, around[str(visit["strip_id"])])
        key = (frozenset(words), str(visit["cautions"]))
        if key not in self.told:
            ids = join_cautions([key[1], caution_ids(words, self.rates)]).split()
            by_rank = sorted(ids, key=lambda one: self.order.get(one, len(self.order)))
            self.told[key] = " ".join(by_rank)
        return self.told[key]

    def waits(self, herbicide: str, block_id: str) -> tuple[float, float]:
        """Return the days that stock and hay must wait after a product on a block."""
        known = self.products.get(herbicide)
        if known is None or not known.key:
            return 0.0, 0.0
        asked = waits_of(known, self.place[str(block_id)], self.rates)
        return asked.stock.days, asked.hay.days


def _begun(options: pd.DataFrame | None, days: Calendar, settings: Settings) -> dict[str, int]:
    """Return when each option that was begun before the plan left dead stems standing."""
    if options is None or not len(options):
        return {}
    own = options[options["start_year"] < settings.first_year]
    own = own[own["method"].map(MAIN_JOB).isin(KILLED_STANDING)]
    return {
        str(row["option_id"]): int(row["start_year"]) * len(days.names)
        + days.names.index(str(row["start_season"]))
        for row in own.to_dict("records")
    }


def _standing(
    visits: pd.DataFrame,
    around: dict[str, Surroundings],
    days: Calendar,
    begun: dict[str, int],
) -> pd.Series:
    """Return whether dead stems of an earlier visit stand where a visit goes.

    From the first visit that kills stems standing, until they are felled or the species that
    stands longest in the strip has come down.
    """
    place = {name: at for at, name in enumerate(days.names)}
    date = visits["year"] * len(days.names) + visits["season"].map(place)
    killed = visits["job"].isin(KILLED_STANDING)
    began = visits["option_id"].map(date[killed].groupby(visits["option_id"]).min())
    began = began.fillna(visits["option_id"].map(begun))
    felled = visits["job"] == "fell_dead"
    down = visits["option_id"].map(date[felled].groupby(visits["option_id"]).max())
    stand = visits["strip_id"].map({name: one.stand_years for name, one in around.items()})
    until = down.where(down.notna(), began + stand * len(days.names))
    return ((date > began) & (date <= until)).fillna(False)
