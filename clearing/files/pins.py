"""Read and keep the pins that lay a photo on the ground, and the places a phone shows."""

import csv
import io
import re
from collections.abc import Iterable, Mapping
from pathlib import Path

import pandas as pd

from clearing.errors import InputError
from clearing.files.versions import keep_version
from clearing.files.whole import write_whole
from clearing.tables import cell_text, check, columns, name_list

PINS_FILE = "photo_pins.csv"
SOUTHMOST, NORTHMOST = -56.0, 72.5  # beyond these no tree grows, so that it is a slip; own choice
LONGEST_TEXT = 200  # no phone shows more for one place; own choice
_SIGNS = str.maketrans({
    "′": "'", "’": "'", "‘": "'", "`": "'", "´": "'", "″": '"', "”": '"', "“": '"', "º": "°",
    "˚": "°", "−": "-", "–": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "(": " ", ")": " ",
})  # fmt: skip
_WORDS = re.compile(r"\b(?:latitude|longitude|lat|long|lng|lon)\b\s*[:=.]?", re.IGNORECASE)
_HEMISPHERES = {"NORTH": "N", "SOUTH": "S", "EAST": "E", "WEST": "W"}
_ANGLE = re.compile(
    r"""(?P<sign>[+-]?)\s*(?P<degrees>\d+(?:\.\d+)?)\s*(?:°|DEG\b)?
    (?:[\s:]*(?P<minutes>\d+(?:\.\d+)?)\s*(?:'(?!')|MIN\b)?
    (?:[\s:]*(?P<seconds>\d+(?:\.\d+)?)\s*(?:"|''|SEC\b)?)?)?""",
    re.VERBOSE,
)
_GEO = re.compile(r"GEO:\s*([+-]?[\d.]+),([+-]?[\d.]+)(?:,[+-]?[\d.]+)?((?:;[^;?]*)*)(?:\?.*)?")
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
    try:
        raw = pd.read_csv(path, dtype=str, keep_default_na=False, encoding="utf-8-sig")
    except (pd.errors.ParserError, pd.errors.EmptyDataError, UnicodeDecodeError, OSError) as cause:
        raise InputError([f"{PINS_FILE} cannot be read: {cause}"], PINS_FILE) from cause
    typed, problems = check(raw, "photo_pins") if len(raw) else (raw, _no_columns(raw))
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
    minus or a letter for south and west, before or behind; and geo: addresses.

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
    plain = " ".join(_WORDS.sub(" ", text.translate(_SIGNS)).split()).upper()
    for word, letter in _HEMISPHERES.items():
        plain = re.sub(rf"\b{word}\b", letter, plain)
    if not plain:
        raise ValueError(f"no place stands here; {_RIGHT}")
    if plain.startswith("GEO:"):
        return _in_range(*_geo(plain), text)
    if not re.search(r"\d", plain):
        raise ValueError(f"{text!r} is no latitude and longitude; {_RIGHT}")
    letters = re.findall(r"[NSEW](?![A-Z])", re.sub(r"DEG|MIN|SEC", "", plain))
    first, second = _lettered(plain, letters, text) if letters else _halves(plain, text)
    values = {"N": 0.0, "E": 0.0}
    for half, letter in zip((first, second), letters or ("N", "E"), strict=True):
        size, signed = _angle(half, text)
        if signed and letters:
            raise ValueError(f"{text!r} has both a sign and a letter; keep one of them")
        values["N" if letter in "NS" else "E"] = -size if letter in "SW" else size
    return _in_range(values["N"], values["E"], text)


def _geo(plain: str) -> tuple[float, float]:
    """Return latitude and longitude of a geo: address."""
    found = _GEO.fullmatch(plain)
    system = re.search(r";CRS=([^;?]*)", found[3]) if found else None
    if found is None or (system and system[1] != "WGS84"):
        raise ValueError(f"{plain.lower()!r} is no geo address of latitude and longitude; {_RIGHT}")
    try:
        return float(found[1]), float(found[2])
    except ValueError as cause:
        raise ValueError(f"{plain.lower()!r} holds no two numbers; {_RIGHT}") from cause


def _lettered(plain: str, letters: list[str], text: str) -> tuple[str, str]:
    """Return the two halves of a place whose halves carry letters, without these."""
    if len(letters) != 2 or (letters[0] in "NS") == (letters[1] in "NS"):
        raise ValueError(f"{text!r} needs one of N and S and one of E and W; {_RIGHT}")
    parts = re.split(r"[NSEW](?![A-Z])", plain)
    halves = parts[1:] if not parts[0].strip() else parts[:2]
    rest = parts[0] if not parts[0].strip() else parts[2]
    if rest.strip(" ,;") or len(halves) != 2:
        raise ValueError(f"{text!r} is no latitude and longitude; {_RIGHT}")
    return halves[0].strip(" ,;"), halves[1].strip(" ,;")


def _halves(plain: str, text: str) -> tuple[str, str]:
    """Return the two halves of a place without letters."""
    for cut in (r"\s*;\s*", r",\s+|\s+,", r"\s*,\s*", r"(?<=[\"'°])\s*(?=[+-])", r"\s+(?=[+-])",
                r"\s+"):  # fmt: skip
        halves = [half for half in re.split(cut, plain) if half]
        if len(halves) == 2 and all(_ANGLE.fullmatch(h.replace(",", ".")) for h in halves):
            return halves[0], halves[1]
    raise ValueError(f"{text!r} is no latitude and longitude; {_RIGHT}")


def _angle(half: str, text: str) -> tuple[float, bool]:
    """Return an angle in degrees, and whether a sign stands before it."""
    found = _ANGLE.fullmatch(half.replace(",", "."))
    if found is None:
        raise ValueError(f"{half.lower()!r} in {text!r} is no angle; {_RIGHT}")
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


def _in_range(latitude: float, longitude: float, text: str) -> tuple[float, float]:
    """Return longitude and latitude when there is such a place with trees on it."""
    if not -180 <= longitude <= 180:
        raise ValueError(f"the longitude {longitude:g} in {text!r} lies outside -180 to 180; "
                         f"{_RIGHT}")  # fmt: skip
    if SOUTHMOST <= latitude <= NORTHMOST:
        return longitude, latitude
    if -90 <= longitude <= 90 and SOUTHMOST <= longitude <= NORTHMOST:
        raise ValueError(
            f"the latitude {latitude:g} in {text!r} lies where no tree grows; were the two "
            f"exchanged? The latitude comes first: {longitude:g}, {latitude:g}"
        )
    raise ValueError(f"the latitude {latitude:g} in {text!r} lies where no tree grows; {_RIGHT}")


def _no_columns(pins: pd.DataFrame) -> list[str]:
    """Return a sentence when a file without rows has not the columns of pins."""
    absent = [name for name in columns("photo_pins", "owner") if name not in pins]
    return [f"photo_pins: column {name_list(absent)} is missing"] if absent else []


def _typed(pins: pd.DataFrame) -> pd.DataFrame:
    """Return pins with text names and numbers."""
    out = pins[columns("photo_pins", "owner")].reset_index(drop=True)
    numbers = [column for column in out if column != "pin"]
    return out.astype({"pin": object} | dict.fromkeys(numbers, float))
