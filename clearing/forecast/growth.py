"""One year of an untreated species: seed, seedlings, growth through the size classes."""

from dataclasses import dataclass

import numpy as np

from clearing.rates import Rates

BANK, SEEDLING, RESPROUT = 0, 1, 7
STAGES = (
    "seed_bank", "seedling", "under_1in", "1_3in", "3_6in", "6_10in", "over_10in", "resprout",
)  # fmt: skip
OVER_AN_INCH = slice(3, 7)
LEFT_OF_BANK = 0.05  # share of a seed bank alive at the end of its stated life; own choice


@dataclass(frozen=True)
class Vital:
    """The yearly rates of one species, middle of the handbook.

    ``up`` is the share of each stage that passes into the next a year; ``bearing`` the seeds of a
    stem of each stage a year; both have one entry a stage.
    """

    up: np.ndarray
    bearing: np.ndarray
    bank_survival: float
    seed_to_seedling: float
    seedling_survival: float
    grass_suppression: float
    ceiling_per_ha: float
    leaving_m: float
    bank_years: float
    mow_after_years: float
    stand_years: float
    tops_gone_years: float


def vital_rates(species: str, rates: Rates) -> Vital:
    """Return the yearly rates of one species.

    up = growth / width of the class, at most one; bank survival = 0.05^(1 / life of the bank).

    Parameters
    ----------
    species : str
        The owner's species.
    rates : Rates
        Handbook figures of the species, of what it is like, or of any.

    References
    ----------
    own reasoning; each figure carries its own source
    """

    def value(item: str) -> float:
        return rates.figure(species, item).value

    widths = rates.sizes["dbh_high_cm"].astype(float) - rates.sizes["dbh_low_cm"].astype(float)
    up = np.zeros(len(STAGES))
    up[SEEDLING] = value("seedling_up_share")
    up[2:6] = np.minimum(1.0, value("growth_cm_year") / widths.to_numpy()[1:5])
    up[RESPROUT] = value("resprout_up_share")
    bearing = np.zeros(len(STAGES))
    for stage in range(3, 7):
        bearing[stage] = value("seeds_per_tree") * value(f"bearing_{STAGES[stage]}")
    return Vital(
        up=up,
        bearing=bearing,
        bank_survival=LEFT_OF_BANK ** (1.0 / max(value("seed_bank_years"), 0.5)),
        seed_to_seedling=value("seed_to_seedling"),
        seedling_survival=value("seedling_survival"),
        grass_suppression=value("grass_suppression"),
        ceiling_per_ha=value("carrying_stems_per_ha"),
        leaving_m=value("kernel_m"),
        bank_years=value("seed_bank_years"),
        mow_after_years=value("mow_after_years"),
        stand_years=value("stand_years"),
        tops_gone_years=value("tops_gone_years"),
    )


def next_year(
    state: np.ndarray, vital: Vital, area_ha: np.ndarray, mowed: np.ndarray
) -> np.ndarray:
    """Return the stems of next year, before its work.

    Crowding slows growth and recruits alike: room = max(0, 1 - stems / ceiling); no more seedlings
    come up than the ceiling has places left, however full the seed bank.

    Parameters
    ----------
    state : array (cases, stages)
        Live stems (seeds in the bank) after this year's work.
    vital : Vital
        Rates of the species.
    area_ha : array (cases,)
        Area of the strip [ha].
    mowed : array (cases,) of bool
        Whether the strip is mowed this year.

    References
    ----------
    own reasoning
    """
    stems = state[:, 1:].sum(axis=1)
    ceiling = vital.ceiling_per_ha * area_ha
    room = np.clip(1.0 - stems / ceiling, 0.0, 1.0)
    rising = state * vital.up
    rising[:, 2:6] *= np.maximum(room, 0.25)[:, None]
    after = state - rising
    after[:, 2] += rising[:, SEEDLING] * vital.seedling_survival + rising[:, RESPROUT]
    after[:, 3:7] += rising[:, 2:6]
    after[:, SEEDLING] *= vital.seedling_survival
    seeds = state @ vital.bearing
    recruits = np.minimum(state[:, BANK] * vital.seed_to_seedling, ceiling) * room
    after[:, BANK] = (state[:, BANK] - recruits + seeds) * vital.bank_survival
    after[:, SEEDLING] += recruits
    held = 1.0 - vital.grass_suppression * mowed
    after[:, SEEDLING] *= held
    return after


def starting_bank(stems: np.ndarray, vital: Vital) -> np.ndarray:
    """Return the seed bank that the standing trees keep up [seeds].

    bank = seeds a year x s / (1 - s).

    References
    ----------
    own reasoning
    """
    survival = vital.bank_survival
    return (stems @ vital.bearing) * survival / (1.0 - survival)
