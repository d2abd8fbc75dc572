"""One drawing page a folder: the lock goes with the program that holds it."""

import errno
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


def _flock_that_says(number):
    """Return a lock that the system turns down with an error number."""

    def flock(*_given):
        raise OSError(number, "turned down")

    return flock


@pytest.mark.parametrize("number", [errno.ENOLCK, errno.ENOTSUP])
def test_a_disk_without_locks_is_drawn_on_with_a_warning(tmp_path, monkeypatch, number):
    """It is no sign of another page; what it means is said."""
    fcntl = pytest.importorskip("fcntl")
    monkeypatch.setattr(fcntl, "flock", _flock_that_says(number))
    with hold(tmp_path, "http://127.0.0.1:1") as held:
        assert "cannot be held" in held.note
        assert "only one drawing page" in held.note


@pytest.mark.parametrize("number", [errno.EWOULDBLOCK, errno.EACCES])
@pytest.mark.parametrize("note", ["[1]", "7", "null", '{"since": 3}', "\x00"])
def test_whatever_stands_in_the_lock_file_the_words_come(tmp_path, monkeypatch, number, note):
    """A held folder is told, also when the note in it is another program's."""
    fcntl = pytest.importorskip("fcntl")
    (tmp_path / ".drawing.lock").write_text(note)
    monkeypatch.setattr(fcntl, "flock", _flock_that_says(number))
    with pytest.raises(InputError, match="open in a drawing page already"), hold(tmp_path):
        pass


def test_a_folder_that_is_held_here_carries_no_warning(tmp_path):
    """Where locks work, there is nothing to say."""
    with hold(tmp_path) as held:
        assert held.note == ""
