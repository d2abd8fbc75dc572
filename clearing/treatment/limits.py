"""Hold the label's limits: the strictest wins, and the owner's confirmed label overrides."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from clearing.property import OwnProduct, Settings
from clearing.rates import Rates
from clearing.tables import did_you_mean
from clearing.treatment.label_lines import DAY_LINES
from clearing.treatment.products import Known, handbook_key, known_products
from clearing.units import KG_HA_PER_LB_AC, KG_L_PER_LB_GAL

KINDS = ("year", "application", "count", "spot", "mix", "cut")
OWN_LIMITS = {  # the owner's word for a limit -> its kind, the factor to metric, its unit in words
    "kg_ae_per_ha_year": ("year", 1.0, "kg ae a hectare a year"),
    "lb_ae_per_acre_year": ("year", KG_HA_PER_LB_AC, "lb ae an acre a year"),
    "kg_ae_per_ha_application": ("application", 1.0, "kg ae a hectare at a time"),
    "lb_ae_per_acre_application": ("application", KG_HA_PER_LB_AC, "lb ae an acre at a time"),
    "applications_year": ("count", 1.0, "applications a year"),
    "spot_percent": ("spot", 0.01, "percent of the ground sprayed at a time"),
    "kg_ae_per_l_mix": ("mix", 1.0, "kg ae a liter of mix"),
    "lb_ae_per_100gal_mix": ("mix", KG_L_PER_LB_GAL / 100.0, "lb ae in 100 gal of mix"),
    "ml_product_per_cut": ("cut", 1.0, "mL of product in one cut"),
}
WAIT_ITEMS = ("graze_days", "dairy_days", "slaughter_days", "hay_days", "reseed_days")


@dataclass(frozen=True)
class Limit:
    """The most that a label lets through, of one kind, and who says so.

    Attributes
    ----------
    value : float
        year, application: acid equivalent on the ground treated [kg/ha]; count: applications a
        year; spot: share of the ground sprayed; mix: acid equivalent in the mix [kg/l]; cut:
        product in one cut [ml].
    per : str
        One of those kinds.
    clause : str
        What the limit says and where it stands, in words.
    confirmed : bool
        Whether it is the owner's confirmed label.
    jobs : frozenset of str
        Jobs that it holds for; empty = all.
    """

    value: float
    per: str
    clause: str
    confirmed: bool
    jobs: frozenset[str] = frozenset()

    def holds_for(self, job: str) -> bool:
        """Return whether the limit speaks of a job."""
        return not self.jobs or job in self.jobs


def label_limits(product: OwnProduct, goal: str, rates: Rates) -> list[Limit]:
    """Return the limits that hold on one kind of ground, without those that a stricter one covers.

    Own limits of a confirmed label replace the handbook's of the same kind; unconfirmed ones stand
    beside them. A limit for some jobs covers no other job.

    Parameters
    ----------
    product : OwnProduct
        The owner's product.
    goal : str
        pasture, silvopasture or woodland.
    rates : Rates
        Table ``limits``.

    References
    ----------
    own reasoning; each limit carries its own source
    """
    own = [
        Limit(product.limits[item] * factor, per, _own_words(product, item), product.confirmed)
        for item, (per, factor, _) in OWN_LIMITS.items()
        if item in product.limits
    ]
    table = rates.limits[rates.limits["herbicide"] == handbook_key(product, rates)]
    held = []
    for per in KINDS:
        rows = table[(table["per"] == per) & table["site"].isin([goal, "any"])]
        theirs = [_handbook_limit(row, product.name) for row in rows.to_dict("records")]
        mine = [limit for limit in own if limit.per == per]
        standing = mine if mine and product.confirmed else mine + theirs
        standing.sort(key=lambda limit: (limit.value, len(limit.jobs)))
        for place, limit in enumerate(standing):
            if not any(_covers(stricter, limit) for stricter in standing[:place]):
                held.append(limit)
    return held


def _covers(stricter: Limit, limit: Limit) -> bool:
    """Return whether a limit that is at least as strict speaks of every job of another."""
    return not stricter.jobs or (bool(limit.jobs) and limit.jobs <= stricter.jobs)


def acid_of(key: str) -> str:
    """Return the acid of a product of the handbook: salts and esters of one acid add up.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> acid_of("triclopyr_ester_4"), acid_of("amine_2_4_d_3_8")
    ('triclopyr', '2_4_d')
    """
    return "2_4_d" if "2_4_d" in key else key.split("_")[0]


def recipe_over(recipe: dict[str, Any], known: Known, percent: float, rates: Rates) -> str:
    """Return the clause of the label that a recipe breaks by its strength or its cut, or blank.

    Parameters
    ----------
    recipe : dict
        A row of the recipes.
    known : Known
        The owner's product.
    percent : float
        Product in the mix [percent].
    rates : Rates
        Table ``limits``.

    References
    ----------
    own reasoning; each limit carries its own source
    """
    product = known.product
    carried = {"mix": percent / 100.0 * product.ae_kg_per_l, "cut": 0.0}
    if recipe["dose_kind"] == "cuts":
        carried["cut"] = percent / 100.0 * float(recipe["ml_per_cut"])
    for limit in label_limits(product, "any", rates):
        if limit.per in carried and limit.holds_for(recipe["method"]):
            over = carried[limit.per] > limit.value * (1 + 1e-9)
            if over:
                return limit.clause
    return ""


def to_confirm(rates: Rates, settings: Settings) -> list[str]:
    """Return what the owner has to look up on a label, in sentences.

    Parameters
    ----------
    rates : Rates
        Table ``limits``.
    settings : Settings
        The owner's products.

    References
    ----------
    own reasoning
    """
    if not settings.herbicides:
        return [
            "no herbicide stands in the settings: products, strengths and prices are the "
            "handbook's; write down what you have, with its label's registration number and date"
        ]
    known = known_products(rates)
    sentences = [_asked(one, rates) for one in known] + [_not_held(one) for one in known]
    return [sentence for sentence in sentences if sentence]


def _not_held(known: Known) -> str:
    """Return which of the owner's limits the plan cannot hold to, blank when there is none."""
    words = (*OWN_LIMITS, *WAIT_ITEMS, *DAY_LINES)
    lost = [f"{item}{did_you_mean(item, words)}" for item in known.product.limits
            if item not in words]  # fmt: skip
    if not lost:
        return ""
    return (
        f"{known.name.replace('_', ' ')}: under limits the plan does not know {', '.join(lost)} "
        f"and holds to none of it; it knows {', '.join(words)}"
    )


def _asked(known: Known, rates: Rates) -> str:
    """Return what is to be looked up on the label of one product, blank when nothing is."""
    product = known.product
    if not known.key:
        return (
            f"{product.name}: the handbook knows no product with the active ingredient "
            f"{product.active_ingredient!r}, so it has no recipe and is not planned with; name its "
            "salt or ester as the label does (2,4-D amine, triclopyr amine, triclopyr ester)"
        )
    given = {OWN_LIMITS[item][0] for item in product.limits if item in OWN_LIMITS}
    table = rates.limits[rates.limits["herbicide"] == known.key]
    open_rows = table[~table["per"].isin(given)] if product.confirmed else table
    missing = [] if product.registration else ["registration number"]
    missing += [] if product.label_date else ["date"]
    if product.confirmed and "year" in given and not missing:
        remembered = open_rows[open_rows["seen"] == "memory"]
        if not len(remembered):
            return ""
        return (
            f"{product.name.replace('_', ' ')}: the label is confirmed; these clauses are still "
            f"from memory, and the plan holds to them: {_clauses(remembered)}; "
            "write the label's own under limits"
        )
    if not product.confirmed:
        lead = "the label is not confirmed, so no mixing table is printed"
    elif missing:
        lead = f"the label is confirmed without its {' and '.join(missing)}"
    else:
        lead = "the label is confirmed without a yearly limit"
    return (
        f"{product.name.replace('_', ' ')}: {lead}; read registration number, date, sites, "
        "methods and the most acid equivalent an acre a year. "
        f"Until then the plan holds to: {_clauses(open_rows) or 'nothing'}"
    )


def _clauses(table: Any) -> str:
    """Return the clauses of a product, the same one of several sites told once."""
    told: dict[tuple[str, str, str], list[str]] = {}
    for row in table.to_dict("records"):
        key = (row["clause"], f"{row['value']:g} {row['unit']}", _told(row))
        told.setdefault(key, []).append(row["site"])
    return "; ".join(
        f"{clause} {value} on {_sites(sites)} ground ({where})"
        for (clause, value, where), sites in told.items()
    )


def _sites(sites: Iterable[str]) -> str:
    return " and ".join(dict.fromkeys(sites))


def _handbook_limit(row: dict[str, Any], name: str) -> Limit:
    """Return a row of the handbook as a limit of the owner's product."""
    return Limit(
        row["value_metric"],
        row["per"],
        f"{name}: {row['clause']} {row['value']:g} {row['unit']} ({_told(row)})",
        False,
        frozenset(row["jobs"].split()),
    )


def _own_words(product: OwnProduct, item: str) -> str:
    """Return the clause of the owner's label."""
    label = "your label" if product.confirmed else "your label, not yet confirmed,"
    words = OWN_LIMITS[item][2]
    where = ", ".join(part for part in (product.registration, product.label_date) if part)
    noted = f" ({where})" if where and product.confirmed else ""
    return f"{label} of {product.name}{noted}: {product.limits[item]:g} {words}"


def _told(row: dict[str, Any]) -> str:
    """Return where a limit comes from, in words."""
    return where_words(row["seen"], row["source"], row["locator"])


def where_words(seen: str, source: str, locator: str) -> str:
    """Return where a figure of a label comes from, in words.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> where_words("memory", "memory", "label")
    'from memory, confirm on your label'
    """
    unread = {"memory": "from memory", "assumed": "assumed"}
    return f"{unread[seen]}, confirm on your label" if seen in unread else f"{source}, {locator}"
