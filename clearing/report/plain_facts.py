"""Give facts as plain dictionaries, lists, texts and numbers."""

from dataclasses import fields, is_dataclass
from typing import Any

from clearing.report.words import Amount


def plain(value: Any, apart: tuple[str, ...] = ()) -> Any:
    """Return facts as dictionaries, lists, texts and numbers; some fields may be left out.

    Parameters
    ----------
    value : Any
        A dataclass, or what stands in one.
    apart : tuple of str
        Fields of the outermost dataclass that are left out.

    References
    ----------
    own reasoning
    """
    if isinstance(value, Amount):
        return {"value": value.value, "low": value.low, "high": value.high, "unit": value.unit,
                "words": value.words, "number": value.number}  # fmt: skip
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in fields(value)
                if one.name not in apart}  # fmt: skip
    if isinstance(value, dict):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    return value
