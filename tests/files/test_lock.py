"""One drawing page a folder: the lock goes with the program that holds it."""

import signal
import subprocess
import sys

import pytest

from clearing.errors import InputError
from clearing.files.lock import hold

HOLDER = """
import sys, time
from clearing.files.lock import hold
with hold(sys.argv[1]) as held:
    held.tell("http://127.0.0.1:8123")
    print("held", flush=True)
    time.sleep(60)
"""


@pytest.fixture
def holder(tmp_path):
    """Hold a folder in another program."""
    given = [sys.executable, "-c", HOLDER, str(tmp_path)]
    with subprocess.Popen(given, stdout=subprocess.PIPE, text=True) as program:
        assert program.stdout.readline() == "held\n"
        yield program
        program.kill()


def test_a_second_page_is_refused_and_told_where_the_first_is(tmp_path, holder):
    """The sentence names the folder, the time and the address."""
    words = r"is open in a drawing page already \(since \d\d:\d\d, at http://127.0.0.1:8123\)"
    with pytest.raises(InputError, match=tmp_path.name + " " + words), hold(tmp_path):
        pass


def test_the_lock_dies_with_its_program(tmp_path, holder):
    """After SIGKILL the folder is free, though the note still lies there."""
    holder.send_signal(signal.SIGKILL)
    holder.wait()
    with hold(tmp_path, "http://127.0.0.1:9000"):
        assert "9000" in (tmp_path / ".drawing.lock").read_text()


def test_a_page_that_was_closed_leaves_the_folder_free(tmp_path):
    """Held, given back, held again; the note says nothing in between."""
    with hold(tmp_path, "http://127.0.0.1:1"):
        pass
    assert (tmp_path / ".drawing.lock").read_text() == ""
    with hold(tmp_path):
        pass


def test_a_folder_that_cannot_be_written_says_so(tmp_path):
    """No lock can be had where no file can be made."""
    with pytest.raises(InputError, match=r"\.drawing\.lock was not saved"), hold(tmp_path / "no"):
        pass
