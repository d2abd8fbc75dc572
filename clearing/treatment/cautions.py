"""Put the cautions beside the work they belong to."""

from collections.abc import Iterable

from clearing.rates import Rates


def caution_ids(words: Iterable[str], rates: Rates) -> str:
    """Return the ids of the cautions that apply to any of the words, in the handbook's order.

    Parameters
    ----------
    words : iterable of str
        Such as ``job:foliar``, ``herbicide:any``, ``soil_active``, ``zone:dripline``, ``always``.
    rates : Rates
        Table ``cautions``.

    Returns
    -------
    str
        Space separated.

    References
    ----------
    own reasoning; each caution carries its own source
    """
    wanted = set(words)
    table = rates.cautions
    return " ".join(table[table["applies_to"].isin(wanted)]["caution"])


def join_cautions(parts: Iterable[str]) -> str:
    """Return several space-separated lists as one, each id once, in order.

    References
    ----------
    own reasoning
    """
    return " ".join(dict.fromkeys(" ".join(parts).split()))
