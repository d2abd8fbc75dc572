"""Make the test property longleaf_stand out of real trees and a real photo (see its NOTICE.md).

    python tests/data/make_longleaf.py [SOURCE]

SOURCE is a folder with longleaf.csv, OSBS_029.tif, OSBS_029_crowns.csv and LICENCES.md. Without
it the copies inside longleaf_stand are used again.
"""

import shutil
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
from shapely import LineString, Point, box

HERE = Path(__file__).resolve().parent
FOLDER = HERE / "longleaf_stand"
GRID = "EPSG:32617"
SIDE_M = 200.0  # the mapped stand is a square
GAP_M = 60.0  # the stand is put this far east of the photo (an invented place)
TARGET_BELOW_CM = 10.0  # the small pines play the trees to clear
KEEP_FROM_CM = 30.0  # the big ones are mapped as keep trees
RADIUS_M = 11.35  # a tenth of an acre
CELL_M = 40.0  # a plot in the middle of each 40 m cell
COUNTED = "2026-11-02"

PROPERTY_TOML = """\
# A test property of real trees: longleaf pines mapped on 200 x 200 m, and a real photo of another
# pine stand beside them. The place on the map is invented, and so is everything else here.

[property]
name = "Longleaf stand"
region = "southeast"
units = "metric"
first_year = 2027
years = 6

[targets]
species = ["longleaf_pine"]

# No handbook speaks of clearing longleaf pine; the test lets it behave like another tree.
[species.longleaf_pine]
like = "callery_pear"

[crew]
who = "hired"
people = 2
sawyers = 1
days_per_week = 3
hours_per_day = 7
wage_per_hour = 20

[contractor]
mowing_per_ha = 210

[money]
budget_per_year = [3000, 3000, 2500, 2500, 2000, 2000]
carry_over = false
discount_rate = 0.04
mower_per_hour = 60
value_per_ha_year = { pasture = 150, silvopasture = 125, woodland = 50 }

[strips]
hectares = 1.2

# Invented training label: read the label of the container in your hand.
[herbicide.glyphosate_4]
active_ingredient = "glyphosate"
kg_ae_per_l = 0.479
container_l = [5.0, 10.0]
price = [45, 84]
on_hand_l = 5.0
registration = "training only"
date = 2026-03-01
sites = ["pasture", "silvopasture", "woodland"]
methods = ["hack_and_squirt", "cut_and_spray", "foliar"]
limits = { kg_ae_per_ha_year = 8.9, graze_days = 14, hay_days = 14 }
confirmed = true

[plan]
done_when = { stems_over_1in = 0, seedlings_per_acre = 40 }
confidence = 0.9
seed = 1
"""
NOTICE = """# Whose data lie in this folder
The place on the map is invented: the stand of `longleaf.csv` never stood beside the photo, and
blocks, road, gate and property line were drawn for the tests. Diameters, positions of the stems
within the stand, photo and crowns are real.

"""
USED = ("longleaf.csv", "OSBS_029.tif", "OSBS_029_crowns.csv")  # the notice names more files


def main() -> None:
    """Write the folder."""
    FOLDER.mkdir(exist_ok=True)
    if len(sys.argv) > 1:
        _bring(Path(sys.argv[1]))
    with rasterio.open(FOLDER / "aerial.tif") as photo:
        tile = photo.bounds
    stems = pd.read_csv(FOLDER / "longleaf.csv")
    corner = np.array([round(tile.right) + GAP_M, round((tile.top + tile.bottom - SIDE_M) / 2)])
    stems["place"] = gpd.points_from_xy(*(stems[["x_m", "y_m"]].to_numpy() + corner).T)
    crowns = pd.read_csv(FOLDER / "OSBS_029_crowns.csv")
    _write("blocks", _blocks(tile, corner))
    _write("keep_trees", _keep_trees(stems, crowns))
    _write("features", _features(tile, corner))
    centres = CELL_M * (np.indices((5, 5)).reshape(2, -1).T + 0.5)
    _write("plots", _plots(centres + corner))
    _tally(stems, centres).to_csv(FOLDER / "tally.csv", index=False, lineterminator="\n")
    (FOLDER / "property.toml").write_text(PROPERTY_TOML, encoding="utf-8")


def _bring(source: Path) -> None:
    """Copy the data and the lines of the notice that speak of them."""
    for name in USED:
        shutil.copyfile(source / name, FOLDER / name.replace("OSBS_029.tif", "aerial.tif"))
    lines = (source / "LICENCES.md").read_text(encoding="utf-8").splitlines()
    wanted = [line for line in lines if any(name in line for name in USED)]
    text = NOTICE + "\n".join(wanted).replace("`OSBS_029.tif`", "`aerial.tif` (OSBS_029.tif)")
    (FOLDER / "NOTICE.md").write_text(text + "\n", encoding="utf-8")


def _blocks(tile: rasterio.coords.BoundingBox, corner: np.ndarray) -> gpd.GeoDataFrame:
    rows = [
        ("stand", "Old stand", "silvopasture", "open", "flat", "dry", "none", None),
        ("photo", "Photo piece", "silvopasture", "open", "flat", "dry", "none", "few"),
    ]
    names = ["block_id", "name", "goal", "brush", "ground", "wet", "stock", "density_guess"]
    shapes = [box(*corner, *(corner + SIDE_M)), box(*tile)]
    return gpd.GeoDataFrame(pd.DataFrame(rows, columns=names), geometry=shapes, crs=GRID)


def _keep_trees(stems: pd.DataFrame, crowns: pd.DataFrame) -> gpd.GeoDataFrame:
    """Return the big stems of the stand with dbh, and the crowns of the photo with width."""
    big = stems[stems["dbh_cm"] >= KEEP_FROM_CM]
    measured = pd.DataFrame(
        {
            "tree_id": [f"S{i + 1:03d}" for i in big.index],
            "species": "longleaf_pine",
            "dbh_cm": big["dbh_cm"].to_numpy(),
            "crown_m": np.nan,
        }
    )
    seen = pd.DataFrame(
        {
            "tree_id": [f"C{number:02d}" for number in crowns["id"]],
            "species": "longleaf_pine",
            "dbh_cm": np.nan,
            "crown_m": ((crowns["width_m"] + crowns["height_m"]) / 2).round(2),
        }
    )
    spots = [*big["place"], *gpd.points_from_xy(crowns["easting_m"], crowns["northing_m"])]
    table = pd.concat([measured, seen], ignore_index=True)
    return gpd.GeoDataFrame(table, geometry=spots, crs=GRID)


def _features(tile: rasterio.coords.BoundingBox, corner: np.ndarray) -> gpd.GeoDataFrame:
    """Return a lane between the blocks, its gate and the property line, all invented."""
    west, east = tile.left - 25, corner[0] + SIDE_M + 25
    south, north = corner[1] - 25, corner[1] + SIDE_M + 25
    lane = tile.right + GAP_M / 2
    line = LineString(box(west, south, east, north).exterior.coords)
    rows = [
        ("farm_road", LineString([(lane, south), (lane + 4, corner[1] + 90), (lane - 3, north)])),
        ("gate", Point(lane, south)),
        ("property_line", line),
    ]
    kinds = pd.DataFrame({"kind": [kind for kind, _ in rows]})
    return gpd.GeoDataFrame(kinds, geometry=[shape for _, shape in rows], crs=GRID)


def _plots(centres: np.ndarray) -> gpd.GeoDataFrame:
    table = pd.DataFrame({"plot_id": [f"P{i + 1:02d}" for i in range(len(centres))]})
    table = table.assign(radius_m=RADIUS_M, visited="yes")
    return gpd.GeoDataFrame(table, geometry=gpd.points_from_xy(*centres.T), crs=GRID)


def _tally(stems: pd.DataFrame, centres: np.ndarray) -> pd.DataFrame:
    """Return every stem on every plot, one row each; those of 10 cm and more are kept."""
    parts = []
    for number, (x, y) in enumerate(centres, start=1):
        on = stems[np.hypot(stems["x_m"] - x, stems["y_m"] - y) <= RADIUS_M]
        on = on.sort_values("dbh_cm")
        keep = np.where(on["dbh_cm"] < TARGET_BELOW_CM, "no", "yes")
        parts.append(pd.DataFrame({"dbh_cm": on["dbh_cm"], "keep": keep}).assign(plot_id=number))
    tally = pd.concat(parts, ignore_index=True)
    tally["plot_id"] = tally["plot_id"].map("P{:02d}".format)
    tally = tally.assign(species="longleaf_pine", count=1, status="live", date=COUNTED)
    return tally[["plot_id", "species", "dbh_cm", "count", "keep", "status", "date"]]


def _write(layer: str, table: gpd.GeoDataFrame) -> None:
    """Write one layer as GeoJSON in longitude and latitude."""
    path = FOLDER / f"{layer}.geojson"
    path.unlink(missing_ok=True)
    table.to_crs("EPSG:4326").to_file(path, driver="GeoJSON", coordinate_precision=9)


if __name__ == "__main__":
    main()
