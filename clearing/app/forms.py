"""Make the forms of the page from the column files: what is asked of each shape, in which words."""

from typing import Any

from clearing.rates import handbook_table
from clearing.report import names
from clearing.tables import column_file, did_you_mean
from clearing.units import METRIC_TWIN

LAYERS = ("blocks", "strips", "keep_trees", "features", "plots")
ID = {"blocks": "block_id", "strips": "strip_id", "keep_trees": "tree_id", "plots": "plot_id"}
WORD = {"blocks": "block", "strips": "strip", "keep_trees": "tree", "plots": "plot"}
NOT_ASKED = ("geometry",)
LONGEST = 2000  # letters in one field; own choice
# how a field is called where its column's name in words is not what one says
SAID = {
    "block_id": "Number or short name", "strip_id": "Number or short name",
    "tree_id": "Number or tag", "plot_id": "Number", "dbh": "Diameter at breast height",
    "name": "What you call it", "goal": "To become", "density_guess": "How thick they stand",
    "photo_count": "Trees counted on the photo", "cover_pct": "Ground under their crowns",
    "stock": "Stock on it", "hay": "Hay is cut", "tops": "The tops", "ready_year": "Ready to mow",
    "setback": "Distance to keep", "visited": "Somebody stood there", "kind": "What it is",
    "crown": "Width of the crown", "slope_pct": "Slope", "wet": "Wet", "block_id_of": "In block",
}  # fmt: skip
UNITS = {"in": "in", "ft": "ft", "cm": "cm", "m": "m", "percent": "%"}


def form(layer: str, us: bool) -> list[dict[str, Any]]:
    """Return the fields of one layer, in the order of its column file.

    Each field has column, label, kind (text, number, integer, choice, yes_no, species), unit,
    required, minimum, maximum, choices (key and words), says (the column file's description), and
    other (true for the twin in the units that the owner does not speak: shown where it is filled).

    Parameters
    ----------
    layer : str
        One of blocks, strips, keep_trees, features, plots.
    us : bool
        The owner speaks feet and inches.

    References
    ----------
    own reasoning
    """
    described = column_file(layer)
    described = described[~described["column"].isin(NOT_ASKED)]
    return [_field(row, layer, us) for row in described.itertuples(index=False)]


def _field(row: Any, layer: str, us: bool) -> dict[str, Any]:
    """Return one field."""
    stem, _, suffix = row.column.rpartition("_")
    paired = bool(stem) and suffix in ("ft", "in", "m", "cm")
    label = SAID.get(stem if paired else row.column) or _plain(stem if paired else row.column)
    if layer == "strips" and row.column == "block_id":
        label = SAID["block_id_of"]
    return {
        "column": row.column, "label": label, "kind": _kind(row.kind), "unit": _unit(row.unit),
        "required": row.required == "yes", "minimum": row.minimum, "maximum": row.maximum,
        "choices": [[word, _choice(row.column, word)] for word in row.choices.split()],
        "says": row.description, "other": paired and (suffix in METRIC_TWIN) != us,
    }  # fmt: skip


def _kind(kind: str) -> str:
    """Return the kind of field that a kind of column needs."""
    return {"id": "text", "list": "text"}.get(kind, kind)


def _unit(unit: str) -> str:
    """Return a unit as it stands behind a field."""
    return UNITS.get(unit, "")


def _plain(column: str) -> str:
    """Return a column's name as words."""
    words = column.replace("_", " ")
    return words[:1].upper() + words[1:]


def _choice(column: str, word: str) -> str:
    """Return a choice as words."""
    tables = {"goal": names.GOALS, "kind": names.FEATURES}
    return tables.get(column, {}).get(word) or word.replace("_", " ")


def size_words(us: bool) -> list[list[str]]:
    """Return the sizes that are counted by a word: the word, and how thick that is.

    Parameters
    ----------
    us : bool
        The owner speaks inches.

    References
    ----------
    own_choice (the handbook's size classes)
    """
    table = handbook_table("size_classes")
    label = table["label_us" if us else "label_metric"]
    pairs = zip(table["word"], label, strict=True)
    return [[word, text] for word, text in pairs if isinstance(word, str) and word]


def typed(layer: str, own: dict[str, Any]) -> dict[str, Any]:
    """Return what the page says of a shape, as cells: numbers where the column holds numbers.

    Parameters
    ----------
    layer : str
        Its layer.
    own : dict
        Column -> text.

    Raises
    ------
    ValueError
        A column that the layer has not, or a text that is too long.

    References
    ----------
    own reasoning
    """
    described = column_file(layer).set_index("column")["kind"].to_dict()
    cells: dict[str, Any] = {}
    for column, text in own.items():
        if column not in described or column in NOT_ASKED:
            known = [name for name in described if name not in NOT_ASKED]
            near = did_you_mean(str(column), known)
            raise ValueError(f"{layer} have no column {str(column)[:40]!r}{near}")
        words = "" if text is None else str(text).strip()
        if len(words) > LONGEST:
            raise ValueError(f"{column!r} holds {len(words)} letters; {LONGEST} are the most")
        cells[column] = _cell(words, described[column])
    return cells


def _cell(words: str, kind: str) -> Any:
    """Return a text as a cell; one that is no number stays, for the check to name."""
    if not words:
        return None
    if kind in ("number", "integer"):
        try:
            value = float(words.replace(",", ".") if words.count(",") == 1 else words)
        except ValueError:
            return words
        return int(value) if value.is_integer() and abs(value) < 2**53 else value
    if kind == "species":
        return words.lower().replace(" ", "_").replace("-", "_")
    return words
