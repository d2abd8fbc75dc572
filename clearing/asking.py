"""Look settings up in a parsed property.toml, and note what is wrong and what was left out."""

import contextlib
import datetime
import re
from typing import Any

from clearing.tables import FIRST_DAY, LAST_DAY, did_you_mean, shortened

Numbers = dict[str, float]
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
LARGEST = 1e300  # a number with more figures is none; own choice


def is_number(value: object) -> bool:
    """Return whether a value is a finite number and no yes or no.

    References
    ----------
    own reasoning
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return abs(value) <= LARGEST


def as_written(value: object) -> str:
    """Return a value of the settings as one would write it, cut where it is long.

    References
    ----------
    own reasoning (TOML 1.0)

    Examples
    --------
    >>> as_written(True), as_written("us"), as_written(datetime.date(2027, 1, 1))
    ('true', "'us'", '2027-01-01')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, int) and abs(value) > LARGEST:
        return "a number of more than 300 figures"
    if isinstance(value, str):
        return repr(shortened(value))
    if isinstance(value, dict):
        return "a table of keys and values"
    if isinstance(value, list) and any(isinstance(each, dict) for each in value):
        return "a list of tables"
    try:
        return shortened(value)
    except (RecursionError, ValueError):
        return "a very long list"


def figure_words(value: float) -> str:
    """Return a bound of a setting in plain figures.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> figure_words(1e7), figure_words(0.05)
    ('10000000', '0.05')
    """
    return str(int(value)) if float(value).is_integer() else f"{value:g}"


def listed(value: Any) -> list[Any]:
    """Return a list, also of a single value.

    References
    ----------
    own reasoning
    """
    return list(value) if isinstance(value, list | tuple) else [value]


class Asker:
    """Return answers of one property.toml; every problem is kept, none is raised.

    Attributes
    ----------
    problems : list of str
        Key, what was found, what would be right.
    defaulted : list of str
        Keys that nobody gave and what was taken instead.
    """

    def __init__(self, raw: dict[str, Any]) -> None:
        self.raw = raw
        self.problems: list[str] = []
        self.defaulted: list[str] = []

    def table(self, *path: str) -> dict[str, Any]:
        """Return a section or a table in it; empty when absent, noted when it is something else."""
        found: Any = self.raw
        for name in path:
            found = found.get(name, {}) if isinstance(found, dict) else {}
        if not isinstance(found, dict):
            self.wrong(path, found, "write keys and values below its heading in brackets")
            return {}
        return found

    def tables(self, section: str) -> list[dict[str, Any]]:
        """Return the entries of an array of tables such as [[season]]."""
        found = self.raw.get(section, [])
        entries = (
            [entry for entry in found if isinstance(entry, dict)] if isinstance(found, list) else []
        )
        if not isinstance(found, list) or len(entries) < len(found):
            self.wrong((section,), found, f"write each entry under [[{section}]]")
        return entries

    def wrong(self, path: tuple[str, ...], found: object, right: str) -> None:
        """Note a problem of one key."""
        where = f"[{'.'.join(path[:-1])}] {path[-1]}" if len(path) > 1 else f"[{path[0]}]"
        said = "is missing" if found is None else f"is {as_written(found)}"
        self.problems.append(f"property.toml: {where} {said}; {right}")

    def given(self, path: tuple[str, ...], default: object) -> Any:
        """Return what stands at a key, else the default, which is noted."""
        table: Any = self.raw
        for name in path[:-1]:
            table = table.get(name, {}) if isinstance(table, dict) else {}
        found = table.get(path[-1]) if isinstance(table, dict) else None
        if found is None and default is not None:
            self.defaulted.append(f"[{path[0]}] {path[-1]} = {default}")
        return default if found is None else found

    def text(self, *path: str, default: str) -> str:
        """Return a text; a blank one counts as none."""
        found = self.given(path, default)
        if not isinstance(found, str | int | float):
            self.wrong(path, found, "write a text in quotes")
            return default
        if not str(found).strip():
            self.defaulted.append(f"[{path[0]}] {path[-1]} = {default}")
            return default
        return str(found)

    def choice(self, *path: str, choices: tuple[str, ...], default: str) -> str:
        """Return one of a few words."""
        found = self.given(path, default)
        if not isinstance(found, str) or found not in choices:
            near = did_you_mean(str(found), choices)
            self.wrong(path, found, f"write one of {', '.join(choices)}{near}")
            return default
        return found

    def day(self, *path: str, such: str) -> datetime.date | None:
        """Return a day, bare or in quotes; none where nothing stands, or noted with one such."""
        found = self.given(path, None)
        if found is None or found == "":
            return None
        day = found.date() if isinstance(found, datetime.datetime) else found
        text = day.isoformat() if isinstance(day, datetime.date) else day
        if isinstance(text, str) and _DAY.fullmatch(text) and FIRST_DAY <= text <= LAST_DAY:
            with contextlib.suppress(ValueError):
                return datetime.date.fromisoformat(text)
        self.wrong(path, found, f"write a date such as {such}, from {FIRST_DAY} to {LAST_DAY}")
        return None

    def number(
        self,
        *path: str,
        low: float,
        high: float,
        default: float | None = None,
        whole: bool = False,
    ) -> float | None:
        """Return a number between two limits, else the default with the problem noted."""
        found = self.given(path, default)
        if found is None:
            return None
        good = is_number(found) and low <= found <= high
        if not good or (whole and not float(found).is_integer()):
            kind = "a whole number" if whole else "a number"
            self.wrong(path, found, f"write {kind} from {_span(low, high)}")
            return default
        return float(found)

    def numbers(self, *path: str, low: float, high: float) -> list[float]:
        """Return a number or a list of numbers as a list; empty when none is given."""
        found = self.given(path, None)
        values = [] if found is None else listed(found)
        if not all(is_number(each) and low <= each <= high for each in values):
            self.wrong(path, found, f"write numbers from {_span(low, high)}")
            return []
        return [float(each) for each in values]

    def named_numbers(
        self, *path: str, low: float, high: float, names: tuple[str, ...] = ()
    ) -> Numbers:
        """Return a table of names and numbers; names out of a few where these are given."""
        table, out = self.table(*path), {}
        for name, value in table.items():
            if names and name not in names:
                near = did_you_mean(name, names)
                self.wrong((*path, name), value, f"write names out of {', '.join(names)}{near}")
            elif is_number(value) and low <= value <= high:
                out[name] = float(value)
            else:
                self.wrong((*path, name), value, f"write a number from {_span(low, high)}")
        return out

    def names(self, *path: str) -> list[str]:
        """Return a list of names in lower case with underscores."""
        found = self.given(path, None)
        values = [] if found is None else listed(found)
        if not all(isinstance(name, str) for name in values):
            self.wrong(path, found, "write a list of names in quotes")
            return []
        return [name.strip().lower().replace(" ", "_") for name in values]


def _span(low: float, high: float) -> str:
    """Return two bounds in plain figures."""
    return f"{figure_words(low)} to {figure_words(high)}"
