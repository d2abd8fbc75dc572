"""Read and keep the pins that lay a photo on the ground, and the places a phone shows."""

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import pandas as pd

from clearing.errors import InputError
from clearing.files.plain_tables import read_table
from clearing.files.versions import keep_version
from clearing.files.whole import write_whole
from clearing.tables import cell_text, check, columns, name_list, shortened

PINS_FILE = "photo_pins.csv"
SOUTHMOST, NORTHMOST = -56.0, 72.5  # beyond these no tree grows, so that it is a slip; own choice
LONGEST_TEXT = 200  # no phone shows more for one place; own choice
_SIGNS = str.maketrans({
    "′": "'", "’": "'", "‘": "'", "`": "'", "´": "'", "″": '"', "”": '"', "“": '"', "º": "°",
    "˚": "°", "−": "-", "–": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "(": " ", ")": " ",
})  # fmt: skip
_LABEL = re.compile(r"\b(LATITUDE|LAT|LONGITUDE|LONG|LON|LNG)\b\s*[:=.]?")
_HEMISPHERES = {"NORTH": "N", "SOUTH": "S", "EAST": "E", "WEST": "W"}
_LETTER = re.compile(r"(?<![A-Z])[NSEW](?![A-Z])")
_ANGLE = re.compile(  # a number is never cut in two: a mark, a colon or a blank parts them
    r"""(?P<sign>[+-]?)(?P<degrees>\d+(?:\.\d+)?)(?:\s*(?:°|DEG\b))?
    (?:(?:(?<=°|G)\s*|\s+|\s*:\s*)(?P<minutes>\d+(?:\.\d+)?)(?:\s*(?:'(?!')|MIN\b))?
    (?:(?:(?<='|N)\s*|\s+|\s*:\s*)(?P<seconds>\d+(?:\.\d+)?)(?:\s*(?:"|''|SEC\b))?)?)?""",
    re.VERBOSE,
)
_BLANKS, _COMMA = r"\s+", r"\s*,\s*"
_CUTS = (r"\s*;\s*", r",\s+|\s+,", _COMMA, r"(?<=[\"'°])\s*(?=[+-])", r"\s+(?=[+-])", _BLANKS)
_GEO = re.compile(r"GEO:\s*([+-]?[\d.]+),([+-]?[\d.]+)(?:,[+-]?[\d.]+)?((?:;[^;?]*)*)(\?.*)?")
_ASKED = re.compile(r"[?&]Q=([^&]*)")
_PAIR = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*(?:,|%2C)\s*([+-]?\d+(?:\.\d+)?)(?:\s.*)?")
_RIGHT = "write latitude and longitude as the phone shows them, such as 38.12345, -84.54321"


def read_pins(home: Path) -> pd.DataFrame:
    """Return the pins of a folder's photo: pin, column_px, row_px, longitude, latitude.

    Parameters
    ----------
    home : Path
        The property's folder; without photo_pins.csv there are no pins.

    Raises
    ------
    InputError
        The file cannot be read, or holds what is no pin.

    References
    ----------
    own reasoning
    """
    path = home / PINS_FILE
    names = columns("photo_pins", "owner")
    if not path.exists():
        return _typed(pd.DataFrame(columns=names))
    raw, problems = read_table(path, "photo_pins")
    problems = [f"photo_pins: {problem}" for problem in problems]
    typed, found = check(raw, "photo_pins") if len(raw) else (raw, _no_columns(raw))
    problems += found or _where_no_tree_grows(typed)
    if problems:
        raise InputError(problems, PINS_FILE)
    return _typed(typed)


def save_pins(home: Path, rows: pd.DataFrame | Iterable[Mapping[str, object]]) -> pd.DataFrame:
    """Return the pins as kept in photo_pins.csv, written whole or not at all.

    The earlier file is kept among the folder's earlier versions.

    Parameters
    ----------
    home : Path
        The property's folder.
    rows : DataFrame, or an iterable of mappings
        pin, column_px, row_px, longitude, latitude, a row a pin; none takes all pins out.

    Raises
    ------
    InputError
        A row is no pin; nothing is written then.

    References
    ----------
    own reasoning
    """
    names = columns("photo_pins", "owner")
    given = pd.DataFrame(rows if isinstance(rows, pd.DataFrame) else [dict(row) for row in rows])
    given = given.reindex(columns=names) if given.empty else given
    typed, problems = check(given, "photo_pins") if len(given) else (given, [])
    if problems:
        raise InputError(problems, PINS_FILE)
    pins = _typed(typed)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(names)
    for row in pins.itertuples(index=False):
        writer.writerow([cell_text(row.pin), f"{row.column_px:.2f}", f"{row.row_px:.2f}",
                         f"{row.longitude:.8f}", f"{row.latitude:.8f}"])  # fmt: skip
    path = home / PINS_FILE
    if path.exists():
        keep_version(home, path)
    write_whole(path, stream.getvalue())
    return read_pins(home)


def parse_place(text: str) -> tuple[float, float]:
    """Return longitude and latitude of a place as a phone or map shows it [degrees].

    Takes decimal degrees with point or comma, degrees with minutes, and with seconds, each with a
    minus or a letter for south and west, before or behind; the words latitude and longitude, in
    either order; and geo: addresses. What can be read in two ways is refused.

    Parameters
    ----------
    text : str
        Such as "38.12345, -84.54321", "N 38 07.407 W 084 32.593" or "geo:38.1,-84.5".

    Raises
    ------
    ValueError
        With a sentence that says what would be right.

    References
    ----------
    rfc_5870, usgs_dms

    Examples
    --------
    >>> parse_place("38.12345, -84.54321"), parse_place("N 38 07.5 W 084 30")
    ((-84.54321, 38.12345), (-84.5, 38.125))
    """
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"this is too long for a place; {_RIGHT}")
    plain = " ".join(text.translate(_SIGNS).split()).upper()
    for word, letter in _HEMISPHERES.items():
        plain = re.sub(rf"\b{word}\b", letter, plain)
    if not plain:
        raise ValueError(f"no place stands here; {_RIGHT}")
    if plain.startswith("GEO:"):
        return _in_range(*_geo(plain), text)
    labels = list(_LABEL.finditer(plain))
    values = _labelled(plain, labels, text) if labels else _pair(plain, text)
    return _in_range(values["N"], values["E"], text)


def _geo(plain: str) -> tuple[float, float]:
    """Return latitude and longitude of a geo: address; a place asked for must be the same one."""
    found = _GEO.fullmatch(plain)
    system = re.search(r";CRS=([^;?]*)", found[3]) if found else None
    if found is None or (system and system[1] != "WGS84"):
        raise ValueError(f"{plain.lower()!r} is no geo address of latitude and longitude; {_RIGHT}")
    try:
        at = float(found[1]), float(found[2])
    except ValueError as cause:
        raise ValueError(f"{plain.lower()!r} holds no two numbers; {_RIGHT}") from cause
    asked = _ASKED.search(found[4] or "")
    if asked is None:
        return at
    pair = _PAIR.fullmatch(asked[1])
    wanted = (float(pair[1]), float(pair[2])) if pair else None
    if wanted is None or at not in (wanted, (0.0, 0.0)):
        raise ValueError(f"{plain.lower()!r} asks for another place than it states; {_RIGHT}")
    return wanted


def _labelled(plain: str, labels: list[re.Match[str]], text: str) -> dict[str, float]:
    """Return latitude (N) and longitude (E) of a place with the words before, or behind, each."""
    axes = ["N" if label[1].startswith("LA") else "E" for label in labels]
    if sorted(axes) != ["E", "N"]:
        raise ValueError(f"{text!r} needs the words latitude and longitude once each; {_RIGHT}")
    one, two = labels
    before, between, behind = (
        plain[start:end].strip(" ,;:&/")
        for start, end in ((0, one.start()), (one.end(), two.start()), (two.end(), None))
    )
    if not before and not between:  # both words, then both numbers
        values = _pair(behind, text, axes)
        if list(values) != axes:
            raise _no_place(text)
        return values
    if before and behind:
        raise _no_place(text)
    parts = (before, between) if before else (between, behind)
    return dict(_one(part, axis, text) for part, axis in zip(parts, axes, strict=True))


def _pair(plain: str, text: str, axes: Sequence[str] = ("N", "E")) -> dict[str, float]:
    """Return latitude (N) and longitude (E) of two angles in the order of axes, or by letters."""
    letters = list(_LETTER.finditer(plain))
    if not letters:
        halves = _halves(plain, text)
        return dict(_one(half, axis, text) for half, axis in zip(halves, axes, strict=True))
    known = [letter[0] for letter in letters]
    if len(known) != 2 or (known[0] in "NS") == (known[1] in "NS"):
        raise ValueError(f"{text!r} needs one of N and S and one of E and W; {_RIGHT}")
    cut = letters[0].end() if plain[:1] not in known else letters[1].start()
    return dict(_one(half.strip(" ,;"), "", text) for half in (plain[:cut], plain[cut:]))


def _halves(plain: str, text: str) -> tuple[str, str]:
    """Return the two halves of a place without letters, when only one way to halve it is there."""
    if _is_angle(plain):
        raise ValueError(f"{text!r} is no latitude and longitude but one angle; {_RIGHT}")
    ways = set()
    for cut in _CUTS:
        halves = [half for half in re.split(cut, plain) if half]
        if len(halves) != 2 or not all(_ANGLE.fullmatch(h.replace(",", ".")) for h in halves):
            continue
        if cut == _BLANKS and not all(re.search(r"\d[.,]\d", half) for half in halves):
            continue  # 38 12 may be degrees and minutes
        if cut == _COMMA and "." not in halves[0] and re.search(r"\d,\d", plain):
            continue  # 38,12 34 may be 38.12 and 34
        if len({bool(re.search("°|DEG", half)) for half in halves}) == 1:
            ways.add((halves[0], halves[1]))
    if len(ways) != 1:
        raise _no_place(text)
    return ways.pop()


def _one(half: str, axis: str, text: str) -> tuple[str, float]:
    """Return the axis (N or E) and the signed degrees of an angle, with or without its letter."""
    letter = _LETTER.search(half)
    bare = re.sub(r"^[NSEW](?![A-Z])|(?<![A-Z])[NSEW]$", "", half, count=1).strip()
    size, signed = _angle(bare, text)
    if letter is None:
        return axis, size
    if signed:
        raise ValueError(f"{text!r} has both a sign and a letter; keep one of them")
    own = "N" if letter[0] in "NS" else "E"
    if axis not in ("", own):
        raise ValueError(f"{text!r} has a letter that does not go with its word; {_RIGHT}")
    return own, -size if letter[0] in "SW" else size


def _is_angle(plain: str) -> bool:
    """Return whether a text is one angle."""
    try:
        _angle(plain, plain)
    except ValueError:
        return False
    return True


def _angle(half: str, text: str) -> tuple[float, bool]:
    """Return an angle in degrees, and whether a sign stands before it."""
    found = _ANGLE.fullmatch(half.replace(",", "."))
    if found is None:
        raise _no_place(text)
    size = 0.0
    parts = [found["degrees"], found["minutes"], found["seconds"]]
    given = [part for part in parts if part is not None]
    if any("." in part for part in given[:-1]):
        raise ValueError(f"{half!r} has a fraction before its last number; {_RIGHT}")
    for part, unit, word in zip(given, (1, 60, 3600), ("degrees", "minutes", "seconds"),
                                strict=False):  # fmt: skip
        if unit > 1 and float(part) >= 60:
            raise ValueError(f"{part} {word} in {text!r} are too many; write less than 60")
        size += float(part) / unit
    return (-size if found["sign"] == "-" else size), bool(found["sign"])


def _no_place(text: str) -> ValueError:
    """Return the error for a text that is no place."""
    return ValueError(f"{text!r} is no latitude and longitude; {_RIGHT}")


def _in_range(latitude: float, longitude: float, text: str) -> tuple[float, float]:
    """Return longitude and latitude when there is such a place with trees on it."""
    if not -180 <= longitude <= 180:
        raise ValueError(f"the longitude {longitude:g} in {text!r} lies outside -180 to 180; "
                         f"{_RIGHT}")  # fmt: skip
    if latitude == longitude == 0:
        raise ValueError(f"{text!r} lies in the sea: it is what is shown before a position is "
                         f"found; {_RIGHT}")  # fmt: skip
    if SOUTHMOST <= latitude <= NORTHMOST:
        return longitude, latitude
    if -90 <= longitude <= 90 and SOUTHMOST <= longitude <= NORTHMOST:
        raise ValueError(
            f"the latitude {latitude:g} in {text!r} lies where no tree grows; were the two "
            f"exchanged? The latitude comes first: {longitude:g}, {latitude:g}"
        )
    raise ValueError(f"the latitude {latitude:g} in {text!r} lies where no tree grows; {_RIGHT}")


def _where_no_tree_grows(pins: pd.DataFrame) -> list[str]:
    """Return a sentence for each pin whose latitude cannot be that of a property."""
    problems = []
    for pin in pins.itertuples() if len(pins) else ():
        try:
            _in_range(pin.latitude, pin.longitude, f"{pin.latitude:g}, {pin.longitude:g}")
        except ValueError as wrong:
            problems.append(f"photo_pins: pin {shortened(pin.pin)}: {wrong}")
    return problems


def _no_columns(pins: pd.DataFrame) -> list[str]:
    """Return a sentence when a file without rows has not the columns of pins."""
    absent = [name for name in columns("photo_pins", "owner") if name not in pins]
    return [f"photo_pins: column {name_list(absent)} is missing"] if absent else []


def _typed(pins: pd.DataFrame) -> pd.DataFrame:
    """Return pins with text names and numbers."""
    out = pins[columns("photo_pins", "owner")].reset_index(drop=True)
    numbers = [column for column in out if column != "pin"]
    return out.astype({"pin": object} | dict.fromkeys(numbers, float))
