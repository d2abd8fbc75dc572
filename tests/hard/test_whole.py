"""What a run writes is there together or not at all, whatever ends it; two runs do not mix."""

import json
import os
import signal
import subprocess
import sys
import time

import pytest
from click.testing import CliRunner

import clearing
from clearing import pipeline
from clearing.cli import main
from clearing.files import add_record
from clearing.files.lock import hold_planning
from clearing.files.planned import CHANGED, changed_since
from clearing.files.together import write_together
from clearing.files.whole import write_whole
from tests.hard.breaking import ENDED, PASSED, RAISED, WENT
from tests.hard.small import small_place

HOLDER = """
import sys, time
from clearing.files.lock import hold_planning
with hold_planning(sys.argv[1], "on the drawing page"):
    print("held", flush=True)
    time.sleep(60)
"""


def broken(tmp_path, act, how):
    """Return what was found after an act was broken off at each of its steps."""
    command = [sys.executable, "-m", "tests.hard.breaking", act, str(how), str(tmp_path / "place")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_a_run_killed_at_any_step_leaves_one_plan(tmp_path):
    """Killed at each step, and whoever mends it killed too: all old or all new, the note kept."""
    told = broken(tmp_path, "several", "killed")
    assert told["steps"] > 30
    assert told["ends"] == [WENT, ENDED]
    assert told["healed"] == ["new", "old"]
    assert told["litter"] == []


@pytest.mark.parametrize("how", ["full", "stopped", "refused"])
def test_a_run_that_is_told_no_leaves_one_plan_at_once(tmp_path, how):
    """A full disk, a Ctrl-C, a file held by another: all old or all new, with nothing to mend."""
    told = broken(tmp_path, "several", how)
    assert told["steps"] > 10
    assert set(told["ends"]) <= {WENT, PASSED, RAISED}
    assert told["at once"] == ["new", "old"]
    assert told["litter"] == []


def test_sixty_kills_at_any_moment_never_leave_two_runs(tmp_path):
    """A program that writes and writes is killed 60 times; what lies there is always one run's."""
    told = broken(tmp_path, "any", 60)
    assert told["runs"] == 1
    assert told["told"] > 5
    assert told["litter"] == []


def test_two_writers_and_a_reader_do_not_mix(tmp_path):
    """Two programs write by turns while a third reads: each reading finds one run's files."""
    told = broken(tmp_path, "side", 25)
    assert told["mixed"] == 0
    assert told["ends"] == [0, 0]
    assert told["litter"] == []


@pytest.mark.parametrize("how", ["killed", "full", "stopped"])
def test_one_file_is_old_or_new_at_every_step(tmp_path, how):
    """Settings and tables are never half written."""
    assert broken(tmp_path, "one", how)["at once"] == ["new", "old"]


def test_a_copy_of_the_sample_that_was_broken_off_is_gone_on_with(tmp_path):
    """Killed at each step, the demo copies the rest the next time, every file whole."""
    assert broken(tmp_path, "sample", "killed")["healed"] == ["new"]


def test_a_file_that_another_program_holds_is_named(tmp_path, monkeypatch):
    """The sentence names the file and says what to do; the others are as they were."""
    write_together({"a.csv": b"old", "visits.csv": b"old"}, tmp_path)
    real = os.replace

    def held(source, target):
        if str(target).endswith(f"out{os.sep}visits.csv"):
            raise PermissionError(13, "Access is denied", str(source), 5, str(target))
        real(source, target)

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(clearing.InputError, match=r"out/visits\.csv was not saved: it is open in"):
        write_together({"a.csv": b"new", "visits.csv": b"new"}, tmp_path)
    assert {path.read_bytes() for path in (tmp_path / "out").iterdir()} == {b"old"}


def test_a_folder_in_the_place_of_a_file_is_named_and_kept(tmp_path):
    """A folder of the owner's that is called map.html stays, and so does the plan."""
    (tmp_path / "out" / "map.html").mkdir(parents=True)
    with pytest.raises(clearing.InputError, match=r"out/map\.html was not saved"):
        write_together({"blocks.csv": b"new", "map.html": b"new"}, tmp_path)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["map.html"]


def test_files_can_be_read_by_whom_the_system_lets(tmp_path):
    """New files get the permissions that the owner's system gives, not those of a secret."""
    mask = os.umask(0o022)
    try:
        write_whole(tmp_path / "property.toml", "new")
        write_together({"a.csv": b"new"}, tmp_path)
    finally:
        os.umask(mask)
    for name in ("property.toml", "out/a.csv"):
        assert (tmp_path / name).stat().st_mode & 0o777 == 0o644, name


def test_a_second_plan_is_told_who_makes_the_first_until_that_is_dead(tmp_path):
    """The command says that the page plans and since when; after SIGKILL the folder is free."""
    home = small_place(tmp_path / "place")
    given = [sys.executable, "-c", HOLDER, str(home)]
    with subprocess.Popen(given, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout.readline() == "held\n"
        done = CliRunner().invoke(main, ["plan", str(home)])
        assert done.exit_code == 1
        assert "a plan of place is being made already (since " in done.output
        assert "on the drawing page); wait until it is done" in done.output
        holder.send_signal(signal.SIGKILL)
        holder.wait()
    with hold_planning(home, "as a command"):
        assert not (home / "out").exists()


def test_a_row_added_while_it_is_planned_makes_the_plan_old(tmp_path, monkeypatch):
    """The log takes the row at once, the plan is written whole, and says that the log is newer."""
    home = small_place(tmp_path / "place")
    for path in home.iterdir():
        os.utime(path, (time.time() - 60, time.time() - 60))
    real = pipeline.run

    def run(place, *given, **more):
        work = {"date": "2027-01-09", "strip_id": "1", "job": "mow", "hours": "2"}
        add_record(home, clearing.read(home), work)
        return real(place, *given, **more)

    monkeypatch.setattr(pipeline, "run", run)
    done = CliRunner().invoke(main, ["plan", str(home), "--gap", "0.05"])
    assert done.exit_code == 0, done.output
    assert changed_since(home) == (CHANGED["records.csv"],)
    assert len(clearing.read(home).records) == 1
