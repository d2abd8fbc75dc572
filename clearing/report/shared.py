"""Give out the pieces that the map and the drawing page share: styles, patterns, scripts."""

from importlib import resources

# what the drawing page may be given besides its own pieces
SHARED = ("distances.js", "trees.js", "things.js", "names.js", "sheet.js", "log_form.js")
SCRIPTS = (  # of the map, in order
    *SHARED, "ground.js", "finding.js", "here.js", "ruler.js", "years.js", "cards.js", "paper.js",
    "log.js", "panel.js",
)  # fmt: skip
STYLES = ("base.css", "map.css", "log.css", "paper.css")  # of the map, in order


def shared_text(name: str) -> str:
    """Return the text of one template.

    References
    ----------
    own reasoning
    """
    path = resources.files("clearing.report") / "templates" / name
    return path.read_text(encoding="utf-8").strip()
