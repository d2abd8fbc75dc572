"""Find what lies in the folder under nearly the name of a file that is missing."""

import re
from pathlib import Path

from clearing.files.layers import ENDINGS, PACKED
from clearing.tables import name_list

TABLES = ("csv", "tsv", "txt", "xlsx", "xls", "xlsm", "ods", "numbers")  # how tables may end
TEXTS = ("toml", "txt")  # how settings may end
NOT_READ = "not read; call"  # in each sentence of a layer


def strayed(home: Path, wanted: str) -> str:
    """Return what to do about files that are nearly called as one that is missing; else nothing.

    Copies (``tally (1).csv``, ``Copy of tally.csv``, ``tally-old.csv``), other letters
    (``Tally.CSV``) and other endings (``tally.csv.txt``, ``tally.xlsx``) are nearly called so.

    Parameters
    ----------
    home : Path
        The property's folder.
    wanted : str
        The name that is missing, such as ``tally.csv``.

    References
    ----------
    own reasoning
    """
    stem, _, ending = wanted.rpartition(".")
    near = near_names(home, stem, TABLES if ending == "csv" else TEXTS)
    if not near:
        return ""
    as_it_is = f"give it the name {wanted}" if len(near) == 1 else f"name one of them {wanted}"
    if ending == "csv" and not any(".csv" in name.lower() for name in near):
        as_it_is = f"save the table as {wanted} (CSV in UTF-8)"
    return (
        f"{lie_there(near)} and there is no {wanted}; {as_it_is}, or move {it_or_them(near)} away"
    )


def strayed_layer(home: Path, name: str) -> str:
    """Return what to do about files that are nearly called as a layer's that is nowhere.

    Parameters
    ----------
    home : Path
        The property's folder.
    name : str
        The layer, such as ``blocks``.

    References
    ----------
    own reasoning
    """
    near, stem = near_names(home, name, ENDINGS), name
    if not near and not any(path.name.lower() in PACKED for path in home.iterdir()):
        stem = "land"
        near = near_names(home, stem, tuple(each.rpartition(".")[2] for each in PACKED))
    if not near:
        return ""
    which, verb = ("it", "is") if len(near) == 1 else ("one of them", "are")
    said = f"{lie_there(near)} and {verb} {NOT_READ} {which} {stem} and its ending alone"
    return f"{said}, or move {it_or_them(near)} away"


def near_names(home: Path, stem: str, endings: tuple[str, ...], before: str = "") -> list[str]:
    """Return the files of a folder that are called nearly as a stem with one of some endings.

    References
    ----------
    own reasoning
    """
    alike = re.compile(
        rf"(copy of |{before})?{re.escape(stem)}(\W.*)?\.({'|'.join(endings)})", re.IGNORECASE
    )
    return sorted(p.name for p in home.iterdir() if alike.fullmatch(p.name) and p.is_file())


def lie_there(near: list[str]) -> str:
    """Return which files lie in the folder.

    References
    ----------
    own reasoning
    """
    return f"{name_list(map(repr, near))} {'lies' if len(near) == 1 else 'lie'} in the folder"


def it_or_them(near: list[str]) -> str:
    """Return the word for one file or several.

    References
    ----------
    own reasoning
    """
    return "it" if len(near) == 1 else "them"
