"""The property as the owner brought it, and the results that the walk gives."""

import datetime
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    import geopandas as gpd

    from clearing.rates import Rates

RANGES = 0.9  # share of cases that each low to high is to hold; own choice
GRASS_GOALS = ("pasture", "silvopasture")
TRADES = {  # a contractor's trade -> the jobs it stands for
    "mowing": ("mow", "mow_down"),
    "hack_and_squirt": ("hack_and_squirt",),
    "cut_and_spray": ("cut_and_spray",),
    "basal_bark": ("basal_bark",),
    "foliar": ("foliar",),
    "felling": ("fell_dead",),
    "hauling": ("haul_tops",),
    "seeding": ("seed",),
    "marking": ("mark",),
    "follow_up": ("follow_up", "upkeep"),
}
PRICE_UNITS = ("per_acre", "per_ha", "per_hour", "per_stem")


def trade_of(key: str) -> tuple[str, str]:
    """Return trade and unit of a contractor's price such as mowing_per_acre, blank when it is none.

    References
    ----------
    own reasoning
    """
    for unit in PRICE_UNITS:
        trade = key.removesuffix(f"_{unit}")
        if trade != key and trade in TRADES:
            return trade, unit
    return "", ""


@dataclass(frozen=True)
class Crew:
    """Who works, and how long."""

    who: str = "family"
    people: int = 2
    sawyers: int = 1
    days_per_week: float = 2.0
    hours_per_day: float | dict[str, float] = 6.0
    wage_per_hour: float = 0.0
    tank_l: float | None = None  # backpack or sprayer; None = the handbook's filling
    bottle_l: float | None = None  # hand bottle of hack-and-squirt and stumps; None = likewise


@dataclass(frozen=True)
class Money:
    """What may be spent, and what a cleared hectare is worth a year [dollars]."""

    budget_per_year: list[float] = field(default_factory=list)
    carry_over: bool = False
    discount_rate: float = 0.04
    mower_per_hour: float | None = None
    oil_per_l: float | None = None  # of the oil that some recipes are mixed in
    mower_hours_a_season: float | None = None  # None = the mower is there when it is wanted
    value_per_ha_year: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class OwnProduct:
    """A herbicide the owner has or would buy, with what its label says as confirmed or not."""

    name: str
    active_ingredient: str
    ae_kg_per_l: float
    price: tuple[float, ...] = ()  # dollars for one container of each size in container_l
    container_l: tuple[float, ...] = ()
    on_hand_l: float = 0.0
    on_hand_counted: datetime.date | None = None  # the log takes off what it used after it
    registration: str = ""
    label_date: str = ""
    sites: tuple[str, ...] = ()
    methods: tuple[str, ...] = ()
    limits: dict[str, float] = field(default_factory=dict)
    confirmed: bool = False
    shelf_years: float | None = None  # how long it keeps; None = as the handbook says


@dataclass(frozen=True)
class Season:
    """A named part of the year with its months and working days; ``name`` is a key of one word."""

    name: str
    months: tuple[int, ...]
    work_days: float | None = None
    label: str = ""  # as the owner calls it


@dataclass(frozen=True)
class Settings:
    """Return the owner's settings in metric, with defaults filled in.

    ``defaulted`` names the settings that nobody gave, for the report.
    """

    name: str
    region: str
    units: str
    first_year: int
    years: int
    targets: tuple[str, ...]
    species: dict[str, dict[str, object]] = field(default_factory=dict)
    crew: Crew = Crew()
    contractor: dict[str, float] = field(default_factory=dict)  # mowing_per_acre: dollars
    hires: tuple[str, ...] = ()  # trades that the owner gives away
    money: Money = Money()
    cost_share: tuple[dict[str, object], ...] = ()  # name, dollars_per_ha, goals, finish_by ...
    strip_ha: float = 1.2
    seasons: tuple[Season, ...] = ()
    closed_months: tuple[int, ...] = ()
    plot_radius_m: float | None = None
    small_radius_m: float | None = None
    small_below_cm: float | None = None
    herbicides: tuple[OwnProduct, ...] = ()
    stems_over_1in: float = 0.0  # a hectare
    seedlings_per_ha: float = 100.0
    clear_by: int | None = None
    before: tuple[tuple[str, str], ...] = ()
    most_blocks_a_season: int | None = None
    most_products_a_year: int | None = None
    confidence: float = 0.9  # chance with which what to be ready for holds
    keeps_reserve: bool = False  # plan so that hours and money hold with this chance
    season_gone: dict[str, float] = field(default_factory=dict)  # share over, in the first year
    grass: str = "cool"
    seed: int = 1
    defaulted: tuple[str, ...] = ()

    @property
    def us(self) -> bool:
        """Return whether the owner speaks acres and gallons."""
        return self.units == "us"


@dataclass(frozen=True)
class LastPlan:
    """Return what the last plan of a folder said, in metric.

    Attributes
    ----------
    inputs, land : str
        Fingerprints of what it was made of, and of settings and layers alone.
    visits : DataFrame
        strip_id, job, year, season, method, herbicide, recipe_id; hours, product_l and cost, each
        with low and high (hours_low, product_low_l, cost_low and so on).
    strips : dict
        Strip -> block_id, area_ha, method, when (words), start_year (or none).
    first_year : int
        Its first year.
    finish_year : int or None
        Year in which its last planned strip was to be done.
    known : frozenset of str
        Rows of the log that it was made with.
    learned : dict
        (kind, subject, item, season) -> now, low, high, rows: what it had learned.
    since_last : dict or None
        Its own words on the plan before it, as they stand in plan.json.
    """

    inputs: str
    land: str
    visits: pd.DataFrame
    strips: dict[str, dict[str, object]]
    first_year: int
    finish_year: int | None = None
    known: frozenset[str] = frozenset()
    learned: dict[tuple[str, str, str, str], tuple[float, ...]] = field(default_factory=dict)
    since_last: dict[str, object] | None = None


@dataclass(frozen=True)
class Property:
    """Return one property as read: settings, layers in their own coordinate systems, tables.

    Columns are those of ``data/columns/owner`` in metric; ``records`` has ``line`` beside them, the
    row's line in its file. ``notes`` are sentences on what was read, ``log_faults`` one on each row
    of the log that was set aside because it cannot be read. ``last`` is what the last plan of the
    folder said, none where there is none that can be read.
    """

    settings: Settings
    blocks: "gpd.GeoDataFrame"
    strips: "gpd.GeoDataFrame"
    keep_trees: "gpd.GeoDataFrame"
    features: "gpd.GeoDataFrame"
    plots: "gpd.GeoDataFrame"
    tally: pd.DataFrame
    records: pd.DataFrame
    photo: Path | None = None
    notes: tuple[str, ...] = ()
    log_faults: tuple[str, ...] = ()
    last: LastPlan | None = None


@dataclass(frozen=True)
class Results:
    """Return what the walk gives, table by table (``data/columns/walk``), and the plan.

    ``options`` and ``visits`` hold every option that was weighed; ``plan.visits`` holds the
    chosen ones. ``futures`` holds what comes of leaving each strip alone (and of strips begun),
    ``followed`` what comes of the plan. ``lessons`` is what the log taught, ``work_done`` what it
    says was done, ``over`` the visits of strips begun that lie behind, ``base_year`` the first year
    of counts or work. ``kept`` is what the report has worked out from these tables.
    """

    property: Property
    rates: "Rates"
    grid: str
    blocks: "gpd.GeoDataFrame"
    keep_trees: "gpd.GeoDataFrame"
    features: "gpd.GeoDataFrame"
    plots: "gpd.GeoDataFrame"
    stocking: pd.DataFrame
    totals: pd.DataFrame
    strips: "gpd.GeoDataFrame"
    zones: "gpd.GeoDataFrame"
    neighbours: pd.DataFrame
    methods: pd.DataFrame
    futures: pd.DataFrame
    options: pd.DataFrame
    visits: pd.DataFrame
    plan: "FieldPlan"
    mended: pd.DataFrame = field(default_factory=pd.DataFrame)
    offers: pd.DataFrame = field(default_factory=pd.DataFrame)
    nearby: pd.DataFrame = field(default_factory=pd.DataFrame)
    income: pd.DataFrame = field(default_factory=pd.DataFrame)
    arrivals: pd.DataFrame = field(default_factory=pd.DataFrame)
    followed: pd.DataFrame = field(default_factory=pd.DataFrame)
    not_offered: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    lessons: pd.DataFrame = field(default_factory=pd.DataFrame)
    over: pd.DataFrame = field(default_factory=pd.DataFrame)
    work_done: pd.DataFrame = field(default_factory=pd.DataFrame)
    base_year: int = 0
    kept: dict[str, object] = field(default_factory=dict, init=False, repr=False, compare=False)


@dataclass(frozen=True)
class FieldPlan:
    """Return the plan in the owner's terms.

    Attributes
    ----------
    status : str
        best (proved within the gap), stopped (best found so far) or none (no plan fits).
    options, visits : DataFrame
        Chosen options and their visits inside the horizon; visits carry ``why``.
    run_off : DataFrame
        Visits of the chosen options after the last year: shown, without limits.
    limits : DataFrame
        resource, kind (hours, money), year, season, used, limit.
    odds : DataFrame
        year, kind, limit, plan_on, be_ready_for, odds_over (share of the draws over the limit).
    value, cost, bound, gap : float or None
        Objective: cost is discounted cost less worth [dollars]; bound is the solver's proof.
    why : DataFrame
        strip_id, option_id, why, next_best (option_id), next_best_extra [dollars], binds.
    reasons : tuple of str
        Sentences when no plan fits.
    purchases : DataFrame
        year, herbicide, product_l, product_high_l, on_hand_l, container_l, containers,
        containers_ready, cost, buy, buy_ready, expired_l, left_l, spoils (schedule.purchases).
    thumb : DataFrame
        What simple rules of thumb would cost on the same property, one row a rule.
    prices : DataFrame
        What one more unit of each limit would save, from the relaxation.
    reserve : DataFrame
        What to keep back of each limit so that it holds with a stated chance.
    shortfall : DataFrame
        resource, amount by which work already begun passes what there is.
    dropped : int
        Options left out before solving because another is better in everything.
    cascades : dict
        What the evaluating forecast finds beyond the seed that the planner weighs.
    solver_log : tuple of str
        Progress lines for run.log.
    """

    status: str
    options: pd.DataFrame
    visits: pd.DataFrame
    run_off: pd.DataFrame
    limits: pd.DataFrame
    odds: pd.DataFrame
    cost: float | None
    bound: float | None
    gap: float | None
    why: pd.DataFrame
    reasons: tuple[str, ...]
    purchases: pd.DataFrame
    solver_log: tuple[str, ...] = ()
    thumb: pd.DataFrame = field(default_factory=pd.DataFrame)
    prices: pd.DataFrame = field(default_factory=pd.DataFrame)
    reserve: pd.DataFrame = field(default_factory=pd.DataFrame)
    shortfall: pd.DataFrame = field(default_factory=pd.DataFrame)
    dropped: int = 0
    cascades: dict[str, float] = field(default_factory=dict)
