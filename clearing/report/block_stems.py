"""Say what grows in a block on its printed page: by species, and by size as a small table."""

from clearing.report.facts import BlockFacts, SpeciesSizes, SpeciesStems
from clearing.report.words import listed, sentence, stems

MOST_KINDS = 8  # species that a page names one by one; own choice
MOST_NAME = 40  # letters of a species in a table; own choice
CHARTED = 2  # species whose stems stand as a chart; more stand in a table; own choice
NO_CLASS = "–"
NONE = "0"


def stems_said(block: BlockFacts) -> str:
    """Return the stems of a block by species with their range, and what they rest on.

    References
    ----------
    own reasoning
    """
    there = [row for row in block.stems if _found(row)]
    told = [f"{sentence(row.name)}: {row.stems.words}" for row in there[:MOST_KINDS]]
    rest = there[MOST_KINDS:]
    told += [_rest(rest)] if rest else []
    return " ".join([*([f"{'; '.join(told)}."] if told else []), basis_said(block)])


def basis_said(block: BlockFacts) -> str:
    """Return what the stems of a block rest on, and which species were not found.

    References
    ----------
    own reasoning
    """
    absent = [row for row in block.stems if not _found(row)]
    return " ".join([*([f"{sentence(_absent(absent))}."] if absent else []),
                     f"{sentence(block.basis)}."])  # fmt: skip


def charted(block: BlockFacts) -> tuple[SpeciesSizes, ...]:
    """Return the species that stand as a chart: those that grow there, none where they are many.

    References
    ----------
    own reasoning
    """
    own = _grown(block)
    return tuple(own) if len(own) <= CHARTED else ()


def size_table(block: BlockFacts) -> tuple[tuple[str, ...], ...]:
    """Return the stems by size as rows of text, heads first, one row a species that grows there.

    References
    ----------
    own reasoning
    """
    rows = _grown(block)
    if not rows:
        return ()
    labels = {row.size_class: row.label for one in rows for row in one.sizes}
    whole = {row.species: _alone(row.stems.words) for row in block.stems}
    table = [("stems", *labels.values(), "in all")]
    table += [(*_row(one, list(labels)), whole[one.species]) for one in rows[:MOST_KINDS]]
    rest = rows[MOST_KINDS:]
    if rest:
        sums = dict.fromkeys(labels, 0.0)
        for one in rest:
            for row in one.sizes:
                sums[row.size_class] += row.stems.value
        values = (*sums.values(), sum(sums.values()))
        cells = [_alone(stems(value, value, value).words) for value in values]
        table.append((f"and {len(rest)} more kinds", *cells))
    return tuple(table)


def _grown(block: BlockFacts) -> list[SpeciesSizes]:
    """Return the sizes of the species that grow in a block."""
    grown = {row.species for row in block.stems if _found(row)}
    return [one for one in block.sizes if one.species in grown]


def _found(row: SpeciesStems) -> bool:
    return row.stems.number != NONE


def _rest(rest: list[SpeciesStems]) -> str:
    """Return the species that are not named, together."""
    value = sum(row.stems.value for row in rest)
    kinds = f"{len(rest)} more {'kind' if len(rest) == 1 else 'kinds'}"
    return f"and {kinds}, {stems(value, value, value).words}, on the map"


def _absent(rows: list[SpeciesStems]) -> str:
    """Return the species that were not found, with what may be there all the same."""
    told = [f"{row.name} (up to {row.stems.words.rpartition(' to ')[2].removesuffix(')')})"
            if row.stems.high >= 1 else row.name for row in rows[:MOST_KINDS]]  # fmt: skip
    more = len(rows) - MOST_KINDS
    return f"none found of {listed(told + ([f'{more} more kinds'] if more > 0 else []))}"


def _row(one: SpeciesSizes, labels: list[str]) -> tuple[str, ...]:
    """Return one species' stems in each class."""
    known = {row.size_class: row for row in one.sizes}
    name = sentence(one.name)
    name = name if len(name) <= MOST_NAME else f"{name[: MOST_NAME - 1]}…"
    return (name, *(_alone(known[size].stems.words) if size in known else NO_CLASS
                    for size in labels))  # fmt: skip


def _alone(words: str) -> str:
    """Return a number of stems with its range, without the word for them."""
    alone = words.removeprefix("about ").replace(" stems", "").replace(" stem", "")
    return alone.replace(" to ", "\N{EN DASH}")  # in a table, so that it stands on one line
