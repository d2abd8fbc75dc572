"""Say what an option does, and in what another differs from it."""

from typing import Any

from clearing.actives import product_actives, strength_in

METHOD_WORDS = {
    "hack_and_leave": "hack-and-squirt, left standing to die",
    "hack_then_fell": "hack-and-squirt, felled after the wait",
    "cut_and_spray": "cut-and-spray",
    "split": "hack-and-squirt for the thick stems, cut-and-spray for the thin",
    "basal_bark": "basal bark spray",
    "foliar": "foliar spray",
    "mow_then_spray": "mow, then spray the regrowth",
    "not_now": "not in these years",
}
NOT_NOW, BEST_OF_EACH = "not_now", "best_of_each"


def method_words(method: str) -> str:
    """Return a kind of method in words.

    References
    ----------
    own reasoning
    """
    return METHOD_WORDS.get(method, method.replace("_", " "))


def product_words(option: dict[str, Any]) -> str:
    """Return the products of an option in words, blank where its method names none.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> product_words({"method_id": "foliar:amine_2_4_d_3_8"})
    '2,4-D amine 3.8'
    >>> product_words({"method_id": "split:best_of_each"})
    'the best product for each kind of tree'
    """
    _, _, key = str(option["method_id"]).partition(":")
    if key == BEST_OF_EACH:
        return "the best product for each kind of tree"
    active, strength = product_actives().get(key), strength_in(key)
    return f"{active} {strength:g}" if active and strength else key.replace("_", " ")


def when_words(option: dict[str, Any]) -> str:
    """Return season and year of an option's start.

    References
    ----------
    own reasoning
    """
    return f"{str(option['start_season']).replace('_', ' ')} {int(option['start_year'])}"


def other_words(own: dict[str, Any], other: dict[str, Any]) -> str:
    """Return another option in words, naming only that in which it differs from the own one.

    Parameters
    ----------
    own, other : dict
        Rows of the options: method, method_id, start_season, start_year.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> own = {"method": "foliar", "method_id": "foliar:glyphosate_4", "start_season": "fall",
    ...        "start_year": 2027}
    >>> other_words(own, own | {"start_year": 2028})
    'the same in fall 2028 instead'
    >>> other_words(own, own | {"method_id": "foliar:imazapyr_2"})
    'the same with imazapyr 2 instead of glyphosate 4'
    """
    if other["method"] == NOT_NOW:
        return "to leave it for these years"
    if own["method"] == NOT_NOW:
        product = _with(product_words(other))
        return f"{method_words(other['method'])}{product} in {when_words(other)}"
    later = when_words(own) != when_words(other)
    when = f" in {when_words(other)} instead" if later else ""
    before, after = product_words(own), product_words(other)
    if own["method"] == other["method"]:
        if before == after:
            return f"the same{when}" if later else "the same with other follow-ups"
        swap = f"the same with {after}" + (f" instead of {before}" if before else "")
        return f"{swap},{when.removesuffix(' instead')}" if later else swap
    name = method_words(other["method"])
    product = "" if before == after else _with(after)
    return (
        f"{name}{product}{when.removesuffix(' instead')}"
        if later
        else (f"{name}{product} at the same time")
    )


def _with(product: str) -> str:
    return f" with {product}" if product else ""
