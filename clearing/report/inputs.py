"""Give the fingerprint of what a plan was made of: the same inputs, the same sum."""

import hashlib
from dataclasses import asdict, replace

import pandas as pd

from clearing.property import Results
from clearing.report.kit import Kit

LAYERS = ("blocks", "strips", "keep_trees", "features", "plots")


def inputs_of(results: Results) -> str:
    """Return the sha256 of settings, layers, tables and the day; not of paths or times.

    The day stands in it by what it does: the seasons that are over and the work that is counted.

    Parameters
    ----------
    results : Results
        What the walk gave.

    References
    ----------
    own reasoning
    """
    place, sum_up = results.property, hashlib.sha256()
    _add(sum_up, land_of(results), repr(asdict(place.settings)), str(len(results.lessons) > 0))
    for table in (place.tally, place.records, results.work_done):
        _add(sum_up, _text_of(table.drop(columns="line", errors="ignore")))
    return sum_up.hexdigest()


def land_of(results: Kit) -> str:
    """Return the sha256 of layers and settings alone, years and money that move on left out.

    Parameters
    ----------
    results : Results or OwnKit
        What the walk gave, or the property alone.

    References
    ----------
    own reasoning
    """
    settings, sum_up = results.property.settings, hashlib.sha256()
    still = replace(
        settings, first_year=0, years=0, clear_by=None, season_gone={},
        money=replace(settings.money, budget_per_year=[]),
    )  # fmt: skip
    _add(sum_up, repr(asdict(still)))
    for name in LAYERS:
        layer = getattr(results.property, name)
        shapes = b"".join(one.wkb if one is not None else b"-" for one in layer.geometry)
        _add(sum_up, name, str(layer.crs), hashlib.sha256(shapes).hexdigest())
        _add(sum_up, _text_of(pd.DataFrame(layer.drop(columns=layer.geometry.name))))
    return sum_up.hexdigest()


def tally_of(tally: pd.DataFrame) -> str:
    """Return the sha256 of the counts.

    Parameters
    ----------
    tally : DataFrame
        As ``owner/tally``.

    References
    ----------
    own reasoning
    """
    sum_up = hashlib.sha256()
    _add(sum_up, _text_of(tally))
    return sum_up.hexdigest()


def _text_of(table: pd.DataFrame) -> str:
    """Return a table as text, numbers to their last figure."""
    return str(table.to_csv(index=False)) if len(table.columns) else str(len(table))


def _add(sum_up: "hashlib._Hash", *texts: str) -> None:
    """Return nothing; add texts to a sum, each with its length before it."""
    for text in texts:
        raw = text.encode("utf-8", "surrogatepass")
        sum_up.update(f"{len(raw)}:".encode() + raw)
