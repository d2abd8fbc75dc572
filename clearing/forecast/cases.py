"""Lay out strips, methods and start years as arrays, with what each method does to each species."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.forecast.growth import SCENARIOS, STAGES, Vital, vital_back, vital_rates
from clearing.property import Settings
from clearing.rates import Rates
from clearing.treatment import book_for, known_products
from clearing.treatment.recipes import Book, best, recipe_book

BEYOND = 4  # years after the last one that are looked at for what is still to be done; own choice
LEAVING_JOBS = ("left", "call_utility")  # stems that this crew does not treat
STANDING_JOBS = ("hack_and_squirt", "basal_bark")  # leave the dead stem where it stood
CASE = ["strip_id", "method_id", "start_year"]
PAIR = ["strip_id", "method_id"]
FAINT = 1e-9  # weight of stems at the high end where the middle has none; own choice
LEVELS = ("", "_low", "_high")  # columns of the scenarios, in their order


@dataclass(frozen=True)
class Kind:
    """One species in all cases: its rates in each scenario and what is done to it.

    ``stems`` (scenarios, cases, stages) stand in the first year; shares of them, by case and
    stage: ``kill`` (with a scenario first: the low one has the better kill) and ``touched`` of
    all, ``stands`` of the killed. ``follow_kill`` (scenarios, cases) is what a follow-up kills.
    ``back`` is how many come back against what the handbook foretells.
    Kills of low and high go ``way`` from the middle to the ends of their ranges.
    """

    vital: tuple[Vital, ...]
    stems: np.ndarray
    kill: np.ndarray
    touched: np.ndarray
    stands: np.ndarray
    follow_kill: np.ndarray
    way: float
    back: float = 1.0


@dataclass(frozen=True)
class Cases:
    """Strip, method and start year of each case (``frame``), the species, the years looked at.

    ``start`` is a year, or missing for not_now.
    """

    frame: pd.DataFrame
    start: np.ndarray
    area_ha: np.ndarray
    years: np.ndarray
    kinds: dict[str, Kind]


def lay_out(
    methods: pd.DataFrame,
    ground: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame],
    rates: Rates,
    settings: Settings,
    chosen: pd.DataFrame | None = None,
) -> Cases:
    """Return the cases of every method and start year, or of what was chosen alone.

    Parameters
    ----------
    methods : DataFrame
        As ``walk/methods``.
    ground : (GeoDataFrame, GeoDataFrame)
        As ``walk/strips`` (keep_canopy_pct where it is known) and ``walk/blocks``.
    rates : Rates
        Handbook figures.
    settings : Settings
        First year, years.
    chosen : DataFrame, optional
        strip_id, method_id, start_year (missing for not_now).

    References
    ----------
    own reasoning
    """
    strips, blocks = ground
    pairs = methods[[*PAIR, "method"]].drop_duplicates(PAIR).reset_index(drop=True)
    if chosen is None:
        dated = _every_start(pairs, settings)
    else:
        wanted = chosen[CASE].astype({"start_year": float})
        dated = wanted.merge(pairs, on=PAIR)
    own = strips[["strip_id", "block_id", "area_ha"]].assign(
        keep_pct=strips.get("keep_canopy_pct", 0.0)
    )
    theirs = ["block_id", "goal", "ready_year", "tops", "slope_pct"]
    frame = dated.merge(pd.DataFrame(own), on="strip_id")
    frame = frame.merge(pd.DataFrame(blocks[theirs]), on="block_id")
    code = {pair: at for at, pair in enumerate(zip(*(pairs[name] for name in PAIR), strict=True))}
    of = np.array([code[pair] for pair in zip(*(frame[name] for name in PAIR), strict=True)], int)
    row_pair = np.array([code[pair] for pair in zip(*(methods[n] for n in PAIR), strict=True)], int)
    species = sorted(methods["species"].unique())
    books = _books(species, blocks, rates)
    block = frame["block_id"].to_numpy()
    kinds = {}
    for name in species:
        mine = (methods["species"] == name).to_numpy()
        kinds[name] = _kind(
            methods[mine], row_pair[mine], of, _follow_kill(name, block, books, rates),
            tuple(vital_rates(name, rates, scenario) for scenario in SCENARIOS),
            (rates.figure("any", "scenario_way").value, vital_back(name, rates)),
        )  # fmt: skip
    years = np.arange(settings.first_year, settings.first_year + settings.years + BEYOND)
    return Cases(
        frame, frame["start_year"].to_numpy(dtype=float), frame["area_ha"].to_numpy(dtype=float),
        years, kinds,
    )  # fmt: skip


def _every_start(pairs: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return each method with each start year, not_now with none."""
    starts = pd.DataFrame(
        {"start_year": range(settings.first_year, settings.first_year + settings.years)}
    )
    idle = pairs["method"] == "not_now"
    return pd.concat(
        [pairs[~idle].merge(starts, how="cross"), pairs[idle].assign(start_year=np.nan)],
        ignore_index=True,
    )


def _kind(
    rows: pd.DataFrame,
    pair: np.ndarray,
    of: np.ndarray,
    follow_kill: np.ndarray,
    vital: tuple[Vital, ...],
    ways: tuple[float, float],
) -> Kind:
    """Return one species: sums over zones; shares are weighed by the middle stems throughout."""
    way, back = ways
    stage = pd.Index(STAGES).get_indexer(rows["size_class"])
    shape = (int(max(of.max(initial=-1), pair.max(initial=-1))) + 1, len(STAGES))

    def added(values: np.ndarray) -> np.ndarray:
        total = np.zeros(shape)
        np.add.at(total, (pair, stage), values)
        return total

    def numbers(name: str) -> np.ndarray:
        return rows[name].to_numpy(dtype=float)

    weight = numbers("stems") + FAINT * numbers("stems_high")
    treated = ~rows["job"].isin(LEAVING_JOBS).to_numpy()
    stand = rows["job"].isin(STANDING_JOBS).to_numpy() & ~rows["fell_after"].to_numpy(dtype=bool)
    total = added(weight)
    middle = numbers("kill")
    ends = [middle + way * (numbers(f"kill{end}") - middle) for end in ("", "_high", "_low")]
    killed = [added(weight * treated * each) for each in ends]
    standing = added(weight * treated * stand * middle)
    return Kind(
        vital=vital,
        stems=np.stack([added(numbers(f"stems{end}"))[of] for end in LEVELS]),
        kill=np.stack([_over(each, total, 0.0)[of] for each in killed]),
        touched=_over(added(weight * treated), total, 1.0)[of],
        stands=_over(standing, killed[0], 0.0)[of],
        follow_kill=follow_kill,
        way=way,
        back=back,
    )


def _over(part: np.ndarray, whole: np.ndarray, blank: float) -> np.ndarray:
    """Return a share, and what stands for it where there is no whole."""
    return np.divide(part, whole, out=np.full(whole.shape, blank), where=whole > 0)


def _books(species: list[str], blocks: gpd.GeoDataFrame, rates: Rates) -> dict[str, Book]:
    """Return the recipes that each block's use leaves."""
    book, _ = recipe_book(species, known_products(rates), rates)
    use = [name for name in ("goal", "stock", "hay") if name in blocks]
    known: dict[tuple[object, ...], Book] = {}
    out = {}
    for block in pd.DataFrame(blocks[["block_id", *use]]).to_dict("records"):
        key = tuple(block[name] for name in use)
        if key not in known:
            known[key] = book_for(book, block, rates)[0] if len(use) == 3 else book
        out[str(block["block_id"])] = known[key]
    return out


def _follow_kill(
    species: str, block: np.ndarray, books: dict[str, Book], rates: Rates
) -> np.ndarray:
    """Return what a follow-up kills of one species in each case, by scenario."""
    found = {name: follow_up_kill(species, books[name], rates) for name in set(block)}
    out = np.array([found[name] for name in block], dtype=float).reshape(-1, 3).T
    return out[0] + rates.figure("any", "scenario_way").value * (out - out[0])


def follow_up_kill(species: str, book: Book, rates: Rates) -> tuple[float, float, float]:
    """Return the share of resprouts and seedlings that one follow-up kills.

    By the best leaf spray of the book; without one by pulling: middle, then high (low path), then
    low.

    Parameters
    ----------
    species : str
        The owner's species.
    book : Book
        Recipes that the block's use leaves (`treatment.book_for`).
    rates : Rates
        Handbook figures.

    References
    ----------
    own reasoning; the recipe carries its own source
    """
    chosen = best(book.get((species, "foliar"), []))
    if chosen is not None:
        recipe = chosen.recipe
        return float(recipe["kill"]), float(recipe["kill_high"]), float(recipe["kill_low"])
    pulled = rates.figure(species, "hand_pull_kill")
    return pulled.value, pulled.high, pulled.low
