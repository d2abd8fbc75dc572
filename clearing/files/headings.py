"""Recognise the owner's column names: other letters, names cut at ten letters, names of a map."""

from collections.abc import Iterable

import geopandas as gpd
import pandas as pd

from clearing.tables import cell_text, column_file, name_list, plain_name

CUT = 10  # letters of a column name that a Shapefile keeps (its format)
# what map programs write beside the owner's own columns
LEFTOVERS = {
    "kml": "id name description timestamp begin end altitudemode tessellate extrude visibility "
    "draworder icon snippet gx_media_links",
    "gpx": "name ele time magvar geoidheight cmt desc src number sym type fix sat hdop vdop pdop "
    "ageofdgpsdata dgpsid link1_href link1_text link1_type link2_href link2_text link2_type",
}
# a GPX point or track has a type beside its name; what that is in our layers
GPX_TYPE = {"features": "kind", "keep_trees": "species"}


def own_headings(
    layer: gpd.GeoDataFrame, name: str, ending: str
) -> tuple[gpd.GeoDataFrame, list[str]]:
    """Return a layer whose columns have the described names where they can be recognised.

    Parameters
    ----------
    layer : GeoDataFrame
        As a file holds it.
    name : str
        Which layer it is, such as ``blocks``.
    ending : str
        The file's ending without the dot, such as ``kml``.

    Returns
    -------
    GeoDataFrame
    list of str
        Names that may mean two columns, and columns that mean the same.

    References
    ----------
    own reasoning
    """
    described = column_file(name)
    known = described["column"].tolist()
    kind = "kml" if ending == "kmz" else ending
    if kind in LEFTOVERS:
        ids = described.loc[described["kind"] == "id", "column"].tolist()
        layer = _map_headings(layer, known, ids[0] if ids else "name", kind)
        if kind == "gpx" and name in GPX_TYPE:
            layer = layer.rename(columns={"gpx_type": GPX_TYPE[name]})
    means, problems = {}, []
    for column in map(str, layer.columns):
        might = _might_mean(column, known, ending == "shp")
        if might == ["geometry"] and column != layer.geometry.name:
            layer = layer.drop(columns=column)  # a text that a program wrote beside the shape
            continue
        if len(might) > 1 and _blank(layer[column]):
            layer = layer.drop(columns=column)
        elif len(might) > 1:
            short = " or ".join(_short(each) for each in might)
            problems.append(
                f"{name}: column {column!r} is a name cut at {CUT} letters and may be "
                f"{' or '.join(might)}; name it {short}, or save the layer as a GeoPackage"
            )
        elif might:
            means[column] = might[0]
    for wanted in sorted(set(means.values())):
        same = [column for column, meant in means.items() if meant == wanted]
        if len(same) > 1:
            problems.append(f"{name}: columns {name_list(same)} are all read as {wanted!r}; "
                            "keep one of them")  # fmt: skip
            means = {c: meant for c, meant in means.items() if meant != wanted or c == same[0]}
            layer = layer.drop(columns=same[1:])
    return layer.rename(columns=means), problems


def _map_headings(
    layer: gpd.GeoDataFrame, known: list[str], id_column: str, kind: str
) -> gpd.GeoDataFrame:
    """Return a layer of a map program: its names under our id column, its leftovers gone."""
    plain = {column: plain_name(str(column)).removeprefix("ogr_") for column in layer.columns}
    leftovers = set(LEFTOVERS[kind].split())
    rest = [c for c in layer.columns if plain[c] not in leftovers or str(c).startswith("ogr_")]
    kept = layer[rest].rename(columns={c: plain[c] for c in rest if plain[c] in known})
    own = {plain[column]: column for column in layer.columns if column not in rest}
    for goal in (id_column, "name" if "name" in known else None):
        if "name" in own and goal and goal not in kept and not _blank(layer[own["name"]]):
            kept[goal] = layer[own["name"]]
            break
    if "type" in own and not _blank(layer[own["type"]]) and "kind" not in kept:
        kept["gpx_type"] = layer[own["type"]]
    return kept


def _might_mean(column: str, known: Iterable[str], cut: bool) -> list[str]:
    """Return the described columns that a name may stand for."""
    plain = plain_name(column)
    exact = [name for name in known if name == column] or [n for n in known if n == plain]
    if exact or not cut:
        return exact
    whole = [name for name in known if len(name) > CUT and name[:CUT] == plain]
    return whole or [name for name in known if len(name) > CUT and _short(name) == plain]


def _short(name: str) -> str:
    """Return a column's name in ten letters that keep its unit: small_r_ft."""
    stem, _, unit = name.rpartition("_")
    return f"{stem[: CUT - len(unit) - 1].rstrip('_')}_{unit}" if stem and len(name) > CUT else name


def _blank(cells: pd.Series) -> bool:
    """Return whether nothing stands in a column."""
    return bool((cells.map(cell_text) == "").all())
