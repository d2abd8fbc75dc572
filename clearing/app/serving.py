"""Start the drawing page: hold the folder, listen on this computer alone, open a window."""

import contextlib
import hashlib
import os
import socket
import threading
import time
import webbrowser
from collections.abc import Callable, Iterator
from pathlib import Path

import uvicorn

from clearing.app.desk import Desk
from clearing.app.guard import Keys
from clearing.app.page import ready
from clearing.app.server import build
from clearing.errors import InputError
from clearing.files.lock import hold

LOCAL = "127.0.0.1"
FIRST_PORT, PORTS = 41_000, 4_000  # where folders have their own ports; own choice
LOOK_S = 0.2  # how often it is looked whether the address was used


class Serving:
    """A page that is ready to be served: ``run`` answers until ``stop``."""

    def __init__(self, home: Path, door: socket.socket) -> None:
        self.port = door.getsockname()[1]
        self.keys = Keys()
        ready()
        self.desk = Desk(home)
        self._door = door
        config = uvicorn.Config(
            build(self.desk, self.port, self.keys), log_level="error", access_log=False,
            lifespan="off", server_header=False, timeout_graceful_shutdown=1,
        )  # fmt: skip
        self._server = uvicorn.Server(config)

    @property
    def address(self) -> str:
        """Return the address that opens one window."""
        return f"http://{LOCAL}:{self.port}/?key={self.keys.key}"

    @property
    def answers(self) -> bool:
        """Return whether the page answers."""
        return self._server.started and not self._server.should_exit

    def run(self) -> None:
        """Return when it was stopped."""
        self._server.run(sockets=[self._door])

    def stop(self) -> None:
        """Return nothing; ``run`` returns soon."""
        self._server.should_exit = True


@contextlib.contextmanager
def prepared(folder: str | Path, port: int = 0) -> Iterator[Serving]:
    """Give a page that is ready to be served; the folder is held meanwhile.

    Parameters
    ----------
    folder : path
        The property's folder.
    port : int
        Where to listen; 0 takes a free one.

    Raises
    ------
    InputError
        The port is taken, the folder is open in a drawing page already, or its layers cannot be
        read.

    References
    ----------
    own reasoning
    """
    home = Path(folder)
    if not home.is_dir():
        raise InputError([f"there is no folder {home}; 'clearing new {home}' starts one"])
    with socket.socket() as door:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            _bind(door, home, port)
        except (OSError, OverflowError) as cause:
            raise InputError([f"port {port} is not free; --port 0 takes one that is"]) from cause
        with hold(home, f"http://{LOCAL}:{door.getsockname()[1]}") as held:
            serving = Serving(home, door)
            serving.desk.remarks += (held.note,) if held.note else ()
            try:
                yield serving
            finally:
                serving.desk.close()


def _bind(door: socket.socket, home: Path, port: int) -> None:
    """Return nothing; take a port: the one asked for, else the folder's own when it is free.

    A page that is served again at the same address finds the strokes that waited there.
    """
    if port == 0:
        own = int(hashlib.sha256(str(home.resolve()).encode()).hexdigest()[:6], 16)
        with contextlib.suppress(OSError):
            door.bind((LOCAL, FIRST_PORT + own % PORTS))
            return
    door.bind((LOCAL, port))


def serve(
    folder: str | Path, port: int = 0, show: bool = True, tell: Callable[[str], None] = print
) -> None:
    """Return when the page is closed with Ctrl-C; until then serve it.

    Parameters
    ----------
    folder : path
        The property's folder.
    port : int
        Where to listen; 0 takes a free one.
    show : bool
        Open a window of the browser.
    tell : callable
        Told the address, and each new one after an address was used.

    Raises
    ------
    InputError
        As `prepared`.

    References
    ----------
    own reasoning
    """
    with prepared(folder, port) as serving:
        threading.Thread(target=_announce, args=(serving, show, tell), daemon=True).start()
        serving.run()


def _announce(serving: Serving, show: bool, tell: Callable[[str], None]) -> None:
    """Return when the page is closed; until then tell its address, and each new one."""
    while not serving.answers:
        time.sleep(0.02)
    key = serving.keys.key
    tell(f"Draw at {serving.address}")
    tell("Every stroke is saved at once. Close with Ctrl-C.")
    if show and not os.environ.get("CI"):
        webbrowser.open(serving.address)
    while serving.answers:
        time.sleep(LOOK_S)
        if serving.keys.key != key:
            key = serving.keys.key
            tell(f"For one more window: {serving.address}")
