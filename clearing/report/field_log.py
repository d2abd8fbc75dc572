"""Say what the forms of the log ask: on the map in the field and on the drawing page."""

import hashlib
from collections.abc import Iterable
from typing import Any

from pyproj import CRS

from clearing.actives import folded, product_actives
from clearing.property import Results
from clearing.rates import BOTTLE_JOBS, TANK_JOBS, Rates
from clearing.records import products_meant
from clearing.report import names
from clearing.report.facts import StripFacts, Summary
from clearing.tables import column_file

NOT_ASKED = ("record_id", "replaces", "entry")  # the program fills them in
# asked first, in this order: what the plan learns from and what every record rule asks; own choice
FIRST = (
    "date", "strip_id", "job", "people", "hours", "area", "herbicide", "product", "mix", "stems",
    "applied_by", "notes",
)  # fmt: skip
OF_PRODUCT = ("herbicide", "product", "mix")  # asked first only of a job that takes product
PRODUCT_JOBS = (*BOTTLE_JOBS, *TANK_JOBS)
EXPLAINED = ("area", "side", "hours", "product")  # whose description stands under the field
CAUTION = "The label in your hand is the law; a blank is kept as not recorded."
SAID = {
    "date": "Day of the work", "strip_id": "Where", "job": "What was done", "people": "People",
    "hours": "Hours", "area": "Ground treated", "herbicide": "Herbicide",
    "product": "Product, undiluted", "mix": "Mix used", "stems": "Stems treated",
    "applied_by": "Who applied it", "notes": "Notes", "side": "On which side",
    "registration": "Registration number on the label", "percent": "Product in the mix",
    "site": "Crop or site, as the label calls it", "target": "Species treated",
    "equipment": "Put on with", "wind": "Wind speed", "wind_from": "Wind from",
    "temperature": "Air temperature", "start_time": "Start", "end_time": "End",
    "reentry": "Re-entry time of the label", "certified": "Certified applicator",
    "licence": "License number", "applied_for": "Applied for", "permit": "Permit number",
}  # fmt: skip
UNITS = {
    "acres": "acres", "ha": "ha", "h": "hours", "floz": "fl oz", "gal": "gal", "l": "liters",
    "percent": "%", "mph": "mph", "kmh": "km/h", "f": "\N{DEGREE SIGN}F", "c": "\N{DEGREE SIGN}C",
}  # fmt: skip
# what one press of + adds to a number; own choice
STEPS = {
    "hours": 0.5, "area_acres": 0.1, "area_ha": 0.05, "product_l": 0.1, "mix_gal": 0.25,
    "percent": 0.5, "stems": 10,
}  # fmt: skip
OWNERS = {True: ("acres", "floz", "gal", "mph", "f"), False: ("ha", "l", "kmh", "c")}
KINDS = {"strip_id": "place", "job": "job", "herbicide": "herbicide", "notes": "long",
         "start_time": "time", "end_time": "time"}  # fmt: skip
PLACES_OF_ORIGIN = 1  # decimals of a degree, about 10 km: a moved fence moves no entry; own choice
ORIGIN = ("Latitude", "Longitude")  # how the names of the grid's origin begin


def log_fields(us: bool) -> list[list[Any]]:
    """Return the fields of a piece of work, in the order of the log's columns.

    Each is column, label, kind (date, time, place, job, herbicide, number, integer, choice, long
    or text), unit, least, most, step, rank (from 1: asked first; 0: more for the record), whether
    it is asked first only of a job with product, choices, explanation.

    Parameters
    ----------
    us : bool
        The owner speaks acres and gallons.

    References
    ----------
    own reasoning
    """
    described = column_file("records")
    known = set(described["column"])
    return [
        _field(row) for row in described.itertuples(index=False)
        if row.column not in NOT_ASKED and not _other_units(row.column, us, known)
    ]  # fmt: skip


def _other_units(column: str, us: bool, known: set[str]) -> bool:
    """Return whether a column is the twin in the units that the owner does not speak."""
    stem, _, suffix = column.rpartition("_")
    if suffix not in OWNERS[not us]:
        return False
    return any(f"{stem}_{own}" in known for own in OWNERS[us])


def _field(row: Any) -> list[Any]:
    """Return one field."""
    stem, _, suffix = str(row.column).rpartition("_")
    paired = suffix in (*OWNERS[True], *OWNERS[False], "h")
    what = stem if paired else row.column
    kind = KINDS.get(row.column) or ("text" if row.kind == "id" else row.kind)
    number = kind in ("number", "integer")
    return [
        row.column, SAID.get(what, what.replace("_", " ").capitalize()), kind,
        UNITS.get(row.unit, ""),
        float(row.minimum) if number and row.minimum else None,
        float(row.maximum) if number and row.maximum else None,
        STEPS.get(row.column, 1) if number else 0,
        FIRST.index(what) + 1 if what in FIRST else 0, int(what in OF_PRODUCT),
        row.choices.split(), row.description if what in EXPLAINED else "",
    ]  # fmt: skip


def log_choices(rates: Rates) -> dict[str, Any]:
    """Return the jobs (key, words), those with product, the herbicides in use, and the caution.

    ``known`` are words, folded as the log folds them, that mean one of these herbicides; a form
    asks once whether others shall stay as they are written. ``whose`` products these are.

    References
    ----------
    own reasoning
    """
    in_use = [product.name for product in rates.products] or list(product_actives())
    said = [_said(name, rates) for name in in_use]
    return {
        "jobs": [[key, said] for key, said in names.JOBS.items() if key != "left"],
        "with_product": list(PRODUCT_JOBS),
        "herbicides": said, "caution": CAUTION,
        "known": _known([*in_use, *said], rates),
        "whose": "your" if rates.products else "the handbook's",
    }  # fmt: skip


def _known(names_in_use: list[str], rates: Rates) -> list[str]:
    """Return the words, folded, that mean exactly one of the herbicides in use."""
    actives = product_actives()
    words = dict.fromkeys([*names_in_use, *actives, *actives.values()])
    return sorted({folded(each) for each in words if len(products_meant(each, rates)) == 1})


def _said(name: str, rates: Rates) -> str:
    """Return a herbicide in words that the log is read back by, else its own name."""
    said = names.herbicide_name(name)
    return said if products_meant(said, rates) == [name] else name


def log_places(strips: Iterable[tuple[str, str, str]]) -> list[list[str]]:
    """Return the places to choose from, each as id, words, and the block it is listed under.

    A block of one strip of the same name stands once, a block of several as "all of it" first.

    Parameters
    ----------
    strips : iterable of (strip_id, block_id, name)
        Strips and blocks in their order; a block comes as (block_id, block_id, name) before its
        strips.

    References
    ----------
    own reasoning
    """
    rows = list(strips)
    blocks = {block: name for place, block, name in rows if place == block}
    out = []
    for place, block, name in rows:
        whole = place == block and any(b == block and p != place for p, b, _ in rows)
        out.append([place, f"all of {name}" if whole else name, blocks.get(block, "")])
    return out


def field_log(results: Results, summary: Summary) -> dict[str, Any]:
    """Return what the field page inside the map asks and knows, ready for JSON.

    ``next`` is, for each strip of the summary, what the plan does there first, in words.

    References
    ----------
    own reasoning
    """
    property_name = summary.property_name
    strips: list[tuple[str, str, str]] = []
    for block in summary.blocks:
        strips.append((block.block_id, block.block_id, block.name))
        strips += [
            (strip.strip_id, block.block_id, strip.name)
            for strip in block.strips if strip.strip_id != block.block_id
        ]  # fmt: skip
    return {
        "key": place_key(property_name, results.grid), "name": property_name,
        "fields": log_fields(summary.units == "us"), "places": log_places(strips),
        "next": [_next_work(strip) for strip in summary.strips],
    } | log_choices(results.rates)  # fmt: skip


def _next_work(strip: StripFacts) -> str:
    """Return what the plan does first in a strip, in words, blank when nothing."""
    if not strip.visits:
        return ""
    visit = strip.visits[0]
    hours = visit.hours.words if visit.hours.value > 0 else ""
    return ", ".join(part for part in (visit.job, visit.when, hours) if part)


def place_key(name: str, grid: str) -> str:
    """Return a key of a property that stays over plans, and over fences moved a little.

    Parameters
    ----------
    name : str
        What the owner calls the property.
    grid : str
        The grid of the results, as text.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> grid = "+proj=laea +lat_0={} +lon_0=-85.75 +datum=WGS84 +units=m +no_defs"
    >>> place_key("Hill", grid.format(36.3301)) == place_key("Hill", grid.format(36.3342))
    True
    """
    way = CRS.from_user_input(grid).coordinate_operation
    given = {} if way is None else {one.name.split()[0]: one.value for one in way.params}
    at = [round(float(given.get(part, 0.0)), PLACES_OF_ORIGIN) for part in ORIGIN]
    return hashlib.sha256(f"{name}|{at[0]}|{at[1]}".encode()).hexdigest()[:12]
