"""plan.gpkg opens in a GIS: layers, tables, styles, and the same file every time."""

import sqlite3
from dataclasses import replace

import pyogrio
import pytest

from clearing import report
from clearing.report.geopackage import geopackage_bytes
from clearing.report.tables import plan_tables
from tests.hostile_place import NAMES
from tests.report.small_place import GRID, small_results

LAYERS = ["blocks", "strips", "zones", "keep_trees", "features", "plots"]
STYLE_COLUMNS = (
    "f_table_catalog f_table_schema f_table_name f_geometry_column styleName styleQML styleSLD "
    "useAsDefault description owner ui update_time"
)


def made(results=None) -> bytes:
    """Return plan.gpkg of the small place, or of another."""
    results = results or small_results()
    summary = report.summarise(results)
    return geopackage_bytes(results, summary, plan_tables(results, summary))


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    """Return where plan.gpkg of the small place stands."""
    path = tmp_path_factory.mktemp("gpkg") / "plan.gpkg"
    path.write_bytes(made())
    return path


def test_all_layers_and_tables_are_listed(path):
    """A reader lists six layers with their kind of geometry and three tables without one."""
    listed = {str(name): kind for name, kind in pyogrio.list_layers(path)}
    assert list(listed) == [*LAYERS, "visits", "forecast", "layer_styles"]
    kinds = ["MultiPolygon"] * 3 + ["Point", "Unknown", "Point", None, None, None]
    assert list(listed.values()) == kinds


@pytest.mark.parametrize("layer", LAYERS)
def test_layers_stand_in_the_property_s_grid(path, layer):
    """Each layer states the equal-area grid of the property."""
    assert pyogrio.read_dataframe(path, layer=layer).crs == GRID


def test_the_grid_has_a_name(path):
    """A GIS lists the grid that the land lies in by a name, its middle in it, not as unknown."""
    with sqlite3.connect(path) as base:
        names = {name for (name,) in base.execute(
            "select srs_name from gpkg_spatial_ref_sys join gpkg_geometry_columns using (srs_id)"
        )}  # fmt: skip
    base.close()
    assert names == {"clearing equal-area grid at 36.33, -85.75"}


def test_a_layer_without_a_thing_in_it_keeps_its_kind(tmp_path):
    """A place without trees, plots and features has empty layers of points and of any kind."""
    results = small_results()
    bare = {name: getattr(results, name).iloc[:0] for name in ("keep_trees", "features", "plots")}
    path = tmp_path / "plan.gpkg"
    path.write_bytes(made(replace(results, **bare)))
    listed = dict(pyogrio.list_layers(path).tolist())
    assert [listed[name] for name in bare] == ["Point", "Unknown", "Point"]


def test_strips_carry_the_plan(path):
    """Strips hold their area, state by year, and hours and cost with their range."""
    strips = pyogrio.read_dataframe(path, layer="strips")
    assert strips.area.sum() == pytest.approx(80_000)
    first = strips.iloc[0]
    assert (first["state_2027"], first["start_year"]) == ("standing_dead", 2027)
    assert first["hours_low"] < first["hours"] < first["hours_high"]
    assert first["cost_low"] < first["cost"] < first["cost_high"]
    assert first["area_acres"] == 4.94  # 2 ha; 1 ha = 2.471 acres (NIST HB 44, appendix C)


def test_zones_carry_their_flags(path):
    """Zones keep the rules they stand under."""
    assert pyogrio.read_dataframe(path, layer="zones")["flags"].tolist() == ["fall_reach", "open"]


def test_the_table_of_styles_has_a_row_a_layer(path):
    """A GIS that looks into layer_styles finds each layer's style, as default, in SLD alone."""
    with sqlite3.connect(path) as base:
        cursor = base.execute(f"select {', '.join(STYLE_COLUMNS.split())} from layer_styles")
        rows = [dict(zip(STYLE_COLUMNS.split(), row, strict=True)) for row in cursor]
    base.close()
    assert [row["f_table_name"] for row in rows] == LAYERS
    assert {(row["f_geometry_column"], row["useAsDefault"], row["styleQML"]) for row in rows} == {
        ("geom", 1, ""),
    }  # fmt: skip
    assert all(row["styleSLD"].startswith("<sld:StyledLayerDescriptor") for row in rows)


def test_every_table_is_registered_and_the_file_is_sound(path):
    """Every table is in gpkg_contents (GeoPackage 1.3, OGC 12-128r17), and SQLite finds no fault.

    Tables without a geometry are registered as attributes.
    """
    with sqlite3.connect(path) as base:
        kinds = dict(base.execute("select table_name, data_type from gpkg_contents"))
        columns = dict(base.execute("select table_name, column_name from gpkg_geometry_columns"))
        sound = base.execute("pragma integrity_check").fetchone()
    base.close()
    assert [name for name, kind in kinds.items() if kind == "features"] == LAYERS
    assert [name for name, kind in kinds.items() if kind == "attributes"] == [
        "visits", "forecast", "layer_styles",
    ]  # fmt: skip
    assert set(columns.values()) == {"geom"}
    assert sound == ("ok",)


def test_the_same_plan_gives_the_same_file():
    """No clock is in the file."""
    assert made() == made()


@pytest.mark.parametrize("name", NAMES)
def test_a_hostile_name_is_read_back_whole(name, tmp_path):
    """A GIS reads a block's name as it was given."""
    (tmp_path / "plan.gpkg").write_bytes(made(small_results(name)))
    assert pyogrio.read_dataframe(tmp_path / "plan.gpkg", layer="blocks").loc[0, "name"] == name
