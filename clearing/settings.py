"""Turn property.toml into settings in metric, with every problem named at once."""

from typing import Any

from clearing.property import Crew, Money, OwnProduct, Season, Settings
from clearing.tables import did_you_mean
from clearing.units import HA_PER_ACRE, KG_L_PER_LB_GAL, L_PER_GAL, METRIC_TWIN

KEYS = {
    "property": ["name", "region", "units", "first_year", "years"],
    "targets": ["species"],
    "species": [],
    "crew": ["who", "people", "sawyers", "days_per_week", "hours_per_day", "wage_per_hour"],
    "contractor": [],
    "money": [
        "budget_per_year", "carry_over", "discount_rate", "mower_per_hour",
        "value_per_acre_year", "value_per_ha_year",
    ],
    "cost_share": [
        "name", "dollars_per_acre", "dollars_per_ha", "finish_by", "goals", "blocks", "notes",
    ],
    "strips": ["acres", "hectares"],
    "season": ["name", "months", "work_days"],
    "plots": [
        "radius_ft", "radius_m", "small_radius_ft", "small_radius_m", "small_below_in",
        "small_below_cm",
    ],
    "herbicide": [
        "active_ingredient", "lb_ae_per_gal", "kg_ae_per_l", "price", "container_gal",
        "container_l", "on_hand_gal", "on_hand_l", "registration", "date", "sites", "methods",
        "limits", "confirmed",
    ],
    "plan": [
        "done_when", "clear_by", "before", "most_blocks_a_season", "most_products_a_year",
        "confidence", "seed",
    ],
    "closed_months": [],
}  # fmt: skip
MANY = ("species", "herbicide")  # tables of tables: [herbicide.NAME]
LISTS = ("cost_share", "season")  # arrays of tables: [[season]]
# own choices where the owner says nothing; the report names each that was used
YEARS, STRIP_ACRES, SEEDLINGS_PER_ACRE = 6, 3.0, 40.0
VALUE_PER_ACRE = {"pasture": 60.0, "silvopasture": 50.0, "woodland": 20.0}
WHO = ("family", "hired", "contractor")
REGIONS = ("upper_south", "southeast", "midwest", "northeast", "gulf_coast", "plains", "west")


def settings_from(raw: dict[str, Any]) -> tuple[Settings | None, list[str]]:
    """Return the settings of a parsed property.toml, and every problem in it.

    Parameters
    ----------
    raw : dict
        As tomllib reads the file.

    Returns
    -------
    Settings or None
        None when there are problems.
    list of str
        Problems, each naming the key, what was found and what would be right.

    References
    ----------
    own reasoning
    """
    problems = _unknown_keys(raw)
    ask = _Asker(raw, problems)
    units = ask.choice("property", "units", ("us", "metric"), "us")
    first_year = ask.number("property", "first_year", None, 1990, 2200)
    targets = ask.names("targets", "species")
    if not targets:
        problems.append("property.toml: [targets] species lists nothing; name at least one tree")
    species = {name: dict(given) for name, given in ask.table("species").items()}
    given_herbicides = ask.table("herbicide")
    herbicides = [_product(name, given, problems) for name, given in given_herbicides.items()]
    done = ask.table("plan").get("done_when", {})
    fields: dict[str, Any] = {
        "name": ask.text("property", "name", "My place"),
        "region": ask.choice("property", "region", REGIONS, "upper_south"),
        "units": units,
        "first_year": int(first_year or 0),
        "years": int(ask.number("property", "years", YEARS, 1, 40) or YEARS),
        "targets": tuple(targets),
        "species": species,
        "crew": _crew(ask),
        "contractor": {k: float(v) for k, v in ask.table("contractor").items() if _is_number(v)},
        "money": _money(ask),
        "cost_share": tuple(ask.list_of_tables("cost_share")),
        "strip_ha": _strip_ha(ask),
        "seasons": tuple(_seasons(ask.list_of_tables("season"), problems)),
        "closed_months": tuple(raw.get("closed_months", ())),
        "herbicides": tuple(product for product in herbicides if product is not None),
        "stems_over_1in": float(done.get("stems_over_1in", 0)),
        "seedlings_per_ha": float(done.get("seedlings_per_acre", SEEDLINGS_PER_ACRE)) / HA_PER_ACRE,
        "clear_by": ask.table("plan").get("clear_by"),
        "before": tuple(tuple(pair) for pair in ask.table("plan").get("before", ())),
        "most_blocks_a_season": ask.table("plan").get("most_blocks_a_season"),
        "most_products_a_year": ask.table("plan").get("most_products_a_year"),
        "confidence": float(ask.number("plan", "confidence", 0.9, 0.5, 0.999) or 0.9),
        "seed": int(ask.number("plan", "seed", 1, 0, 2**31) or 0),
        "defaulted": tuple(ask.defaulted),
        **_plot_sizes(ask.table("plots")),
    }
    return (None if problems else Settings(**fields)), problems


class _Asker:
    """Look settings up, and note what is wrong and what was left out."""

    def __init__(self, raw: dict[str, Any], problems: list[str]) -> None:
        self.raw, self.problems = raw, problems
        self.defaulted: list[str] = []

    def table(self, section: str) -> dict[str, Any]:
        """Return one section, empty when it is absent or no table."""
        found = self.raw.get(section, {})
        return found if isinstance(found, dict) else {}

    def list_of_tables(self, section: str) -> list[dict[str, Any]]:
        """Return the entries of an array of tables."""
        found = self.raw.get(section, [])
        return (
            [entry for entry in found if isinstance(entry, dict)] if isinstance(found, list) else []
        )

    def _get(self, section: str, key: str, default: object) -> Any:
        found = self.table(section).get(key)
        if found is None and default is not None:
            self.defaulted.append(f"[{section}] {key} = {default}")
        return default if found is None else found

    def _wrong(self, section: str, key: str, found: object, right: str) -> None:
        self.problems.append(f"property.toml: [{section}] {key} is {found!r}; {right}")

    def text(self, section: str, key: str, default: str) -> str:
        """Return a text."""
        return str(self._get(section, key, default))

    def choice(self, section: str, key: str, choices: tuple[str, ...], default: str) -> str:
        """Return one of a few words."""
        found = str(self._get(section, key, default))
        if found not in choices:
            near = did_you_mean(found, choices)
            self._wrong(section, key, found, f"write one of {', '.join(choices)}{near}")
        return found

    def number(
        self, section: str, key: str, default: float | None, low: float, high: float
    ) -> float | None:
        """Return a number between two limits."""
        found = self._get(section, key, default)
        if found is None:
            self.problems.append(f"property.toml: [{section}] {key} is missing; write a number")
            return default
        if not _is_number(found) or not low <= found <= high:
            self._wrong(section, key, found, f"write a number from {low:g} to {high:g}")
            return default
        return float(found)

    def names(self, section: str, key: str) -> list[str]:
        """Return a list of names in lower case with underscores."""
        found = self.table(section).get(key, [])
        found = [found] if isinstance(found, str) else found
        return [str(name).strip().lower().replace(" ", "_") for name in found]


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and value == value


def _unknown_keys(raw: dict[str, Any]) -> list[str]:
    """Return a sentence for every section and key that is not known."""
    problems = []
    for section, body in raw.items():
        if section not in KEYS:
            problems.append(
                f"property.toml: [{section}] is not known{did_you_mean(section, KEYS)}; "
                f"sections are {', '.join(KEYS)}"
            )
            continue
        entries = list(body.items()) if section in MANY and isinstance(body, dict) else []
        entries += [(section, entry) for entry in body] if section in LISTS else []
        entries = entries or [(section, body)]
        for name, entry in entries:
            if not isinstance(entry, dict) or not KEYS[section]:
                continue
            where = f"[{section}.{name}]" if section in MANY else f"[{section}]"
            problems += [
                f"property.toml: {where} {key} is not known{did_you_mean(key, KEYS[section])}"
                for key in entry
                if key not in KEYS[section]
            ]
    return problems


def _crew(ask: _Asker) -> Crew:
    """Return who works."""
    hours = ask.table("crew").get("hours_per_day", 6.0)
    return Crew(
        who=ask.choice("crew", "who", WHO, "family"),
        people=int(ask.number("crew", "people", 2, 1, 100) or 2),
        sawyers=int(ask.number("crew", "sawyers", 1, 0, 100) or 0),
        days_per_week=float(ask.number("crew", "days_per_week", 2, 0.1, 7) or 2),
        hours_per_day=hours if isinstance(hours, dict) else float(hours),
        wage_per_hour=float(ask.number("crew", "wage_per_hour", 0, 0, 1000) or 0),
    )


def _money(ask: _Asker) -> Money:
    """Return what may be spent, by year."""
    money = ask.table("money")
    budget = money.get("budget_per_year", [])
    years = int(ask.table("property").get("years", YEARS))
    by_year = [float(budget)] * years if _is_number(budget) else [float(each) for each in budget]
    per_ha = {goal: value / HA_PER_ACRE for goal, value in VALUE_PER_ACRE.items()}
    per_ha |= {g: v / HA_PER_ACRE for g, v in money.get("value_per_acre_year", {}).items()}
    per_ha |= {goal: float(value) for goal, value in money.get("value_per_ha_year", {}).items()}
    return Money(
        budget_per_year=by_year,
        carry_over=bool(money.get("carry_over", False)),
        discount_rate=float(ask.number("money", "discount_rate", 0.04, 0, 0.5) or 0.0),
        mower_per_hour=money.get("mower_per_hour"),
        value_per_ha_year=per_ha,
    )


def _strip_ha(ask: _Asker) -> float:
    """Return the wished area of a strip [ha]."""
    strips = ask.table("strips")
    if "hectares" in strips:
        return float(ask.number("strips", "hectares", None, 0.05, 100) or 1.0)
    return float(ask.number("strips", "acres", STRIP_ACRES, 0.1, 250) or 3.0) * HA_PER_ACRE


def _seasons(entries: list[dict[str, Any]], problems: list[str]) -> list[Season]:
    """Return the owner's seasons in the order given."""
    seasons = []
    for entry in entries:
        months = entry.get("months", [])
        good = all(isinstance(month, int) and 1 <= month <= 12 for month in months)
        if not entry.get("name") or not months or not good:
            problems.append(
                f"property.toml: [[season]] {entry.get('name', 'without a name')!r} has months "
                f"{months}; write a name and a list of months from 1 to 12"
            )
            continue
        days = entry.get("work_days")
        seasons.append(
            Season(str(entry["name"]), tuple(months), None if days is None else float(days))
        )
    return seasons


def _plot_sizes(given: dict[str, Any]) -> dict[str, float | None]:
    """Return the sizes that hold for plots which state none, in metric."""
    out: dict[str, float | None] = {}
    for key, value in given.items():
        stem, _, suffix = key.rpartition("_")
        metric, factor = METRIC_TWIN.get(suffix, (suffix, 1.0))
        name = f"plot_{stem}_{metric}" if stem == "radius" else f"{stem}_{metric}"
        if _is_number(value):
            out[name] = float(value) * factor
    return out


def _product(name: str, given: dict[str, Any], problems: list[str]) -> OwnProduct | None:
    """Return one herbicide of the owner's, or None with what is missing."""
    where = f"property.toml: [herbicide.{name}]"
    strength = given.get("kg_ae_per_l")
    if strength is None and _is_number(given.get("lb_ae_per_gal")):
        strength = given["lb_ae_per_gal"] * KG_L_PER_LB_GAL
    before = len(problems)
    if not given.get("active_ingredient"):
        problems.append(f"{where} active_ingredient is missing; write it as on the label")
    kg_per_l = float(strength) if strength is not None and _is_number(strength) else 0.0
    if not 0 < kg_per_l < 1.5:
        problems.append(
            f"{where} strength is {given.get('lb_ae_per_gal')!r}; write lb_ae_per_gal as on the "
            "label (pounds of acid equivalent a gallon)"
        )
    if len(problems) > before:
        return None
    gallons = given.get("container_gal", [])
    litres = given.get("container_l", [gallon * L_PER_GAL for gallon in _listed(gallons)])
    return OwnProduct(
        name=name,
        active_ingredient=str(given["active_ingredient"]),
        ae_kg_per_l=kg_per_l,
        price=tuple(float(each) for each in _listed(given.get("price", ()))),
        container_l=tuple(float(size) for size in _listed(litres)),
        on_hand_l=float(given.get("on_hand_l", given.get("on_hand_gal", 0) * L_PER_GAL)),
        registration=str(given.get("registration", "")),
        label_date=str(given.get("date", "")),
        sites=tuple(_listed(given.get("sites", ()))),
        methods=tuple(_listed(given.get("methods", ()))),
        limits=dict(given.get("limits", {})),
        confirmed=bool(given.get("confirmed", False)),
    )


def _listed(value: Any) -> list[Any]:
    """Return a list, also of a single value."""
    return list(value) if isinstance(value, list | tuple) else [value]
