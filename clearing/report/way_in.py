"""Say where one leaves the road for a strip: degrees, a geo address, its QR code, the road."""

import io

import geopandas as gpd
import segno

from clearing.property import Results
from clearing.report.facts import StripFacts
from clearing.report.facts_printed import WayIn
from clearing.report.layers import to_degrees
from clearing.report.strip_facts import has_access
from clearing.report.visit_facts import blank
from clearing.report.words import cut

PLACES = 5  # decimals of a degree in words: about a metre; own choice
GEO_PLACES = 6  # decimals of a degree in the code: a tenth of a metre; own choice
QUIET_ZONE = 2  # blank modules around the code; the box it stands in leaves more; own choice
NONE_DRAWN = "no road or gate is drawn: point on the strip's edge"
SAME_AS_KIND = ("public_road", "public road", "road")  # names that name no road


def ways_in(results: Results, strips: tuple[StripFacts, ...]) -> dict[str, WayIn]:
    """Return the way in of every strip, strip to place.

    Parameters
    ----------
    results : Results
        What the walk gave.
    strips : tuple of StripFacts
        Strips in words.

    References
    ----------
    rfc_5870
    """
    table = results.strips
    points = gpd.GeoDataFrame(
        {"strip_id": list(table["strip_id"])},
        geometry=gpd.points_from_xy(table["way_in_x_m"], table["way_in_y_m"]),
        crs=table.crs if table.crs is not None else results.grid,
    )
    roads = results.features
    drawn = has_access(results)
    roads = roads[roads["kind"] == "public_road"] if len(roads) else roads
    walks = {strip.strip_id: strip.way_in for strip in strips}
    out = {}
    for flat, round_ in zip(
        points.itertuples(), to_degrees(points, results.grid).geometry, strict=True
    ):
        road = ""
        if len(roads):
            nearest = roads.iloc[int(roads.distance(flat.geometry).to_numpy().argmin())]
            named = cut(blank(nearest["name"]).strip())
            road = "" if named.lower() in SAME_AS_KIND else named
        strip = str(flat.strip_id)
        out[strip] = WayIn(
            strip, round(round_.y, PLACES), round(round_.x, PLACES),
            f"{round_.y:.{PLACES}f}, {round_.x:.{PLACES}f}", geo_address(round_.y, round_.x),
            road, walks.get(strip, "") if drawn else NONE_DRAWN, drawn,
        )  # fmt: skip
    return out


def geo_address(latitude: float, longitude: float) -> str:
    """Return a place as a geo address: latitude, longitude in decimal degrees (WGS 84).

    References
    ----------
    rfc_5870

    Examples
    --------
    >>> geo_address(48.2010, 16.3695)
    'geo:48.201000,16.369500'
    """
    return f"geo:{latitude:.{GEO_PLACES}f},{longitude:.{GEO_PLACES}f}"


def qr_svg(text: str) -> str:
    """Return a QR code of a text as an SVG file, the same each time.

    References
    ----------
    iso_18004
    """
    out = io.BytesIO()
    segno.make(text, micro=False, error="m").save(
        out, kind="svg", border=QUIET_ZONE, xmldecl=False, dark="#000", light="#fff"
    )
    return out.getvalue().decode()
