"""What the page is told of the land and of the plan is what the rooms and files say."""

import json

import numpy as np
import pyogrio
import pytest
import shapely

from clearing import pipeline
from clearing.app.knows import ground_known, plan_known
from clearing.land import area_words
from clearing.report import look
from clearing.report.geopackage import geopackage_bytes
from clearing.report.plan_json import plan_json
from clearing.report.summary import summarise
from clearing.report.tables import plan_tables
from tests.report.small_place import small_results


def drawn(shape) -> shapely.Geometry:
    """Return a shape of the page as a shape of the plane, longitude to the right."""
    areas = [
        shapely.Polygon(*[[[x, y] for y, x in ring] for ring in part[:1]],
                        [[[x, y] for y, x in ring] for ring in part[1:]])
        for part in shape
    ]  # fmt: skip
    return shapely.union_all(areas)


@pytest.fixture(scope="module")
def known(place):
    """Return what is known of the sample property."""
    return ground_known(place)


@pytest.fixture(scope="module")
def seen(place):
    """Return the sample's walk up to its zones."""
    return pipeline.see(place)


@pytest.fixture
def home(tmp_path):
    """Return a folder with the plan of the small place, and an owner's files of before."""
    results = small_results()
    summary = summarise(results)
    tables = plan_tables(results, summary)
    for name in ("property.toml", "land.gpkg", "tally.csv", "records.csv"):
        (tmp_path / name).write_text("")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_bytes(plan_json(results, summary, tables))
    (tmp_path / "out" / "plan.gpkg").write_bytes(geopackage_bytes(results, summary, tables))
    return tmp_path


def test_strips_are_those_of_the_walk_where_they_lie(known, seen):
    """Number, block, name, area in words, and the shape to a tenth of a metre."""
    strips = seen.strips.to_crs("EPSG:4326").set_index("strip_id")
    assert [strip["id"] for strip in known["strips"]] == strips.index.tolist()
    for strip in known["strips"]:
        row = strips.loc[strip["id"]]
        assert (strip["block_id"], strip["name"]) == (row["block_id"], row["name"])
        assert strip["area"] == area_words(row["area_ha"] * 1e4, us=True)
        assert shapely.hausdorff_distance(drawn(strip["shape"]), row.geometry) < 1e-6
        assert drawn(strip["shape"]).contains(shapely.Point(strip["at"][::-1]))


def test_zones_are_shown_flag_by_flag(known, seen):
    """The ground of each rule is that of all zones that carry it, to a thousandth."""
    zones = seen.zones.to_crs("EPSG:4326")
    assert len(known["zones"]) > 2
    for zone in known["zones"]:
        held = zones["flags"].str.split("+").map(lambda flags, f=zone["flag"]: f in flags)
        wanted = shapely.union_all(zones.geometry[held].to_numpy())
        assert drawn(zone["shape"]).area == pytest.approx(wanted.area, rel=1e-3)


def test_stems_are_the_survey_s_with_their_range(known, seen):
    """A block's stems are stems a hectare times its hectares, ends too, and so is what is said."""
    areas = seen.ground.blocks.set_index("block_id")["area_ha"]
    rows = seen.totals.sort_values(["block_id", "species"])
    told = sorted((s for s in known["stems"] if s["block_id"]), key=lambda s: s["block_id"])
    assert len(told) == len(rows)
    for column, end in (("stems_per_ha", "value"), ("low", "low"), ("high", "high")):
        wanted = np.sort((rows[column] * rows["block_id"].map(areas)).to_numpy())
        assert np.sort([stem[end] for stem in told]) == pytest.approx(wanted)
    first = next(stem for stem in known["stems"] if stem["block_id"] == "1")
    assert first["words"] == "Block 1: about 840 stems (350 to 2,500) of Callery pear"
    assert first["basis"] == "from plots counted in it"


def test_remarks_are_those_of_check(known, place):
    """Notes and lines of ground left are what `clearing check` prints; all of it is plain JSON."""
    notes, left = pipeline.look(place)
    assert (known["notes"], known["left"]) == (list(notes), left)
    assert json.loads(json.dumps(known, allow_nan=False)) == known


def test_without_a_plan_there_is_none(tmp_path):
    """An empty folder has no plan, and that is no problem."""
    assert plan_known(tmp_path) is None


def test_each_strip_has_its_state_of_each_year(home):
    """State by state as plan.gpkg has it, each with the sign that the map draws."""
    plan = plan_known(home)
    layer = pyogrio.read_dataframe(home / "out" / "plan.gpkg", layer="strips").set_index("strip_id")
    assert plan["years"] == [2027, 2028, 2029, 2030]
    assert [strip["id"] for strip in plan["strips"]] == ["1a", "1b", "2", "3"]
    for strip in plan["strips"]:
        states = [year[0] for year in strip["years"]]
        assert states == [layer.loc[strip["id"], f"state_{year}"] for year in plan["years"]]
    signs = {sign["key"]: sign for sign in plan["signs"]}
    assert list(signs) == [sign.key for sign in look.SIGNS]
    assert signs["not_now"]["outline"] == "dashed"
    assert plan["strips"][0]["years"][1] == ["follow_up", 0, 1, "Follow-up spray in fall"]


def test_strips_of_a_plan_lie_where_they_were_planned(home):
    """The shapes are those of plan.gpkg in degrees; the headline is the map's."""
    plan = plan_known(home)
    layer = pyogrio.read_dataframe(home / "out" / "plan.gpkg", layer="strips")
    shapes = layer.to_crs("EPSG:4326").set_index("strip_id").geometry
    for strip in plan["strips"]:
        assert shapely.hausdorff_distance(drawn(strip["shape"]), shapes[strip["id"]]) < 1e-6
    assert plan["headline"] == summarise(small_results()).headline
    assert (plan["stale"], plan["problems"]) == ([], [])


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [("plan.json", "{", "cannot be read"), ("plan.json", "{}", "another version"),
     ("plan.gpkg", "no layers", "cannot be read"), ("plan.gpkg", None, "is missing")],
)  # fmt: skip
def test_a_plan_that_cannot_be_read_is_a_sentence(home, name, text, said):
    """Cut off, of an earlier version, spoiled or gone: what is wrong, and to plan anew."""
    path = home / "out" / name
    path.unlink() if text is None else path.write_text(text)
    (problem,) = plan_known(home)["problems"]
    assert name in problem
    assert said in problem
