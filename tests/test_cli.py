"""Every verb: help, exit codes, and figures as JSON on standard output."""

import csv
import json
import tomllib

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import rasterio
import shapely
from click.testing import CliRunner
from rasterio.transform import from_origin

import clearing
from clearing.cli import main

VERBS = list(main.commands)
SETTINGS = """\
[property]
name = "Small place"
first_year = 2027
years = 4
[targets]
species = ["callery_pear"]
[money]
budget_per_year = 3000
value_per_acre_year = { pasture = 2000 }
[herbicide.glyphosate_4]
active_ingredient = "glyphosate"
lb_ae_per_gal = 4.0
price = 38
container_gal = 1.0
sites = ["pasture"]
methods = ["hack_and_squirt", "cut_and_spray", "foliar"]
confirmed = true
"""


def ask(*words: object):
    """Return the answer of one command."""
    return CliRunner().invoke(main, [str(word) for word in words])


def small_place(folder, more: str = "", road: bool = True):
    """Write a block of an acre, beside a road or alone, without plots; return its folder."""
    folder.mkdir()
    (folder / "property.toml").write_text(SETTINGS + more)
    box = shapely.box(500_000, 4_020_000, 500_064, 4_020_063)
    rows = [{"block_id": "1", "brush": "open", "density_guess": "few", "geometry": box}]
    blocks = gpd.GeoDataFrame(rows, crs="EPSG:32616")
    pyogrio.write_dataframe(blocks, folder / "land.gpkg", layer="blocks", driver="GPKG")
    if road:
        line = shapely.LineString([(500_000, 4_019_990), (500_064, 4_019_990)])
        lines = gpd.GeoDataFrame([{"kind": "public_road", "geometry": line}], crs="EPSG:32616")
        pyogrio.write_dataframe(lines, folder / "land.gpkg", layer="features", driver="GPKG")
    return folder


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """Return the small place with its plan, and what ``clearing plan --json`` said."""
    folder = small_place(tmp_path_factory.mktemp("cli") / "small_place")
    return folder, ask("plan", folder, "--json")


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_has_help(verb):
    """It says what it does, in a sentence, and names each of its options."""
    answer = ask(verb, "--help")
    assert answer.exit_code == 0
    command = main.commands[verb]
    assert command.get_short_help_str(200).endswith(".")
    for option in command.params:
        assert all(name in answer.output for name in option.opts if name.startswith("--"))


def test_the_list_of_verbs_is_in_the_order_of_the_work():
    """Demo first, then start, draw, plots, check, plan and what follows."""
    assert VERBS == [
        "demo",
        "new",
        "draw",
        "plots",
        "check",
        "plan",
        "mix",
        "budget",
        "log",
        "next",
    ]
    assert ask("--version").output.strip().endswith(clearing.__version__)


@pytest.mark.parametrize(
    "words",
    [("plans",), ("plan",), ("plan", "x", "--gap", "much"), ("log", "x", "burn"), ("mix",),
     ("mix", "--tank", "1bucket", "--percent", "2"), ("mix", "--tank", "1gal")],
)  # fmt: skip
def test_wrong_use_exits_2(words):
    """Unknown verbs, missing or senseless options."""
    answer = ask(*words)
    assert answer.exit_code == 2
    assert "Error" in answer.stderr
    assert answer.stdout == ""


@pytest.mark.parametrize("verb", ["draw", "plots", "check", "plan", "budget", "next", "log"])
def test_problems_of_the_input_exit_1(verb, tmp_path):
    """A folder that is not there is a sentence on standard error, nothing on standard output."""
    more = ["list"] if verb == "log" else []
    answer = ask(verb, tmp_path / "nowhere", *more)
    assert answer.exit_code == 1
    assert "there is no folder" in answer.stderr
    assert answer.stdout == ""


def test_check_says_problems_as_json_too(sample):
    """Exit 1, and the list on standard output."""
    text = (sample / "property.toml").read_text().replace("first_year", "frist_year", 1)
    (sample / "property.toml").write_text(text)
    answer = ask("check", sample, "--json")
    assert answer.exit_code == 1
    assert any("frist_year" in problem for problem in json.loads(answer.stdout)["problems"])


@pytest.fixture(scope="module")
def checked(tmp_path_factory):
    """Return a copy of the sample, and what was said of it: in words, and as JSON."""
    folder = clearing.copy_sample(tmp_path_factory.mktemp("checked") / "sourwood_hollow")
    return folder, ask("check", folder), ask("check", folder, "--json")


def test_check_names_what_is_to_be_confirmed(checked):
    """No problems: exit 0, labels to confirm and defaults; nothing is written."""
    folder, plain, answer = checked
    found = json.loads(answer.stdout)
    assert answer.exit_code == 0
    assert found["problems"] == []
    assert any("imazapyr 2" in line for line in found["to_confirm"])
    assert "13 blocks" in plain.stdout
    assert all(line in plain.stdout for line in [*found["to_confirm"], *found["defaults"]])
    assert not (folder / "out").exists()


def test_draw_serves_the_folder_and_starts_a_property_where_there_is_none(tmp_path, monkeypatch):
    """The verb hands folder, port and wish to the page; settings are there by then."""
    asked = []
    monkeypatch.setattr("clearing.app.serve", lambda *given: asked.append(given))
    (tmp_path / "place").mkdir()
    assert ask("draw", tmp_path / "place", "--port", "8123", "--no-show").exit_code == 0
    [(folder, port, show, _)] = asked
    assert (folder, port, show) == (tmp_path / "place", 8123, False)
    assert (folder / "property.toml").exists()


def test_draw_asks_for_a_folder_that_is_there():
    """A mistyped folder is named, and nothing is made."""
    answer = ask("draw", "no_such_place", "--no-show")
    assert answer.exit_code == 1
    assert "there is no folder no_such_place" in answer.stderr


@pytest.mark.parametrize("name", ["north_field", 'the "old" place', "back\\slash", "Größe"])
def test_a_new_place_is_one_block_short_of_a_plan(tmp_path, name):
    """Its settings are read whatever the folder is called; check asks for a block alone."""
    folder = tmp_path / name
    assert ask("new", folder).exit_code == 0
    settings = tomllib.loads((folder / "property.toml").read_text(encoding="utf-8"))
    assert settings["property"]["name"] == name.replace("_", " ")
    answer = ask("check", folder, "--json")
    assert answer.exit_code == 1
    problems = json.loads(answer.stdout)["problems"]
    assert len(problems) == 1
    assert problems[0].startswith("blocks: ")


def test_new_does_not_touch_a_property_that_is_there(sample):
    """Exit 1, and the settings stay."""
    before = (sample / "property.toml").read_bytes()
    answer = ask("new", sample)
    assert answer.exit_code == 1
    assert "holds a property already" in answer.stderr
    assert (sample / "property.toml").read_bytes() == before


def test_new_with_a_photo_that_is_none_starts_nothing(tmp_path):
    """Exit 1 before anything is made."""
    answer = ask("new", tmp_path / "place", "--photo", tmp_path / "no.tif")
    assert answer.exit_code == 1
    assert "no.tif is no GeoTIFF" in answer.stderr
    assert not (tmp_path / "place").exists()


def test_plots_lays_fewer_plots_for_a_coarser_wish(sample):
    """JSON with a count for each block; a wished error of 60 % takes fewer than one of 20 %."""
    (sample / "aerial.tif").unlink()  # most of the time of a sheet goes into the photo
    fine, coarse = (json.loads(ask("plots", sample, "--error", error, "--json").stdout)
                    for error in (0.2, 0.6))  # fmt: skip
    assert sum(fine["by_block"].values()) == fine["plots"] > coarse["plots"]
    assert len(coarse["by_block"]) == 13
    assert min(coarse["by_block"].values()) >= 2
    answer = ask("plots", sample)
    assert answer.exit_code == 0
    for name in ("new_plots.geojson", "new_plots.gpx", "new_tally.csv"):
        assert name in answer.stdout
        assert (sample / "out" / name).stat().st_size > 0


def test_plots_can_be_added_and_say_where_the_sheet_is(sample):
    """Only what is missing beside the 67 drawn; the sheet is named; wrong wishes are wrong use."""
    (sample / "aerial.tif").unlink()
    answer = ask("plots", sample, "--error", 0.12, "--add")
    assert answer.exit_code == 0
    assert "new plots beside 67 drawn" in answer.stdout
    assert "tally_sheet.pdf" in answer.stdout
    assert ask("plots", sample, "--error", 0).exit_code == 2
    assert ask("plots", sample, "--confidence", 1).exit_code == 2


def test_check_says_what_ground_is_left_for_each_method(checked):
    """Lines for people, the same in JSON; leaving trees standing is not left everywhere."""
    _, plain, answer = checked
    told = plain.stdout
    assert "ground left for each way of treating, of 64.1 acres" in told
    assert "hack and leave standing: 91 % (1-3 in)" in told
    figures = json.loads(answer.stdout)
    assert any(line.startswith("cut and spray: ") for line in figures["ground_left"])


def test_check_says_what_was_mended(sample):
    """A block drawn two feet into its neighbour: the overlap is taken out, in square feet."""
    blocks = gpd.read_file(sample / "land.gpkg", layer="blocks")
    one = blocks.geometry[0]
    near = [i for i in range(1, len(blocks)) if one.distance(blocks.geometry[i]) < 0.5]
    slip = one.buffer(0.6, join_style="mitre").intersection(
        one.union(blocks.geometry[near[0]]).buffer(0.01)
    )
    blocks.loc[0, "geometry"] = slip
    blocks.to_file(sample / "land.gpkg", layer="blocks")
    told = ask("check", sample)
    assert told.exit_code == 0, told.stderr
    assert "an overlap with block" in told.stdout
    assert "sq ft)" in told.stdout


def test_mix_by_percent():
    """Two percent of half a gallon: 1.28 fl oz of product (64 fl oz x 0.02), the rest carrier."""
    answer = ask("mix", "--tank", "0.5gal", "--percent", 2, "--surfactant", 0.25, "--json")
    tank = json.loads(answer.stdout)
    assert answer.exit_code == 0
    assert tank["product_l"] == pytest.approx(1.28 * 0.0295735295625)
    assert tank["surfactant_l"] == pytest.approx(0.0025 * tank["tank_l"])
    parts = [tank[name] for name in ("product_l", "surfactant_l", "dye_l", "water_l")]
    assert sum(parts) == pytest.approx(tank["tank_l"])


def test_mix_by_measure_says_both_systems():
    """4.5 fl oz in half a gallon are 7.03 %; the table says the label is the law."""
    answer = ask("mix", "--tank", "0.5gal", "--product", "4.5floz", "--herbicide", "glyphosate_4")
    assert answer.exit_code == 0
    assert "4.50 fl oz (133 mL) = 7.03 % of the tank" in answer.stdout
    assert "label" in answer.stdout


def test_plan_as_json_is_json_alone(planned):
    """Exit 0, one JSON text on standard output, and the files beside it."""
    folder, answer = planned
    assert answer.exit_code == 0, answer.output
    assert json.loads(answer.stdout)
    assert (folder / "out" / "map.html").exists()
    assert json.loads((folder / "out" / "plan.json").read_text())["status"] == "best"


def test_a_block_alone_is_planned(tmp_path):
    """No road, no tree, no plot: one open zone, and still a plan with its files."""
    folder = small_place(tmp_path / "alone", road=False)
    answer = ask("plan", folder)
    assert answer.exit_code == 0, answer.exception
    assert (folder / "out" / "map.html").exists()


@pytest.mark.parametrize(("more", "told"), [((), True), (("--on", "2020-03-01"), False)])
def test_a_plan_that_begins_in_a_year_that_is_over_is_told(tmp_path, more, told):
    """Without a day the plan goes by the log alone; the owner is reminded of today."""
    folder = small_place(tmp_path / "old", road=False)
    toml = folder / "property.toml"
    toml.write_text(toml.read_text().replace("first_year = 2027", "first_year = 2020"))
    answer = ask("plan", folder, *more)
    assert answer.exit_code == 0, answer.output
    assert ("The plan begins in 2020; add --on today" in answer.stderr) == told


def test_plan_ends_with_the_map(planned):
    """Without --json: labelled lines, the last one the map's place."""
    answer = ask("plan", planned[0], "--detail")
    assert answer.exit_code == 0
    assert answer.stdout.splitlines()[-1].split() == ["Map", str(planned[0] / "out" / "map.html")]


def test_no_plan_exits_3_with_sentences(tmp_path):
    """Clear by a year before the plan can be done: each strip is named; nothing is written."""
    folder = small_place(tmp_path / "hurry", "[plan]\nclear_by = 2027\n")
    answer = ask("plan", folder, "--json")
    assert answer.exit_code == 3
    assert "strip 1 cannot be cleared by 2027" in answer.stderr
    found = json.loads(answer.stdout)
    assert found["status"] == "none"
    assert "strip 1 cannot be cleared by 2027" in found["reasons"][0]
    assert not (folder / "out").exists()


def test_budget_solves_one_plan_a_budget(planned):
    """Half and twice the yearly budget, each with its plan and all in one picture."""
    answer = ask("budget", planned[0], "--factor", 0.5, "--factor", 2, "--json")
    rows = json.loads(answer.stdout)
    assert answer.exit_code == 0
    assert [row["budget"] for row in rows] == [1500.0, 6000.0]
    assert rows[1]["cleared_ha"] >= rows[0]["cleared_ha"] - 1e-9
    assert rows[1]["objective"] <= rows[0]["objective"] + 1e-3 * abs(rows[0]["objective"])
    told = ask("budget", planned[0], "--factor", 1, "--hours").stdout.splitlines()
    assert told[0].split()[:2] == ["share", "crew"]
    assert max(len(line) for line in told[:-1]) <= 80
    assert (planned[0] / "out" / "budget.svg").read_bytes().startswith(b"<?xml")


def test_next_gives_the_first_work_of_the_plan(planned):
    """The first of the written visits, in words and as JSON, its card and its page."""
    with (planned[0] / "out" / "visits.csv").open(encoding="utf-8-sig", newline="") as stream:
        first = next(csv.DictReader(stream))
    asked = ("next", planned[0], "--on", f"{first['year']}-06-10", "--people", 1, "--hours", 2)
    answer = ask(*asked, "--json")
    assert answer.exit_code == 0
    day = json.loads(answer.stdout)
    assert day["jobs"][0]["visit_id"] == first["visit_id"]
    assert sum(job["hours"] for job in day["jobs"]) <= 2.0 + 1e-9
    words = ask(*asked).stdout
    assert f"strip {first['strip_id']}" in words
    assert "The label in your hand is the law" in words
    for name in ("next_day.pdf", "next_day.html"):
        assert str(planned[0] / "out" / name) in words
        assert (planned[0] / "out" / name).stat().st_size > 1000


def test_next_speaks_before_it_writes(planned):
    """Where its card cannot be written the day is said all the same, then why, and exit 1."""
    card = planned[0] / "out" / "next_day.pdf"
    card.unlink(missing_ok=True)
    card.mkdir()  # stands in the way
    answer = ask("next", planned[0])
    card.rmdir()
    assert answer.exit_code == 1
    assert answer.stdout.startswith("Small place: ")
    assert "next_day.pdf" in answer.stderr
    assert "Traceback" not in answer.stderr


@pytest.mark.parametrize(
    "words", [("--on", "tomorrow"), ("--people", "0"), ("--hours", "0"), ("--hours", "25")]
)
def test_next_with_a_senseless_day_exits_2(planned, words):
    """A day that is no date, nobody, no hours, more than a day has."""
    assert ask("next", planned[0], *words).exit_code == 2


def test_next_in_a_strip_that_is_none_exits_1(planned):
    """It names the strips that there are."""
    answer = ask("next", planned[0], "--strip", "nowhere")
    assert answer.exit_code == 1
    assert "the plan has strips and blocks" in answer.stderr


def test_next_before_a_plan_exits_1(sample):
    """It says what to run first."""
    answer = ask("next", sample)
    assert answer.exit_code == 1
    assert "there is no plan yet" in answer.stderr


def test_log_adds_lists_and_checks(sample):
    """Two rows, the second correcting the first: its hours stay; JSON and words agree."""
    row = ("log", sample, "add", "--date", "2026-09-14", "--strip", "2a", "--job", "mow")
    assert ask(*row, "--hours", "60").exit_code == 0
    second = ask(*row, "--replaces", "1", "--json")
    assert json.loads(second.stdout)["record_id"] == "2"
    assert ask("log", sample, "list").stdout == "2  2026-09-14  2a  mow  60 h  (in place of 1)\n"
    (listed,) = json.loads(ask("log", sample, "list", "--json").stdout)
    assert (listed["record_id"], listed["strip_id"], listed["hours"]) == ("2", "2a", 60)
    assert "2 rows, 1 in force" in ask("log", sample, "check").stdout
    found = json.loads(ask("log", sample, "check", "--json").stdout)
    assert (found["rows"], found["in_force"], found["problems"]) == (2, 1, [])


def test_log_asks_for_what_a_row_needs(sample):
    """Without date, strip and job it is wrong use; with a date that is none a problem."""
    answer = ask("log", sample, "add", "--job", "mow")
    assert answer.exit_code == 2
    assert "a row needs --date, --strip" in answer.stderr
    wrong = ("log", sample, "add", "--date", "14.9.27", "--strip", "2a", "--job", "mow")
    assert ask(*wrong).exit_code == 1
    assert ask("log", sample, "list").exit_code == 0


def test_demo_refuses_another_property(sample):
    """Exit 1 where the folder holds something that is not the sample."""
    (sample / "property.toml").write_text(SETTINGS)
    answer = ask("demo", sample)
    assert answer.exit_code == 1
    assert "holds another property" in answer.stderr


def test_the_photos_share_of_the_map_can_be_limited(tmp_path):
    """A photo of pure noise packs badly: with a limit of 0.05 MB the map is that much smaller."""
    folder = small_place(tmp_path / "noise")
    noise = np.random.default_rng(1).integers(0, 255, (3, 700, 700), dtype=np.uint8)
    with rasterio.open(
        folder / "aerial.tif", "w", driver="GTiff", width=700, height=700, count=3, dtype="uint8",
        crs="EPSG:32616", transform=from_origin(499_990, 4_020_080, 0.15, 0.15),
    ) as photo:  # fmt: skip
        photo.write(noise)
    sizes = []
    for words in ((), ("--photo-mb", "0.05")):
        assert ask("plan", folder, *words).exit_code == 0
        sizes.append((folder / "out" / "map.html").stat().st_size)
    assert 200_000 < sizes[0] - sizes[1] < 400_000
    assert "made coarser" in (folder / "out" / "run.log").read_text()
    assert ask("plan", folder, "--photo-mb", "0").exit_code == 2
