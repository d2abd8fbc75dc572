"""Watch the clock and the keyboard while the planner works."""

import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import FrameType

Told = Callable[[float, float, float, float], None]
PAUSE = 0.5  # seconds between two words to the owner; own choice


@dataclass
class Watch:
    """Return who watches one solve: how long it may take, whom to tell, whether it was stopped.

    Attributes
    ----------
    seconds : float
        How long it may take in all [s].
    tell : callable, optional
        Told seconds, cost, bound and gap now and then.
    pressed : bool
        Ctrl-C was pressed.
    late : bool
        The clock ran out.
    """

    seconds: float
    tell: Told | None = None
    pressed: bool = False
    late: bool = False
    started: float = field(default_factory=time.monotonic)
    last: float = -1.0

    def spent(self) -> float:
        """Return the seconds since the start.

        References
        ----------
        own reasoning
        """
        return time.monotonic() - self.started

    def over(self) -> bool:
        """Return whether it is time to stop.

        References
        ----------
        own reasoning
        """
        self.late = self.late or self.spent() >= self.seconds
        return self.pressed or self.late

    def say(self, cost: float, bound: float) -> None:
        """Tell cost and bound, not more than twice a second; Ctrl-C meanwhile stops the work.

        References
        ----------
        own reasoning
        """
        now = self.spent()
        if self.tell is None or (now - self.last < PAUSE and self.last >= 0):
            return
        self.last = now
        try:
            self.tell(now, cost, bound, share(cost, bound))
        except KeyboardInterrupt:
            self.pressed = True


def share(cost: float, bound: float) -> float:
    """Return the gap: (cost - bound) / max(|cost|, 1e-9).

    References
    ----------
    own reasoning
    """
    return max(cost - bound, 0.0) / max(abs(cost), 1e-9)


@contextmanager
def listening(watch: Watch) -> Iterator[None]:
    """Return a context in which Ctrl-C is noted by the watch and does not break off.

    Where somebody else already handles it, or in another thread, nothing changes.

    References
    ----------
    own reasoning
    """
    main = threading.current_thread() is threading.main_thread()
    if not main or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return

    def press(number: int, frame: FrameType | None) -> None:
        """Note that Ctrl-C was pressed."""
        watch.pressed = True

    signal.signal(signal.SIGINT, press)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
