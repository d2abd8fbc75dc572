"""Read a text as TOML, and say in plain words what is wrong with which line."""

import re
import tomllib
from typing import Any

from clearing.errors import InputError
from clearing.tables import shortened

# how the reader's sentences begin, and what they mean to somebody who wrote the line
MEANT = (
    ("Cannot overwrite", "this key or heading is there already; keep one of them"),
    ("Cannot declare", "this heading is there already; keep one of them"),
    ("Cannot mutate", "this key is there already; keep one of them"),
    ("Expected ']'", "a closing bracket ] is missing"),
    ("Invalid date", "there is no such day; write one such as 2027-03-01"),
    ("Expected newline", "something is left over behind the value; write one value a line, and "
     "numbers with a point such as 18.5"),
    ("Invalid value", "what stands behind the = is no number, text in straight quotes, day, list, "
     "true or false"),
    ("Invalid statement", "this is neither a [heading] nor key = value"),
    ("Expected '='", "this is neither a [heading] nor key = value"),
    ("Illegal character", "a text must end in the line in which it begins, and hold no signs that "
     "cannot be printed"),
    ("Unclosed array", "a list is opened and not closed, or a comma is missing between two of its "
     "entries; write it as [1, 2]"),
    ("Unclosed inline", "a { is opened and not closed, or a comma is missing behind it; write all "
     "of it in one line, as { a = 1, b = 2 }"),
    ("Invalid initial", "a name is missing; names have letters, figures, _ and - only, and what "
     "stands in { } is written in one line, without a comma at its end"),
    ("Unterminated string", "a quotation mark is opened and not closed"),
    ("Expected \"'\"", "a quotation mark is opened and not closed"),
    ("Expected '\"'", "a quotation mark is opened and not closed"),
    ("Unescaped", "a backslash stands in a text; write it twice"),
    ("Invalid hex", "a backslash stands in a text; write it twice"),
)  # fmt: skip
OTHERWISE = "this line cannot be understood"


def parsed(text: str, name: str = "property.toml") -> dict[str, Any]:
    """Return a text parsed as TOML.

    Parameters
    ----------
    text : str
    name : str
        What the file is called.

    Raises
    ------
    InputError
        With the line and what is wrong with it.

    References
    ----------
    own reasoning (TOML 1.0)
    """
    lines = re.split(r"\r\n|\n|\r", text)
    try:
        return tomllib.loads("\n".join(lines))
    except tomllib.TOMLDecodeError as cause:
        found = re.search(r"at line (\d+)", str(cause))
        number = int(found[1]) if found else len(lines)
        words = next((said for begin, said in MEANT if str(cause).startswith(begin)), OTHERWISE)
        line = shortened(lines[number - 1]) if number <= len(lines) else ""
        shown = f" ({line})" if line else ""
        said = f"{name} cannot be read: line {number}{shown}: {words}"
    except RecursionError:
        said = f"{name} cannot be read: lists lie too deep in each other"
    except ValueError:
        said = f"{name} cannot be read: a number has too many figures"
    raise InputError([said], name)
