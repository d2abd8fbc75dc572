"""Make the map: a folium map to show and extend in a notebook, and the one file for the owner."""

import base64
import functools
import hashlib
import html
import json
import re
from typing import Any

import folium
import jinja2
from branca.element import Element, Figure
from folium.template import Template
from markupsafe import Markup

from clearing.property import Results
from clearing.report import look, words
from clearing.report.assets import asset
from clearing.report.facts import BlockFacts, Summary
from clearing.report.field_log import field_log
from clearing.report.front import front_card
from clearing.report.layers import map_data
from clearing.report.picture import PhotoPicture
from clearing.report.plot_facts import plot_facts
from clearing.report.profile import HOW_TO_READ, profile_svg
from clearing.report.shared import SCRIPTS, STYLES, shared_text
from clearing.report.standing import MONEY_THERE_IS
from clearing.report.summary import summarise
from clearing.report.tree_facts import tree_facts
from clearing.report.ways import WAYS
from clearing.report.year_bars import year_bars
from clearing.report.year_charts import CHARTS, chart_svg

_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_INDENT, _COMMENT = re.compile(r"\n\s+"), re.compile(r"(?ms)^/\*.*?\*/\n")
NOTEBOOK_HEIGHT = "720px"


class Verbatim(Element):
    """A piece of page that is put in as it stands; folium would read it as a template."""

    _template = jinja2.Template("{{ this.text }}")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class Page(Figure):
    """The skeleton of the page."""

    _template = jinja2.Template(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n{{this.header.render(**kwargs)}}\n</head>\n'
        "<body>\n{{this.html.render(**kwargs)}}\n"
        "<script>{{this.script.render(**kwargs)}}</script>\n</body>\n</html>\n"
    )

    def __init__(self) -> None:
        super().__init__(height=NOTEBOOK_HEIGHT)
        self.header = Element()  # without branca's own line for the character set


class GroundMap(folium.Map):
    """A folium map cut down to Leaflet's core, without tiles and with a fixed name."""

    _template = Template(
        "{% macro html(this, kwargs) %}"
        '<div class="folium-map" id="{{ this.get_name() }}" tabindex="0"'
        ' role="region" aria-label="Map of the place"></div>'
        "{% endmacro %}"
        "{% macro script(this, kwargs) %}"
        "var {{ this.get_name() }} = L.map({{ this.get_name()|tojson }}, {"
        "center: {{ this.location|tojson }}, crs: L.CRS.{{ this.crs }},"
        " ...{{ this.options|tojavascript }} });"
        "\nclearingMap({{ this.get_name() }});"
        "{% endmacro %}"
    )
    default_js: list[tuple[str, str]] = []  # noqa: RUF012 - folium's own attribute
    default_css: list[tuple[str, str]] = []  # noqa: RUF012 - folium's own attribute

    def __init__(self, middle: list[float]) -> None:
        super().__init__(
            location=middle, tiles=None, zoom_start=16, max_zoom=21, zoom_snap=0.25,
            zoom_control=False, attribution_control=False,
        )  # fmt: skip
        self._id = "place"


def map(
    results: Results, picture: PhotoPicture | None = None, summary: Summary | None = None
) -> folium.Map:
    """Return the plan as a folium map, to show in a notebook and to add own layers to.

    Nothing is fetched from a network. Own markers and lines are added as to any folium map.

    Parameters
    ----------
    results : Results
        What the walk gave.
    picture : PhotoPicture or None
        The photo, from ``photo_picture``.
    summary : Summary or None
        As `summarise` gives it, when it is there already.

    References
    ----------
    own reasoning
    """
    summary = summarise(results) if summary is None else summary
    data = map_data(results, summary) | {"log": field_log(results, summary)}
    (south, west), (north, east) = data["bounds"]
    ground = GroundMap([(south + north) / 2, (west + east) / 2])
    page = Page()
    page.add_child(ground)
    if picture is not None:
        data["photo"] = _photo(picture)
    for name, text in _head(summary.property_name):
        page.header.add_child(Verbatim(text), name=name)
    for name, text in _body(results, summary, data, picture):
        page.html.add_child(Verbatim(text), name=name)
    return ground


def map_html(
    results: Results, picture: PhotoPicture | None = None, summary: Summary | None = None
) -> str:
    """Return the map as one file that asks nothing of a network.

    Its policy allows only the scripts written here, each by its sha256.

    Raises
    ------
    ValueError
        The page holds another number of scripts than were put in.

    References
    ----------
    own reasoning
    """
    page = map(results, picture, summary).get_root().render()
    scripts = _SCRIPT.findall(page)
    expected = 2 + len(SCRIPTS)  # Leaflet, ours, and the line that starts them
    if len(scripts) != expected:
        raise ValueError(f"the map holds {len(scripts)} scripts; {expected} were put in")
    return page.replace("<head>", f"<head>\n{_policy(scripts)}", 1)


def _policy(scripts: list[str]) -> str:
    """Return the policy that allows these scripts and nothing from outside."""
    sums = [base64.b64encode(hashlib.sha256(one.encode()).digest()).decode() for one in scripts]
    allowed = " ".join(f"'sha256-{one}'" for one in sums)
    rules = (
        f"default-src 'none'; script-src {allowed}; style-src 'unsafe-inline'; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    return f'<meta http-equiv="Content-Security-Policy" content="{rules}">'


def _head(title: str) -> list[tuple[str, str]]:
    """Return the pieces of the head, by name."""
    own = "\n".join(_light(name) for name in STYLES)
    styles = f"{asset('leaflet.css')}\n{look.css_tokens()}\n{own}"
    pieces = [
        ("charset", '<meta charset="utf-8">'),
        ("viewport", '<meta name="viewport" content="width=device-width, initial-scale=1">'),
        ("title", f"<title>{html.escape(title)}: the plan on the ground</title>"),
        ("style", f"<style>{styles}</style>"),
        ("leaflet", f"<script>{asset('leaflet.js')}</script>"),
    ]
    return pieces + [(name, f"<script>{_light(name)}</script>") for name in SCRIPTS]


def _light(name: str) -> str:
    """Return a script or style without indents and comments of whole lines: the map stays small.

    No text inside our scripts runs over several lines, so nothing that is shown changes.
    """
    return _COMMENT.sub("", _INDENT.sub("\n", shared_text(name)))


def _body(
    results: Results, summary: Summary, data: dict[str, Any], picture: PhotoPicture | None
) -> list[tuple[str, str]]:
    """Return the pieces of the body besides the map itself, by name."""
    template = _environment().get_template("panel.html")
    first, last = summary.years[0], summary.years[-1]
    panel = template.render(
        plan=summary,
        front=front_card(results, summary),
        money_there_is=MONEY_THERE_IS,
        trees=tree_facts(results),
        plots=plot_facts(results),
        charts={name: Markup(chart_svg(name, summary)) for name in CHARTS},
        bars=year_bars(summary),
        signs=look.SIGNS,
        ways=WAYS,
        has_photo=picture is not None,
        photo_note="" if picture is None else picture.note,
        paper_says=f"The plan runs from {first} to {last}."
        if last > first
        else f"Plan of {first}.",
        how_to_read=HOW_TO_READ,
        patterns=Markup(shared_text("patterns.svg") + shared_text("ways.svg")),
    )
    return [
        ("panel", panel),
        ("data", f'<script type="application/json" id="plan-data">{safe_json(data)}</script>'),
    ]


def safe_json(data: Any) -> str:
    r"""Return data as JSON that cannot end the script it stands in.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> safe_json("</script>")
    '"\\u003c/script\\u003e"'
    """
    text = json.dumps(data, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    for letter in "<>&\u2028\u2029":
        text = text.replace(letter, f"\\u{ord(letter):04x}")
    return text


def _photo(picture: PhotoPicture) -> dict[str, Any]:
    """Return the photo as a data address and its corners."""
    packed = base64.b64encode(picture.data).decode("ascii")
    corners = [[picture.south, picture.west], [picture.north, picture.east]]
    return {"url": f"data:{picture.mime};base64,{packed}", "bounds": corners}


def _profile(block: BlockFacts) -> Markup:
    """Return the picture of a block's stems; its own words are escaped where it is drawn."""
    return Markup(profile_svg(f"Stems of {block.name} by size", block.sizes))


@functools.cache
def _environment() -> jinja2.Environment:
    """Return the environment that escapes every value."""
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(shared_text),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    environment.filters["capitalize_first"] = words.sentence
    environment.filters["profile"] = _profile
    return environment
