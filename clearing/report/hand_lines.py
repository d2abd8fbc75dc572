"""Head the lines that are filled in by hand: the log's fields that fit on a line of paper."""

from clearing.tables import column_file

# columns of the log that are asked for on paper, in this order; own choice
LINE = (
    "date", "strip_id", "job", "people", "hours", "herbicide", "product", "mix", "stems", "wind",
    "wind_from", "temperature", "start_time", "applied_by", "licence", "notes",
)  # fmt: skip
SAID = {
    "strip_id": "strip",
    "licence": "license",
    "start_time": "start",
    "temperature": "heat",
}
UNITS = {  # field -> column and unit in gallons and Fahrenheit, and in litres and Celsius
    "product": (("product_floz", "fl oz"), ("product_l", "L")),
    "mix": (("mix_gal", "gal"), ("mix_l", "L")),
    "wind": (("wind_mph", "mph"), ("wind_kmh", "km/h")),
    "temperature": (("temperature_f", "°F"), ("temperature_c", "°C")),
}
POISON_LINE_US = "1-800-222-1222 (US poison help; from memory, check before the season)"


def log_heads(us: bool) -> tuple[tuple[str, str], ...]:
    """Return word and unit of each field of a line that is filled in by hand, in its order.

    Parameters
    ----------
    us : bool
        Gallons, miles and Fahrenheit; else litres, kilometres and Celsius.

    Raises
    ------
    KeyError
        A field is none of the log's columns.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> log_heads(True)[:2], ("product", "fl oz") in log_heads(True)
    ((('date', ''), ('strip', '')), True)
    """
    known, heads = set(column_file("records")["column"]), []
    for name in LINE:
        column, unit = UNITS[name][0 if us else 1] if name in UNITS else (name, "")
        if column not in known:
            raise KeyError(column)
        heads.append((SAID.get(name, name.replace("_", " ")), unit))
    return tuple(heads)
