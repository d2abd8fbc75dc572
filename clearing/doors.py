"""Open the modules of a room when one of its public names is first asked for."""

import importlib
from collections.abc import Callable, Mapping


def doors(
    room: str, names: Mapping[str, str]
) -> tuple[Callable[[str], object], Callable[[], list[str]]]:
    """Return ``__getattr__`` and ``__dir__`` of a room: so a verb loads only what it needs.

    Parameters
    ----------
    room : str
        The package, such as clearing.files.
    names : mapping
        Public name -> module of the room that holds it.

    References
    ----------
    own reasoning (PEP 562)

    Examples
    --------
    >>> opened, listed = doors("clearing.survey", {"Estimate": "sampling"})
    >>> opened("Estimate").__name__, listed()
    ('Estimate', ['Estimate'])
    """

    def opened(name: str) -> object:
        if name in names:
            return getattr(importlib.import_module(f"{room}.{names[name]}"), name)
        raise AttributeError(f"{room} has no {name!r}; it has {', '.join(sorted(names))}")

    return opened, lambda: sorted(names)
