"""Bring the owner's words into files for phone and GIS: clean, on one line, short where asked."""

import re
import unicodedata

ELLIPSIS = "…"
SHORT = 24  # letters of a point's name on a hand-held; common practice, no published source
_NOT_XML = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_BREAKS = "\u0085\u2028\u2029"  # readers that are not meant to break a line here do


def xml_text(text: str) -> str:
    """Return text without letters that XML may not hold.

    References
    ----------
    own reasoning
    """
    return _NOT_XML.sub("", text)


def one_line(text: str) -> str:
    r"""Return text on one line, without control characters; blanks stay as many as they were.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> one_line("Road\tfield\r\nnorth")
    'Road field north'
    """
    spaced = re.sub(f"\\r\\n|[\\t\\n\\r\\v\\f{_BREAKS}]", " ", xml_text(text))
    return "".join(letter for letter in spaced if unicodedata.category(letter) != "Cc")


def short_names(names: list[str], longest: int = SHORT) -> list[str]:
    """Return names that are short and differ from each other, in their order.

    A name that is too long ends with an ellipsis; one that was there before gets a number.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> short_names(["oak", "oak", "a very long name for one tree"])
    ['oak', 'oak 2', 'a very long name for on…']
    """
    taken: set[str] = set()
    last: dict[str, int] = {}  # the number that a name was given last
    out = []
    for name in names:
        plain = one_line(name).strip() or "?"
        short = first = _cut(plain, longest)
        while short.casefold() in taken:
            last[first] = last.get(first, 1) + 1
            tail = f" {last[first]}"
            short = _cut(plain, longest - len(tail)) + tail
        taken.add(short.casefold())
        out.append(short)
    return out


def _cut(text: str, longest: int) -> str:
    return text if len(text) <= longest else text[: longest - 1].rstrip() + ELLIPSIS
