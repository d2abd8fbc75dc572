"""Let an owner follow the plan for some years on ground that is not as the handbook says.

What is true of a property (paces, doses, kills, stems, what comes back) is drawn once from the
handbook's ranges and the survey's; the owner does what the plan says, logs what it truly took with
some noise, counts plots again, and plans anew each winter. What was foretold of each year is kept
beside what it took.
"""

from dataclasses import dataclass, field, replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

import clearing
from clearing import effort, forecast, pipeline
from clearing.property import Property, Results
from clearing.rates import FIGURE, Rates, for_settings
from clearing.records.kill_learning import prior_kill
from clearing.records.lessons import spread_of
from clearing.schedule.choice import decide
from clearing.schedule.odds import drawn_totals
from clearing.survey.tally import ground_of_classes

BLOCKS = ("1", "2", "5", "7", "9", "11")  # of the sample: at most a dozen strips
PRODUCTS = ("glyphosate_4", "triclopyr_ester_4")
DAYS_A_WEEK = 0.4  # so little that the first treatments take years; own choice
LOGGED = {"hours": 0.15, "product_l": 0.10}  # spread of a row round the truth; own choice
CREW, OWN, SPRAYER = 0.5, 0.5, 0.5  # of the spread: what a crew shares, what is a job's own
STEMS_COUNTED = 0.3  # share of pieces of work in which the crew counts stems; own choice
JOBS = ("hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "follow_up", "upkeep",
        "haul_tops", "fell_dead", "hand_work", "mark", "seed")  # fmt: skip
OTHERS = (("walk", "tour_slack"), ("any", "break_share"), ("walk", "load_factor"),
          ("mow", "efficiency"), ("brush_open", "mow_kmh"), ("brush_brushy", "mow_kmh"),
          ("brush_thicket", "mow_kmh"))  # fmt: skip
AREA = {"follow_up": "search_h_per_ha", "upkeep": "search_h_per_ha", "mark": "hours_per_ha",
        "seed": "hours_per_ha"}  # fmt: skip


@dataclass
class Truth:
    """What is true of one property."""

    rates: Rates
    kill: dict[str, float]
    stems: dict[str, float]  # strip -> factor on the stems that the survey makes likely


@dataclass
class Year:
    """What was foretold of one year and what it took."""

    year: int
    foretold: dict[str, float]
    took: dict[str, float]
    low: dict[str, float]
    high: dict[str, float]
    overrun: float


@dataclass
class Story:
    """The years of one property."""

    years: list[Year] = field(default_factory=list)
    cost: float = 0.0
    last: Results | None = None


def small_sample(years: int = 6, blocks: tuple[str, ...] = BLOCKS) -> Property:
    """Return the sample with some of its blocks."""
    place = clearing.read(clearing.sample_folder())
    drawn = place.blocks[place.blocks["block_id"].isin(blocks)].reset_index(drop=True)
    shape = drawn.to_crs(3857).union_all()
    inside = place.plots.to_crs(3857).within(shape)
    plots = place.plots[inside].reset_index(drop=True)
    tally = place.tally[place.tally["plot_id"].isin(plots["plot_id"])].reset_index(drop=True)
    crew = replace(place.settings.crew, days_per_week=DAYS_A_WEEK)
    own = tuple(one for one in place.settings.herbicides if one.name in PRODUCTS)
    settings = replace(
        place.settings, years=years, before=(), cost_share=(), crew=crew, herbicides=own
    )
    return replace(place, settings=settings, blocks=drawn, plots=plots, tally=tally)


def draw_truth(place: Property, results: Results, seed: int) -> Truth:
    """Return a truth drawn from the ranges that the first plan is made with."""
    rng = np.random.default_rng([seed, 8])
    base = for_settings(place.settings)
    crew, sprayer = rng.standard_normal(2)
    rows = []

    def moved(subject: str, item: str, z: float) -> None:
        try:
            old = base.figure(subject, item)
        except KeyError:
            return
        value = old.value * float(np.exp(z * spread_of(old))) if old.value > 0 else 0.0
        rows.append((subject, item, value, value, value, old.unit, "own_choice", "", "truth"))

    for job in JOBS:
        own = rng.standard_normal()
        for item in ("base_s", "per_cm_s", "setup_h", "refill_min", AREA.get(job, "")):
            each = rng.standard_normal()
            z = np.sqrt(CREW) * crew + np.sqrt(0.3) * own + np.sqrt(0.2) * each
            moved(job, item, float(z)) if item else None
    for job in ("hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "follow_up"):
        z = np.sqrt(SPRAYER) * sprayer + np.sqrt(1 - SPRAYER) * rng.standard_normal()
        for name in (job, "upkeep") if job == "follow_up" else (job,):
            moved(name, "dose_factor", float(z))
    for brush in sorted(set(results.blocks["brush"])):
        moved(f"brush_{brush}", "pace_factor", float(rng.standard_normal()))
    for subject, item in OTHERS:
        moved(subject, item, float(rng.standard_normal()))
    common = rng.standard_normal()
    for name in sorted(set(results.methods["species"])):
        z = np.sqrt(0.5) * common + np.sqrt(0.5) * rng.standard_normal()
        moved(name, "return_factor", float(z))
    figures = pd.concat(
        [pd.DataFrame(rows, columns=["subject", "item", *FIGURE]), base.figures], ignore_index=True
    )
    kill = {}
    for row in base.recipes.itertuples():
        prior = prior_kill(float(row.kill), float(row.kill_low), float(row.kill_high))
        kill[row.recipe_id] = float(rng.beta(prior.dead, prior.alive))
    return Truth(replace(base, figures=figures), kill, _true_stems(results, rng))


def _true_stems(results: Results, rng: np.random.Generator) -> dict[str, float]:
    """Return a factor for each strip, most of it common to its block, as the survey says."""
    idle = results.methods[results.methods["method"] == "not_now"]
    sums = idle.groupby("strip_id")[["stems", "stems_low", "stems_high"]].sum()
    block = results.strips.set_index("strip_id")["block_id"]
    common = results.rates.figure("any", "count_shared_by_block").value
    shared = {name: rng.standard_normal() for name in sorted(set(block))}
    out = {}
    for strip, (middle, low, high) in zip(sums.index, sums.to_numpy(), strict=True):
        z = np.sqrt(common) * shared[block[strip]] + np.sqrt(1 - common) * rng.standard_normal()
        end = high if z > 0 else low
        far = abs(np.log(max(end, 0.1 * middle) / middle)) / 1.6449
        out[str(strip)] = float(np.exp(z * far))
    return out


class World:
    """Say what the work of a plan truly takes, and what is found in plots afterwards."""

    def __init__(self, place: Property, first: Results, truth: Truth, seed: int) -> None:
        self.place, self.truth, self.first = place, truth, first
        self.rng = np.random.default_rng([seed, 9])
        self.visits: dict[str, pd.DataFrame] = {}
        self.futures: dict[str, pd.DataFrame] = {}
        self.begun: dict[str, tuple[int, str]] = {}
        self.value: dict[str, float] = {}
        self.methods: dict[str, pd.DataFrame] = {}
        self.stems0 = first.methods[first.methods["method"] == "not_now"].groupby(
            ["strip_id", "zone_id", "species", "size_class"]
        )[["stems", "stems_low", "stems_high"]].sum()  # fmt: skip
        joined = gpd.sjoin(first.plots[["plot_id", "geometry"]],
                           first.strips[["strip_id", "geometry"]])  # fmt: skip
        self.strip_of = joined.drop_duplicates("plot_id").set_index("plot_id")["strip_id"]

    def begin(self, results: Results, year: int) -> None:
        """Take up the strips that a plan begins in a year."""
        own = results.plan.options
        fresh = own[(own["start_year"] == year) & ~own["strip_id"].isin(self.begun)]
        if len(fresh):
            self._follow(results, fresh)

    def _follow(self, results: Results, fresh: pd.DataFrame) -> None:
        """Work out the true path of strips from their first treatment on."""
        settings = effort.since(self.place.settings, 2027)
        method = fresh.set_index("strip_id")["method_id"]
        rows = results.methods[results.methods["strip_id"].isin(method.index)]
        theirs = rows["strip_id"].map(method) == rows["method_id"]
        own = self._as_it_is(rows[theirs | (rows["method"] == "not_now")])
        ground = results.strips[results.strips["strip_id"].isin(method.index)]
        futures = forecast.look_ahead(own, ground, results.blocks, self.truth.rates, settings)
        begun = pd.DataFrame({
            "strip_id": fresh["strip_id"], "start_year": fresh["start_year"].astype(int),
            "season": fresh["start_season"], "job": "",
        })  # fmt: skip
        options, visits = effort.begun_options(
            own, futures, (ground, results.blocks), begun, (self.truth.rates, settings), 2027
        )
        for one in options.itertuples():
            strip = one.strip_id
            mine = futures["strip_id"] == strip
            self.value[strip] = float(one.cost + one.run_off - one.worth)
            self.visits[strip] = visits[visits["option_id"] == one.option_id]
            self.futures[strip] = futures[mine & (futures["start_year"] == one.start_year)]
            self.begun[strip] = (int(one.start_year), one.start_season)
            self.methods[strip] = own[
                (own["strip_id"] == strip) & (own["method_id"] == one.method_id)
            ]

    def _as_it_is(self, rows: pd.DataFrame) -> pd.DataFrame:
        """Return methods with the stems that stand there and the kills that are true."""
        keys = ["strip_id", "zone_id", "species", "size_class"]
        stems = rows[keys].merge(self.stems0.reset_index(), on=keys, how="left")
        factor = rows["strip_id"].map(self.truth.stems).to_numpy()
        names = ("stems", "stems_low", "stems_high")
        own = rows.assign(**{name: stems[name].to_numpy() * factor for name in names})
        kill = own["recipe_id"].map(self.truth.kill)
        for name in ("kill", "kill_low", "kill_high"):
            own[name] = kill.fillna(own[name])
        return own

    def took(self, planned: pd.DataFrame) -> pd.DataFrame:
        """Return the planned visits of a year with what they truly took, logged with noise."""
        rows = []
        for (strip, job, year, herbicide), part in planned.groupby(
            ["strip_id", "job", "year", "herbicide"]
        ):
            true = self.visits[strip]
            true = true[true["year"] == year]
            alike = ("follow_up", "upkeep") if job in ("follow_up", "upkeep") else (job,)
            mine = true[true["job"].isin(alike)]
            if job not in ("follow_up", "upkeep"):
                mine = mine[mine["herbicide"] == herbicide]
            if not len(mine):
                continue
            noise = np.exp(self.rng.standard_normal(2) * [LOGGED["hours"], LOGGED["product_l"]])
            rows.append({
                "strip_id": strip, "job": mine["job"].iloc[0], "year": year,
                "season": part["season"].iloc[0],
                "herbicide": herbicide, "hours": float(mine["hours"].sum() * noise[0]),
                "product_l": float(mine["product_l"].sum() * noise[1]),
                "stems": float(mine["stems"].sum()), "foretold_hours": float(part["hours"].sum()),
                "foretold_product": float(part["product_l"].sum()),
                "visits": tuple(part["visit_id"]),
            })  # fmt: skip
        return pd.DataFrame(rows)

    def log_rows(self, took: pd.DataFrame, rates: Rates, start: int) -> pd.DataFrame:
        """Return rows of the log."""
        month = {row.season: row.months[0] for row in rates.seasons.itertuples()}
        rows = []
        for n, row in enumerate(took.itertuples(), start=start):
            counted = self.rng.random() < STEMS_COUNTED and row.stems >= 1
            rows.append({
                "record_id": str(n), "date": f"{row.year}-{month[row.season]:02d}-10",
                "strip_id": row.strip_id, "job": row.job, "hours": row.hours,
                "herbicide": row.herbicide, "product_l": row.product_l or np.nan,
                "stems": float(round(row.stems)) if counted else np.nan,
            })  # fmt: skip
        return pd.DataFrame(rows)

    def counted(self, year: int) -> pd.DataFrame:
        """Return the tally rows of plots that are visited again a year after the treatment.

        What stands on a plot is drawn from what is true of its strip, so that counts and work tell
        of the same ground.
        """
        sizes, plots = self.first.rates.sizes, self.first.plots.set_index("plot_id", drop=False)
        ground = pd.DataFrame(ground_of_classes(plots, sizes), plots.index, sizes["size_class"])
        mid = sizes.set_index("size_class")["mid_cm"].astype(float)
        areas = self.first.strips.set_index("strip_id")["area_ha"].astype(float)
        rows = []
        for plot, strip in self.strip_of.items():
            if strip not in self.begun or self.begun[strip][0] != year - 1:
                continue
            usual = {"plot_id": plot, "date": f"{year}-06-01"}
            on, ahead = ground.loc[plot] / areas[strip], self.futures[strip]
            stood = ahead[(ahead["year"] == year - 1) & (ahead["work"] == "first")]
            stood = stood.rename(columns={"stage": "size_class"})
            stood = stood.groupby(["species", "size_class"])["stems"].sum()
            for (species, size), kill in self._kills(strip).items():
                n = int(self.rng.poisson(float(stood.get((species, size), 0.0)) * on[size]))
                dead = int(self.rng.binomial(n, min(max(float(kill), 0.0), 1.0)))
                stem = {"species": species} | (
                    {"size": size} if size == "seedling" else {"dbh_cm": mid[size]}
                )
                rows += [usual | stem | {"count": dead, "status": "dead"},
                         usual | stem | {"count": n - dead, "status": "resprout"}]  # fmt: skip
            stands = ahead[ahead["year"] == year].groupby(["species", "stage"])["stems"].sum()
            lived = (stood * (1.0 - self._kills(strip))).groupby("species").sum()
            for species, part in stands.unstack(fill_value=0.0).iterrows():
                grown = part["resprout"] + part["under_1in"] - float(lived.get(species, 0.0))
                fresh = [({"size": "seedling"}, part["seedling"] + part["root_sucker"], "seedling"),
                         ({"dbh_cm": mid["under_1in"]}, max(grown, 0.0), "under_1in")]  # fmt: skip
                rows += [usual | stem | {"species": species, "status": "new",
                                         "count": int(self.rng.poisson(stems * on[size]))}
                         for stem, stems, size in fresh]  # fmt: skip
        return pd.DataFrame(rows)

    def _kills(self, strip: str) -> pd.Series:
        """Return the share of the stems of each species and size that a strip's treatment kills."""
        own = self.methods[strip]
        own = own[(own["recipe_id"] != "") & (own["stems"] > 0)]
        died = (own["kill"] * own["stems"]).groupby([own["species"], own["size_class"]]).sum()
        return died / own.groupby(["species", "size_class"])["stems"].sum()

    def cost(self, results: Results) -> float:
        """Return the true discounted cost less worth, of what was begun and of what is left."""
        left = results.methods[~results.methods["strip_id"].isin(self.begun)]
        if not len(left):
            return sum(self.value.values())
        own, settings = self._as_it_is(left), effort.since(self.place.settings, 2027)
        ground = results.strips[~results.strips["strip_id"].isin(self.begun)]
        futures = forecast.look_ahead(own, ground, results.blocks, self.truth.rates, settings)
        options, _ = effort.price_options(
            own, futures, ground, results.blocks, self.truth.rates, settings
        )
        idle = options[options["method"] == "not_now"]
        return sum(self.value.values()) + float(idle["run_off"].sum())


def planned_on(place: Property, gap: float, day: pd.Timestamp, learn: bool) -> Results:
    """Return the plan of a day, the bare plan alone, or one that never learns."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pipeline.schedule, "choose", decide)
        patch.setattr(pipeline.effort, "with_cautions", lambda visits, *others: visits)
        patch.setattr(pipeline.steps, "followed_through", lambda plan, *others: (plan, None))
        if not learn:
            patch.setattr(pipeline.learning, "learn", lambda land, standing, rates, own:
                          pipeline.learning.unlearned(rates))  # fmt: skip
        return pipeline.run(place, gap, 60, day=day)


def live(place: Property, seed: int, years: int, learn: bool = True, gap: float = 0.02,
         first: Results | None = None) -> Story:  # fmt: skip
    """Return the story of a property whose owner follows the plan and plans anew each winter."""
    first = clearing.run(place, gap, 20) if first is None else first
    world = World(place, first, draw_truth(place, first, seed), seed)
    story, results, now = Story(), first, place
    begin = place.settings.first_year
    for year in range(begin, begin + years):
        world.begin(results, year)
        planned = results.plan.visits
        planned = planned[(planned["year"] == year) & planned["strip_id"].isin(world.begun)]
        took = world.took(planned)
        if len(took):
            story.years.append(_told(results, planned, took, year))
            rows = world.log_rows(took, results.rates, len(now.records) + 1)
            log = pd.concat([now.records, rows.reindex(columns=now.records.columns)])
            now = replace(now, records=log.reset_index(drop=True))
        counts = world.counted(year)
        if len(counts):
            tally = pd.concat([now.tally, counts.reindex(columns=now.tally.columns)])
            now = replace(now, tally=tally.reset_index(drop=True))
        if year < begin + years - 1:
            results = planned_on(now, gap, pd.Timestamp(year, 12, 31), learn)
            assert results.plan.status != "none", results.plan.reasons
    story.cost, story.last = world.cost(results), results
    return story


def _told(results: Results, planned: pd.DataFrame, took: pd.DataFrame, year: int) -> Year:
    """Return what was foretold of a year with its 80 percent ranges, beside what it took."""
    ids = {name for own in took["visits"] for name in own}
    part = planned[planned["visit_id"].isin(ids)]
    settings = results.property.settings
    early = effort.since(settings, 2027)
    draws = forecast.draw_ahead(
        results.plan.options, results.methods, results.strips, results.blocks, results.rates, early
    )
    limits = results.plan.limits
    totals = drawn_totals(part, limits, settings, draws)
    out = {}
    for kind, name in (("hours", "hours"), ("product", "product_l")):
        row = totals.rows[(totals.rows["kind"] == kind) & (totals.rows["year"] == year)
                          & (totals.rows["season"] == "")].index[0]  # fmt: skip
        low, high = np.quantile(totals.drawn[row], [0.1, 0.9])
        out[kind] = (float(part[name].sum()), float(took[name].sum()), float(low), float(high))
    used = limits[(limits["kind"] == "hours") & (limits["year"] == year)]
    by_season = took.groupby("season")["hours"].sum()
    over = sum(max(0.0, by_season.get(row.season, 0.0) - row.limit) for row in used.itertuples())
    foretold, took_of, low_of, high_of = (
        {kind: values[at] for kind, values in out.items()} for at in range(4)
    )
    return Year(year, foretold, took_of, low_of, high_of, float(over))
