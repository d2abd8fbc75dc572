"""What the years bring: stems that stand, ground in grass and clear, hours there are by season."""

from dataclasses import dataclass, field

from clearing.report.words import Amount


def _about(description: str) -> dict[str, str]:
    return {"description": description}


@dataclass(frozen=True)
class ForecastYear:
    """What stands on a piece of ground in one year, before that year's work."""

    year: int = field(metadata=_about("Year"))
    thick: Amount = field(metadata=_about("Live stems of an inch and more, of species to clear"))
    thin: Amount = field(metadata=_about("Live seedlings, thinner stems and sprouts"))
    dead: Amount = field(metadata=_about("Dead stems over an inch that still stand"))
    canopy_pct: float = field(
        metadata=_about("Ground under crowns, of species to clear and of trees that stay [percent]")
    )
    words: str = field(metadata=_about("All of it in one sentence"))


@dataclass(frozen=True)
class GroundYear:
    """How much ground has come how far by the end of one year of the plan."""

    year: int = field(metadata=_about("Year"))
    begun: Amount = field(metadata=_about("Area treated for the first time by then"))
    grass: Amount = field(metadata=_about("Area mowed for the first time by then"))
    clear: Amount = field(
        metadata=_about(
            "Area that needs only upkeep by then, less ground under stems left standing"
        )
    )
    words: str = field(metadata=_about("All of it in one sentence"))


@dataclass(frozen=True)
class SeasonFacts:
    """One season of one year: hours the plan takes and hours there are."""

    year: int = field(metadata=_about("Year"))
    season: str = field(metadata=_about("Season in words"))
    season_key: str = field(metadata=_about("Season key"))
    hours: Amount = field(metadata=_about("Hours of the crew in the plan, with their range"))
    limit: float | None = field(metadata=_about("Hours there are, none where no limit was given"))
    limit_words: str = field(metadata=_about("Hours there are, in words, or blank"))


@dataclass(frozen=True)
class Ahead:
    """Return what the years bring, for the whole place and for each strip.

    ``place`` and ``strips`` have one row more than the plan has years: what stands after it.
    """

    place: tuple[ForecastYear, ...] = field(
        default=(), metadata=_about("The whole place, a row a year; blank without a forecast")
    )
    strips: dict[str, tuple[ForecastYear, ...]] = field(
        default_factory=dict, metadata=_about("The same by strip")
    )
    ground: tuple[GroundYear, ...] = field(default=(), metadata=_about("Ground by year"))
    seasons: tuple[SeasonFacts, ...] = field(
        default=(), metadata=_about("Seasons in order, each year")
    )
