"""Turn what the log teaches into the rates that lie ahead, and say what it weighs."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy import special

from clearing.property import RANGES
from clearing.rates import FIGURE, Figure, Rates
from clearing.records.pace_learning import Known, prior_of

SPRAYER = 0.5  # of the spread of doses: what a crew has in common; own choice
GROUND = 0.5  # of the spread of what comes back: what all species have in common; own choice
OWN_LOG = "own_log"  # their source
IN_LOG = "log"  # ``seen`` of figures that the log has sharpened
FACTORS = ["name", "kind", "subject", "item", "sd"]
LESSONS = ["kind", "subject", "item", "season", "was", "now", "low", "high", "weight", "rows"]
WIDTH = 2.0 * float(special.ndtri(0.5 + RANGES / 2.0))
TENTH = 0.1  # of its middle that a low end is taken for at the least; own choice
FIGURES = ("pace", "ground", "mower", "dose", "back")  # kinds that are figures of the rates
DOSED_ALIKE = {"follow_up": ("follow_up", "upkeep")}


@dataclass(frozen=True)
class Lessons:
    """What the log teaches.

    Attributes
    ----------
    rates : Rates
        For all that lies ahead.
    stems : DataFrame
        block_id, factor on the stems counted, left (share of their spread that is left).
    table : DataFrame
        kind (one of FIGURES, stems, kill), subject, item, season (of a kill; blank = all), was,
        now, low, high, weight (share of what is known that comes of the log: 1 - variance after /
        before), rows (pieces of work, or stems).
    """

    rates: Rates
    stems: pd.DataFrame
    table: pd.DataFrame


def spread_of(figure: Figure) -> float:
    """Return the spread of a figure's logarithm: ln(high / low) over the width of its range.

    References
    ----------
    own reasoning
    """
    low = max(figure.low, TENTH * figure.value)
    return float(np.log(max(figure.high, figure.value) / min(low, figure.value)) / WIDTH)


def figure_factors(kind: str, pairs: list[tuple[str, str]], rates: Rates) -> pd.DataFrame:
    """Return a factor for each figure (subject, item) that is over nought and has a range.

    Parameters
    ----------
    kind : str
        One of FIGURES.
    pairs : list of (str, str)
        Subject and item.
    rates : Rates
        Figures before the log.

    Returns
    -------
    DataFrame
        name, kind, subject, item, sd.

    References
    ----------
    own reasoning
    """
    rows = []
    for subject, item in dict.fromkeys(pairs):
        figure = rates.figure(subject, item)
        if figure.value > 0 and spread_of(figure) > 0:
            rows.append((f"{kind}|{subject}|{item}", kind, subject, item, spread_of(figure)))
    return pd.DataFrame(rows, columns=FACTORS)


def prior_of_factors(factors: pd.DataFrame, rates: Rates) -> Known:
    """Return what is known of the factors before the log.

    Paces move together by ``crew_common``, those of one job by ``job_common`` besides; doses by
    SPRAYER; what comes back of the species by GROUND; brush, mower, and the stems of blocks and
    strips each on their own.

    Parameters
    ----------
    factors : DataFrame
        name, kind, subject, item, sd.
    rates : Rates
        Before the log.

    References
    ----------
    own reasoning
    """
    crew, job = (rates.figure("any", f"{name}_common").value for name in ("crew", "job"))
    of_kind = {kind: own["name"].tolist() for kind, own in factors.groupby("kind")}
    paces = factors[factors["kind"] == "pace"]
    kin = [
        (crew, of_kind.get("pace", [])),
        *((job, own["name"].tolist()) for _, own in paces.groupby("subject")),
        (SPRAYER, of_kind.get("dose", [])),
        (GROUND, of_kind.get("back", [])),
    ]
    return prior_of(factors["name"].tolist(), factors["sd"].to_numpy(dtype=float), kin)


def sharpened(
    rates: Rates,
    factors: pd.DataFrame,
    known: tuple[Known, Known],
    rows: np.ndarray,
    typical: np.ndarray | None = None,
) -> tuple[Rates, pd.DataFrame]:
    """Return the rates with the figures that were learned, and the table of what was.

    value x exp(mean); its ends draw in as the spread does. The figures of one job (at the stems, by
    diameter, search, set-up) draw in together, as the spread of its hours does: a log tells the sum
    well and its parts less, and what adds up the ends of the parts shall not make it wide again.

    Parameters
    ----------
    rates : Rates
        Before the log.
    factors : DataFrame
        As `figure_factors` gives them; other kinds are passed over.
    known : (Known, Known)
        Before and after the log.
    rows : array
        Pieces of work that each factor was in.
    typical : array, optional
        By what share the hours of such work move with each factor; even shares where it is nought
        for all of a job.

    References
    ----------
    own reasoning
    """
    before, after = known
    left = _left(factors, before, after, np.zeros(len(rows)) if typical is None else typical)
    figures, told = [], []
    for at, one in enumerate(factors.itertuples()):
        if one.kind not in FIGURES:
            continue
        old = rates.figure(one.subject, one.item)
        value = old.value * float(np.exp(after.mean[at]))
        low = value * (max(old.low, TENTH * old.value) / old.value) ** left[at]
        high = value * (old.high / old.value) ** left[at]
        alike = DOSED_ALIKE.get(one.subject, ()) if one.kind == "dose" else ()
        for subject in alike or (one.subject,):
            figures.append(
                (subject, one.item, value, low, high, old.unit, OWN_LOG, "records.csv", IN_LOG)
            )
        told.append(
            (one.kind, one.subject, one.item, "", old.value, value, low, high,
             max(0.0, 1.0 - left[at] ** 2), int(rows[at]))
        )  # fmt: skip
    common = in_common(factors, after, np.zeros(len(rows)) if typical is None else typical)
    if common is not None:
        said = ("share", OWN_LOG, "records.csv", IN_LOG)
        figures.append(("any", "crew_common", common, common, common, *said))
    fresh = pd.DataFrame(figures, columns=["subject", "item", *FIGURE])
    table = pd.concat([fresh, rates.figures], ignore_index=True) if figures else rates.figures
    return replace(rates, figures=table), pd.DataFrame(told, columns=LESSONS)


def in_common(factors: pd.DataFrame, known: Known, typical: np.ndarray) -> float | None:
    """Return what the hours of different jobs still have in common, none where none was logged.

    The mean correlation of the hours of each two jobs, by what is known of them; not below nought.

    Parameters
    ----------
    factors : DataFrame
        name, kind, subject.
    known : Known
        After the log.
    typical : array
        As `sharpened` takes it.

    References
    ----------
    own reasoning
    """
    paces = factors[factors["kind"] == "pace"].assign(at=np.arange(len(factors))[
        (factors["kind"] == "pace").to_numpy()])  # fmt: skip
    weights = []
    for _, own in paces.groupby("subject"):
        weight = np.zeros(len(factors))
        weight[own["at"]] = typical[own["at"]]
        if weight.any():
            weights.append(weight)
    if len(weights) < 2:
        return None
    cov = np.array(weights) @ known.covariance @ np.array(weights).T
    sd = np.sqrt(np.diag(cov))
    correlation = cov / np.outer(sd, sd)
    return max(0.0, float(correlation[~np.eye(len(sd), dtype=bool)].mean()))


def with_kills(rates: Rates, kills: pd.DataFrame) -> tuple[Rates, pd.DataFrame]:
    """Return the rates with the kills that were counted, and the table of what was learned.

    A recipe for any species becomes one of the species that was counted. A season in which the
    counted kill falls under ``least_kill`` is left out of a recipe's months where others remain.

    Parameters
    ----------
    rates : Rates
        Recipes.
    kills : DataFrame
        As `kill_learning.learn_kills` gives them.

    References
    ----------
    own reasoning
    """
    if not len(kills):
        return rates, pd.DataFrame(columns=LESSONS)
    recipes, least = rates.recipes, rates.figure("any", "least_kill").value
    whole = kills[kills["season"] == ""]
    for species in sorted(set(whole["species"])):
        own = whole[whole["species"] == species]
        recipes = _own_recipes(recipes, rates.handbook_species(species), own["recipe_id"].tolist())
    for one in whole.itertuples():
        name = rates.handbook_species(one.species)
        ids = {one.recipe_id, _own_id(one.recipe_id, name)}
        mine = recipes["recipe_id"].isin(ids) & (recipes["species"] == name)
        poor = kills[(kills["recipe_id"] == one.recipe_id) & (kills["species"] == one.species)]
        poor = poor[(poor["season"] != "") & (poor["kill"] < least)]["season"].tolist()
        months = _without(str(recipes.loc[mine, "months"].iloc[0]), poor, rates)
        recipes = recipes.assign(
            kill=recipes["kill"].mask(mine, one.kill),
            kill_low=recipes["kill_low"].mask(mine, one.low),
            kill_high=recipes["kill_high"].mask(mine, one.high),
            months=recipes["months"].mask(mine, months),
            source=recipes["source"].mask(mine, OWN_LOG),
            locator=recipes["locator"].mask(mine, "tally.csv, plots visited again"),
            seen=recipes["seen"].mask(mine, IN_LOG),
        )
    told = pd.DataFrame({
        "kind": "kill", "subject": kills["species"], "item": kills["recipe_id"],
        "season": kills["season"], "was": kills["prior"], "now": kills["kill"],
        "low": kills["low"], "high": kills["high"],
        "weight": 1.0 - kills["worth_prior"] / kills["worth"],
        "rows": (kills["dead"] + kills["alive"]).round().astype(int),
    })  # fmt: skip
    return replace(rates, recipes=recipes), told[LESSONS]


def learned_stems(
    factors: pd.DataFrame, known: tuple[Known, Known], shared: float, rows: np.ndarray
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the factor on each block's stems and what is left of its spread, and what was learned.

    A strip to come has the block's spread that is left, and its own, which no log of other strips
    draws in.

    Parameters
    ----------
    factors : DataFrame
        Those of kind stems have a block as subject.
    known : (Known, Known)
        Before and after the log.
    shared : float
        Share of the variance of a block's count that its strips have in common.
    rows : array
        Pieces of work that each factor was in.

    References
    ----------
    own reasoning
    """
    before, after = known[0].spread(), known[1].spread()
    stems, told = [], []
    for at, one in enumerate(factors.itertuples()):
        if one.kind != "stems" or before[at] <= 0:
            continue
        factor, drawn = float(np.exp(known[1].mean[at])), float(after[at] / before[at])
        left = float(np.sqrt(shared * drawn**2 + 1.0 - shared))
        stems.append((one.subject, factor, left))
        half = WIDTH / 2.0 * float(after[at])
        told.append(
            ("stems", one.subject, "", "", 1.0, factor, factor * np.exp(-half),
             factor * np.exp(half), max(0.0, 1.0 - drawn**2), int(rows[at]))
        )  # fmt: skip
    return (
        pd.DataFrame(stems, columns=["block_id", "factor", "left"]),
        pd.DataFrame(told, columns=LESSONS),
    )


def with_stems(stocking: pd.DataFrame, stems: pd.DataFrame) -> pd.DataFrame:
    """Return a table of stocking with the stems that work has shown to be there.

    Parameters
    ----------
    stocking : DataFrame
        block_id, stems_per_ha, se, low, high, and what else goes with the number of stems.
    stems : DataFrame
        block_id, factor, left (`learned_stems`).

    References
    ----------
    own reasoning
    """
    if not len(stems):
        return stocking
    facts = stems.set_index("block_id")
    factor = stocking["block_id"].map(facts["factor"]).fillna(1.0)
    left = stocking["block_id"].map(facts["left"]).fillna(1.0)
    out, middle = stocking.copy(), stocking["stems_per_ha"]
    some = middle.where(middle > 0)
    for end in ("low", "high", "t_low", "t_high"):
        if end in out:
            ratio = (stocking[end] / some).clip(lower=1e-6) ** left
            out[end] = (middle * ratio * factor).fillna(stocking[end] * factor)
    out["stems_per_ha"] = middle * factor
    for name in ("se", "basal_se"):
        if name in out:
            out[name] = out[name] * factor * left
    for name in ("block_stems", "basal_m2_per_ha"):
        if name in out:
            out[name] = out[name] * factor
    return out


def _left(factors: pd.DataFrame, before: Known, after: Known, typical: np.ndarray) -> np.ndarray:
    """Return what share of each factor's spread is left."""
    old, new = before.spread(), after.spread()
    left = np.divide(new, old, out=np.ones_like(old), where=old > 0)
    paces = factors[factors["kind"] == "pace"]
    places = {name: at for at, name in enumerate(factors["name"])}
    for _, own in paces.groupby("subject"):
        at = [places[name] for name in own["name"]]
        share = typical[at] if typical[at].any() else np.ones(len(at))
        both = [share @ known.covariance[np.ix_(at, at)] @ share for known in (before, after)]
        left[at] = np.sqrt(both[1] / both[0])
    return np.minimum(left, 1.0)


def _own_id(recipe_id: str, species: str) -> str:
    """Return what a recipe for any species is called once it is one of a species."""
    return f"{species}:{recipe_id}"


def _own_recipes(recipes: pd.DataFrame, species: str, counted: list[str]) -> pd.DataFrame:
    """Return the recipes with those for any species that were counted made the species' own."""
    shared = recipes[recipes["recipe_id"].isin(counted) & (recipes["species"] == "any")]
    if not len(shared):
        return recipes
    kinds = shared[["method", "herbicide"]].drop_duplicates()
    alike = recipes[recipes["species"] == "any"].merge(kinds, on=["method", "herbicide"])
    alike = alike.assign(
        species=species, recipe_id=[_own_id(name, species) for name in alike["recipe_id"]]
    )
    alike = alike[~alike["recipe_id"].isin(recipes["recipe_id"])]
    return pd.concat([alike[recipes.columns], recipes], ignore_index=True)


def _without(months: str, seasons: list[str], rates: Rates) -> str:
    """Return months without those of some seasons, as they were where none would be left."""
    barred = {
        int(month) for row in rates.seasons.itertuples() if row.season in seasons
        for month in row.months
    }  # fmt: skip
    own = [int(month) for month in months.split()] or list(range(1, 13))
    kept = [month for month in own if month not in barred]
    return " ".join(map(str, kept)) if barred and kept else months
