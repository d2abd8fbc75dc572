"""Hand out the browser's libraries; the only module that knows where they come from.

They lie as texts in a private table of the installed package folium-offline, whose version is
pinned. The table is read without importing the package, which would cost a second.
"""

import ast
import functools
import hashlib
from importlib import metadata

PACKAGE = "folium-offline"
MODULE_FILE = "offlinefolium/elements.py"
TABLE = "_res"

# address in the table -> (name, sha256 of the stripped text)
ASSETS = {
    "leaflet.js": (
        "/npm/leaflet@1.9.3/dist/leaflet.js",
        "45671bdc7a587e4d2a4592f4ad926a5a080eba04ee8984e0365686eeae88eea8",
    ),
    "leaflet.css": (
        "/npm/leaflet@1.9.3/dist/leaflet.css",
        "49cdde75c973006367345e3811ea4a697bbd2e4de7699e18de974b482ccb0ce6",
    ),
}


def asset(name: str) -> str:
    """Return the text of the library: leaflet.js or leaflet.css.

    Raises
    ------
    KeyError
        No asset has this name.
    ValueError
        The text is not the one that was tried: the installed package has changed.

    References
    ----------
    own reasoning
    """
    address, expected = ASSETS[name]
    text = _table()[address].strip()
    found = hashlib.sha256(text.encode()).hexdigest()
    if found != expected:
        raise ValueError(f"{name} in {PACKAGE} has sha256 {found}; {expected} was tried")
    return text


@functools.cache
def _table() -> dict[str, str]:
    """Return the texts by the end of their address, read without importing the package."""
    file = next(f for f in metadata.files(PACKAGE) or [] if f.as_posix() == MODULE_FILE)
    ends = [address for address, _ in ASSETS.values()]
    found = {}
    for node in ast.parse(file.read_text(encoding="utf-8")).body:
        target = node.targets[0] if isinstance(node, ast.Assign) else None
        if not isinstance(node, ast.Assign) or not isinstance(target, ast.Subscript):
            continue
        if not isinstance(target.value, ast.Name) or target.value.id != TABLE:
            continue
        address = ast.literal_eval(target.slice)
        for end in ends:
            if address.endswith(end):
                found[end] = ast.literal_eval(node.value)
    return found
