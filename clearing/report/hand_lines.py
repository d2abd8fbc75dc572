"""Head the lines that are filled in by hand, one for each field of the season's log."""

from clearing.tables import column_file

UNITS = {  # unit of a column -> how it is said, and whose it is: us, metric or both
    "floz": ("fl oz", "us"),
    "gal": ("gal", "us"),
    "l": ("L", "metric"),
    "h": ("", "both"),
    "mph": ("mph", "both"),
    "f": ("°F", "both"),
}
KEPT_BY_THE_LOG = ("record_id", "replaces")  # the log numbers its own entries
SAID = {
    "licence": "license",
    "start_time": "start",
    "temperature": "heat",
    "wind_from": "wind from",
}


def log_heads(us: bool) -> tuple[tuple[str, str], ...]:
    """Return word and unit of each field of the log, in its order, in the owner's units.

    Wind and heat have one unit in the log, which is told.

    Parameters
    ----------
    us : bool
        Gallons and fluid ounces; else litres.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> log_heads(True)[:2], ("product", "fl oz") in log_heads(True)
    ((('date', ''), ('strip', '')), True)
    """
    heads = []
    for row in column_file("records").to_dict("records"):
        unit, whose = UNITS.get(row["unit"], ("", "both"))
        if row["column"] in KEPT_BY_THE_LOG or whose == ("metric" if us else "us"):
            continue
        word = row["column"].removesuffix(f"_{row['unit']}").removesuffix("_id")
        heads.append((SAID.get(word, word.replace("_", " ")), unit))
    return tuple(heads)
