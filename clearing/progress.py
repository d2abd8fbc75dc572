"""Show on the terminal how far the walk has come; silent elsewhere."""

import sys
from collections.abc import Callable

ROOMS = ("files", "land", "survey", "zones", "treatment", "forecast", "effort", "schedule",
         "report")  # fmt: skip


class Bar:
    """A bar of the walk's rooms on the terminal; silent where the output goes elsewhere.

    Parameters
    ----------
    quiet : bool
        Whether to show nothing even on a terminal.

    References
    ----------
    own reasoning
    """

    def __init__(self, quiet: bool) -> None:
        self.quiet = quiet or not sys.stderr.isatty()

    def __enter__(self) -> Callable[[str], None]:
        if self.quiet:
            return lambda room: None
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        self.bar = Progress(
            TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn(),
            console=Console(stderr=True), transient=True,
        )  # fmt: skip
        self.bar.start()
        task = self.bar.add_task("", total=len(ROOMS))
        return lambda room: self.bar.update(
            task,
            description=room,
            completed=ROOMS.index(room) if room in ROOMS else None,
        )

    def __exit__(self, *error: object) -> None:
        if not self.quiet:
            self.bar.stop()
