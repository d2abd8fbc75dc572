"""How likely each year runs over its hours and money, by seeded draws."""

import numpy as np
import pandas as pd
from scipy import stats

from clearing.property import Settings

DRAWS = 2000
SHARED = 0.5  # share of the spread that all strips have in common (pace, kill); own choice
RANGE = 0.9  # a visit's low to high holds this share; own choice


def yearly_odds(visits: pd.DataFrame, limits: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return for every year what to plan on, what to be ready for, and the odds of running over.

    Each visit's hours and cost are drawn log-normal with its low to high as the middle 90 %; half
    of the spread is common to all strips, half is each strip's own.

    Parameters
    ----------
    visits : DataFrame
        Chosen visits inside the horizon.
    limits : DataFrame
        resource, kind, year, season, high.
    settings : Settings
        Seed, confidence.

    Returns
    -------
    DataFrame
        year, kind (hours, money, product), limit, plan_on, be_ready_for, odds_over (missing where
        there is no limit). Hours [h], money [dollars], product [l].

    References
    ----------
    own reasoning
    """
    random = np.random.default_rng(settings.seed)
    strips = sorted(visits["strip_id"].unique()) if len(visits) else []
    common = random.standard_normal((DRAWS, 1))
    apart = random.standard_normal((DRAWS, max(len(strips), 1)))
    by_strip = {name: i for i, name in enumerate(strips)}
    z = np.sqrt(SHARED) * common + np.sqrt(1 - SHARED) * apart
    rows = []
    spent = np.zeros(DRAWS)  # carried-over money is limited by the sum up to each year
    for year in range(settings.first_year, settings.first_year + settings.years):
        in_year = visits[visits["year"] == year] if len(visits) else visits
        for kind, column in (("hours", "hours"), ("money", "cost"), ("product", "product_l")):
            own = in_year[~(in_year["their_hours"] > 0)] if kind == "product" else in_year
            total = _draws(own, column, z, by_strip)
            own_limit = limits[(limits["kind"] == kind) & (limits["year"] == year)]["high"]
            limit = float(own_limit.sum()) if len(own_limit) else np.nan
            spent = spent + total if kind == "money" and settings.money.carry_over else spent
            held = spent if kind == "money" and settings.money.carry_over else total
            over = float((held > limit).mean()) if len(own_limit) else np.nan
            middle = float(own[column].sum()) if len(own) else 0.0
            ready = float(np.quantile(total, settings.confidence)) if len(in_year) else 0.0
            rows.append((year, kind, limit, middle, max(ready, middle), over))
    return pd.DataFrame(
        rows, columns=["year", "kind", "limit", "plan_on", "be_ready_for", "odds_over"]
    )


def together(parts: dict[str, list[tuple[float, float, float]]]) -> tuple[float, float, float]:
    """Return the sum of quantities with the range that the draws' model gives it.

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


def _draws(
    visits: pd.DataFrame, column: str, z: np.ndarray, by_strip: dict[str, int]
) -> np.ndarray:
    """Return the drawn totals of one quantity in one year."""
    total = np.zeros(len(z))
    low_name, high_name = {
        "hours": ("hours_low", "hours_high"),
        "cost": ("cost_low", "cost_high"),
        "product_l": ("product_low_l", "product_high_l"),
    }[column]
    width = 2.0 * stats.norm.ppf(0.5 + RANGE / 2)
    for visit in visits.itertuples():
        middle = float(getattr(visit, column))
        low, high = float(getattr(visit, low_name)), float(getattr(visit, high_name))
        if middle <= 0:
            continue
        sigma = np.log(max(high, middle) / max(min(low, middle), 1e-3 * middle)) / width
        total += middle * np.exp(sigma * z[:, by_strip[visit.strip_id]])
    return total
