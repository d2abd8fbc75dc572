"""The styles keep to the OGC's Styled Layer Descriptor 1.0.0 and show what the map shows."""

import xml.etree.ElementTree as ET

import pytest

from clearing.report import look
from clearing.report.layer_styles import OGC, SLD, layer_sld

LAYERS = ("blocks", "strips", "zones", "keep_trees", "features", "plots")
# what may stand in an element, in this order (schema StyledLayerDescriptor.xsd 1.0.0, OGC 02-070)
ORDER = {
    "StyledLayerDescriptor": ["NamedLayer"],
    "NamedLayer": ["Name", "UserStyle"],
    "UserStyle": ["Name", "Title", "Abstract", "IsDefault", "FeatureTypeStyle"],
    "FeatureTypeStyle": ["Name", "Title", "Abstract", "Rule"],
    "Rule": ["Name", "Title", "Abstract", "LegendGraphic", "Filter", "ElseFilter",
             "PolygonSymbolizer", "LineSymbolizer", "PointSymbolizer", "TextSymbolizer"],
    "PolygonSymbolizer": ["Geometry", "Fill", "Stroke"],
    "LineSymbolizer": ["Geometry", "Stroke"],
    "PointSymbolizer": ["Geometry", "Graphic"],
    "TextSymbolizer": ["Geometry", "Label", "Font", "LabelPlacement", "Halo", "Fill"],
    "Fill": ["GraphicFill", "CssParameter"],
    "Stroke": ["GraphicFill", "GraphicStroke", "CssParameter"],
    "GraphicFill": ["Graphic"],
    "Graphic": ["Mark", "Opacity", "Size", "Rotation"],
    "Mark": ["WellKnownName", "Fill", "Stroke"],
    "Halo": ["Radius", "Fill"],
    "Font": ["CssParameter"],
    "Label": ["PropertyName"],
    "Filter": ["PropertyIsEqualTo", "PropertyIsLike"],
    "PropertyIsEqualTo": ["PropertyName", "Literal"],
    "PropertyIsLike": ["PropertyName", "Literal"],
}  # fmt: skip
IN_OGC = {"Filter", "PropertyIsEqualTo", "PropertyIsLike", "PropertyName", "Literal"}
KNOWN_MARKS = {"square", "circle", "triangle", "star", "cross", "x"}  # OGC 02-070, WellKnownName


def root(layer: str) -> ET.Element:
    """Return the style of a layer, parsed."""
    return ET.fromstring(layer_sld(layer, 2027))


def own(element: ET.Element) -> str:
    """Return the name of an element without its namespace."""
    return element.tag.rpartition("}")[2]


@pytest.mark.parametrize("layer", LAYERS)
def test_elements_stand_in_the_order_of_the_schema(layer):
    """Each element holds only what the schema lets it hold, in its order and namespace."""
    top = root(layer)
    assert top.get("version") == "1.0.0"
    for element in top.iter():
        name = own(element)
        assert element.tag == f"{{{OGC if name in IN_OGC else SLD}}}{name}"
        places = [ORDER.get(name, []).index(own(child)) for child in element]
        assert places == sorted(places), name


@pytest.mark.parametrize("layer", LAYERS)
def test_marks_are_those_of_the_standard(layer):
    """No mark of one vendor's is used."""
    marks = {one.text for one in root(layer).iter(f"{{{SLD}}}WellKnownName")}
    assert marks <= KNOWN_MARKS


def test_strips_have_a_rule_for_every_state_of_the_first_year():
    """Each state of the map has a rule that asks the column of the plan's first year."""
    tests = list(root("strips").iter(f"{{{OGC}}}PropertyIsEqualTo"))
    assert {one[0].text for one in tests} == {"state_2027"}
    assert [one[1].text for one in tests] == [sign.key for sign in look.SIGNS]


def test_no_two_states_look_alike_without_color():
    """With every color taken out, the rules of the states still differ."""
    seen = set()
    for rule in root("strips").iter(f"{{{SLD}}}Rule"):
        area = rule.find(f"{{{SLD}}}PolygonSymbolizer")
        text = ET.tostring(area, encoding="unicode")
        for sign in look.SIGNS:
            text = text.replace(sign.colour or look.INK, "#")
        seen.add(text.replace(look.INK, "#"))
    assert len(seen) == len(look.SIGNS)


def test_an_unknown_layer_is_an_error():
    """There is a style for the six layers and no other."""
    with pytest.raises(KeyError, match="roads"):
        layer_sld("roads", 2027)
