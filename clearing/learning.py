"""Learn from the log and from counts: what was foretold of logged work, against what it took."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from clearing import effort, records
from clearing.ahead import Land, foretold_work, same_recipes, unapplied
from clearing.effort.follow import SMALL
from clearing.effort.hours import BUSY
from clearing.property import Settings
from clearing.rates import Rates
from clearing.records import Lessons, Standing
from clearing.records.lessons import (
    IN_LOG,
    LESSONS,
    TENTH,
    WIDTH,
    figure_factors,
    learned_stems,
    prior_of_factors,
    sharpened,
    with_kills,
)
from clearing.records.logged_work import SAME_JOB
from clearing.records.pace_learning import update
from clearing.tables import name_list

NOISE = {"hours": 0.3, "product_l": 0.25, "stems": 0.15}  # of ln(logged / foretold); own choice
LATE_NOISE = {"hours": 0.35, "product_l": 0.5, "stems": 0.5}  # of few sprouts here and there; own
FEW = {"hours": 0.05, "product_l": 1e-4, "stems": 0.5}  # foretold below this teaches nothing; own
LATE = ("follow_up", "upkeep")
ROUNDS, CLOSE = 2, 0.05  # times shares are worked out anew; factors that moved less; own choice
FAR = 0.35  # weight under which a row counted for little, which is told; own choice
THIN_CM = 1.5  # what a sprout is taken for when a pace is split by diameter; own choice
PER_AREA = {"follow_up": "search_h_per_ha", "upkeep": "search_h_per_ha",
            "seed": "hours_per_ha", "mark": "hours_per_ha"}  # fmt: skip
GROUND = ("mow", "mow_down")  # work with the mower, whose pace is the ground's
NO_STEMS_LEARNED = pd.DataFrame(columns=["block_id", "factor", "left"])
NO_STEMS = (*GROUND, "seed", "mark", "call_utility")


@dataclass(frozen=True)
class Case:
    """One kind of figure of one piece of work: what it was, was foretold, and moves with."""

    name: str
    kind: str
    logged: float
    foretold: float
    shares: dict[str, float]
    noise: float


def learn(
    ground: Land, standing: Standing, rates: Rates, settings: Settings
) -> tuple[Lessons, tuple[str, ...]]:
    """Return what the log and the counts teach, and sentences on rows that hardly counted.

    Kills are learned from plots visited again; then, all at once, paces, doses, what comes back and
    how many stems a block has, from hours, product and stems of the log against what the rates
    foretell of the same work.

    Parameters
    ----------
    ground : (DataFrame, GeoDataFrame, GeoDataFrame)
        Methods by the rates, strips, blocks.
    standing : Standing
        Where the land stands.
    rates : Rates
        Before the log.
    settings : Settings
        The plan's own: from now on.

    References
    ----------
    own reasoning
    """
    taught, kills = _kills(ground, standing, rates)
    begun = set(standing.done.begun["strip_id"])
    held = (_one_method(ground[0], standing), ground[1][ground[1]["strip_id"].isin(begun)])
    work = standing.work[standing.work["finished"]]
    work = work[work["strips"].map(lambda own: set(own) <= begun)]
    if not len(work) or not len(held[0]):
        return Lessons(taught, NO_STEMS_LEARNED.copy(), kills), ()
    methods = with_their_kills(held[0], taught)
    land = (methods, held[1], ground[2])
    factors = _factors(land, taught)
    prior = after = prior_of_factors(factors, taught)
    applied = ~factors["kind"].isin(["strip"]).to_numpy()
    sharp, stems, counted = taught, NO_STEMS_LEARNED.copy(), np.zeros(0)
    cases: list[Case] = []
    for _ in range(ROUNDS):
        scaled = (_scaled(methods, land[1], stems), *land[1:])
        cases = foretold_cases(scaled, standing, unapplied(sharp), settings)
        shares, seen, noise = _rows(cases, factors)
        last = after.mean
        after, counted = update(prior, shares, seen + shares @ np.where(applied, last, 0.0), noise)
        rows = (shares != 0).sum(axis=0)
        common = taught.figure("any", "count_shared_by_block").value
        typical = _typical(shares, cases)
        sharp, figures = sharpened(taught, factors, (prior, after), rows, typical)
        sharp = same_recipes(sharp, taught)
        stems, blocks = learned_stems(factors, (prior, after), common, rows)
        if float(np.abs(after.mean - last).max(initial=0.0)) < CLOSE:
            break
    some = [table for table in (kills, figures, blocks) if len(table)]
    table = pd.concat(some, ignore_index=True) if some else pd.DataFrame(columns=LESSONS)
    return Lessons(sharp, stems, table), _far_off(cases, counted)


def with_their_kills(methods: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return methods with the kills that their recipes have now.

    References
    ----------
    own reasoning
    """
    book = rates.recipes.drop_duplicates(["recipe_id"]).set_index("recipe_id")
    own = pd.Series(
        [f"{rates.handbook_species(s)}:{r}" for s, r in
         zip(methods["species"], methods["recipe_id"], strict=True)], index=methods.index,
    )  # fmt: skip
    named = own.where(own.isin(book.index), methods["recipe_id"])
    known = named.isin(book.index[book["seen"] == IN_LOG])
    out = methods.copy()
    for name in ("kill", "kill_low", "kill_high"):
        out[name] = methods[name].where(~known, named.map(book[name].to_dict()))
    return out


def foretold_cases(
    ground: Land, standing: Standing, rates: Rates, settings: Settings
) -> list[Case]:
    """Return what was foretold of each piece of logged work, with what it moves with.

    Parameters
    ----------
    ground : (DataFrame, GeoDataFrame, GeoDataFrame)
        Methods, strips begun, blocks.
    standing, rates, settings
        As `learn` takes them.

    References
    ----------
    own reasoning
    """
    futures, options, visits = foretold_work(ground, standing, rates, settings)
    if not len(options):
        return []
    first = options.sort_values("option_id").drop_duplicates("strip_id")["option_id"]
    own = visits[visits["option_id"].isin(first)]
    method = own["option_id"].map(options.set_index("option_id")["method_id"])
    own = own.assign(paced_as=own["job"], job=own["job"].replace(SAME_JOB), method_id=method)
    by_work = dict(list(own.groupby(["job", "year"])))
    blocks = ground[2].set_index("block_id")
    facts = _Facts(ground, futures, rates, blocks["brush"].astype(str).to_dict())
    cases = []
    for work in standing.work[standing.work["finished"]].itertuples():
        rows = by_work.get((work.job, work.year))
        rows = own.iloc[:0] if rows is None else rows[rows["strip_id"].isin(work.strips)]
        if not set(work.strips) <= set(rows["strip_id"]):
            continue
        if work.said and set(rows["paced_as"]) != {work.said}:
            continue  # a follow-up where upkeep was foretold: the ground differs, not the pace
        noise = LATE_NOISE if work.job in LATE else NOISE
        for kind in NOISE:
            logged, foretold = float(getattr(work, kind)), float(rows[kind].sum())
            if not logged > 0 or not foretold > FEW[kind]:
                continue
            shares: dict[str, float] = {}
            for row in rows.to_dict("records"):
                weight = float(row[kind]) / foretold
                for name, share in facts.shares(row, kind).items():
                    shares[name] = shares.get(name, 0.0) + weight * share
            named = name_list(work.strips)
            what = f"strip {named}, {work.job.replace('_', ' ')} {work.year}, {kind.split('_')[0]}"
            cases.append(Case(what, kind, logged, foretold, shares, noise[kind]))
    return cases


class _Facts:
    """Say by what share a figure of a visit moves with each factor."""

    def __init__(
        self, ground: Land, futures: pd.DataFrame, rates: Rates, brush: Mapping[str, str]
    ) -> None:
        methods, strips, _ = ground
        self.rates, self.brush = rates, brush
        self.block = strips.set_index("strip_id")["block_id"].astype(str).to_dict()
        mid = rates.sizes.set_index("size_class")["mid_cm"].astype(float)
        own = methods[methods["method"] != "not_now"]
        own = own.assign(cm=own["stems"] * own["size_class"].map(mid))
        sums = own.groupby(["strip_id", "method_id", "job"])[["stems", "cm"]].sum()
        self.mean_cm = (sums["cm"] / sums["stems"].where(sums["stems"] > 0)).to_dict()
        small = futures[futures["stage"].isin(SMALL)]
        small = small[small["method_id"] != "not_now"]
        self.small = small.groupby(["strip_id", "year", "species"])["stems"].sum().to_dict()
        self.species = sorted(methods["species"].unique())

    def shares(self, visit: Mapping[str, object], kind: str) -> dict[str, float]:
        """Return the share of each factor."""
        job, strip = str(visit["paced_as"]), str(visit["strip_id"])
        block = self.block[strip]
        with_stems = {f"stems|{block}|": 1.0, f"strip|{strip}|": 1.0}
        if job in LATE:
            with_stems |= self._back(strip, int(str(visit["year"])))
        if kind == "stems":
            return with_stems
        if kind == "product_l":
            return {**with_stems, f"dose|{SAME_JOB.get(job, job)}|dose_factor": 1.0}
        part = {name: float(str(visit[name])) for name in BUSY}
        total = sum(part.values())
        if total <= 0:
            return {}
        part = {name: value / total for name, value in part.items()}
        at_stems, walk = part["stem_hours"], part["walk_hours"]
        out = {f"pace|{job}|setup_h": part["setup_hours"],
               f"pace|{job}|refill_min": part["refill_hours"]}  # fmt: skip
        brush = self.brush.get(block, "open")
        if job in GROUND:
            return {**out, f"mower|brush_{brush}|mow_kmh": -walk}
        if job in PER_AREA:
            out[f"pace|{job}|{PER_AREA[job]}"] = walk
            out[f"ground|brush_{brush}|pace_factor"] = at_stems + (walk if job != "seed" else 0.0)
        else:
            out["ground|walk|tour_slack"] = walk
            out[f"ground|brush_{brush}|pace_factor"] = at_stems
        base = self._base_share(visit)
        out |= {f"pace|{job}|base_s": at_stems * base,
                f"pace|{job}|per_cm_s": at_stems * (1.0 - base)}  # fmt: skip
        if job not in NO_STEMS:
            tour = walk / 2.0 if job not in LATE else 0.0  # a tour grows as the root of the stems
            moved = at_stems + part["refill_hours"] + tour
            out |= {name: share * moved for name, share in with_stems.items()}
        return out

    def _base_share(self, visit: Mapping[str, object]) -> float:
        """Return the share of the time at a stem that does not go with its diameter."""
        job = str(visit["paced_as"])
        key = (visit["strip_id"], visit["method_id"], job)
        cm = THIN_CM if job in LATE else self.mean_cm.get(key, THIN_CM)
        cm = THIN_CM if np.isnan(cm) else float(cm)
        base, per_cm = (
            self.rates.figure(job, item).value if _figure(self.rates, job, item) else 0.0
            for item in ("base_s", "per_cm_s")
        )
        return base / (base + per_cm * cm) if base + per_cm * cm > 0 else 1.0

    def _back(self, strip: str, year: int) -> dict[str, float]:
        """Return the share of each species in what a follow-up meets."""
        met = {name: self.small.get((strip, year, name), 0.0) for name in self.species}
        total = sum(met.values())
        if total <= 0:
            return {}
        return {f"back|{name}|return_factor": each / total for name, each in met.items()}


def _one_method(methods: pd.DataFrame, standing: Standing) -> pd.DataFrame:
    """Return of each strip begun one method that the log's work may have been, and its stems.

    Those that it may have been are alike up to what was logged, but for their later parts.
    """
    begun = standing.done.begun
    own = effort.begun_methods(methods, begun) if len(begun) else methods.iloc[:0]
    treated = own[own["method"] != "not_now"]
    first = treated.sort_values("method_id").drop_duplicates("strip_id")
    pairs = set(zip(first["strip_id"], first["method_id"], strict=True))
    named = zip(own["strip_id"], own["method_id"], strict=True)
    mine = pd.Series([pair in pairs for pair in named], index=own.index, dtype=bool)
    return own[mine | (own["method"] == "not_now")]


def _factors(ground: Land, rates: Rates) -> pd.DataFrame:
    """Return every factor that logged work may move with."""
    methods, strips, blocks = ground
    jobs = [*effort.FIRST_JOBS, *LATE, "hand_work", "fell_dead", "haul_tops", "burn_tops",
            "chip_tops", "seed", "mark", "mow"]  # fmt: skip
    paces = [(job, item) for job in jobs
             for item in ("base_s", "per_cm_s", "setup_h", "refill_min", PER_AREA.get(job, ""))
             if item and _figure(rates, job, item)]  # fmt: skip
    brushes = sorted(blocks["brush"].astype(str).unique())
    grounds = [("walk", "tour_slack"), *((f"brush_{each}", "pace_factor") for each in brushes)]
    mowers = [(f"brush_{each}", "mow_kmh") for each in brushes]
    doses = [(job, "dose_factor") for job in (*effort.FIRST_JOBS, LATE[0])]
    back = [(name, "return_factor") for name in sorted(methods["species"].unique())]
    common = rates.figure("any", "count_shared_by_block").value
    rows = []
    idle = methods[methods["method"] == "not_now"]
    sums = idle.groupby("strip_id")[["stems", "stems_low", "stems_high"]].sum()
    block_of = strips.set_index("strip_id")["block_id"].astype(str)
    by_block = sums.groupby(block_of).sum()
    spread = _log_spread(by_block)
    for block, sd in spread.items():
        rows.append((f"stems|{block}|", "stems", block, "", float(np.sqrt(common)) * sd))
    for strip, block in block_of.items():
        own = float(np.sqrt(1.0 - common)) * spread.get(block, 0.0)
        rows.append((f"strip|{strip}|", "strip", strip, "", own))
    names = ["name", "kind", "subject", "item", "sd"]
    figures = {"pace": paces, "ground": grounds, "mower": mowers, "dose": doses, "back": back}
    tables = [figure_factors(kind, pairs, rates) for kind, pairs in figures.items()]
    return pd.concat([*tables, pd.DataFrame(rows, columns=names)], ignore_index=True)


def _figure(rates: Rates, subject: str, item: str) -> bool:
    """Return whether the rates have a figure."""
    try:
        rates.figure(subject, item)
    except KeyError:
        return False
    return True


def _log_spread(sums: pd.DataFrame) -> dict[str, float]:
    """Return the spread of the logarithm of stems by what they are of."""
    middle = sums["stems"].clip(lower=1e-9)
    low = np.maximum(sums["stems_low"], TENTH * middle)
    spread = np.log(np.maximum(sums["stems_high"], middle) / np.minimum(low, middle)) / WIDTH
    return {str(name): float(value) for name, value in spread.items()}


def _rows(cases: list[Case], factors: pd.DataFrame) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return shares, what was seen and its noise as arrays."""
    at = {name: place for place, name in enumerate(factors["name"])}
    shares = np.zeros((len(cases), len(at)))
    for row, case in enumerate(cases):
        for name, share in case.shares.items():
            if name in at:
                shares[row, at[name]] = share
    seen = np.array([np.log(case.logged / case.foretold) for case in cases])
    return shares, seen, np.array([case.noise for case in cases])


def _typical(shares: np.ndarray, cases: list[Case]) -> np.ndarray:
    """Return by what share hours move with each factor, on the average of the work it was in."""
    hours = np.array([case.kind == "hours" for case in cases], dtype=bool)
    own = shares[hours]
    return own.sum(axis=0) / np.maximum((own != 0).sum(axis=0), 1)


def _scaled(methods: pd.DataFrame, strips: pd.DataFrame, stems: pd.DataFrame) -> pd.DataFrame:
    """Return methods with the stems that work has shown to be there."""
    if not len(stems):
        return methods
    block = methods["strip_id"].map(strips.set_index("strip_id")["block_id"].astype(str))
    factor = block.map(stems.set_index("block_id")["factor"]).fillna(1.0)
    names = ["stems", "stems_low", "stems_high"]
    return methods.assign(**{name: methods[name] * factor for name in names})


def _kills(ground: Land, standing: Standing, rates: Rates) -> tuple[Rates, pd.DataFrame]:
    """Return the rates with counted kills, and what was learned."""
    methods, begun = ground[0], standing.done.begun
    if not len(begun) or not len(standing.found):
        return rates, pd.DataFrame(columns=LESSONS)
    own = effort.begun_methods(methods, begun)
    own = own[(own["method"] != "not_now") & (own["recipe_id"] != "")]
    own = own.drop_duplicates(["strip_id", "species", "size_class"])
    season = begun.set_index("strip_id")["season"]
    own = own.assign(season=own["strip_id"].map(season))
    counts = records.kill_counts(
        standing.found, own[["strip_id", "species", "size_class", "recipe_id", "season"]]
    )
    return with_kills(rates, records.learn_kills(rates.recipes, counts))


def _far_off(cases: list[Case], counted: np.ndarray) -> tuple[str, ...]:
    """Return a sentence for each row that lay so far from the others that it hardly counts."""
    return tuple(
        f"{case.name}: {case.logged:.3g} in the log against {case.foretold:.3g} foretold from all "
        "else; it counts for little, so look whether it is a slip"
        for case, weight in zip(cases, counted, strict=True)
        if weight < FAR
    )


def unlearned(rates: Rates) -> tuple[Lessons, tuple[str, ...]]:
    """Return the lessons of an empty log: none, as `learn` gives them.

    References
    ----------
    own reasoning
    """
    return Lessons(rates, NO_STEMS_LEARNED.copy(), pd.DataFrame(columns=LESSONS)), ()
