"""Decide what is done to the stems of one size class on one kind of ground."""

from dataclasses import dataclass

from clearing.rates import Rates
from clearing.treatment.recipes import Book, Choice, best

HACK, CUT, BASAL, FOLIAR = "hack_and_squirt", "cut_and_spray", "basal_bark", "foliar"
MOW_DOWN = "mow_down"  # a thicket is mowed, and the regrowth sprayed in leaf
MAIN_JOB = {
    "hack_and_leave": HACK,
    "hack_then_fell": HACK,
    "cut_and_spray": CUT,
    "split": HACK,
    "basal_bark": BASAL,
    "foliar": FOLIAR,
    "mow_then_spray": MOW_DOWN,
}
LADDER = {  # what is tried for a stem, first to last
    "hack_and_leave": (HACK, CUT, FOLIAR),
    "hack_then_fell": (HACK, CUT, FOLIAR),
    "cut_and_spray": (CUT, FOLIAR),
    "split": (CUT, FOLIAR),
    "basal_bark": (BASAL, HACK, CUT, FOLIAR),
    "foliar": (FOLIAR, CUT, HACK),
    "mow_then_spray": (MOW_DOWN, CUT, FOLIAR),
}
SPLIT_FROM = "6_10in"  # from here up the split method hacks
THICKET_KINDS = ("basal_bark", "foliar", "mow_then_spray")
STANDING = (HACK, BASAL)  # jobs that leave a dead stem standing
FELLED_FROM = "1_3in"  # thinner dead stems are not felled one by one


@dataclass(frozen=True)
class Ground:
    """One kind of ground: goal, flags, and the size classes (by order) that the flags start at."""

    goal: str
    flags: frozenset[str]
    fall_from: float
    power_from: float


@dataclass(frozen=True)
class Size:
    """A size class: name, order, middle diameter [cm]."""

    name: str
    order: int
    mid_cm: float


@dataclass(frozen=True)
class Deed:
    """What is done to a stem: the job, its recipe and product if any, and why it is so."""

    job: str
    choice: Choice | None = None
    fell_after: bool = False
    why: str = ""


@dataclass(frozen=True)
class Orders:
    """Orders of the classes at which rules start, thickest stems for hand and mower [cm]."""

    split: int
    felled: int
    by_hand_cm: float
    mown_cm: float


def orders(sizes: list[Size], rates: Rates) -> Orders:
    """Return where the rules of the size classes start.

    References
    ----------
    own reasoning
    """
    by_name = {size.name: size.order for size in sizes}
    by_hand = rates.figure("any", "hand_work_most_cm").value
    mown = rates.figure("mow_down", "most_cm").value
    return Orders(by_name[SPLIT_FROM], by_name[FELLED_FROM], by_hand, mown)


def deed(
    method: tuple[str, str, bool],
    species: str,
    size: Size,
    ground: Ground,
    known: tuple[Book, Orders],
) -> Deed:
    """Return what a method does to the stems of one species and class on one kind of ground.

    Parameters
    ----------
    method : (str, str, bool)
        Kind, product, and whether another product may step in anywhere (it always may by water
        and under trees that stay).
    species : str
        The owner's species.
    size : Size
        Size class.
    ground : Ground
        Flags and where they start.
    known : (Book, Orders)
        Recipes that may be used, and where the rules of the classes start.

    References
    ----------
    own reasoning; danger_tree_guide, osha_1910_333 for the reaches
    """
    (kind, product, mixed), (book, order) = method, known
    if "power_line" in ground.flags and size.order >= ground.power_from:
        return Deed("call_utility", why="could reach the wires while it falls")
    ladder = LADDER[kind]
    if kind == "split" and size.order >= order.split:
        ladder = (HACK, *ladder)
    why = ""
    if _may_not_stand(kind, size, ground) and set(ladder) & set(STANDING):
        ladder = tuple(job for job in ladder if job not in STANDING)
        why = "not left standing: it could reach {near}"
    others = mixed or bool(ground.flags & {"water_edge", "dripline"})
    for wider in (False, True)[: 1 + others]:
        for job in ladder:
            if job == MOW_DOWN:
                if size.mid_cm <= order.mown_cm and "dripline" not in ground.flags:
                    return Deed(MOW_DOWN)
                continue
            fits = [c for c in book.get((species, job), []) if _may(c, size, ground)]
            chosen = best([c for c in fits if wider or c.known.name == product])
            if chosen is not None:
                falls = kind == "hack_then_fell" and job == HACK and size.order >= order.felled
                return Deed(job, chosen, falls, why)
    return _without(size, ground, order)


def _may_not_stand(kind: str, size: Size, ground: Ground) -> bool:
    """Return whether a dead stem of this class may not be left here."""
    reach = "fall_reach" in ground.flags and size.order >= ground.fall_from
    return reach and kind != "hack_then_fell"


def _may(choice: Choice, size: Size, ground: Ground) -> bool:
    """Return whether recipe and product fit the stem and the ground."""
    known = choice.known
    if not choice.fits(size.mid_cm) or not known.fits_site(ground.goal):
        return False
    if "water_edge" in ground.flags and not known.by_water():
        return False
    return not ("dripline" in ground.flags and known.soil_active)


def _without(size: Size, ground: Ground, order: Orders) -> Deed:
    """Return hand work for thin stems, and leave the others, with the reason."""
    if "water_edge" in ground.flags:
        why = "no product whose confirmed label names the water's edge"
    elif "dripline" in ground.flags:
        why = "no product without soil activity for ground beside a tree that stays or a crop"
    else:
        why = "no recipe of this product for this size"
    if size.mid_cm <= order.by_hand_cm:
        return Deed("hand_work", why=why)
    return Deed("left", why=why)
