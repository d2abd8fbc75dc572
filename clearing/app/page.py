"""Give out the pieces of the page: our own, the look that map and page share, and Leaflet."""

import functools
from importlib import resources

from clearing.report import look
from clearing.report.assets import asset
from clearing.report.shared import SHARED, shared_text

PAGE_STYLES = ("base.css", "log.css")
KINDS = {"html": "text/html", "css": "text/css", "js": "text/javascript"}
LIBRARY = ("leaflet.js", "leaflet.css")
OWN = (
    "page.html", "page.css", "build.js", "cards.js", "corners.js", "desk.js", "drafts.js",
    "ground.js", "knows.js", "log.js",
    "main.js", "measure.js", "news.js", "panel.js", "pins.js", "sending.js",
    "signs.js", "snap.js", "start.js", "store.js", "stroke.js", "talk.js", "tally.js", "views.js",
)  # fmt: skip


def ready() -> None:
    """Return nothing; read every piece, so that a fault shows at the start and not in the page.

    References
    ----------
    own reasoning
    """
    for name in (*OWN, *SHARED, *LIBRARY, "look.css"):
        piece(name)


@functools.cache
def piece(name: str) -> tuple[str, str] | None:
    """Return the text of one piece and its media type; none for a name that is no piece.

    References
    ----------
    own reasoning
    """
    kind = KINDS.get(name.rpartition(".")[2], "")
    if name == "look.css":
        return "\n".join([look.css_tokens(), *(shared_text(one) for one in PAGE_STYLES)]), kind
    if name in LIBRARY:
        return asset(name), kind
    if name in SHARED:
        return shared_text(name), kind
    if name not in OWN:
        return None
    path = resources.files("clearing.app") / "static" / name
    text = path.read_text(encoding="utf-8")
    return text.replace("<!-- patterns -->", shared_text("patterns.svg")), kind
