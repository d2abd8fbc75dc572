"""Draw the pictures of the work plan: the ground of a block, its stems, the years at a glance."""

import io

import geopandas as gpd
import matplotlib as mpl
import matplotlib.patheffects
import matplotlib.ticker
import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from clearing import units
from clearing.property import Results
from clearing.report import look, names
from clearing.report.picture import WEB_MAP, PhotoPicture

HATCH = {"rising": "////", "dots": "..", "fading": "", "solid": "", "none": "", "rings": "oo"}
METHOD_SIGN = {
    "hack_and_leave": "standing_dead",
    "split": "standing_dead",
    "basal_bark": "standing_dead",
    "hack_then_fell": "standing_dead",
    "cut_and_spray": "cut",
    "foliar": "follow_up",
    "mow_then_spray": "follow_up",
    "not_now": "not_now",
}
DPI = 150
FONT = "DejaVu Sans"
BAR_CHOICES_US = (25, 50, 100, 200, 300, 500, 1000)  # feet
BAR_CHOICES_METRIC = (10, 20, 50, 100, 200, 300)  # metres
SHORTER = {" in": "", " cm": "", "under ": "<", "over ": ">", "seedling": "seed-\nling"}
LINES = {
    "water": (look.WATER, 2.2, "-"),
    "public_road": (look.INK, 2.4, "-"),
    "farm_road": (look.INK, 1.2, "-"),
    "trail": (look.INK, 0.9, (0, (4, 3))),
    "fence": (look.INK, 0.7, (0, (1, 2))),
    "property_line": (look.INK, 1.0, (0, (8, 3, 1, 3))),
    "power_line": (look.KEEP_OUT, 1.2, (0, (6, 2))),
}


def ground_jpeg(
    results: Results,
    picture: PhotoPicture | None,
    block_id: str | None,
    inches: tuple[float, float],
) -> bytes:
    """Return a picture of one block (or of all): photo, strips, zones, keep trees, scale, north.

    Parameters
    ----------
    results : Results
        What the walk gave.
    picture : PhotoPicture or None
        The photo; without it the ground is plain paper.
    block_id : str or None
        None draws the whole property.
    inches : (width, height)
        Size of the picture.

    References
    ----------
    own reasoning
    """
    with mpl.rc_context({"font.family": FONT, "hatch.linewidth": 0.6, "font.size": 8}):
        figure = Figure(figsize=inches, dpi=DPI)
        axes = figure.add_axes((0, 0, 1, 1))
        window = _window(results, block_id, inches)
        if picture is not None:
            _photo(axes, picture)
        _strips(axes, results, block_id)
        if block_id is not None:
            _ruled_ground(axes, results, block_id)
        _features(axes, results, window)
        _trees(axes, results, window, small=block_id is None)
        _names(axes, results, block_id)
        axes.set(xlim=window[::2], ylim=window[1::2])
        axes.set_aspect("equal")
        axes.axis("off")
        _scale_and_north(axes, window, results)
        return _picture(figure, "jpeg")


def stems_png(results: Results, block_id: str, inches: tuple[float, float]) -> bytes:
    """Return bars of the stems by size class with whiskers of the interval.

    References
    ----------
    own reasoning
    """
    rows = results.stocking[results.stocking["block_id"] == block_id]
    area = float(results.blocks.set_index("block_id").loc[block_id, "area_ha"])
    sizes = results.rates.sizes
    label = "label_us" if results.property.settings.us else "label_metric"
    species = sorted(rows["species"].unique())
    with mpl.rc_context({"font.family": FONT, "font.size": 7}):
        figure = Figure(figsize=inches, dpi=DPI)
        axes = figure.add_axes((0.14, 0.33, 0.85, 0.64))
        width = 0.8 / max(len(species), 1)
        for i, name in enumerate(species):
            own = rows[rows["species"] == name].set_index("size_class").reindex(sizes["size_class"])
            stems, low, high = (
                own[c].fillna(0).to_numpy() * area for c in ("stems_per_ha", "low", "high")
            )
            x = np.arange(len(sizes)) + (i - (len(species) - 1) / 2) * width
            axes.bar(x, stems, width * 0.9, facecolor="white" if i else look.LINE, lw=0.8,
                     edgecolor=look.INK, hatch="" if i == 0 else "////",
                     label=names.species_name(name))  # fmt: skip
            axes.errorbar(x, stems, [stems - low, high - stems], fmt="none", ecolor=look.INK,
                          elinewidth=0.8, capsize=1.5)  # fmt: skip
        axes.set_xticks(range(len(sizes)), [_short(text) for text in sizes[label]])
        axes.set_xlabel("inches" if results.property.settings.us else "centimetres")
        axes.spines[["top", "right"]].set_visible(False)
        axes.set_ylim(bottom=0)
        axes.yaxis.set_major_locator(mpl.ticker.MaxNLocator(4, integer=True))
        axes.legend(frameon=False, loc="upper right")
        return _picture(figure, "png")


def _short(text: str) -> str:
    """Return a size class as it fits under a bar."""
    for long, short in SHORTER.items():
        text = text.replace(long, short)
    return text


def _picture(figure: Figure, kind: str) -> bytes:
    """Return a figure as JPEG (ground) or PNG (chart), the same bytes each time."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    pixels = Image.fromarray(np.asarray(canvas.buffer_rgba())[..., :3].copy())
    packed = io.BytesIO()
    if kind == "jpeg":
        pixels.save(packed, "JPEG", quality=80, optimize=True)
    else:
        pixels.quantize(32).save(packed, "PNG", optimize=True)
    return packed.getvalue()


def _flat(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return layer.to_crs(WEB_MAP)


def _window(
    results: Results, block_id: str | None, inches: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Return west, south, east, north of the picture, with room around the ground."""
    blocks = results.blocks
    if block_id is not None:
        blocks = blocks[blocks["block_id"] == block_id]
    west, south, east, north = _flat(blocks).total_bounds
    width, height = (east - west) * 1.16, (north - south) * 1.16
    ratio = inches[0] / inches[1]
    width, height = max(width, height * ratio), max(height, width / ratio)
    x, y = (west + east) / 2, (south + north) / 2
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2


def _photo(axes: Axes, picture: PhotoPicture) -> None:
    """Draw the photo, paled so that ink shows on it."""
    corners = gpd.GeoSeries(
        gpd.points_from_xy([picture.west, picture.east], [picture.south, picture.north]),
        crs="EPSG:4326",
    ).to_crs(WEB_MAP)
    pixels = np.asarray(Image.open(io.BytesIO(picture.data)).convert("RGB"))
    extent = (corners.x.iloc[0], corners.x.iloc[1], corners.y.iloc[0], corners.y.iloc[1])
    axes.imshow(pixels, extent=extent, alpha=0.72, interpolation="bilinear", zorder=0)


def _strips(axes: Axes, results: Results, block_id: str | None) -> None:
    """Draw the strips with the sign of what is first done to them."""
    strips = _flat(results.strips)
    if block_id is not None:
        strips = strips[strips["block_id"] == block_id]
    chosen = results.plan.options.set_index("strip_id")["method"]
    for row in strips.itertuples():
        sign = look.sign(METHOD_SIGN.get(chosen.get(row.strip_id, "not_now"), "untouched"))
        fill = (*mpl.colors.to_rgb(sign.colour), 0.32) if sign.colour else "none"
        edge = mpl.colors.to_rgb(sign.colour) if sign.colour else look.INK
        gpd.GeoSeries([row.geometry]).plot(
            ax=axes, facecolor=fill, edgecolor=edge, hatch=HATCH[sign.pattern], lw=0, zorder=2
        )
        style = "--" if sign.outline == "dashed" else "-"
        gpd.GeoSeries([row.geometry.boundary]).plot(
            ax=axes, color=look.INK, lw=1.1, ls=style, zorder=4
        )


def _ruled_ground(axes: Axes, results: Results, block_id: str) -> None:
    """Draw fall reach, water edge and power line as keep-out hatching."""
    own = results.strips.loc[results.strips["block_id"] == block_id, "strip_id"]
    zones = results.zones[results.zones["strip_id"].isin(own)]
    zones = zones[zones["flags"].str.contains("fall_reach|water_edge|power_line")]
    if len(zones):
        ground = gpd.GeoSeries([shapely.union_all(_flat(zones).geometry.to_numpy())])
        ground.plot(ax=axes, facecolor="none", edgecolor=look.KEEP_OUT, hatch="\\\\\\", lw=0.7,
                    zorder=3)  # fmt: skip


def _features(axes: Axes, results: Results, window: tuple[float, float, float, float]) -> None:
    """Draw creek, roads, fences, lines and buildings."""
    features = _flat(results.features)
    features = features[features.intersects(shapely.box(*window))]
    for row in features.itertuples():
        shape = gpd.GeoSeries([row.geometry])
        colour, width, style = LINES.get(row.kind, (look.INK, 0.8, "-"))
        if row.geometry.geom_type.endswith("Polygon") and row.kind in ("building", "water"):
            fill = look.INK if row.kind == "building" else look.WATER
            shape.plot(ax=axes, color=fill, zorder=5)
        elif row.geometry.geom_type.endswith("Point"):
            shape.plot(ax=axes, color=look.INK, marker="s", markersize=14, zorder=6)
        else:
            outline = row.geometry.geom_type.endswith("Polygon")
            lines = row.geometry.boundary if outline else row.geometry
            for part in shapely.get_parts(lines):
                axes.plot(*part.xy, color=colour, lw=width, ls=style, zorder=5)


def _trees(
    axes: Axes, results: Results, window: tuple[float, float, float, float], small: bool
) -> None:
    """Draw keep trees as rings of their crowns with a dot for the stem."""
    trees = results.keep_trees
    if not len(trees):
        return
    crowns = _flat(trees.set_geometry(trees.buffer(trees["crown_m"] / 2)))
    seen = crowns[crowns.intersects(shapely.box(*window))]
    if not len(seen):
        return
    seen.plot(ax=axes, facecolor=(*mpl.colors.to_rgb(look.KEEP_TREE), 0.18), zorder=6,
              edgecolor=look.KEEP_TREE, lw=0.4 if small else 0.9)  # fmt: skip
    if not small:
        seen.centroid.plot(ax=axes, color=look.KEEP_TREE, markersize=3, zorder=7)


def _names(axes: Axes, results: Results, block_id: str | None) -> None:
    """Write the ids of strips (on the overview: of blocks) inside them."""
    layer, column = (
        (results.blocks, "block_id") if block_id is None else (results.strips, "strip_id")
    )
    rows = _flat(layer if block_id is None else layer[layer["block_id"] == block_id])
    halo = [mpl.patheffects.withStroke(linewidth=2.5, foreground=look.PAPER)]
    for _, row in rows.iterrows():
        point = shapely.maximum_inscribed_circle(row.geometry, tolerance=1.0).coords[0]
        axes.text(
            point[0], point[1], str(row[column]), ha="center", va="center", fontsize=13,
            color=look.INK, weight="bold", path_effects=halo, zorder=9,
        )  # fmt: skip


def _scale_and_north(
    axes: Axes, window: tuple[float, float, float, float], results: Results
) -> None:
    """Draw a scale bar and a north arrow; the map's metres are longer than true ones."""
    us = results.property.settings.us
    west, south, east, north = window
    middle = gpd.GeoSeries(gpd.points_from_xy([west], [(south + north) / 2]), crs=WEB_MAP).to_crs(
        "EPSG:4326"
    )
    stretch = 1.0 / np.cos(np.radians(middle.y.iloc[0]))
    step_m = units.M_PER_FT if us else 1.0
    fits = [n for n in (BAR_CHOICES_US if us else BAR_CHOICES_METRIC)
            if n * step_m * stretch <= 0.3 * (east - west)]  # fmt: skip
    number = fits[-1] if fits else (BAR_CHOICES_US if us else BAR_CHOICES_METRIC)[0]
    length = number * step_m * stretch
    x, y = west + 0.03 * (east - west), south + 0.05 * (north - south)
    halo = [mpl.patheffects.withStroke(linewidth=3, foreground=look.PAPER)]
    axes.plot([x, x + length], [y, y], color=look.INK, lw=3, path_effects=[
        mpl.patheffects.withStroke(linewidth=6, foreground=look.PAPER)], zorder=9)  # fmt: skip
    axes.text(x + length / 2, y + 0.015 * (north - south), f"{number} {'ft' if us else 'm'}",
              ha="center", va="bottom", path_effects=halo, zorder=9)  # fmt: skip
    up = east - 0.05 * (east - west)
    axes.annotate("N", (up, north - 0.04 * (north - south)), (up, north - 0.17 * (north - south)),
                  ha="center", va="top", weight="bold", path_effects=halo, zorder=9,
                  arrowprops={"arrowstyle": "-|>", "color": look.INK, "lw": 1.6})  # fmt: skip
