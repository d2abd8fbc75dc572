"""Say what the pictures of the years show: title, panels, every number and word in them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from clearing.report import words
from clearing.report.facts import Summary
from clearing.report.facts_ahead import SeasonFacts
from clearing.report.words import Amount

TOO_FAR = 1.6  # a limit so many times above all bars is told, not drawn; own choice
NOTHING = 0.5  # stems, hours or dollars that are drawn as none; own choice


def _about(description: str) -> dict[str, str]:
    return {"description": description}


@dataclass(frozen=True)
class Panel:
    """One row of marks, a mark a year."""

    heading: str = field(metadata=_about("What the row shows"))
    key: str = field(metadata=_about("Key of what it shows: a season, cost, thick, grass ..."))
    amounts: tuple[Amount, ...] = field(metadata=_about("Number and range, a year each"))
    limits: tuple[float | None, ...] = field(
        metadata=_about("What there is, a year each; none where nothing is drawn")
    )
    limit_words: str = field(metadata=_about("What there is, in words, or blank"))


@dataclass(frozen=True)
class YearPicture:
    """One picture of the years, in words and numbers."""

    name: str = field(metadata=_about("hours, cost, stems or grass"))
    title: str = field(metadata=_about("The sentence that it proves"))
    note: str = field(metadata=_about("How to read it"))
    years: tuple[int, ...] = field(metadata=_about("Years from left to right"))
    panels: tuple[Panel, ...] = field(metadata=_about("Rows of marks, from the top"))
    scale: tuple[float, ...] = field(
        metadata=_about("Lines of a scale by tens; blank where bars stand on nought")
    )
    scale_words: tuple[str, ...] = field(metadata=_about("The same in words"))

    @property
    def description(self) -> str:
        """Return every number of the picture in sentences."""
        rows = []
        for panel in self.panels:
            told = [f"{year} {one.words.removeprefix('about ')}"
                    for year, one in zip(self.years, panel.amounts, strict=True)]  # fmt: skip
            there_is = f" ({panel.limit_words})" if panel.limit_words else ""
            rows.append(f"{panel.heading}{there_is}: {'; '.join(told)}.")
        return " ".join(rows)


def year_picture(name: str, summary: Summary) -> YearPicture | None:
    """Return what one picture shows, none where there is nothing to draw.

    Parameters
    ----------
    name : str
        hours, cost, stems or grass.
    summary : Summary
        What the report says.

    Raises
    ------
    KeyError
        There is no such picture.

    References
    ----------
    own reasoning
    """
    made = {"hours": _hours, "cost": _cost, "stems": _stems, "grass": _grass}[name]
    return made(summary)


def _hours(summary: Summary) -> YearPicture | None:
    """Return hours by season, a row for each season with work in some year."""
    rows = summary.ahead.seasons
    keys = list(dict.fromkeys(row.season_key for row in rows))
    by_key = {key: [row for row in rows if row.season_key == key] for key in keys}
    busy = {key: own for key, own in by_key.items() if any(_some(row.hours) for row in own)}
    if not busy:
        return None
    idle = [own[0].season for key, own in by_key.items() if key not in busy]
    limited = any(row.limit is not None for own in busy.values() for row in own)
    note = "Bar and number: hours to plan on. Upright line: the range."
    note += " Dashed: hours there are." if limited else ""
    note += f" No work in {words.listed(idle)}." if idle else ""
    panels = [
        Panel(
            words.sentence(own[0].season), key, tuple(row.hours for row in own),
            tuple(row.limit for row in own),
            _there_is([(row.year, row.limit_words) for row in own]),
        )
        for key, own in busy.items()
    ]  # fmt: skip
    years = tuple(row.year for row in next(iter(busy.values())))
    return YearPicture("hours", _hours_title(rows), note, years, tuple(panels), (), ())


def _hours_title(rows: Sequence[SeasonFacts]) -> str:
    """Return whether the seasons hold the work, in a sentence."""
    busy = [row for row in rows if _some(row.hours)]
    limited = [row for row in busy if row.limit is not None]
    over, full = _over(limited, "value"), _over(limited, "high")
    if over:
        worst = max(over, key=lambda row: row.hours.value - (row.limit or 0.0))
        return (
            f"{words.sentence(_run_over(len(over), len(limited)))} the hours there are, most of "
            f"all {_when(worst)}: {worst.hours.words}, and there are {worst.limit_words}."
        )
    most = max(busy, key=lambda row: row.hours.value)
    if not limited:
        return f"Most hours fall in {_when(most)}: {most.hours.words}."
    if full:
        return (
            "The hours to plan on fit every season. At the upper end of the range "
            f"{_run_over(len(full), len(limited))}."
        )
    return (
        f"Every season has room for its work, also at the upper end of the range. The fullest is "
        f"{_when(most)}: {most.hours.words}."
    )


def _over(rows: Sequence[SeasonFacts], end: str) -> list[SeasonFacts]:
    """Return seasons whose hours, as they are said, are more than the hours there are."""
    return [
        row for row in rows
        if row.limit is not None
        and words.rounded(getattr(row.hours, end)) > words.rounded(row.limit)
    ]  # fmt: skip


def _when(row: SeasonFacts) -> str:
    return f"{row.season} {row.year}"


def _run_over(many: int, of: int) -> str:
    """Return how many of the seasons with work run over, in words."""
    if of == 1:
        return "the one season with work runs over"
    return f"{many} of {of} seasons with work {'runs' if many == 1 else 'run'} over"


def _there_is(said: list[tuple[int, str]]) -> str:
    """Return what there is in words: once where it stays the same, else first and last."""
    known = [(year, text) for year, text in said if text]
    if not known:
        return ""
    if len({text for _, text in known}) == 1:
        return f"there are {known[0][1]}"
    return f"there are {known[0][1]} in {known[0][0]}, {known[-1][1]} in {known[-1][0]}"


def _cost(summary: Summary) -> YearPicture | None:
    """Return cash by year beside the money there is."""
    rows = summary.year_rows
    if not any(_some(row.cost) for row in rows):
        return None
    limits = [row.cost_there for row in rows]
    top = max(row.cost.high for row in rows)
    known = [limit for limit in limits if limit is not None]
    drawn = bool(known) and max(known) <= TOO_FAR * max(top, 1.0)
    said = _there_is([(row.year, row.cost_limit) for row in rows]).replace("are", "is", 1)
    note = "Bar and number: cash to plan on, in dollars of the year. Upright line: the range."
    if drawn:
        note += " Dashed: money there is."
    elif known:
        note += f" {words.sentence(said)}, which the picture does not reach."
    most = max(rows, key=lambda row: row.cost.value)
    title = f"{most.year} takes the most cash: {most.cost.words}."
    if len(rows) == 1:
        title = f"{most.year} takes {most.cost.words} of cash."
    panel = Panel(
        "Cash", "cost", tuple(row.cost for row in rows),
        tuple(limits) if drawn else (None,) * len(rows), said if drawn else "",
    )  # fmt: skip
    return YearPicture("cost", title, note, tuple(row.year for row in rows), (panel,), (), ())


def _stems(summary: Summary) -> YearPicture | None:
    """Return stems at the start of each year, thick and thin, on a scale by tens."""
    rows = summary.ahead.place
    if not any(row.thick.high >= NOTHING or row.thin.high >= NOTHING for row in rows):
        return None
    none = (None,) * len(rows)
    panels = (
        Panel("Stems of an inch and more", "thick", tuple(row.thick for row in rows), none, ""),
        Panel("Thinner stems, sprouts among them", "thin", tuple(row.thin for row in rows), none,
              ""),
    )  # fmt: skip
    ends = [end for row in rows for one in (row.thick, row.thin) for end in (one.low, one.high)]
    first, last = rows[0], rows[-1]
    working = any(row.visits for row in summary.year_rows)
    if working and last.thick.high < first.thick.low:
        title = (
            f"Stems of an inch and more fall from {first.thick.words} at the start of "
            f"{first.year} to {last.thick.words} at the start of {last.year}."
        )
    else:
        title = (
            f"Stems of an inch and more: {first.thick.words} at the start of {first.year}, "
            f"{last.thick.words} at the start of {last.year}"
            f"{'; the ranges overlap' if _overlap(first.thick, last.thick) else ''}."
        )
    if len(rows) == 1:
        title = f"At the start of {first.year}: {first.thick.words} of an inch and more."
    bottom = math.floor(math.log10(max(min(ends), 1.0)))
    top = max(math.ceil(math.log10(max(*ends, 10.0))), bottom + 1)
    scale = tuple(10.0**power for power in range(bottom, top + 1))
    note = (
        "Line and number: stems to plan on, at the start of the year. Band: the range. "
        "Each line across is ten times as many as the one below it."
    )
    if min(ends) < 1.0:
        note += " The lowest line is one stem or none."
    said = tuple(words.said(one) for one in scale)
    years = tuple(row.year for row in rows)
    return YearPicture("stems", title, note, years, panels, scale, said)


def _overlap(first: Amount, last: Amount) -> bool:
    """Return whether two ranges have numbers in common."""
    return first.low <= last.high and last.low <= first.high


def _grass(summary: Summary) -> YearPicture | None:
    """Return ground begun, in grass and clear by the end of each year."""
    rows = summary.ahead.ground
    if not any(row.begun.value > 0 for row in rows):
        return None
    whole = summary.area
    there_is = f"{whole.short} in all"
    kinds = (
        ("Begun", "begun", tuple(row.begun for row in rows)),
        ("Mowed, in grass", "grass", tuple(row.grass for row in rows)),
        ("Clear, upkeep only", "clear", tuple(row.clear for row in rows)),
    )
    panels = tuple(
        Panel(heading, key, tuple(map(_none_as_nought, amounts)), (whole.value,) * len(rows),
              there_is)
        for heading, key, amounts in kinds
    )  # fmt: skip
    last = rows[-1]
    title = (
        f"By the end of {last.year}, of {whole.short}: {last.begun.short} begun, "
        f"{last.clear.short} clear, {last.grass.short} mowed."
    )
    note = f"Bar and number: {whole.unit} at the end of the year. Dashed: all blocks."
    return YearPicture("grass", title, note, tuple(row.year for row in rows), panels, (), ())


def _none_as_nought(amount: Amount) -> Amount:
    """Return no ground as a plain nought."""
    return amount if amount.value else replace(amount, number="0")


def _some(amount: Amount) -> bool:
    return max(abs(amount.value), abs(amount.high)) >= NOTHING
