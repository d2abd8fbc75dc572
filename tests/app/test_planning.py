"""A plan made from the page: told on the way, stopped when asked, never half written."""

import json
import sys
import time

import geopandas as gpd
import pytest

import clearing
from clearing.app.asked import Refused
from clearing.app.planning import ROOMS, STOPPED, PlanJob
from clearing.files.planned import changed_since
from tests.test_cli import small_place

LONG_S = 240.0  # no claim: a job that hangs ends the test


def until(job, room: str) -> list[dict]:
    """Return the states of a job up to the first in a room, or its end."""
    seen: list[dict] = []
    while True:
        now = job.state()
        if not seen or now["room"] != seen[-1]["room"]:
            seen.append(now)
        if not now["running"] or now["room"] == room:
            return seen
        time.sleep(0.01)


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """Return a small place, its job that ended, and the states; settings changed on the way."""
    home = small_place(tmp_path_factory.mktemp("job") / "place")
    job = PlanJob(home)
    job.start(0.01, 20)
    seen = until(job, "treatment")
    path = home / "property.toml"
    path.write_text(path.read_text() + "\n# a word more\n")
    seen += until(job, "nowhere")
    assert job.wait(LONG_S)
    return home, job, seen


def test_a_plan_is_told_room_by_room_and_ends_with_its_lines(planned):
    """Steps only rise, each room has words, and the end has what the terminal would say."""
    home, job, seen = planned
    steps = [state["step"] for state in seen]
    assert steps == sorted(steps)
    words = {state["room"]: state["room_words"] for state in seen if state["step"]}
    assert len(words) > 3
    assert "ways" in words.pop("schedule", "weighing ways")
    assert words.items() <= ROOMS.items()
    state = job.state()
    assert (state["running"], state["problems"], state["reasons"]) == (False, [], [])
    assert dict(state["done"])["Ground"] == "1 acre of 1 acre in blocks"
    assert json.loads((home / "out" / "plan.json").read_text())["status"] == "best"
    json.dumps(state, allow_nan=False)


def test_what_was_changed_while_it_was_planned_makes_the_plan_old(planned):
    """Settings saved after they were read are younger than the plan, the land is not."""
    assert changed_since(planned[0]) == ("property.toml was changed after this plan was made.",)


def test_a_second_plan_waits_for_the_first_and_two_stops_break_it_off(tmp_path):
    """While one is made another is refused; stopped early nothing is written, and it says so."""
    home = small_place(tmp_path / "place")
    job = PlanJob(home)
    job.start(0.01, 20)
    with pytest.raises(Refused, match="being made already"):
        job.start(0.01, 20)
    job.stop()
    assert not job.state()["running"] or job.state()["stopping"]
    job.stop()
    assert job.wait(LONG_S)
    assert job.state()["problems"] == [STOPPED]
    assert job.state()["done"] is None
    assert not (home / "out").exists()


def test_stopped_while_it_weighs_it_takes_the_best_so_far(sample):
    """One stop in the planner's room: all files are written, and the plan says it was stopped."""
    for name in ("aerial.tif", "tally.csv"):
        (sample / name).unlink()
    blocks = gpd.read_file(sample / "land.gpkg", layer="blocks")
    (sample / "land.gpkg").unlink()
    blocks.to_file(sample / "land.gpkg", layer="blocks")
    job = PlanJob(sample)
    job.start(0.0, 60)
    until(job, "schedule")
    while job.state()["running"] and not job.state()["near"]:
        time.sleep(0.01)
    job.stop()
    assert job.wait(LONG_S)
    assert job.state()["problems"] == []
    assert job.state()["done"]
    out = sample / "out"
    assert json.loads((out / "plan.json").read_text())["status"] == "stopped"
    assert not [path.name for path in out.iterdir() if path.name.startswith(".")]


def test_problems_of_the_folder_are_told_as_they_are(tmp_path):
    """Every problem by the owner's names, as reading the folder would list them."""
    home = small_place(tmp_path / "place")
    path = home / "property.toml"
    path.write_text(path.read_text().replace("first_year", "frist_year"))
    job = PlanJob(home)
    job.start(0.01, 20)
    assert job.wait(LONG_S)
    with pytest.raises(clearing.InputError) as found:
        clearing.read(home)
    assert job.state()["problems"] == found.value.problems
    job.stop()
    assert not job.state()["stopping"]


def test_a_planner_that_breaks_is_told_and_can_be_started_again(tmp_path, monkeypatch):
    """A program that ends without a word is no plan: one sentence, and the job is free again."""
    job = PlanJob(small_place(tmp_path / "place"))
    monkeypatch.setattr(sys, "executable", "/bin/false")
    for _ in range(2):
        job.start(0.01, 20)
        assert job.wait(LONG_S)
        (sentence,) = job.state()["problems"]
        assert sentence.startswith("the plan broke off")
