"""Say which figures of the handbook a plan rests on, and who stands behind each."""

import pandas as pd

from clearing import sources, treatment
from clearing.property import Results
from clearing.rates import handbook_table
from clearing.report import names
from clearing.report.facts import SourceFacts
from clearing.report.visit_facts import blank, plain_rows
from clearing.report.words import listed

COLUMNS = [
    "table", "subject", "item", "value", "low", "high", "unit", "seen", "source", "locator", "note",
    "citation",
]  # fmt: skip
SEEN = {  # in this order; what each means, as a sentence says it
    "read": "were read in print",
    "derived": "were worked out from what was read",
    "common practice": "are common practice without a published source",
    "memory": "come from memory",
    "assumed": "are assumed by us",
    "owner": "are your own",
    "log": "were drawn in by your own log and counts",
}
TOLD_IN_FULL = {  # lists that the sources page prints
    "memory": "From memory, to be checked",
    "common practice": "Common practice, no published source",
}
FEW = 400  # letters of names in one line of the sources page


def used_figures(results: Results) -> pd.DataFrame:
    """Return the figures behind a plan, one a row, with source and how it was seen.

    Recipes and herbicides that the plan uses, species that are cleared or stay, and all figures
    that hold for any work; those of species and herbicides that the plan does not touch are left
    out.

    Returns
    -------
    DataFrame
        table, subject, item, value, low, high, unit, seen, source, locator, note, citation.

    References
    ----------
    own reasoning
    """
    rates = results.rates
    used, idle = _used_words(results)
    standing = rates.figures.drop_duplicates(["subject", "item"])  # of two the first stands
    figures = standing[~standing["subject"].isin(idle)]
    frames = [figures.assign(table="figures")]
    recipes = rates.recipes[rates.recipes["recipe_id"].isin(used)]
    frames.append(
        recipes.assign(
            table="recipes", subject=recipes["recipe_id"], item="kill", value=recipes["kill"],
            low=recipes["kill_low"], high=recipes["kill_high"], unit="share",
        )
    )  # fmt: skip
    limits = rates.limits[rates.limits["herbicide"].isin(used)]
    said = limits["clause"] + ", " + limits["site"]
    frames.append(
        limits.assign(table="limits", subject=limits["herbicide"], item=said, low="", high="")
    )
    cautions = rates.cautions[rates.cautions["caution"].isin(used)]
    frames.append(cautions.assign(table="cautions", subject=cautions["caution"], item="caution"))
    for table in ("crowns", "heights"):
        shapes = getattr(rates, table)
        shapes = shapes[shapes["species"].isin(used)]
        frames.append(shapes.assign(table=table, subject=shapes["species"], item=shapes["form"]))
    both = pd.concat([frame.reindex(columns=COLUMNS[:-1]) for frame in frames], ignore_index=True)
    both = both.astype(object).where(both.notna(), "")
    told = {row["key"]: citation(row) for row in plain_rows(sources.source_table())}
    return both.assign(citation=[told.get(key, key) for key in both["source"]])[COLUMNS]


def source_list(used: pd.DataFrame) -> tuple[SourceFacts, ...]:
    """Return the sources of the figures in use, each with how many figures it gave and how seen.

    Parameters
    ----------
    used : DataFrame
        As `used_figures` gives them.

    References
    ----------
    own reasoning
    """
    out = []
    rows = plain_rows(sources.source_rows(sorted(set(used["source"]))))
    for row in rows:
        seen = used[used["source"] == row["key"]]["seen"].value_counts()
        counts = ", ".join(f"{seen[kind]} {kind}" for kind in SEEN if seen.get(kind, 0))
        out.append(SourceFacts(str(row["key"]), citation(row), counts))
    return tuple(out)


def seen_lines(used: pd.DataFrame) -> tuple[str, ...]:
    """Return what of the figures was read and what was not, in sentences.

    Parameters
    ----------
    used : DataFrame
        As `used_figures` gives them.

    References
    ----------
    own reasoning
    """
    number = used["seen"].value_counts()
    parts = [f"{number[kind]} {words}" for kind, words in SEEN.items() if number.get(kind, 0)]
    lines = [f"Of {len(used)} figures behind this plan, {listed(parts)}. All are in figures.csv."]
    for kind, lead in TOLD_IN_FULL.items():
        rows = used[used["seen"] == kind]
        told = dict.fromkeys(
            f"{_subject(str(row['subject']))} {str(row['item']).replace('_', ' ')}".strip()
            for row in plain_rows(rows)
        )
        if told:
            lines.append(f"{lead}: {_fitting(list(told))}.")
    return tuple(lines)


def citation(row: dict[str, str]) -> str:
    """Return one source as it is printed: who, when, what, where.

    References
    ----------
    own reasoning
    """
    parts = [row[name].strip().rstrip(".") for name in ("authors", "year", "title", "publisher")]
    return ". ".join(part for part in parts if part) + "."


def _used_words(results: Results) -> tuple[set[str], set[str]]:
    """Return the words by which rows are picked, and the subjects that the plan does not touch."""
    rates, visits = results.rates, results.plan.visits
    used: set[str] = {"any"}
    for column in ("herbicide", "recipe_id", "cautions"):
        if len(visits):
            used.update(word for cell in visits[column] for word in blank(cell).split())
    keys = {known.name: known.key for known in treatment.known_products(rates)}
    used.update(keys[name] for name in list(used) if keys.get(name))
    used.update(rates.handbook_species(one) for one in results.property.settings.targets)
    used.update(results.keep_trees["species"].astype(str))
    used.add(results.property.settings.region)
    known = set(handbook_table("names")["species"]) | set(handbook_table("herbicides")["subject"])
    known |= {product.name for product in rates.products}
    known |= set(handbook_table("regions")["subject"])
    return used, known - used


def _subject(key: str) -> str:
    """Return a subject in words, blank where it means any."""
    return "" if key == "any" else names.herbicide_name(key.replace(":", ", "))


def _fitting(told: list[str]) -> str:
    """Return names until the line is full; the others are counted."""
    for number in range(len(told), 0, -1):
        line = ", ".join(told[:number])
        if len(line) <= FEW:
            more = len(told) - number
            return line + (f" and {more} more" if more else "")
    return f"{len(told)} figures"
