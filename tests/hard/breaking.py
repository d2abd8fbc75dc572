"""Break off a writing at each of its steps, and look at what lies there afterwards.

    python -m tests.hard.breaking ACT HOW FOLDER

A step is whatever the system is asked for by name: opening, renaming, linking, making, taking away.
For each step in turn a process of its own goes so far and ends there, and the state is looked at.
HOW: ``killed`` ends it without a word, ``full`` says that the disk is full to all that needs room
from this step on, ``stopped`` is a Ctrl-C, ``refused`` is a file that cannot be moved or removed.
Prints as JSON how many steps were tried and how each ended.
"""

import errno
import json
import os
import random
import shutil
import signal
import sys
import time
from pathlib import Path

from clearing.errors import InputError
from clearing.files.together import at_rest, healed, write_together
from clearing.files.whole import write_whole

STEPS = ("open", "os.rename", "os.link", "os.mkdir", "os.remove", "os.rmdir", "os.utime")
HELD = ("os.rename", "os.remove")  # what a file that another program holds does not let happen
ROOM = ("open", "os.link", "os.mkdir")  # what needs room on the disk
NAMES = ("blocks.csv", "map.html", "plan.json")
OLD = {**dict.fromkeys(NAMES, "old"), "budget.svg": "old"}
NEW = {**dict.fromkeys(NAMES, "new"), "field.gpx": "new"}
NOTE = "call the neighbor about the gate"
WENT, PASSED, ENDED, RAISED, ELSE = 0, 6, 7, 8, 9  # PASSED: told no, and did it all the same


def watched(at, how, home):
    """Return a list that holds something once this process was told no at one of its steps."""
    count, told_no = [0], []

    def hook(event, given):
        if event not in (HELD if how == "refused" else STEPS):
            return
        name = str(given[0])
        if os.path.isabs(name) and not name.startswith(str(home)):  # noqa: PTH117 - a word so far
            return
        if event == "open" and not ((given[2] or 0) & (os.O_CREAT | os.O_WRONLY | os.O_RDWR)):
            return
        count[0] += 1
        if count[0] < at or (how != "full" and count[0] > at):
            return
        told_no.append(event)
        if how == "killed":
            os.kill(os.getpid(), signal.SIGKILL)
        if how == "stopped":
            raise KeyboardInterrupt
        if how == "full" and event in ROOM:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(given[0]))
        if how == "refused":
            raise PermissionError(errno.EACCES, "held", name, None, str(given[1]))

    sys.addaudithook(hook)
    return told_no


def child(act, at=0, how="killed", home=None):
    """Return how an act ended that was broken off at a step, in a process of its own."""
    pid = os.fork()
    if pid:
        _, status = os.waitpid(pid, 0)
        return ENDED if os.WIFSIGNALED(status) else os.WEXITSTATUS(status)
    code = ELSE
    try:
        told_no = watched(at, how, home) if at else []
        act()
        code = PASSED if told_no else WENT
    except (InputError, KeyboardInterrupt):
        code = RAISED
    except OSError:  # one file alone: whoever has it written makes the sentence
        code = RAISED if act.__name__ == "one_file" else ELSE
    finally:
        os._exit(code)


def several(home):
    """Return the act of writing a plan's files over those of the plan before, and its check."""

    def begin():
        (home / "out").mkdir(parents=True)
        for name, text in OLD.items():
            (home / "out" / name).write_text(text)
        (home / "out" / "note.txt").write_text(NOTE)

    def act():
        write_together({name: text.encode() for name, text in NEW.items()}, home)

    def state():
        found = {path.name: path.read_text() for path in (home / "out").iterdir()
                 if path.is_file()}  # fmt: skip
        assert found.pop("note.txt") == NOTE
        if found == OLD:
            return "old"
        return "new" if found == OLD | NEW else f"mixed: {found}"

    return begin, act, state


def one(home):
    """Return the act of writing one file over another, and its check."""

    def begin():
        home.mkdir(parents=True)
        (home / "property.toml").write_text("old")

    def one_file():
        write_whole(home / "property.toml", "new")

    def state():
        return (home / "property.toml").read_text()

    return begin, one_file, state


def sample(home):
    """Return the act of copying the sample, and its check: broken off it can be gone on with."""
    from clearing.files import writing

    given = home.parent / "given"
    given.mkdir(exist_ok=True)
    for name in ("aerial.tif", "land.gpkg", "property.toml", "tally.csv"):
        (given / name).write_text(name * 1000)
    writing.sample_folder = lambda: given

    def begin():
        pass

    def one_file():
        writing.copy_sample(home)

    def state():
        writing.copy_sample(home)
        whole = all((home / path.name).read_text() == path.read_text() for path in given.iterdir())
        return "new" if whole else "torn"

    return begin, one_file, state


def each_step(make, how, home):
    """Return how many steps were tried, how they ended, and what lay there, before and after."""
    told = {"steps": 0, "ends": [], "at once": [], "healed": [], "litter": []}
    while True:
        shutil.rmtree(home, ignore_errors=True)
        begin, act, state = make(home)
        begin()
        told["steps"] += 1
        end = child(act, told["steps"], how, home)
        at_once = state()
        if make is several and how == "killed":
            child(lambda: healed(home), random.Random(told["steps"]).randint(1, 30), how, home)
        child(lambda: healed(home))
        told["at once"].append(at_once)
        told["healed"].append(state())
        told["ends"].append(end)
        if end == WENT:
            break
        if make is several:
            assert child(act) == WENT
            assert state() == "new"
            told["litter"] += [path.name for path in (home / "out").glob(".*")]
    told |= {name: sorted(set(told[name])) for name in ("ends", "at once", "healed", "litter")}
    return told


def at_any_time(home, kills):
    """Return what lay there after each of many kills of a process that writes and writes."""
    home.mkdir()
    rng, seen, runs = random.Random(1), [], set()
    write_together(dict.fromkeys(NAMES, b"0"), home)
    for number in range(1, kills + 1):
        pid = os.fork()
        if not pid:
            turn = 0
            while True:
                turn += 1
                write_together(dict.fromkeys(NAMES, b"%d.%d" % (number, turn)), home)
        time.sleep(rng.uniform(0.0, 0.1))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        healed(home)
        texts = {(home / "out" / name).read_text() for name in NAMES}
        seen.append(len(texts))
        runs |= texts
    write_together(dict.fromkeys(NAMES, b"last"), home)
    return {"kills": kills, "runs": max(seen), "told": len(runs),
            "litter": [path.name for path in (home / "out").glob(".*")]}  # fmt: skip


def side_by_side(home, writes):
    """Return how many readings found files of two runs while two processes write."""
    home.mkdir()
    write_together(dict.fromkeys(NAMES, b"0"), home)
    writers = []
    for number in (1, 2):
        pid = os.fork()
        if not pid:
            for turn in range(writes):
                write_together(dict.fromkeys(NAMES, b"%d.%d" % (number, turn)), home)
            os._exit(0)
        writers.append(pid)
    mixed, read, ends = 0, 0, []
    while writers:
        with at_rest(home):
            mixed += len({(home / "out" / name).read_text() for name in NAMES}) > 1
        read += 1
        for pid in list(writers):
            done, status = os.waitpid(pid, os.WNOHANG)
            if done:
                writers.remove(pid)
                ends.append(status)
    return {"mixed": mixed, "read": read, "ends": ends,
            "litter": [path.name for path in (home / "out").glob(".*")]}  # fmt: skip


def main():
    """Print what was found of one act."""
    act, how, home = sys.argv[1], sys.argv[2], Path(sys.argv[3])
    acts = {"several": several, "one": one, "sample": sample}
    if act == "any":
        told = at_any_time(home, int(how))
    elif act == "side":
        told = side_by_side(home, int(how))
    else:
        told = each_step(acts[act], how, home)
    sys.stdout.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    main()
