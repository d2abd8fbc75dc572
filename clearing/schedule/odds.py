"""How likely seasons and years run over their hours, money and product, by seeded draws."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import special

from clearing.effort.hours import BUSY
from clearing.forecast import Draws, plain_draws
from clearing.property import RANGES, Settings

COLUMNS = [
    "year", "season", "kind", "limit", "plan_on", "be_ready_for", "odds_over",
]  # fmt: skip
DRAWS = 2000
SHARED = 0.5  # share of the spread of sums that all strips have in common; own choice
LATER = ("follow_up", "upkeep")  # jobs that meet what came back, not what stands there now
LEAST = 1e-3  # of its middle that a low is taken for at the least; own choice
ENDS = {
    "hours": ("hours_low", "hours_high"),
    "money": ("cost_low", "cost_high"),
    "product": ("product_low_l", "product_high_l"),
}
MIDDLE = {"hours": "hours", "money": "cost", "product": "product_l"}


@dataclass(frozen=True)
class Totals:
    """Return drawn totals: one row a period and kind.

    Attributes
    ----------
    rows : DataFrame
        year, season (blank for a whole year), kind, plan_on.
    drawn : ndarray (rows, draws)
        Totals of the draws.
    """

    rows: pd.DataFrame
    drawn: np.ndarray


def yearly_odds(
    visits: pd.DataFrame, limits: pd.DataFrame, settings: Settings, draws: Draws | None = None
) -> pd.DataFrame:
    """Return what to plan on, what to be ready for, and the odds of running over.

    Years of follow-up are as in the middle: the risk that more are needed is left out.

    Parameters
    ----------
    visits : DataFrame
        Chosen visits inside the horizon.
    limits : DataFrame
        resource, kind, year, season, high.
    settings : Settings
        Seed, confidence, whether money carries over.
    draws : Draws, optional
        What the forecast draws; else the visits' own ranges alone.

    Returns
    -------
    DataFrame
        year, season (blank in the rows of whole years), kind (hours, money, product), limit,
        plan_on, be_ready_for, odds_over (missing where there is no limit). Hours [h], money
        [dollars], product [l]. Seasons stand for hours alone, before their year. A year's hours run
        over when all its seasons together do.

    References
    ----------
    own reasoning
    """
    totals = drawn_totals(visits, limits, settings, draws)
    rows = totals.rows
    highs = period_limits(limits)
    limit = [highs.get(key, np.nan) for key in
             rows[["kind", "year", "season"]].itertuples(index=False, name=None)]  # fmt: skip
    held, _ = sums_held(totals, settings)
    over = (held > np.array(limit)[:, None]).mean(axis=1)
    ready = np.quantile(totals.drawn, settings.confidence, axis=1)
    out = rows.assign(
        limit=limit,
        be_ready_for=np.maximum(ready, rows["plan_on"]),
        odds_over=np.where(np.isnan(limit), np.nan, over),
    )
    return out[COLUMNS]


def period_limits(limits: pd.DataFrame) -> dict[tuple[str, int, str], float]:
    """Return the limit of each kind, year and season, and of the hours of whole years (blank).

    Parameters
    ----------
    limits : DataFrame
        kind, year, season, high; rows without a high are left out.

    References
    ----------
    own reasoning
    """
    known = limits[limits["kind"].isin(list(MIDDLE))].astype({"year": int, "high": float})
    known = known[known["high"].notna()]
    single = known.groupby(["kind", "year", "season"])["high"].sum()
    highs = {(str(k), int(y), str(s)): float(v) for (k, y, s), v in single.items()}
    whole = known[known["kind"] == "hours"].groupby("year")["high"].sum()
    return highs | {("hours", int(year), ""): float(value) for year, value in whole.items()}


def sums_held(totals: Totals, settings: Settings) -> tuple[np.ndarray, np.ndarray]:
    """Return drawn and planned totals as limits hold them: carried money up to each year.

    References
    ----------
    own reasoning
    """
    held, planned = totals.drawn.copy(), totals.rows["plan_on"].to_numpy(dtype=float).copy()
    if settings.money.carry_over:
        money = np.flatnonzero(totals.rows["kind"] == "money")
        held[money] = np.cumsum(held[money], axis=0)
        planned[money] = np.cumsum(planned[money])
    return held, planned


def drawn_totals(
    visits: pd.DataFrame, limits: pd.DataFrame, settings: Settings, draws: Draws | None = None
) -> Totals:
    """Return the drawn hours of every season, and hours, money and product of every year.

    A visit's hours = middle x (fixed + with the stems x ratio of the strip's stems) x pace; stems
    ratio: of what stands there for first treatments, of what came back for follow-ups. With the
    stems go the hours at them and of refilling, their wages, and the product. Pace is log-normal
    with what the count leaves of the visit's own range: s^2 = total^2 - count^2, never below 0; of
    product the rest is the dose that is used. What a crew's work, and a job's besides, has in
    common of it is said by the draws. The visits are those of the middle path: that more years
    of follow-up may be needed is not in.

    Parameters
    ----------
    visits : DataFrame
        Chosen visits inside the horizon.
    limits : DataFrame
        Seasons that are named: kind, year, season.
    settings : Settings
        Years and seed.
    draws : Draws, optional
        What the forecast draws.

    References
    ----------
    own reasoning
    """
    years = range(settings.first_year, settings.first_year + settings.years)
    if draws is None:
        strips = tuple(sorted(visits["strip_id"].unique())) if len(visits) else ()
        draws = plain_draws(strips, np.array(years), DRAWS, settings.seed)
    asked = limits.loc[limits["kind"] == "hours", ["year", "season"]].drop_duplicates()
    keys: list[tuple[int, str, str]] = []
    for year in years:
        keys += [(year, str(s), "hours") for s in asked.loc[asked["year"] == year, "season"]]
        keys += [(year, "", kind) for kind in MIDDLE]
    rows = pd.DataFrame(keys, columns=["year", "season", "kind"])
    place = {key: at for at, key in enumerate(keys)}
    drawn, middles = np.zeros((len(keys), len(draws.shared_z))), np.zeros(len(keys))
    own = visits[visits["year"].isin(list(years))] if len(visits) else visits
    periods = own.groupby(["year", "season"], sort=True) if len(own) else ()
    for (year, season), part in periods:
        for kind, middle in MIDDLE.items():
            rows_of = part[part[middle] > 0]
            if kind == "product":  # a contractor brings his own
                rows_of = rows_of[~(rows_of["their_hours"] > 0)]
            if not len(rows_of):
                continue
            total = _drawn(rows_of, kind, draws)
            for key in {(int(year), str(season), kind), (int(year), "", kind)} & set(place):
                drawn[place[key]] += total
                middles[place[key]] += float(rows_of[middle].sum())
    return Totals(rows.assign(plan_on=middles), drawn)


def _drawn(visits: pd.DataFrame, kind: str, draws: Draws) -> np.ndarray:
    """Return the drawn sum of one quantity of visits of one season; middles are over 0."""
    strips = {name: at for at, name in enumerate(draws.strips)}
    strip = visits["strip_id"].map(strips).to_numpy(dtype=int)
    year = int(np.searchsorted(draws.years, int(visits["year"].iloc[0])))
    later = visits["job"].isin(LATER).to_numpy()
    ratio = np.where(later, draws.follow[:, strip, year], draws.density[:, strip]).T
    share = _with_stems(visits, kind)[:, None]
    count = (1.0 - share) + share * ratio
    job_z = {job: draws.of_job(str(job)) for job in visits["job"].unique()}
    own = 1.0 - draws.crew - draws.job
    z = np.sqrt(draws.crew) * draws.shared_z + np.sqrt(own) * draws.strip_z[:, strip].T
    z = z + np.sqrt(draws.job) * np.stack([job_z[job] for job in visits["job"]])
    spread = _own_spread(visits, kind)
    left = np.sqrt(np.maximum(spread**2 - _log_spread(count) ** 2, 0.0))
    if kind == "product" and "dose_spread" in visits:
        left = visits["dose_spread"].to_numpy(dtype=float)
    middle = visits[MIDDLE[kind]].to_numpy(dtype=float)
    return middle @ (count * np.exp(left[:, None] * z))


def _log_spread(count: np.ndarray) -> np.ndarray:
    """Return the standard deviation of the logarithm of each row."""
    return np.log(np.maximum(count, LEAST)).std(axis=1)


def _own_spread(visits: pd.DataFrame, kind: str) -> np.ndarray:
    """Return the spread of each visit's own range on the log scale: ln(high / low) / width."""
    low_name, high_name = ENDS[kind]
    middle = visits[MIDDLE[kind]].to_numpy(dtype=float)
    low = np.clip(visits[low_name].to_numpy(dtype=float), LEAST * middle, middle)
    high = np.maximum(visits[high_name].to_numpy(dtype=float), middle)
    return np.log(high / low) / (2.0 * special.ndtri(0.5 + RANGES / 2))


def _with_stems(visits: pd.DataFrame, kind: str) -> np.ndarray:
    """Return the share of each visit's quantity that goes with the number of stems."""
    if kind == "product":
        return np.ones(len(visits))
    parts = visits[list(BUSY)].sum(axis=1).to_numpy(dtype=float)
    stems = (visits["stem_hours"] + visits["refill_hours"]).to_numpy(dtype=float)
    hours = np.divide(stems, parts, out=np.zeros(len(visits)), where=parts > 0)
    if kind == "hours":
        return hours
    cost = visits["cost"].to_numpy(dtype=float)
    moving = (visits["wages"] * hours + visits["product_cost"]).to_numpy(dtype=float)
    share = np.divide(moving, cost, out=np.zeros(len(visits)), where=cost > 0)
    return np.clip(share, 0.0, 1.0)


def together(parts: dict[str, list[tuple[float, float, float]]]) -> tuple[float, float, float]:
    """Return the sum of quantities with a range that is narrower than the ranges added up.

    A strip's own quantities move together; of the spread between strips half is common, half each
    strip's own: d^2 = s (sum d_i)^2 + (1 - s) sum d_i^2, for low and high apart.

    Parameters
    ----------
    parts : dict
        Strip -> (value, low, high) of each quantity.

    References
    ----------
    own reasoning
    """
    sums = np.array([np.sum(own, axis=0) for own in parts.values()] or [(0.0, 0.0, 0.0)])
    value = float(sums[:, 0].sum())
    ends = []
    for column in (1, 2):
        off = sums[:, column] - sums[:, 0]
        far = np.sqrt(SHARED * off.sum() ** 2 + (1.0 - SHARED) * (off**2).sum())
        ends.append(value + float(far) * (-1.0 if column == 1 else 1.0))
    return value, max(ends[0], 0.0), ends[1]
