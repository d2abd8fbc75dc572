"""Turn one [herbicide.NAME] of property.toml into a product, with what is wrong with it named."""

from typing import Any

from clearing.actives import SAME_STRENGTH, acids_in, folded, product_actives
from clearing.asking import Asker, listed
from clearing.property import OwnProduct
from clearing.tables import did_you_mean
from clearing.units import KG_L_PER_LB_GAL, L_PER_GAL

SITES = (
    "pasture", "silvopasture", "woodland", "water", "water_edge", "aquatic", "rangeland",
    "non_crop", "right_of_way", "fence_row",
)  # fmt: skip
METHODS = ("hack_and_squirt", "cut_and_spray", "basal_bark", "foliar")
WHOLE = 100.0  # percent
SAME = {  # other words for the same site or method
    "forest": "woodland", "forestry": "woodland", "woods": "woodland", "pastures": "pasture",
    "range": "rangeland", "follow_up": "foliar", "cut_stump": "cut_and_spray",
}  # fmt: skip
DAY_LINES = {  # what a label may say of the day: least and most that can stand there; own choice
    "wind_min_mph": (0, 40), "wind_max_mph": (1, 60), "wind_min_kmh": (0, 65),
    "wind_max_kmh": (1, 100), "max_temp_f": (40, 130), "max_temp_c": (4, 55),
    "rain_free_hours": (0, 240), "reentry_hours": (0, 2000), "stump_minutes": (0.1, 1e4),
}  # fmt: skip
LIMITS = (  # what a label may say of amounts and waits
    "lb_ae_per_acre_year", "lb_ae_per_acre_application", "kg_ae_per_ha_year",
    "kg_ae_per_ha_application", "applications_year", "spot_percent", "lb_ae_per_100gal_mix",
    "kg_ae_per_l_mix", "ml_product_per_cut", "graze_days", "dairy_days", "slaughter_days",
    "hay_days", "reseed_days",
)  # fmt: skip
MUCH = 1e7  # no sum or volume of two people is larger; own choice

Path = tuple[str, str]


def own_product(name: str, ask: Asker) -> OwnProduct | None:
    """Return one herbicide of the owner's, or None with what is missing or wrong noted.

    Parameters
    ----------
    name : str
        The owner's name for it: the table is [herbicide.NAME].
    ask : Asker
        The parsed property.toml; problems are noted in it.

    References
    ----------
    own reasoning
    """
    here, before = ("herbicide", name), len(ask.problems)
    given = ask.table(*here)
    active = _active(here, given, ask)
    strength = _strength(here, given, ask)
    price, container_l = _containers(here, given, ask)
    on_hand = ask.number(*here, "on_hand_l", low=0, high=MUCH)
    on_hand_gal = ask.number(*here, "on_hand_gal", low=0, high=MUCH) or 0.0
    _one_of(here, given, ("on_hand_gal", "on_hand_l"), ask)
    limits = ask.named_numbers(*here, "limits", low=0, high=1e4)
    _known_limits(here, limits, ask)
    _day_lines(here, limits, ask)
    shelf_years = ask.number(*here, "shelf_years", low=0, high=100)
    sites = _words((*here, "sites"), given.get("sites", []), SITES, ask)
    methods = _words((*here, "methods"), given.get("methods", []), METHODS, ask)
    confirmed = yes(ask, *here, "confirmed")
    label_date = ask.day(*here, "date", such="2026-03-01")
    counted = ask.day(*here, "on_hand_counted", such="2026-03-01")
    if len(ask.problems) > before:
        return None
    return OwnProduct(
        name=name,
        active_ingredient=active,
        ae_kg_per_l=strength,
        price=tuple(price),
        container_l=tuple(container_l),
        on_hand_l=on_hand if on_hand is not None else on_hand_gal * L_PER_GAL,
        on_hand_counted=counted,
        registration=str(given.get("registration", "")),
        label_date="" if label_date is None else label_date.isoformat(),
        sites=sites,
        methods=methods,
        limits=limits,
        confirmed=confirmed,
        shelf_years=shelf_years,
    )


def yes(ask: Asker, *path: str) -> bool:
    """Return a true or false of the settings; false where nothing is given.

    References
    ----------
    own reasoning
    """
    found = ask.given(path, None)
    if found is not None and not isinstance(found, bool):
        ask.wrong(path, found, "write true or false")
    return found is True


def _active(here: Path, given: dict[str, Any], ask: Asker) -> str:
    """Return the active ingredient; a name of the handbook's may not say another."""
    found = given.get("active_ingredient")
    if not found or not isinstance(found, str):
        ask.wrong((*here, "active_ingredient"), found, "write it as on the label")
        return ""
    meant = product_actives().get(folded(here[1]))
    if meant is not None and meant not in acids_in(found):
        ask.problems.append(
            f"property.toml: [herbicide.{here[1]}] is named like a product of the handbook and its "
            f"active_ingredient is {found!r}; write {meant!r} if that is what the label says, or "
            "give the table a name of your own"
        )
    return found


def _strength(here: Path, given: dict[str, Any], ask: Asker) -> float:
    """Return the acid equivalent [kg/l]; said twice, both have to agree."""
    metric = ask.number(*here, "kg_ae_per_l", low=0.001, high=1.5)
    pounds = ask.number(*here, "lb_ae_per_gal", low=0.01, high=12)
    if not {"kg_ae_per_l", "lb_ae_per_gal"} & set(given):
        ask.wrong((*here, "lb_ae_per_gal"), None,
                  "write the pounds of acid equivalent a gallon as on the label")  # fmt: skip
    theirs = (pounds or 0.0) * KG_L_PER_LB_GAL
    if metric is None:
        return theirs
    if pounds is not None and abs(metric - theirs) > SAME_STRENGTH * theirs:
        ask.wrong(
            (*here, "kg_ae_per_l"), metric,
            f"lb_ae_per_gal = {pounds:g} is {theirs:.3f}; keep the one that the label says",
        )  # fmt: skip
    return metric


def _containers(here: Path, given: dict[str, Any], ask: Asker) -> tuple[list[float], list[float]]:
    """Return the prices and the sizes [l] that they are for."""
    litres = ask.numbers(*here, "container_l", low=0.001, high=MUCH)
    gallons = ask.numbers(*here, "container_gal", low=0.001, high=MUCH)
    price = ask.numbers(*here, "price", low=0, high=MUCH)
    _one_of(here, given, ("container_gal", "container_l"), ask)
    sizes = litres or [gallon * L_PER_GAL for gallon in gallons]
    said = [listed(given.get(key, [])) for key in ("container_gal", "container_l")]
    prices, several = len(listed(given.get("price", []))), len(said[0] or said[1])
    if prices and prices != several:
        ask.wrong(
            (*here, "price"), given["price"],
            f"write one price for each container; {several} "
            f"{'is' if several == 1 else 'are'} named in container_gal (or container_l)",
        )  # fmt: skip
    return price, sizes


def _known_limits(here: Path, limits: dict[str, float], ask: Asker) -> None:
    """Note limits that nothing would hold to, such as those with a slip of the pen."""
    known = (*LIMITS, *DAY_LINES)
    if limits.get("spot_percent", 0.0) > WHOLE:
        ask.wrong(
            (*here, "limits", "spot_percent"),
            limits["spot_percent"],
            f"write the percent of the ground that the label names, from 0 to {WHOLE:g}",
        )
    for word in limits.keys() - set(known):
        near = did_you_mean(word, known)
        right = f"no limit is called so{near}; limits are {', '.join(known)}"
        ask.wrong((*here, "limits", word), limits[word], right)


def _day_lines(here: Path, limits: dict[str, float], ask: Asker) -> None:
    """Note lines on wind, heat, rain, re-entry and stumps that can stand on no label."""
    where = (*here, "limits")
    for word, (low, high) in DAY_LINES.items():
        if word in limits and not low <= limits[word] <= high:
            ask.wrong((*where, word), limits[word], f"write a number from {low:g} to {high:g}")
    for unit in ("mph", "kmh"):
        least, most = limits.get(f"wind_min_{unit}"), limits.get(f"wind_max_{unit}")
        if least is not None and most is not None and least >= most:
            right = f"wind_max_{unit} is {most:g}; write the lower end of the wind it names"
            ask.wrong((*where, f"wind_min_{unit}"), least, right)


def _one_of(here: Path, given: dict[str, Any], keys: tuple[str, str], ask: Asker) -> None:
    """Note when the same thing is said in two units."""
    if set(keys) <= set(given):
        ask.wrong((*here, keys[0]), given[keys[0]], f"{keys[1]} is given too; keep one of them")


def _words(
    path: tuple[str, ...], found: Any, choices: tuple[str, ...], ask: Asker
) -> tuple[str, ...]:
    """Return words out of a few, in any case and with blanks or hyphens; others are noted."""
    words = []
    for each in listed(found):
        word = folded(str(each))
        word = SAME.get(word, word)
        if word not in choices:
            near = did_you_mean(word, choices)
            ask.wrong(path, each, f"write words out of {', '.join(choices)}{near}")
        words.append(word)
    return tuple(dict.fromkeys(words))
