"""One year of an untreated species: seed, seedlings, sprouts, growth through the size classes."""

from dataclasses import dataclass, replace

import numpy as np

from clearing.rates import Rates

BANK, SEEDLING, UNDER, RESPROUT, SUCKER = 0, 1, 2, 7, 8
STAGES = (
    "seed_bank", "seedling", "under_1in", "1_3in", "3_6in", "6_10in", "over_10in", "resprout",
    "root_sucker",
)  # fmt: skip
SMALL = (SEEDLING, UNDER, RESPROUT, SUCKER)  # what a follow-up is there for
OVER_AN_INCH = slice(3, 7)
SCENARIOS = ("middle", "low", "high")
END = {"middle": "value", "low": "low", "high": "high"}
OTHER = {"middle": "value", "low": "high", "high": "low"}


@dataclass(frozen=True)
class Vital:
    """The yearly rates of one species in one scenario.

    One entry a stage: ``up`` is the share that passes into the next a year, ``makes`` how many
    stems of the next one that passes makes, ``bearing`` the seeds of a stem a year, ``places``
    the stems a hectare above which no more come in. Of stems that live, ``suckers_of_tree`` come
    up a year; of one treated that did not die, ``suckers_per_stem``.
    """

    up: np.ndarray
    makes: np.ndarray
    bearing: np.ndarray
    places: np.ndarray
    bank_survival: float
    seed_to_seedling: float
    seedling_survival: float
    suckers_of_tree: float
    suckers_per_stem: float
    grass_suppression: float
    bank_years: float
    mow_after_years: float
    stand_years: float
    tops_gone_years: float


def vital_rates(species: str, rates: Rates, scenario: str = "middle") -> Vital:
    """Return the yearly rates of one species.

    up = growth / width of the class, at most one; bank survival = bank_end_share^(1 / life of the
    bank), in which what comes up is counted. A clump past breast height makes sprouts x leading
    share stems. Low and high go ``scenario_way`` to the ends of the handbook's ranges, all to the
    same side:
    few seedlings, short-lived banks, few sprouts and places, or the reverse. Growth through the
    classes is the middle in all three: what grows faster leaves the small classes sooner, so it
    makes neither more stems nor fewer. Seeds of a tree are the middle too: seed_to_seedling was set
    against them.

    Parameters
    ----------
    species : str
        The owner's species.
    rates : Rates
        Handbook figures of the species, of what it is like, or of any.
    scenario : str
        middle, low or high.

    References
    ----------
    own reasoning; each figure carries its own source
    """

    def value(item: str) -> float:
        return rates.figure(species, item).value

    def more(item: str) -> float:
        return _moved(rates, species, item, END[scenario])

    stages = len(STAGES)
    widths = rates.sizes["dbh_high_cm"].astype(float) - rates.sizes["dbh_low_cm"].astype(float)
    up, makes, bearing = np.zeros(stages), np.ones(stages), np.zeros(stages)
    up[SEEDLING] = value("seedling_up_share")
    up[UNDER:6] = np.minimum(1.0, value("growth_cm_year") / widths.to_numpy()[1:5])
    up[[RESPROUT, SUCKER]] = value("resprout_up_share")
    makes[SEEDLING] = more("seedling_survival")
    makes[RESPROUT] = max(1.0, more("sprouts_per_stump") * more("sprouts_leading_share"))
    for stage in range(3, 7):
        bearing[stage] = value("seeds_per_tree") * more(f"bearing_{STAGES[stage]}")
    places = np.full(stages, np.inf)
    for stage in (*range(SEEDLING, RESPROUT), SUCKER):
        places[stage] = more("carrying_stems_per_ha") * value(f"places_{STAGES[stage]}")
    return Vital(
        up=up,
        makes=makes,
        bearing=bearing,
        places=places,
        bank_survival=value("bank_end_share") ** (1.0 / max(more("seed_bank_years"), 0.5)),
        seed_to_seedling=more("seed_to_seedling") * vital_back(species, rates),
        seedling_survival=makes[SEEDLING],
        suckers_of_tree=more("suckers_of_tree"),
        suckers_per_stem=more("suckers_per_stem") * vital_back(species, rates),
        grass_suppression=_moved(rates, species, "grass_suppression", OTHER[scenario]),
        bank_years=value("seed_bank_years"),
        mow_after_years=value("mow_after_years"),
        stand_years=value("stand_years"),
        tops_gone_years=value("tops_gone_years"),
    )


def vital_back(species: str, rates: Rates) -> float:
    """Return how many come back of a species against what the handbook foretells: 1 without a log.

    It goes with the survivors of a first treatment, the suckers of treated stems, and seedlings.

    References
    ----------
    own reasoning
    """
    return rates.figure(species, "return_factor").value


def _moved(rates: Rates, species: str, item: str, end: str) -> float:
    """Return a figure moved towards an end: by ratio where there is one, else straight."""
    figure = rates.figure(species, item)
    goal, way = float(getattr(figure, end)), rates.figure("any", "scenario_way").value
    if figure.value > 0 and goal > 0:
        return float(figure.value * (goal / figure.value) ** way)
    return float(figure.value + way * (goal - figure.value))


def next_year(
    state: np.ndarray,
    vital: Vital,
    area_ha: np.ndarray,
    mowed: np.ndarray,
    arrived: np.ndarray | float = 0.0,
) -> np.ndarray:
    """Return the stems of next year, before its work.

    Seed joins the bank, spring's seedlings come of what lived through the winter. Crowding: no
    more come into a stage than it has places left, and what finds none dies. What stands over the
    places already is not thinned. More stems, seeds or places never make fewer of anything.

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
    arrived : array (cases,), optional
        Seeds of this year from elsewhere.

    References
    ----------
    own reasoning
    """
    rising = state * (vital.up * vital.makes)
    stay = state * (1.0 - vital.up)
    stay[:, SEEDLING] *= vital.seedling_survival
    bank = (state[:, BANK] + state @ vital.bearing + arrived) * vital.bank_survival
    new = np.zeros_like(state)
    new[:, SEEDLING] = bank * vital.seed_to_seedling
    new[:, UNDER] = rising[:, [SEEDLING, RESPROUT, SUCKER]].sum(axis=1)
    new[:, 3:7] = rising[:, 2:6]
    new[:, SUCKER] = state[:, OVER_AN_INCH].sum(axis=1) * vital.suckers_of_tree
    after = np.maximum(stay, np.minimum(stay + new, vital.places * area_ha[:, None]))
    after[:, BANK] = bank
    after[:, SEEDLING] *= 1.0 - vital.grass_suppression * mowed
    return after


def next_year_of_left(
    left: np.ndarray, vital: Vital, area_ha: np.ndarray, mowed: np.ndarray
) -> np.ndarray:
    """Return next year's stems that nobody treats, as a part of `next_year` of the whole strip.

    They take the places of a stage before the rest of the strip does: they have stood there
    longest. Their seed and root suckers belong to the rest.

    Parameters
    ----------
    left : array (cases, stages)
        Live stems left aside; no seeds, resprouts or suckers.
    vital, area_ha, mowed
        As for `next_year`.

    References
    ----------
    own reasoning
    """
    barren = replace(vital, bearing=np.zeros_like(vital.bearing), suckers_of_tree=0.0)
    return next_year(left, barren, area_ha, mowed)


def starting_bank(stems: np.ndarray, vital: Vital) -> np.ndarray:
    """Return the seed bank that the standing trees keep up [seeds].

    bank = seeds a year x s / (1 - s).

    References
    ----------
    own reasoning
    """
    survival = vital.bank_survival
    return (stems @ vital.bearing) * survival / (1.0 - survival)


def yearly_matrix(species: str, rates: Rates, scenario: str = "middle") -> np.ndarray:
    """Return one year of an uncrowded, untreated, unmowed species as a matrix.

    Rows and columns are the stages in the order of ``STAGES``: what one individual of each column
    gives to each row in a year.

    Parameters
    ----------
    species : str
        The owner's species.
    rates : Rates
        Handbook figures.
    scenario : str
        middle, low or high.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    vital, stages = vital_rates(species, rates, scenario), len(STAGES)
    matrix = np.diag(1.0 - vital.up)
    matrix[SEEDLING, SEEDLING] *= vital.seedling_survival
    for stage in (SEEDLING, RESPROUT, SUCKER):
        matrix[UNDER, stage] = vital.up[stage] * vital.makes[stage]
    for stage in range(UNDER, 6):
        matrix[stage + 1, stage] = vital.up[stage]
    matrix[SUCKER, OVER_AN_INCH] = vital.suckers_of_tree
    shed = vital.bearing + np.eye(stages)[BANK]
    matrix[BANK] = shed * vital.bank_survival
    matrix[SEEDLING] += matrix[BANK] * vital.seed_to_seedling
    return matrix
