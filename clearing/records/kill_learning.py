"""Learn the kill of a recipe from stems that were found dead or alive after it."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import special

from clearing.property import RANGES

LEAST_WORTH, MOST_WORTH = 2.0, 200.0  # stems that a handbook's range may be worth; own choice
SURE = 0.02  # no mean of a prior is nearer to none or all than this; own choice
ALIKE = 0.1  # how alike stems of one plot are (intraclass correlation); own choice
LENT = 0.5  # what a stem of another season counts for; own choice


@dataclass(frozen=True)
class Kill:
    """A kill as a beta distribution: ``dead`` and ``alive`` are its two shapes."""

    dead: float
    alive: float

    @property
    def mean(self) -> float:
        """Return the mean."""
        return self.dead / (self.dead + self.alive)

    @property
    def worth(self) -> float:
        """Return how many stems it is worth."""
        return self.dead + self.alive

    def ends(self, mass: float = RANGES) -> tuple[float, float]:
        """Return the range with so much of it, as much left out below as above."""
        tail = (1.0 - mass) / 2.0
        low, high = special.betaincinv(self.dead, self.alive, [tail, 1.0 - tail])
        return float(low), float(high)


def prior_kill(kill: float, low: float, high: float) -> Kill:
    """Return the beta distribution that a handbook's kill with its range stands for.

    Its mean is the kill (kept SURE from none and all), its standard deviation that of a range of
    ``property.RANGES``; it is worth m (1 - m) / sd^2 - 1 stems, between LEAST_WORTH and MOST_WORTH.

    Parameters
    ----------
    kill, low, high : float
        Shares.

    References
    ----------
    own reasoning (moments of the beta distribution)
    """
    mean = min(max(kill, SURE), 1.0 - SURE)
    sd = max(high - low, 1e-6) / (2.0 * special.ndtri(0.5 + RANGES / 2.0))
    worth = min(max(mean * (1.0 - mean) / sd**2 - 1.0, LEAST_WORTH), MOST_WORTH)
    return Kill(worth * mean, worth * (1.0 - mean))


def posterior_kill(
    prior: Kill, dead: Iterable[float], alive: Iterable[float], weight: Iterable[float] = ()
) -> Kill:
    """Return the kill after counts, plot by plot (beta and binomial).

    A plot of n stems counts as n / (1 + (n - 1) ALIKE), since its stems share soil, day and hand;
    with single stems the answer is the exact one: dead + d, alive + n - d.

    Parameters
    ----------
    prior : Kill
        Before.
    dead, alive : iterable of float
        Stems of each plot, or single stems.
    weight : iterable of float, optional
        What each plot counts for, 1 where nothing is said.

    Raises
    ------
    ValueError
        A count is negative, or there are not as many of the one as of the other.

    References
    ----------
    gelman_bda3 (conjugate beta), kish_1965 (design effect)

    Examples
    --------
    >>> posterior_kill(Kill(1, 1), [1, 1, 0], [0, 0, 1])
    Kill(dead=3.0, alive=2.0)
    """
    died, lived = (np.asarray(list(each), dtype=float) for each in (dead, alive))
    given = np.asarray(list(weight) or np.ones(len(died)), dtype=float)
    if len(died) != len(lived) or len(given) != len(died) or (died < 0).any() or (lived < 0).any():
        raise ValueError("write as many counts of dead as of living stems, none below nought")
    n = died + lived
    shrink = given / (1.0 + np.maximum(n - 1.0, 0.0) * ALIKE)
    return Kill(
        float(prior.dead + (shrink * died).sum()), float(prior.alive + (shrink * lived).sum())
    )


def learn_kills(recipes: pd.DataFrame, counts: pd.DataFrame) -> pd.DataFrame:
    """Return the kill of each recipe and season that was counted, and of each recipe over all.

    Parameters
    ----------
    recipes : DataFrame
        recipe_id, kill, kill_low, kill_high.
    counts : DataFrame
        recipe_id, species, season (of the treatment), plot_id, dead, alive [stems].

    Returns
    -------
    DataFrame
        recipe_id, species, season (blank = all seasons), dead, alive [stems counted], prior,
        kill, low, high, worth_prior, worth [stems]. Seasons lend each other LENT of a stem.

    References
    ----------
    gelman_bda3; own reasoning for what seasons lend each other
    """
    known = recipes.drop_duplicates("recipe_id").set_index("recipe_id")
    rows = []
    for (recipe, species), own in counts.groupby(["recipe_id", "species"], sort=True):
        if recipe not in known.index:
            continue
        book = known.loc[recipe]
        prior = prior_kill(*(float(book[name]) for name in ("kill", "kill_low", "kill_high")))
        for season in ["", *sorted(own["season"].unique())]:
            here = (own["season"] == season) | (season == "")
            seen = posterior_kill(prior, own["dead"], own["alive"], np.where(here, 1.0, LENT))
            part = own[here]
            rows.append(
                (recipe, species, season, part["dead"].sum(), part["alive"].sum(),
                 float(book["kill"]), seen.mean, *seen.ends(), prior.worth, seen.worth)
            )  # fmt: skip
    names = ["recipe_id", "species", "season", "dead", "alive", "prior", "kill", "low", "high",
             "worth_prior", "worth"]  # fmt: skip
    return pd.DataFrame(rows, columns=names)
