"""Say how each layer looks, as an OGC Styled Layer Descriptor (version 1.0.0), for any GIS.

Colors are the report's. The standard knows no hatching, so the second sign of a strip's state is
one of its own marks: crosses for standing dead, a full fill for cut, dots for follow-up, a pale
fill for grass, rings for clear, a broken outline for what waits.
"""

import xml.etree.ElementTree as ET
from collections.abc import Callable

from clearing.report import look, names

SLD, OGC = "http://www.opengis.net/sld", "http://www.opengis.net/ogc"
VERSION = "1.0.0"
STATE = "state_"  # column of a strip's state in a year, the year behind it
PALE = 0.45  # of a fill that lets the photo through
BROKEN = "8 5"
MARKS = {"rising": ("x", 7), "dots": ("circle", 4), "rings": ("circle", 8)}  # pattern -> mark, size
# feature kind -> outline, its width, its dashes; own choice
OUTLINES = {
    "water": (look.WATER, 2.5, ""), "building": (look.INK, 1.0, ""),
    "public_road": (look.INK, 3.0, ""), "farm_road": (look.INK, 1.5, ""),
    "trail": (look.INK, 1.0, "4 3"), "fence": (look.QUIET, 1.0, "9 3"),
    "property_line": (look.INK, 1.5, "12 4 2 4"), "power_line": (look.KEEP_OUT, 1.5, "2 4"),
    "crop": (look.QUIET, 1.0, "2 2"),
}  # fmt: skip
POINTS = {"well": "square", "gate": "triangle", "neighbour_tree": "circle"}
ZONES = {
    "fall_reach": (look.KEEP_OUT, "cross"), "water_edge": (look.WATER, "square"),
    "dripline": (look.KEEP_TREE, "circle"), "power_line": (look.INK, "triangle"),
}  # fmt: skip

for _prefix, _space in (("sld", SLD), ("ogc", OGC)):
    ET.register_namespace(_prefix, _space)


def layer_sld(layer: str, first_year: int) -> str:
    """Return the style of one layer of plan.gpkg as the text of an SLD file.

    Parameters
    ----------
    layer : str
        blocks, strips, zones, keep_trees, features or plots.
    first_year : int
        Year whose state the strips show.

    Raises
    ------
    KeyError
        There is no such layer.

    References
    ----------
    ogc_sld
    """
    fill: dict[str, Callable[[ET.Element], None]] = {
        "blocks": _blocks, "zones": _zones, "keep_trees": _keep_trees, "features": _features,
        "plots": _plots, "strips": lambda style: _strips(style, first_year),
    }  # fmt: skip
    put = fill[layer]
    root = ET.Element(f"{{{SLD}}}StyledLayerDescriptor", version=VERSION)
    named = _under(root, "NamedLayer")
    _under(named, "Name", layer)
    own = _under(named, "UserStyle")
    _under(own, "Name", layer)
    _under(own, "Title", _title(layer, first_year))
    _under(own, "IsDefault", "1")
    put(_under(own, "FeatureTypeStyle"))
    ET.indent(root, " ")
    return ET.tostring(root, encoding="unicode", xml_declaration=False) + "\n"


def _title(layer: str, first_year: int) -> str:
    text = layer.replace("_", " ").capitalize()
    return f"{text} at the end of {first_year}" if layer == "strips" else text


def _blocks(style: ET.Element) -> None:
    """Add the outline of blocks with their names."""
    rule = _rule(style, "Block")
    _stroke(_under(rule, "PolygonSymbolizer"), look.INK, 2.5)
    _label(rule, "name")


def _strips(style: ET.Element, year: int) -> None:
    """Add a rule for each state of the ground."""
    for sign in look.SIGNS:
        rule = _rule(style, sign.words)
        _equal(rule, f"{STATE}{year}", sign.key)
        area = _under(rule, "PolygonSymbolizer")
        if sign.pattern in MARKS:
            name, size = MARKS[sign.pattern]
            _mark(_under(_under(area, "Fill"), "GraphicFill"), name, size,
                  "" if sign.pattern == "rings" else sign.colour, sign.colour)  # fmt: skip
        elif sign.colour:
            fill = _under(area, "Fill")
            _css(fill, "fill", sign.colour)
            _css(fill, "fill-opacity", "1" if sign.pattern == "solid" else str(PALE))
        _stroke(area, sign.colour or look.INK, 1.2, BROKEN if sign.outline == "dashed" else "")
        _label(rule, "strip_id")


def _zones(style: ET.Element) -> None:
    """Add a rule for each flag; ground under several flags shows the mark of each."""
    for flag, (colour, mark) in ZONES.items():
        rule = _rule(style, names.ZONES[flag])
        like = ET.SubElement(_filter(rule), f"{{{OGC}}}PropertyIsLike", wildCard="*",
                             singleChar="?", escape="!")  # fmt: skip
        _pair(like, "flags", f"*{flag}*")
        area = _under(rule, "PolygonSymbolizer")
        _mark(_under(_under(area, "Fill"), "GraphicFill"), mark, 5, "", colour)
        _stroke(area, colour, 0.8)
    rule = _rule(style, "no rule of its own")
    _equal(rule, "flags", "open")
    _stroke(_under(rule, "PolygonSymbolizer"), look.LINE, 0.6)


def _keep_trees(style: ET.Element) -> None:
    """Add a ring for the crown and a dot for the stem."""
    rule = _rule(style, "keep tree")
    _mark(_under(rule, "PointSymbolizer"), "circle", 12, "", look.KEEP_TREE)
    _mark(_under(rule, "PointSymbolizer"), "circle", 3, look.KEEP_TREE, look.KEEP_TREE)


def _features(style: ET.Element) -> None:
    """Add a rule for each kind of feature."""
    for kind, (colour, width, dashes) in OUTLINES.items():
        rule = _rule(style, names.FEATURES[kind])
        _equal(rule, "kind", kind)
        _stroke(_under(rule, "LineSymbolizer"), colour, width, dashes)
    for kind, mark in POINTS.items():
        rule = _rule(style, names.FEATURES[kind])
        _equal(rule, "kind", kind)
        colour = look.KEEP_TREE if kind == "neighbour_tree" else look.INK
        _mark(_under(rule, "PointSymbolizer"), mark, 9, "", colour)


def _plots(style: ET.Element) -> None:
    """Add a cross for the middle of each plot."""
    _mark(_under(_rule(style, "plot"), "PointSymbolizer"), "cross", 9, look.INK, look.INK)


def _rule(style: ET.Element, words: str) -> ET.Element:
    rule = _under(style, "Rule")
    _under(rule, "Title", words)
    return rule


def _filter(rule: ET.Element) -> ET.Element:
    return ET.SubElement(rule, f"{{{OGC}}}Filter")


def _equal(rule: ET.Element, column: str, value: str) -> None:
    """Add a filter: the column holds the value."""
    _pair(ET.SubElement(_filter(rule), f"{{{OGC}}}PropertyIsEqualTo"), column, value)


def _pair(test: ET.Element, column: str, value: str) -> None:
    ET.SubElement(test, f"{{{OGC}}}PropertyName").text = column
    ET.SubElement(test, f"{{{OGC}}}Literal").text = value


def _stroke(symbolizer: ET.Element, colour: str, width: float, dashes: str = "") -> None:
    """Add an outline."""
    stroke = _under(symbolizer, "Stroke")
    _css(stroke, "stroke", colour)
    _css(stroke, "stroke-width", f"{width:g}")
    if dashes:
        _css(stroke, "stroke-dasharray", dashes)


def _mark(parent: ET.Element, name: str, size: int, fill: str, outline: str) -> None:
    """Add a mark that the standard names; open where it has no fill."""
    graphic = _under(parent, "Graphic")
    mark = _under(graphic, "Mark")
    _under(mark, "WellKnownName", name)
    inside = _under(mark, "Fill")
    _css(inside, "fill", fill or look.PAPER)
    if not fill:
        _css(inside, "fill-opacity", "0")
    _stroke(mark, outline, 1.0)
    _under(graphic, "Size", str(size))


def _label(rule: ET.Element, column: str) -> None:
    """Add the words of a column, with a rim of paper."""
    text = _under(rule, "TextSymbolizer")
    ET.SubElement(_under(text, "Label"), f"{{{OGC}}}PropertyName").text = column
    font = _under(text, "Font")
    _css(font, "font-family", "sans-serif")
    _css(font, "font-size", "12")
    halo = _under(text, "Halo")
    _under(halo, "Radius", "1.5")
    _css(_under(halo, "Fill"), "fill", look.PAPER)
    _css(_under(text, "Fill"), "fill", look.INK)


def _css(parent: ET.Element, name: str, value: str) -> None:
    ET.SubElement(parent, f"{{{SLD}}}CssParameter", name=name).text = value


def _under(parent: ET.Element, tag: str, text: str | None = None) -> ET.Element:
    """Return a new element of the standard's own under another one."""
    one = ET.SubElement(parent, f"{{{SLD}}}{tag}")
    one.text = text
    return one
