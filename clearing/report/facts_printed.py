"""Describe what stands on paper: frozen rows of the work plan, each field with its description."""

from dataclasses import dataclass, field

from clearing.report.words import Amount


def _about(description: str) -> dict[str, str]:
    return {"description": description}


@dataclass(frozen=True)
class WorkRow:
    """One job at one time over all strips of a block, in the order of work."""

    number: int = field(metadata=_about("Place in the order of work, from 1"))
    when: str = field(metadata=_about("Season and years in words"))
    strips: str = field(metadata=_about("Strips in words"))
    job: str = field(metadata=_about("Job in words"))
    herbicide: str = field(metadata=_about("Active ingredient and strength, or blank"))
    strength: str = field(metadata=_about("Product in the mix, or what to confirm, or blank"))
    mix: str = field(metadata=_about("Mixed solution in words or blank"))
    product: str = field(metadata=_about("Product in the mix in words or blank"))
    hours: Amount = field(metadata=_about("Hours of people, a contractor's set beside them"))


@dataclass(frozen=True)
class MixRow:
    """One tank of the crew: what goes in, how far it goes, how many the block takes."""

    use: str = field(metadata=_about("Job in words"))
    herbicide: str = field(metadata=_about("Active ingredient and strength"))
    percent: float = field(metadata=_about("Product in the tank [percent]"))
    strength: str = field(metadata=_about("The same in words"))
    tank: str = field(metadata=_about("Size of the tank in words"))
    product: str = field(metadata=_about("Product in a tank in words"))
    carrier: str = field(metadata=_about("Water or oil in a tank in words, or that there is none"))
    surfactant: str = field(metadata=_about("Surfactant in a tank in words, or a dash"))
    dye: str = field(metadata=_about("Dye in a tank in words"))
    stems_a_tank: str = field(metadata=_about("Stems that a tank serves, in words"))
    tanks: Amount = field(metadata=_about("Tanks for the block over the years of the plan"))
    species: str = field(
        default="", metadata=_about("Species that it is for, where the job has several strengths")
    )
    note: str = field(default="", metadata=_about("What to know of this mix, or blank"))
    part: str = field(
        default="", metadata=_about("Where less than a tank is needed, what to mix, or blank")
    )
    poured: tuple[str, ...] = field(
        default=(),
        metadata=_about("The same in pieces: mix, product, carrier, surfactant, dye; or none"),
    )


@dataclass(frozen=True)
class Mixing:
    """The mixing table of a block, the order of pouring, and what is to be confirmed first."""

    rows: tuple[MixRow, ...] = field(metadata=_about("Tanks, in the order of the jobs"))
    order: tuple[str, ...] = field(metadata=_about("Order of pouring, a sentence a carrier"))
    to_confirm: tuple[str, ...] = field(
        metadata=_about("What to confirm of products without a mixing table, in sentences")
    )


@dataclass(frozen=True)
class GoLine:
    """One thing to look at before spraying, with its figure and where it is from."""

    what: str = field(metadata=_about("What to look at, with the figure, in words"))
    products: str = field(metadata=_about("Products that it holds for"))
    known: str = field(metadata=_about("Where the figure is from, in words"))
    own: bool = field(
        default=False, metadata=_about("Whether it is from the owner's confirmed label")
    )


@dataclass(frozen=True)
class CautionGroup:
    """The cautions of some jobs."""

    jobs: str = field(metadata=_about("Jobs in words"))
    lines: tuple[str, ...] = field(metadata=_about("Cautions of the place, in words"))
    anywhere: tuple[str, ...] = field(
        metadata=_about("Cautions that read the same on every block, in words")
    )


@dataclass(frozen=True)
class WayIn:
    """Where one leaves the road for a strip."""

    strip_id: str = field(metadata=_about("Strip"))
    latitude: float = field(metadata=_about("Latitude [degrees, five places]"))
    longitude: float = field(metadata=_about("Longitude [degrees, five places]"))
    place: str = field(metadata=_about("Both in words, five places"))
    geo: str = field(metadata=_about("The same as a geo address (RFC 5870)"))
    road: str = field(metadata=_about("Nearest public road by its name, or blank"))
    walk: str = field(metadata=_about("The walk from there to the strip in words"))
    drawn: bool = field(
        default=True, metadata=_about("Whether a road, trail or gate is drawn to come in by")
    )


@dataclass(frozen=True)
class BlockPage:
    """One block on one page."""

    block_id: str = field(metadata=_about("Block"))
    page: int = field(metadata=_about("Page of the work plan"))
    title: str = field(metadata=_about("Id and name"))
    facts: str = field(metadata=_about("Goal, area and hours in one line"))
    next_job: str = field(metadata=_about("What is done here next, in large type"))
    others: str = field(metadata=_about("What the other strips begin with and when, or blank"))
    idle: bool = field(metadata=_about("Whether nothing is done here in these years"))
    why: str = field(metadata=_about("Why this and then"))
    work: tuple[WorkRow, ...] = field(metadata=_about("Work in order"))
    work_short: tuple[WorkRow, ...] = field(
        metadata=_about("The same, all but the first two years of work closed into one row")
    )
    stems: str = field(metadata=_about("Stems by species with range and basis, in sentences"))
    basis: str = field(metadata=_about("What the stems rest on and what was not found"))
    sizes: tuple[tuple[str, ...], ...] = field(
        metadata=_about("Stems by size as a table, for where a chart is too tall; heads first")
    )
    zones: tuple[str, ...] = field(metadata=_about("Ground with rules of its own, in sentences"))
    left: tuple[str, ...] = field(metadata=_about("Stems that are left, and why, in sentences"))
    mixing: Mixing = field(metadata=_about("Mixing table"))
    go: tuple[GoLine, ...] = field(metadata=_about("Go or no-go lines"))
    no_go: tuple[str, ...] = field(
        metadata=_about("Products that are no go until the label is read, in sentences")
    )
    cautions: tuple[CautionGroup, ...] = field(metadata=_about("Cautions by job"))
    way_in: WayIn = field(metadata=_about("Way in of the strip that comes first"))
    ways: tuple[WayIn, ...] = field(metadata=_about("Ways in of the other strips"))


@dataclass(frozen=True)
class DayCard:
    """One strip of the first season on half a sheet."""

    where: str = field(metadata=_about("Strip and block"))
    when: str = field(metadata=_about("Season and year"))
    hours: str = field(metadata=_about("Hours in words"))
    way_in: WayIn = field(metadata=_about("Way in"))
    jobs: tuple[str, ...] = field(metadata=_about("Jobs in order, with stems and strength"))
    mixes: tuple[str, ...] = field(metadata=_about("A tank of each mix, in one line"))
    a_day: str = field(metadata=_about("Stems to do in a day, in words or blank"))
    away: str = field(metadata=_about("Who must stay away"))
    mind: tuple[str, ...] = field(metadata=_about("The first cautions"))
    more: str = field(metadata=_about("Where the others stand"))
    part: str = field(default="", metadata=_about("Which of several cards of a strip, or blank"))
    mixing: str = field(default="", metadata=_about("Head over the tanks, or blank"))


@dataclass(frozen=True)
class PracticeBlock:
    """What a brush-management plan for cost share asks of one block."""

    block: str = field(metadata=_about("Block and name"))
    goal: str = field(metadata=_about("Purpose in words"))
    planned: Amount = field(metadata=_about("Area planned"))
    canopy: Amount | None = field(
        metadata=_about("Ground under crowns of targets now [percent]; none unreckoned")
    )
    canopy_keep: Amount | None = field(
        metadata=_about("Ground under trees that stay [percent]; none unreckoned")
    )
    canopy_after: Amount | None = field(
        metadata=_about("Ground under targets foretold at the end [percent]; none untold")
    )
    after_year: int = field(metadata=_about("Year at whose start that is foretold"))
    stems: Amount = field(metadata=_about("Target stems an acre or a hectare now"))
    stems_unit: str = field(metadata=_about("an acre or a hectare"))
    aim: str = field(metadata=_about("What is aimed at, in words"))
    methods: tuple[str, ...] = field(metadata=_about("Methods with herbicide and volume"))
    dates: str = field(metadata=_about("Seasons planned in words"))
    check_year: str = field(metadata=_about("When to look at the regrowth, in words"))
    map_reference: str = field(metadata=_about("Coordinates of the way in and page of the map"))
    water: str = field(metadata=_about("Water and wells near, in words"))
    power: str = field(metadata=_about("Power lines near, in words"))


@dataclass(frozen=True)
class Practice:
    """The practice sheet."""

    who: str = field(metadata=_about("Who does the work"))
    blocks: tuple[PracticeBlock, ...] = field(metadata=_about("A table a block"))
    note: str = field(metadata=_about("Whose form it follows, and that offices differ"))


@dataclass(frozen=True)
class PaperYear:
    """One year at a glance."""

    year: int = field(metadata=_about("Year"))
    sentence: str = field(metadata=_about("What happens"))
    hours: str = field(metadata=_about("Hours to plan on"))
    hours_ready: str = field(metadata=_about("Hours to be ready for, or blank"))
    money: str = field(metadata=_about("Money to plan on"))
    money_ready: str = field(metadata=_about("Money to be ready for, or blank"))
    money_limit: str = field(metadata=_about("Money there is, or blank"))


@dataclass(frozen=True)
class People:
    """Who works, and the hours of each season against what there is."""

    who: str = field(metadata=_about("Who, how many, how long, in a sentence"))
    seasons: tuple[str, ...] = field(metadata=_about("Seasons of the year that are used, in words"))
    rows: tuple[tuple[str, ...], ...] = field(
        metadata=_about("Year, then hours of each season and what there is")
    )
    idle: str = field(default="", metadata=_about("Seasons without any work, in a sentence"))


@dataclass(frozen=True)
class LogPage:
    """What was done and what it taught, on one page."""

    done: tuple[str, ...] = field(metadata=_about("What was done, in sentences"))
    foretold: tuple[str, ...] = field(metadata=_about("How the last plan foretold it"))
    learned: tuple[tuple[str, ...], ...] = field(
        metadata=_about("What, before, now, what it rests on")
    )
    learned_note: str = field(metadata=_about("How many more were learned, or blank"))
    changes: tuple[tuple[str, ...], ...] = field(
        metadata=_about("Strip, by the last plan, now, why")
    )
    changes_notes: tuple[str, ...] = field(
        metadata=_about("How many more strips changed where so many lines are shown, or blank")
    )
    changed: tuple[str, ...] = field(metadata=_about("What changed and what lies ahead"))


@dataclass(frozen=True)
class Printed:
    """All words and numbers of the work plan that are not in the Summary's own pages."""

    paper: str = field(metadata=_about("us-letter or a4"))
    years: tuple[PaperYear, ...] = field(metadata=_about("Years at a glance"))
    people: People = field(metadata=_about("People"))
    every_visit: tuple[str, ...] = field(metadata=_about("Cautions of every visit"))
    by_job: tuple[CautionGroup, ...] = field(
        metadata=_about("Cautions by kind of work that read the same on every block")
    )
    blocks: tuple[BlockPage, ...] = field(metadata=_about("One page a block"))
    cards: tuple[DayCard, ...] = field(metadata=_about("Day cards of the first season"))
    practice: Practice = field(metadata=_about("Practice sheet"))
    log_heads: tuple[tuple[str, str], ...] = field(
        metadata=_about("Heads of the lines to fill in: word and unit")
    )
    poison_line: str = field(metadata=_about("Poison line, or blank to fill in"))
    property_pages: int = field(metadata=_about("Pages of the property before the blocks"))
    log: LogPage | None = field(
        default=None, metadata=_about("What was done and what it taught; none without a log")
    )
