"""Describe what the report says: frozen rows of plain values, each field with its description.

Map, work plan and plan.json pour these rows into their forms; none of them computes a number.
"""

from dataclasses import dataclass, field

from clearing.report.facts_ahead import Ahead
from clearing.report.log_facts import LogSays
from clearing.report.words import Amount


def about(description: str) -> dict[str, str]:
    """Return the metadata of a field that says what it holds.

    References
    ----------
    own reasoning
    """
    return {"description": description}


@dataclass(frozen=True)
class Caution:
    """A caution that stands beside the work."""

    key: str = field(metadata=about("Caution id of the handbook"))
    text: str = field(metadata=about("What to mind, in words"))
    general: bool = field(metadata=about("Whether it holds for all such work, wherever it is"))
    source: str = field(default="", metadata=about("Where it stands, in words"))
    order: int = field(default=0, metadata=about("Its place in the handbook's order"))


@dataclass(frozen=True)
class SpeciesStems:
    """How many stems of one species grow on the blocks."""

    species: str = field(metadata=about("Species key"))
    name: str = field(metadata=about("Common name"))
    latin: str = field(metadata=about("Latin name or blank"))
    stems: Amount = field(metadata=about("Stems with their range"))


@dataclass(frozen=True)
class SizeStems:
    """How many stems of one size class grow in a block."""

    size_class: str = field(metadata=about("Size class"))
    label: str = field(metadata=about("Size in the owner's units, in words"))
    stems: Amount = field(metadata=about("Stems with the range of this class alone"))


@dataclass(frozen=True)
class SpeciesSizes:
    """The stems of one species in a block, size by size."""

    species: str = field(metadata=about("Species key"))
    name: str = field(metadata=about("Common name"))
    sizes: tuple[SizeStems, ...] = field(metadata=about("Size classes, small to large"))


@dataclass(frozen=True)
class VisitFacts:
    """One job in one strip in one season of one year."""

    visit_id: str = field(metadata=about("Visit"))
    strip_id: str = field(metadata=about("Strip"))
    block_id: str = field(metadata=about("Block"))
    year: int = field(metadata=about("Year"))
    season: str = field(metadata=about("Season in words"))
    season_key: str = field(metadata=about("Season key"))
    when: str = field(metadata=about("Season and year in words"))
    months: str = field(metadata=about("Months of the season in words"))
    job: str = field(metadata=about("Job in words"))
    job_key: str = field(metadata=about("Job key"))
    herbicide: str = field(metadata=about("Herbicide in words or blank"))
    herbicide_key: str = field(metadata=about("Herbicide key or blank"))
    stems: str = field(metadata=about("Stems in words or blank"))
    hours: Amount = field(metadata=about("Hours of people"))
    machine_hours: str = field(metadata=about("Hours of the mower in words or blank"))
    mix: Amount | None = field(
        metadata=about("Mixed solution; none when the label is not confirmed")
    )
    product: Amount | None = field(
        metadata=about("Product in the mix; none when the label is not confirmed")
    )
    mix_words: str = field(
        metadata=about("Mix and product in words, or what to confirm first, or blank")
    )
    cost: Amount = field(metadata=about("Cash cost in its year's dollars"))
    percent: float = field(metadata=about("Product in the mix in percent; 0 without product"))
    carrier: str = field(metadata=about("What the product is mixed into, in words or blank"))
    parts: str = field(metadata=about("What the hours and the cost are made of, in words"))
    rounds: str = field(metadata=about("How a day of felling and wetting goes, in words or blank"))
    waits: str = field(metadata=about("How long stock and hay wait after it, in words or blank"))
    cautions: tuple[Caution, ...] = field(metadata=about("Cautions of this work"))
    confirmed: bool = field(
        metadata=about("Whether the label of the product is confirmed (true without product)")
    )
    run_off: bool = field(metadata=about("Whether it falls after the last year of the plan"))


@dataclass(frozen=True)
class StripYear:
    """What a strip is like at the end of one year."""

    year: int = field(metadata=about("Year"))
    state: str = field(metadata=about("State key as in look.SIGNS"))
    age: int = field(metadata=about("Years since the work that made this state"))
    work: bool = field(metadata=about("Whether work is done in this year"))
    words: str = field(metadata=about("What happens, in words"))


@dataclass(frozen=True)
class OtherMethod:
    """One kind of method for a strip beside the others."""

    method: str = field(metadata=about("Kind of method in words"))
    chosen: bool = field(metadata=about("Whether it is the plan's"))
    hours: str = field(metadata=about("Hours of people within the years of the plan"))
    cost: str = field(metadata=about("Cost of all years in today's money, own time at its worth"))
    extra: str = field(metadata=about("What it costs over the plan's, or blank"))
    contractor: str = field(metadata=about("What a contractor would ask, or blank"))


@dataclass(frozen=True)
class StripFacts:
    """One strip: what, when, why, hours, mix, cautions, cost."""

    strip_id: str = field(metadata=about("Strip"))
    block_id: str = field(metadata=about("Block"))
    name: str = field(metadata=about("Name for people"))
    block_name: str = field(metadata=about("Name of the block"))
    area: Amount = field(metadata=about("Area"))
    method: str = field(metadata=about("Kind of method in words"))
    method_key: str = field(metadata=about("Kind of method"))
    method_means: str = field(metadata=about("What the method is, in one sentence"))
    when: str = field(
        metadata=about("Season and year of the first treatment in words, or not in these years")
    )
    start_year: int | None = field(metadata=about("Year of the first treatment or none"))
    finish: str = field(metadata=about("When the strip is done, in words"))
    finish_year: int | None = field(metadata=about("First year in which it is done or none"))
    why: str = field(metadata=about("Why this method and this year"))
    next_best: str = field(metadata=about("The next best choice and what it costs more, or blank"))
    hours: Amount = field(metadata=about("Hours of people over the years of the plan"))
    cost: Amount = field(metadata=about("Cash cost over the years of the plan"))
    way_in: str = field(metadata=about("Walk from the nearest gate or road in words"))
    visits: tuple[VisitFacts, ...] = field(metadata=about("Visits in order"))
    years: tuple[StripYear, ...] = field(metadata=about("State in each year of the plan"))
    cautions: tuple[Caution, ...] = field(metadata=about("All cautions of the strip, each once"))
    zones: tuple[str, ...] = field(metadata=about("What lies in reach, zone by zone, in sentences"))
    left: tuple[str, ...] = field(
        metadata=about("Stems that nothing here treats, and why, in sentences")
    )
    left_stems: Amount = field(metadata=about("Stems of an inch and more that nothing here treats"))
    others: tuple[OtherMethod, ...] = field(
        metadata=about("The other kinds of method and what they would have taken")
    )
    unit_words: str = field(metadata=about("Cost an acre or hectare and a stem, in words"))


@dataclass(frozen=True)
class BlockFacts:
    """One block and what becomes of it."""

    block_id: str = field(metadata=about("Block"))
    name: str = field(metadata=about("Name for people"))
    goal: str = field(metadata=about("Goal in words"))
    goal_key: str = field(metadata=about("Goal key"))
    area: Amount = field(metadata=about("Net area"))
    stems: tuple[SpeciesStems, ...] = field(metadata=about("Stems by species"))
    sizes: tuple[SpeciesSizes, ...] = field(
        metadata=about("Stems by species and size, blank when no class was reckoned")
    )
    basis: str = field(metadata=about("What the stems were reckoned from, in words"))
    ground: str = field(metadata=about("Slope, wet ground, stock and hay in words"))
    priority: int = field(metadata=about("1 matters most"))
    hours: Amount = field(metadata=about("Hours of people over the years of the plan"))
    cost: Amount = field(metadata=about("Cash cost over the years of the plan"))
    first_year: int | None = field(metadata=about("Year of the first treatment or none"))
    finish_year: int | None = field(metadata=about("Year in which the last strip is done or none"))
    summary: str = field(metadata=about("What happens, in one sentence"))
    strips: tuple[StripFacts, ...] = field(metadata=about("Strips of the block"))


@dataclass(frozen=True)
class YearFacts:
    """One year of the plan."""

    year: int = field(metadata=about("Year"))
    sentence: str = field(metadata=about("What happens, in one sentence"))
    hours: Amount = field(metadata=about("Hours of people"))
    hours_share: float = field(
        metadata=about("Hours as a share of the busiest year's upper end (0 to 1)")
    )
    hours_high_share: float = field(
        metadata=about("Upper end of the hours as a share of the same (0 to 1)")
    )
    cost: Amount = field(metadata=about("Cash cost"))
    hours_ready: str = field(metadata=about("Hours to be ready for, in words, or blank"))
    cost_ready: str = field(metadata=about("Money to be ready for, in words, or blank"))
    hours_limit: str = field(metadata=about("Hours there are, in words, or blank"))
    cost_limit: str = field(metadata=about("Money there is, in words, or blank"))
    cost_there: float | None = field(
        metadata=about("Money there is [dollars], none where no budget was given")
    )
    odds: tuple[str, ...] = field(
        metadata=about("Odds of overrunning hours and money, in sentences")
    )
    visits: tuple[VisitFacts, ...] = field(metadata=about("Visits of the year in order"))


@dataclass(frozen=True)
class PurchaseFacts:
    """What to buy of one herbicide for one year."""

    year: int = field(metadata=about("Year"))
    herbicide: str = field(metadata=about("Herbicide in words"))
    herbicide_key: str = field(metadata=about("Herbicide key"))
    plan_on: str = field(metadata=about("Product to plan on in words"))
    be_ready_for: str = field(metadata=about("Product to be ready for in words"))
    containers: str = field(metadata=about("Containers to buy in words"))
    containers_ready: str = field(metadata=about("Containers to be ready for in words"))
    cost: str = field(metadata=about("Price in words"))
    sentence: str = field(metadata=about("What to buy, in one sentence"))


@dataclass(frozen=True)
class RuleFacts:
    """What a simple rule would cost beside the plan."""

    rule: str = field(metadata=about("The rule in words"))
    plan: bool = field(metadata=about("Whether it is the plan itself"))
    more: str = field(metadata=about("What it costs more than the plan, in words or blank"))
    cash: str = field(metadata=about("Cash inside the years"))
    hours: str = field(metadata=about("Hours of people inside the years"))
    finish: str = field(metadata=about("Year in which the last strip is done, or not all"))
    waits: str = field(metadata=about("How many strips wait, in words or blank"))


@dataclass(frozen=True)
class SourceFacts:
    """One source of figures."""

    key: str = field(metadata=about("Key"))
    citation: str = field(metadata=about("Authors, year, title, publisher"))
    counts: str = field(default="", metadata=about("How many figures, by how they were seen"))


@dataclass(frozen=True)
class Summary:
    """All that the report says about a property and its plan, in the owner's units."""

    property_name: str = field(metadata=about("Name of the property"))
    units: str = field(metadata=about("us or metric"))
    area_unit: str = field(metadata=about("acres or ha"))
    years: tuple[int, ...] = field(metadata=about("Years of the plan"))
    status: str = field(metadata=about("best, stopped or none"))
    headline: str = field(metadata=about("The first sentence, with the number that matters"))
    lead: str = field(metadata=about("Second sentence: money and what the number rests on"))
    status_words: str = field(metadata=about("How near the plan is to the best there is, in words"))
    area: Amount = field(metadata=about("Area of all blocks"))
    area_planned: Amount = field(
        metadata=about("Area of the strips that are treated in these years")
    )
    hours: Amount = field(metadata=about("Hours of people over the years of the plan"))
    cost: Amount = field(metadata=about("Cash cost over the years of the plan"))
    run_off_cost: Amount = field(metadata=about("Cash cost of visits after the last year"))
    finish_year: int | None = field(
        metadata=about("Year in which the last planned strip is done or none")
    )
    stems: tuple[SpeciesStems, ...] = field(metadata=about("Stems by species on all blocks"))
    blocks: tuple[BlockFacts, ...] = field(metadata=about("Blocks in order"))
    year_rows: tuple[YearFacts, ...] = field(metadata=about("Years of the plan in order"))
    purchases: tuple[PurchaseFacts, ...] = field(metadata=about("What to buy, year by year"))
    products: tuple[str, ...] = field(
        metadata=about("Each herbicide and how much of it in all, in sentences")
    )
    unsure: tuple[str, ...] = field(metadata=about("What is not sure, in sentences"))
    to_confirm: tuple[str, ...] = field(metadata=about("What to confirm on labels, in sentences"))
    not_decided: tuple[str, ...] = field(
        metadata=about("What the tool does not decide, in sentences")
    )
    warnings: tuple[str, ...] = field(metadata=about("Warnings of the walk"))
    reasons: tuple[str, ...] = field(
        metadata=about("Why no plan fits, in sentences; blank when one does")
    )
    sources: tuple[SourceFacts, ...] = field(
        metadata=about("Sources of the figures that were used")
    )
    not_offered: tuple[str, ...] = field(
        default=(), metadata=about("What labels and poor kills rule out, with the clause")
    )
    paid_back: str = field(
        default="", metadata=about("What cost-share programs pay back, in one sentence or blank")
    )
    seen: tuple[str, ...] = field(
        default=(), metadata=about("What of the figures was read and what was not, in sentences")
    )
    rules: tuple[RuleFacts, ...] = field(
        default=(), metadata=about("The plan and simple rules of thumb beside it")
    )
    rule_words: str = field(
        default="", metadata=about("What simple rules would cost more, in one sentence or blank")
    )
    rule_note: str = field(default="", metadata=about("How the rules were costed, or blank"))
    helps: tuple[str, ...] = field(
        default=(), metadata=about("What more hours or money would save, in sentences")
    )
    help_note: str = field(default="", metadata=about("How that was reckoned, or blank"))
    keep_back: tuple[str, ...] = field(
        default=(), metadata=about("What to keep back so that the plan holds, in sentences")
    )
    left_words: str = field(
        default="", metadata=about("How many stems stay that nothing treats, or blank")
    )
    ahead: Ahead = field(default=Ahead(), metadata=about("What the years bring"))
    log: LogSays = field(default=LogSays(), metadata=about("What the log says beside the plan"))

    @property
    def strips(self) -> tuple[StripFacts, ...]:
        """Return all strips, block by block."""
        return tuple(strip for block in self.blocks for strip in block.strips)
