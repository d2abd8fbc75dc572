"""Give the bars of the map's year control: what stands at the start of each year, or the hours."""

from dataclasses import dataclass, field

from clearing.report.facts import Summary
from clearing.report.words import Amount

STEMS_SAY = "Bars: live stems an inch and thicker at the start of the year. Thin line: their range."
HOURS_SAY = "Bars: hours of people in the year. Thin line: their range."


@dataclass(frozen=True)
class YearBar:
    """One year's bar; shares are of the highest upper end (0 to 1)."""

    year: int = field(metadata={"description": "Year"})
    words: str = field(metadata={"description": "What the bar stands for, in words"})
    share: float = field(metadata={"description": "Height of the bar"})
    low_share: float = field(metadata={"description": "Lower end of the range"})
    high_share: float = field(metadata={"description": "Upper end of the range"})


@dataclass(frozen=True)
class YearBars:
    """The bars and what they are."""

    says: str = field(metadata={"description": "What the bars are, in words"})
    rows: tuple[YearBar, ...] = field(metadata={"description": "A bar a year of the plan"})


def year_bars(summary: Summary) -> YearBars:
    """Return the bars: stems where the plan has a forecast, else hours.

    References
    ----------
    own reasoning
    """
    ahead = {row.year: row for row in summary.ahead.place}
    if all(year in ahead for year in summary.years):
        told = [ahead[year].thick for year in summary.years]
        said = [f"{one.words} an inch and thicker" for one in told]
        return YearBars(STEMS_SAY, _rows(summary, told, said))
    told = [year.hours for year in summary.year_rows]
    return YearBars(HOURS_SAY, _rows(summary, told, [one.words for one in told]))


def _rows(summary: Summary, told: list[Amount], said: list[str]) -> tuple[YearBar, ...]:
    """Return a bar a year."""
    top = max((one.high for one in told), default=0.0) or 1.0
    return tuple(
        YearBar(
            year, text, round(one.value / top, 4), round(one.low / top, 4), round(one.high / top, 4)
        )
        for year, one, text in zip(summary.years, told, said, strict=True)
    )
