"""The next day out of a folder: the written plan, what was changed since, whole files."""

import datetime as dt
import json
import os
from dataclasses import replace

import pandas as pd
import pytest

import clearing
from clearing.files import next_day_files, next_work
from clearing.report.next_day import Asked
from tests.report.next_place import log_of, said_of
from tests.report.small_place import small_results

ASKED = Asked(dt.date(2027, 7, 3))


@pytest.fixture
def written(tmp_path):
    """Return a folder with the small place's plan, and the place."""
    small = small_results()
    place = replace(small.property, records=log_of(), blocks=small.blocks)
    small = replace(small, property=place)
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(json.dumps(said_of(small)), encoding="utf-8")
    return tmp_path, place


def test_without_a_plan_it_says_what_to_run_first(written):
    """No plan.json: the sentence names the verb and the folder."""
    folder, place = written
    (folder / "out" / "plan.json").unlink()
    with pytest.raises(clearing.InputError, match=r"no plan yet; run 'clearing plan "):
        next_work(folder, place, ASKED)


@pytest.mark.parametrize("text", ["{", "[]", '{"visits": []}', '{"visits": [], "told": {}}'])
def test_a_plan_that_is_none_says_to_plan_anew(written, text):
    """Half a file, another shape, or one of an earlier version."""
    folder, place = written
    (folder / "out" / "plan.json").write_text(text)
    with pytest.raises(clearing.InputError, match="plan anew"):
        next_work(folder, place, ASKED)


def test_a_file_that_was_only_saved_again_is_no_change(written):
    """Land, counts and log younger than the plan, and the same in what they hold."""
    folder, place = written
    made = (folder / "out" / "plan.json").stat().st_mtime_ns
    for name in ("records.csv", "land.gpkg", "tally.csv"):
        (folder / name).write_text("")
        os.utime(folder / name, ns=(made + 10**9,) * 2)
    assert next_work(folder, place, ASKED).again == ()


def test_what_changed_is_told_by_what_it_holds_and_the_day_is_given(written):
    """A row more in the log, a count, a block, a setting: each is a sentence, whatever the time."""
    folder, place = written
    row = {"date": "2026-07-03", "strip_id": "3", "job": "mark"}
    counted = pd.DataFrame([{"plot_id": "P1", "species": "callery_pear"}])
    more = place.blocks.copy()
    more["name"] = "another"
    changed = {
        "The log": replace(place, records=log_of(row)),
        "The tally": replace(place, tally=counted),
        "The land": replace(place, blocks=more),
        "The land or property.toml": replace(place, settings=replace(place.settings, region="x")),
    }
    for words, other in changed.items():
        day = next_work(folder, other, ASKED)
        assert len(day.again) == 2, words
        assert day.again[0].startswith(words)
        assert "'clearing plan " in day.again[-1]
        assert len(day.jobs) == 1


def test_years_and_money_are_told_by_the_time_of_property_toml(written):
    """No sum of the plan tells them apart, so that a younger property.toml is told."""
    folder, place = written
    made = (folder / "out" / "plan.json").stat().st_mtime_ns
    (folder / "property.toml").write_text("")
    for shift, told in ((-1, 0), (1, 2)):
        os.utime(folder / "property.toml", ns=(made + shift * 10**9,) * 2)
        assert len(next_work(folder, place, ASKED).again) == told


def test_a_property_toml_from_the_future_is_no_change(written):
    """What is wrong with its time and what mends it is told; the time of the tally is no matter."""
    folder, place = written
    made = (folder / "out" / "plan.json").stat().st_mtime_ns
    for name in ("property.toml", "tally.csv"):
        (folder / name).write_text("")
        os.utime(folder / name, ns=(made + 10**9 * 86_400 * 400,) * 2)
    said = next_work(folder, place, ASKED).again
    assert len(said) == 2
    assert "property.toml carries the time 20" in said[0]
    assert "save it once more, then plan anew" in said[0]


def test_card_and_page_are_written_beside_the_plan_and_repeat(written):
    """Twice the same bytes, and the plan's own files stay as they are."""
    folder, place = written
    plan = (folder / "out" / "plan.json").read_bytes()
    read = []
    for _ in range(2):
        out = next_day_files(next_work(folder, place, ASKED), folder)
        read.append([(out / name).read_bytes() for name in ("next_day.pdf", "next_day.html")])
    assert read[0] == read[1]
    assert read[0][0].startswith(b"%PDF")
    assert (out / "plan.json").read_bytes() == plan
    assert sorted(path.name for path in out.iterdir()) == [
        "next_day.html", "next_day.pdf", "plan.json",
    ]  # fmt: skip
