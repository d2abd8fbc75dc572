"""Find what first treatments the log says were done: whole strips, and parts of strips."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from clearing.rates import Rates
from clearing.records.herbicides import products_meant
from clearing.records.jobs import job_key
from clearing.records.log import in_force
from clearing.tables import cell_text
from clearing.zones.cut_parts import Part

COLUMNS = ["strip_id", "start_year", "season", "job", "herbicide", "jobs", "products"]
ALMOST = 0.95  # share of a strip from which it counts as done; own choice
HARDLY = 0.02  # share below which nothing of it counts as done; own choice
SECOND_YEAR = 1  # a method of several jobs may reach into the next year


@dataclass(frozen=True)
class Done:
    """What was treated a first time.

    Attributes
    ----------
    begun : DataFrame
        strip_id (the part's own where a strip is split), start_year, season, job, herbicide (of
        which most was put out; blank when the log names none in use), jobs and products (all of the
        first treatments of the log there, space separated: they tell methods apart).
    parts : dict
        Strip -> its parts in the order of the work, the last one what is left, as
        `zones.split_strips` takes them; strips that were done whole are not among them.
    parents : dict
        Part -> the strip that it was cut from.
    notes : tuple of str
        A sentence for each strip.
    """

    begun: pd.DataFrame
    parts: dict[str, list[Part]]
    parents: dict[str, str]
    notes: tuple[str, ...]


def first_treatments(
    records: pd.DataFrame, strips: pd.DataFrame, jobs: tuple[str, ...], rates: Rates
) -> Done:
    """Return which strips, and which parts of them, the log says were treated a first time.

    All rows of one strip and season count together; several jobs, or one with several products, are
    taken to be on the same ground: the one that covered most of it says how much was done. A row
    without an area covers all that was left of its strip, or of the strips of its block.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``.
    strips : DataFrame
        strip_id, block_id, area_ha, as they are cut without the log.
    jobs : tuple of str
        Jobs that are a first treatment.
    rates : Rates
        Seasons with their months; products in use.

    References
    ----------
    own reasoning
    """
    rows = _first_rows(records, strips, jobs, rates)
    taken = {str(name) for name in [*strips["strip_id"], *strips["block_id"]]}
    begun: list[tuple[object, ...]] = []
    parts: dict[str, list[Part]] = {}
    parents: dict[str, str] = {}
    notes: list[str] = []
    for strip, own in rows.groupby("strip_id", sort=False):
        left, pieces = 1.0, []
        for (year, season), part in own.groupby(["year", "season"], sort=False):
            share = min(float(part.groupby(["job", "herbicide"])["share"].sum().max()), left)
            if share < HARDLY or left <= 0:
                continue
            of_left = 1.0 if share >= left - (1.0 - ALMOST) else share / left
            pieces.append((int(year), str(season), part, of_left))
            left = 0.0 if of_left == 1.0 else left - share
        if not pieces:
            continue
        names = _part_names(str(strip), len(pieces) + (left > 0), taken)
        begun += [
            (name, year, season, *_main(part), *_together(own, year))
            for name, (year, season, part, _) in zip(names, pieces, strict=False)
        ]
        if len(names) > 1:
            parts[str(strip)] = [
                (name, share, cell_text(part["side"].iloc[-1]) or "near")
                for name, (_, _, part, share) in zip(names, pieces, strict=False)
            ]
            parts[str(strip)] += [(names[-1], 1.0, "near")] if left > 0 else []
            parents |= dict.fromkeys(names, str(strip))
        notes += _said(str(strip), names, pieces, left)
    table = pd.DataFrame(begun, columns=COLUMNS)
    whole = [name for name in table["strip_id"] if name not in parents]
    return Done(table, parts, parents, (*_whole_words(whole), *notes))


def strips_named(name: str, strips: pd.DataFrame, parents: Mapping[str, str]) -> list[str]:
    """Return the strips that a row of the log means: by their own name, their strip's or block's.

    Parameters
    ----------
    name : str
        What stands in the row.
    strips : DataFrame
        strip_id, block_id, parts of strips among them.
    parents : mapping
        Part -> the strip that it was cut from.

    References
    ----------
    own reasoning
    """
    ids = strips["strip_id"].astype(str)
    same = ids == name
    if not same.any():
        same = ids.map(lambda each: parents.get(each, each)) == name
    if not same.any():
        same = strips["block_id"].astype(str) == name
    return ids[same].tolist()


def season_of(rates: Rates) -> dict[int, str]:
    """Return the season of each month that is in one.

    References
    ----------
    own reasoning
    """
    return {int(month): row.season for row in rates.seasons.itertuples() for month in row.months}


def _first_rows(
    records: pd.DataFrame, strips: pd.DataFrame, jobs: tuple[str, ...], rates: Rates
) -> pd.DataFrame:
    """Return a row for each strip that a row of first treatment covers, with the share of it."""
    season, area = season_of(rates), strips.set_index("strip_id")["area_ha"].astype(float)
    names = [*strips["strip_id"].astype(str)]
    rows = []
    for row in in_force(records).sort_values("date", kind="stable").to_dict("records"):
        job, date = job_key(row["job"]), pd.Timestamp(row["date"])
        if job not in jobs:
            continue
        place = cell_text(row["strip_id"])
        own = [name for name in names if name == place] or _part_of(place, names)
        own = own or strips["strip_id"][strips["block_id"].astype(str) == place].tolist()
        meant = products_meant(cell_text(row["herbicide"]), rates)
        product = meant[0] if len(meant) == 1 else ""
        given = pd.to_numeric(pd.Series([row.get("area_ha")]), errors="coerce").iloc[0]
        share = 1.0 if pd.isna(given) or not own else float(given) / float(area[own].sum())
        rows += [
            (name, date.year, season.get(date.month, ""), job, product, row.get("product_l"), share,
             row.get("side"))
            for name in own
        ]  # fmt: skip
    names = ["strip_id", "year", "season", "job", "herbicide", "product_l", "share", "side"]
    return pd.DataFrame(rows, columns=names)


def _part_of(place: str, names: list[str]) -> list[str]:
    """Return the strip of which a name such as 4a-2 is a part, if there is one."""
    stem, dash, number = place.rpartition("-")
    return [name for name in names if dash and number.isdigit() and name == stem]


def _part_names(strip: str, number: int, taken: set[str]) -> list[str]:
    """Return what the parts are called: 4a-1, 4a-2, or the strip's own name where it is whole."""
    if number == 1:
        return [strip]
    stem = strip
    while taken & {f"{stem}-{n + 1}" for n in range(number)}:
        stem += "-"
    return [f"{stem}-{n + 1}" for n in range(number)]


def _main(part: pd.DataFrame) -> tuple[str, str]:
    """Return the first job of a season, and the product of which most was put out in it."""
    return str(part["job"].iloc[0]), most_of(part["herbicide"], part["product_l"])


def most_of(herbicides: pd.Series, litres: pd.Series) -> str:
    """Return the product of which most was put out; blank where none is named.

    Of several with as much, or where no amount is known, it is the first.

    References
    ----------
    own reasoning
    """
    named = herbicides != ""
    known = pd.to_numeric(litres[named], errors="coerce").fillna(0.0)
    sums = known.groupby(herbicides[named], sort=False).sum()
    return str(sums.idxmax()) if len(sums) else ""


def _together(own: pd.DataFrame, year: int) -> tuple[str, str]:
    """Return the jobs and the products of a strip in a year and the next."""
    near = own[own["year"].between(year, year + SECOND_YEAR)]
    jobs, products = (set(near[name]) - {""} for name in ("job", "herbicide"))
    return " ".join(sorted(jobs)), " ".join(sorted(products))


def _whole_words(strips: list[str]) -> list[str]:
    """Return which strips count as treated whole, and what to do where that is not so."""
    if not strips:
        return []
    one = len(strips) == 1
    return [
        f"strip{'' if one else 's'} {', '.join(strips)}: the log has a first treatment, so the "
        f"plan counts {'it' if one else 'them'} as treated and plans what follows; where a part is "
        "still to do, correct the row and write down the area that was treated"
    ]


def _said(strip: str, names: list[str], pieces: list[tuple], left: float) -> list[str]:
    """Return what the plan makes of the rows of a strip."""
    out, gone = [], 0.0
    for name, (year, season, part, share) in zip(names, pieces, strict=False):
        job = _main(part)[0].replace("_", " ")
        when = f"{season.replace('_', ' ')} {year}".strip()
        if len(names) == 1:
            continue  # `_whole_words` says it
        done = (1.0 - gone) * share
        gone += done
        out.append(
            f"strip {strip}: the log says {job} on {100 * done:.0f} % of it in {when}; that part "
            f"is strip {name} from now on"
        )
    if left > 0:
        out.append(f"strip {strip}: {100 * left:.0f} % of it is still to do, as strip {names[-1]}")
    return out
