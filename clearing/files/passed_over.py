"""Tell what of the owner's lies in the folder, or in a land file, and is not read."""

import re
from pathlib import Path

from clearing.errors import InputError
from clearing.files.layers import ENDINGS, PACKED, others_in
from clearing.files.photo import ENDINGS as PHOTOS
from clearing.files.photo import STEM
from clearing.files.standing import LAYERS
from clearing.files.strays import TABLES, TEXTS, it_or_them, lie_there, near_names
from clearing.tables import name_list, plain_name

SEVERAL = ("gpkg", "kml", "kmz")  # files that may hold several layers
OTHER_MAPS = ("json", "zip")  # how maps are handed on that are not opened as they are
READ = ("property.toml", "tally.csv", "records.csv", "photo_pins.csv")
HEADS = {"tally.csv": {"plot_id", "species", "count"}, "records.csv": {"date", "strip_id", "job"}}
HEAD_BYTES = 4096  # how far into a table its headings are looked for; own choice


def passed_over(home: Path) -> list[str]:
    """Return a sentence for each file of the owner's that lies beside what is read and is not.

    A copy of a table or of the settings, a table with the headings of one, a map under another
    name, a photo. What the folder's own files leave out is told elsewhere.

    Parameters
    ----------
    home : Path
        The property's folder, in which what must be there is.

    References
    ----------
    own reasoning
    """
    there = {path.name: path for path in sorted(home.iterdir()) if path.is_file()}
    told = []
    for wanted in READ:
        stem, _, ending = wanted.rpartition(".")
        near = set(near_names(home, stem, TABLES if ending == "csv" else TEXTS, "new_"))
        near |= {n for n, path in there.items() if _headed(path, HEADS.get(wanted))}
        near = {n for n in near if not _the_same(there[n], home / wanted)}
        told += [_beside(sorted(near), wanted, home)] if near else []
    maps = [n for n in there if _map_not_read(n)]
    if maps:
        told.append(
            f"{lie_there(maps)} and {_are(maps)} not read; layers are {name_list(LAYERS)}: call "
            f"{_one(maps)} like one of them, as in blocks.geojson, put its shapes into the file "
            f"that is read, or move {it_or_them(maps)} away"
        )
    inside = (_inside(path) for n, path in there.items() if not _map_not_read(n))
    return [*told, *filter(None, inside), *_photos(home, list(there))]


def _beside(near: list[str], wanted: str, home: Path) -> str:
    """Return what to do about files that nobody reads beside one that is read."""
    do = f"put what {wanted} lacks into it"
    if wanted == "records.csv":
        do = f"put the rows that {wanted} lacks into it ('clearing log' takes a phone's file)"
    if not any(n.lower().endswith((".csv", ".toml", ".txt")) for n in near):
        do = f"save {_one(near)} as {wanted} if it is the newer one"
    if not (home / wanted).exists():
        do = f"save {_one(near)} as {wanted}"
        return f"{lie_there(near)} and {_are(near)} not read; {do}, or move {it_or_them(near)} away"
    lie = "lies" if len(near) == 1 else "lie"
    return (
        f"{name_list(map(repr, near))} {lie} beside {wanted} and {_are(near)} not read; {do}, or "
        f"move {it_or_them(near)} away"
    )


def _inside(path: Path) -> str:
    """Return a sentence on the layers of shapes in a file of several that are not read, or none."""
    stem, ending = path.stem.lower(), path.suffix.lower().removeprefix(".")
    if ending not in SEVERAL:
        return ""
    names = LAYERS if path.name.lower() in PACKED else (stem,)
    try:
        left = others_in(path, names)
    except InputError:  # a file that cannot be read is a problem of its layers
        return ""
    if not left:
        return ""
    return (
        f"{path.name} holds {name_list(map(repr, left))}, which {_are(left)} not read; of this "
        f"file {name_list(names)} {'is' if len(names) == 1 else 'are'}"
    )


def _photos(home: Path, there: list[str]) -> list[str]:
    """Return a sentence when pictures lie there that may be meant as the photo and are not it."""
    found = [n for n in near_names(home, STEM, PHOTOS) if not _called(n, (STEM,), PHOTOS)]
    if not any(_called(n, (STEM,), PHOTOS) for n in there):
        found += [n for n in there if n not in found and n.lower().endswith((".tif", ".tiff"))]
    if not found:
        return []
    return [
        f"{lie_there(found)} and {_are(found)} not read; the photo is called {STEM}.tif, .jpg or "
        f".png: call {_one(found)} so if it is the photo, or move {it_or_them(found)} away"
    ]


def _headed(path: Path, needed: set[str] | None) -> bool:
    """Return whether a table has the headings that it would have as one of ours."""
    if needed is None or not path.name.lower().endswith((".csv", ".tsv", ".txt")):
        return False
    try:
        with path.open("rb") as stream:
            head = stream.read(HEAD_BYTES).decode("utf-8-sig", "replace")
    except OSError:
        return False
    first = next((line for line in head.splitlines() if line.strip()), "")
    return needed <= {plain_name(cell.strip(' "')) for cell in re.split("[,;\t]", first)}


def _map_not_read(name: str) -> bool:
    """Return whether a file is a map, and none that holds a layer of ours by its name."""
    ours = _called(name, LAYERS, ENDINGS) or name.lower() in PACKED
    return not ours and name.lower().endswith(tuple(f".{each}" for each in (*ENDINGS, *OTHER_MAPS)))


def _called(name: str, stems: tuple[str, ...], endings: tuple[str, ...]) -> bool:
    """Return whether a file has one of some names with one of some endings."""
    stem, _, ending = name.lower().rpartition(".")
    return stem in stems and ending in endings


def _the_same(one: Path, two: Path) -> bool:
    """Return whether two paths are one file, in whatever letters."""
    return two.exists() and one.samefile(two)


def _are(near: list[str]) -> str:
    """Return the verb for one file or several."""
    return "is" if len(near) == 1 else "are"


def _one(near: list[str]) -> str:
    """Return what is to be named of one file or several."""
    return "it" if len(near) == 1 else "one of them"
