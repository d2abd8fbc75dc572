"""Describe the next day: frozen rows that text, paper and page pour into their forms."""

from dataclasses import dataclass, field

from clearing.report.facts import about
from clearing.report.facts_printed import GoLine, MixRow, WayIn


@dataclass(frozen=True)
class DayJob:
    """One job of the day in one strip."""

    visit_id: str = field(metadata=about("Visit of the plan"))
    strip_id: str = field(metadata=about("Strip"))
    strip: str = field(metadata=about("Strip and its name"))
    block: str = field(metadata=about("Block and its name"))
    job: str = field(metadata=about("Job in words"))
    job_key: str = field(metadata=about("Job key"))
    herbicide: str = field(metadata=about("Herbicide in words or blank"))
    herbicide_key: str = field(metadata=about("Herbicide key or blank"))
    of: str = field(metadata=about("Species and strength where two jobs read alike, or blank"))
    planned: str = field(metadata=about("Season and year that it is planned for"))
    hours: float = field(metadata=about("Hours of people to plan on [h]"))
    share: float = field(metadata=about("Share of the whole visit (0 to 1)"))
    share_low: float = field(metadata=about("The same when the day goes slowly"))
    share_high: float = field(metadata=about("The same when it goes fast"))
    left_after: float = field(metadata=about("Share of the visit that is left after it"))
    how_far: str = field(metadata=about("How far to get, in a sentence"))
    after: str = field(metadata=about("What is left after it, in words, or blank"))
    rounds: str = field(metadata=about("How felling and wetting goes, in words or blank"))
    machine: str = field(metadata=about("Hours of the mower in words or blank"))
    waits: str = field(metadata=about("How long stock and hay wait after it, or blank"))
    no_go: bool = field(metadata=about("Whether its product's label is not confirmed"))


@dataclass(frozen=True)
class Measure:
    """One thing to look at before spraying, with a blank to fill in what was found."""

    line: GoLine = field(metadata=about("What to look at, for what, and where it is from"))
    unit: str = field(metadata=about("Unit of what was measured, or blank for a tick"))


@dataclass(frozen=True)
class NextDay:
    """All that is said of one day of work."""

    property_name: str = field(metadata=about("Name of the property"))
    units: str = field(metadata=about("us or metric"))
    day: str = field(metadata=about("Day as YYYY-MM-DD"))
    title: str = field(metadata=about("What it is, in a few words"))
    crew: str = field(metadata=about("People and hours in words"))
    season: str = field(metadata=about("When the season opens, where the day is in none, or blank"))
    again: tuple[str, ...] = field(metadata=about("Why to plan again first, in sentences"))
    keep_out: tuple[str, ...] = field(
        metadata=about("Ground whose re-entry time has not passed, in sentences")
    )
    left: tuple[str, ...] = field(metadata=about("What the day leaves, and why, in sentences"))
    jobs: tuple[DayJob, ...] = field(metadata=about("Jobs in order"))
    rest: str = field(metadata=about("What comes next, in a sentence, or blank"))
    ways: tuple[WayIn, ...] = field(metadata=about("Way in of each strip, once each"))
    load: tuple[str, ...] = field(metadata=about("What to load, in words"))
    mixes: tuple[MixRow, ...] = field(metadata=about("Tanks, as in the mixing table"))
    tanks: tuple[str, ...] = field(metadata=about("The same, one line a tank"))
    order: tuple[str, ...] = field(metadata=about("Order of pouring, a sentence a carrier"))
    no_go: tuple[str, ...] = field(
        metadata=about("Products that are no go until the label is read, and what to confirm")
    )
    go: tuple[Measure, ...] = field(metadata=about("Go or no-go table"))
    gear: tuple[str, ...] = field(metadata=about("What to wear, in words"))
    away: tuple[str, ...] = field(metadata=about("Who stays away, in words"))
    mind: tuple[str, ...] = field(metadata=about("The other cautions, what kills first"))
    late: tuple[str, ...] = field(metadata=about("What is late in two lines at the most"))
    overdue: tuple[str, ...] = field(metadata=about("What was planned earlier, not in the log"))
    contractor: tuple[str, ...] = field(metadata=about("What a contractor does then, in words"))
    log_heads: tuple[tuple[str, str], ...] = field(
        metadata=about("Heads of the lines to write the log by hand: word and unit")
    )
    poison_line: str = field(metadata=about("Poison line, or blank to fill in"))
    nothing: str = field(metadata=about("That nothing is left, or blank"))


LABEL_LAW = "The label on the container in your hand is the law."
