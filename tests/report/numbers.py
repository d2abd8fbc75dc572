"""Find the numbers in a text, and all that plan.json says of one thing."""

import re
from collections.abc import Iterator
from typing import Any

NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")


def numbers(text: str) -> set[str]:
    """Return the numbers of a text as they are written, without commas."""
    return {found.replace(",", "") for found in NUMBER.findall(text)}


def said(value: Any) -> set[str]:
    """Return the numbers in all texts of a piece of JSON, and its whole numbers."""
    return {number for text in _texts(value) for number in numbers(text)}


def _texts(value: Any) -> Iterator[str]:
    """Yield the texts, the names and the whole numbers of a piece of JSON."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield str(key)
            yield from _texts(one)
    elif isinstance(value, list):
        for one in value:
            yield from _texts(one)
    elif isinstance(value, str):
        yield value
    elif isinstance(value, int) and not isinstance(value, bool):
        yield str(value)


def of_strip(plan: dict[str, Any], strip_id: str) -> list[Any]:
    """Return what plan.json says of one strip, its visits and their cautions."""
    told = plan["told"]
    strip = told["strips"][strip_id]
    visits = [told["visits"][visit] for visit in strip["visits"]]
    places = {place for one in [strip, *visits] for place in one["cautions"]}
    return [strip, visits, [told["cautions"][place] for place in sorted(places)]]


def of_block(plan: dict[str, Any], block_id: str) -> list[Any]:
    """Return what plan.json says of one block and its strips."""
    told = plan["told"]
    own = [name for name, strip in told["strips"].items() if strip["block_id"] == block_id]
    return [told["blocks"][block_id], *(of_strip(plan, strip) for strip in own)]
