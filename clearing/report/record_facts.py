"""Say the rows of the log for the printed record: what was written, and what was not recorded."""

import math
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from clearing import records, units
from clearing.rates import Rates
from clearing.report import names
from clearing.tables import cell_text

NOT_RECORDED = "not recorded"
FIGURES = 5  # that a typed amount keeps after its way through metric; own choice
TRUE = 9  # figures that a number in metric has right; own choice
ROUND = 3  # figures of what is worked out from typed amounts; own choice
# column in metric -> (unit, what one is in metric) in US units, and in metric
SHOWN: dict[str, tuple[tuple[str, float], tuple[str, float]]] = {
    "area_ha": (("acres", units.HA_PER_ACRE), ("ha", 1.0)),
    "product_l": (("fl oz", units.L_PER_FLOZ), ("L", 1.0)),
    "mix_l": (("gal", units.L_PER_GAL), ("L", 1.0)),
    "wind_kmh": (("mph", units.KMH_PER_MPH), ("km/h", 1.0)),
    "temperature_c": (("°F", units.C_PER_F), ("°C", 1.0)),
    "hours": (("h", 1.0), ("h", 1.0)),
    "reentry_h": (("h", 1.0), ("h", 1.0)),
    "percent": (("%", 1.0), ("%", 1.0)),
    "people": (("", 1.0), ("", 1.0)),
    "stems": (("", 1.0), ("", 1.0)),
}
OF_PRODUCT = (  # (label, column), in the order of the printed record; own choice
    ("product", "herbicide"), ("registration number", "registration"),
    ("active ingredient", "active"), ("amount of product", "product_l"), ("amount of mix", "mix_l"),
    ("product in the mix", "percent"), ("area", "area_ha"), ("product over area", "rate"),
    ("start", "start_time"), ("end", "end_time"), ("wind", "wind_kmh"), ("wind from", "wind_from"),
    ("air temperature", "temperature_c"), ("site", "site"), ("target", "target"),
    ("equipment", "equipment"), ("applied by", "applied_by"), ("for whom", "applied_for"),
    ("certified", "certified"), ("license", "licence"), ("re-entry", "reentry_h"),
    ("permit", "permit"), ("people", "people"), ("hours", "hours"), ("stems", "stems"),
)  # fmt: skip
OF_ANY_WORK = ("people", "hours")
MAY_BE_BLANK = ("percent", "stems")  # asked for by no rule, so a blank takes no room


@dataclass(frozen=True)
class Piece:
    """One row of the log as it is printed."""

    title: str = field(metadata={"description": "Number, day, place and job"})
    status: str = field(metadata={"description": "In force, or by which row it is replaced"})
    replaced: bool = field(metadata={"description": "Whether a later row stands in its place"})
    cells: tuple[tuple[str, str], ...] = field(metadata={"description": "Label and what stands"})
    notes: str = field(metadata={"description": "The owner's words, or blank"})


def amount(column: str, value: Any, us: bool, figures: int = FIGURES) -> str:
    """Return a number of the log in the owner's unit as it was typed; blank where none stands.

    Parameters
    ----------
    column : str
        Metric column of the log, such as product_l.
    value : float
        What stands there, in metric.
    us : bool
        Fluid ounces and acres; else litres and hectares.
    figures : int
        How many figures it keeps at the most.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> amount("product_l", 12 * 0.0295735295625, True), amount("temperature_c", 24, True)
    ('12 fl oz', '75.2 °F')
    """
    number = pd.to_numeric(value, errors="coerce")
    if number is None or pd.isna(number):
        return ""
    unit, one = SHOWN[column][0 if us else 1]
    shown = float(number) / one + (units.F_AT_0_C if unit == "°F" else 0.0)
    return f"{figure(shown, figures)} {unit}".strip()


def figure(value: float, figures: int = FIGURES) -> str:
    """Return a number with so many figures at the most and no idle zeros; whole ones stay whole.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> figure(12.00002), figure(1234567.0), figure(0.0301)
    ('12', '1,234,567', '0.0301')
    """
    if not value:
        return "0"
    value = float(f"{value:.{TRUE}g}")
    places = max(figures - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{round(value, places):,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def plain_text(text: str) -> str:
    """Return the owner's words on one line, without signs that show nothing or turn the line.

    References
    ----------
    own reasoning
    """
    blanks = "".join(" " if one.isspace() else one for one in text)
    kept = "".join(one for one in blanks if unicodedata.category(one) not in ("Cc", "Cf", "Cs"))
    return " ".join(kept.split())


def replaced_by(log: pd.DataFrame) -> dict[str, str]:
    """Return the row that stands in the place of each replaced one, by number.

    References
    ----------
    own reasoning
    """
    force = set(records.in_force(log)["record_id"].map(cell_text))
    out = {}
    for number, gone in zip(log["record_id"], log["replaces"], strict=True):
        if cell_text(gone) and cell_text(gone) not in force:
            out[cell_text(gone)] = cell_text(number)
    return out


def pieces(
    log: pd.DataFrame,
    rates: Rates,
    us: bool,
    year: int | None = None,
    blocks: Mapping[str, str] | None = None,
) -> list[Piece]:
    """Return the rows of the log as they are printed, in the file's order.

    Parameters
    ----------
    log : DataFrame
        As ``owner/records``, in metric.
    rates : Rates
        Products.
    us : bool
        The owner's units.
    year : int or None
        That year's rows alone.
    blocks : mapping or None
        Strip or block -> the block's own name.

    References
    ----------
    own reasoning
    """
    gone, with_product = replaced_by(log), records.puts_product_out(log)
    out = []
    for row, product in zip(log.to_dict("records"), with_product, strict=True):
        if year is not None and int(cell_text(row["date"])[:4]) != year:
            continue
        number, instead = cell_text(row["record_id"]), cell_text(row["replaces"])
        job = names.plain(names.JOBS, records.job_meant(row["job"]))
        where = _where(cell_text(row["strip_id"]), blocks or {})
        title = f"Row {number} · {cell_text(row['date'])} · {where} · {job}"
        status = f"replaced by row {gone[number]}" if number in gone else "in force"
        status += f", in place of row {instead}" if instead else ""
        cells = _cells(row, rates, us, bool(product), number in gone)
        notes = plain_text(cell_text(row["notes"]))
        out.append(Piece(plain_text(title), plain_text(status), number in gone, cells, notes))
    return out


def yearly_sums(
    log: pd.DataFrame, rates: Rates, us: bool, year: int | None = None
) -> list[list[str]]:
    """Return what the rows in force add up to: year, herbicide, product, acid, rows without amount.

    The acid is blank where nobody knows which product was meant.

    Parameters
    ----------
    log : DataFrame
        As ``owner/records``, in metric.
    rates : Rates
        Products with their strengths.
    us : bool
        The owner's units.
    year : int or None
        That year alone.

    References
    ----------
    own reasoning
    """
    rows = []
    log = log.assign(herbicide=[_one_name(cell_text(words), rates) for words in log["herbicide"]])
    for (when, words), own in _grouped(log, "herbicide", year):
        own = own[records.puts_product_out(own)]
        litres = own["product_l"].astype(float)
        if not len(own):
            continue
        meant = records.strength_meant(words, rates)
        acid = _acid(litres.sum() * meant[1], us) if meant else "strength not known"
        some = bool(litres.notna().any())
        rows.append([
            when, plain_text(_product(words, rates)) or NOT_RECORDED,
            amount("product_l", litres.sum(), us) if some else NOT_RECORDED,
            acid if some else NOT_RECORDED, str(int(litres.isna().sum())),
        ])  # fmt: skip
    return rows


def yearly_hours(log: pd.DataFrame, year: int | None = None) -> list[list[str]]:
    """Return the hours of the rows in force: year, job, hours, rows without hours.

    References
    ----------
    own reasoning
    """
    rows = []
    log = log.assign(job=log["job"].map(records.job_meant))
    for (when, job), own in _grouped(log, "job", year):
        hours = own["hours"].astype(float)
        said = plain_text(names.plain(names.JOBS, job))
        sum_words = figure(hours.sum()) if hours.notna().any() else NOT_RECORDED
        rows.append([when, said, sum_words, str(int(hours.isna().sum()))])
    return rows


def _where(place: str, blocks: Mapping[str, str]) -> str:
    """Return a strip with the name of its block; a part such as 4a-2 lies in the block of 4a."""
    block = blocks.get(place) or blocks.get(place.rpartition("-")[0].rstrip("-"), "")
    return f"{place} ({block})" if block else place


def _grouped(
    log: pd.DataFrame, column: str, year: int | None
) -> Iterable[tuple[tuple[str, str], pd.DataFrame]]:
    """Return the rows in force by year and what stands in a column."""
    force = records.in_force(log)
    keys = [
        force["date"].map(lambda day: cell_text(day)[:4]).astype(object),
        force[column].map(lambda cell: cell_text(cell)).astype(object),
    ]
    for key, own in force.groupby(keys, sort=True):
        if year is None or int(key[0]) == year:
            yield (str(key[0]), str(key[1])), own


def _one_name(words: str, rates: Rates) -> str:
    """Return the product that words mean, or the words where that is not clear."""
    meant = records.products_meant(words, rates) if words else []
    return meant[0] if len(meant) == 1 else words


def _product(words: str, rates: Rates) -> str:
    """Return a herbicide as it is said: keys of products in words, all else as it was typed."""
    return names.herbicide_name(words) if _one_name(words, rates) == words else words


def _acid(kg: float, us: bool) -> str:
    """Return an amount of acid in pounds or kilograms."""
    return f"{figure(kg / units.KG_PER_LB, ROUND)} lb" if us else f"{figure(kg, ROUND)} kg"


def _cells(
    row: dict[str, Any], rates: Rates, us: bool, product: bool, replaced: bool
) -> tuple[tuple[str, str], ...]:
    """Return label and value of each field; what is blank is said, but not of a replaced row."""
    out = []
    for label, column in OF_PRODUCT:
        asked = (product or column in OF_ANY_WORK) and column not in MAY_BE_BLANK
        value = plain_text(_value(row, column, rates, us))
        if value or (asked and not replaced):
            out.append((label, value or NOT_RECORDED))
    return tuple(out)


def _value(row: dict[str, Any], column: str, rates: Rates, us: bool) -> str:
    """Return what stands in a field in the owner's units; blank where nothing does."""
    if column in SHOWN:
        return amount(column, row[column], us)
    if column == "active":
        meant = records.strength_meant(cell_text(row["herbicide"]), rates)
        return meant[0] if meant else ""
    if column == "rate":
        litres, hectares = (float(row[name]) for name in ("product_l", "area_ha"))
        if not hectares > 0 or math.isnan(litres):
            return ""
        area = units.HA_PER_ACRE if us else 1.0
        each = amount("product_l", litres / hectares * area, us, ROUND)
        return f"{each} {'an acre' if us else 'a hectare'}"
    if column == "herbicide":
        return _product(cell_text(row[column]), rates)
    if column == "target":
        words = cell_text(row[column])
        return names.species_name(words) if "_" in words else words
    return cell_text(row[column])
