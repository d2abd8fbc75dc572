"""Say what can go wrong, in one page.

ClearingError
    InputError          the owner's input has problems; carries .problems, all of them
ClearingWarning
    RangeWarning        a formula was used outside the range it was fitted on
"""

from collections.abc import Iterable


class ClearingError(Exception):
    """Return nothing; the root of all errors that a user can mend."""


class InputError(ClearingError, ValueError):
    """Return an error that lists every problem of an input by the owner's names.

    Parameters
    ----------
    problems : iterable of str
        One sentence each: which thing, what was found, what would be right.
    table : str
        The table or file that the problems belong to, or the property's folder.
    """

    def __init__(self, problems: Iterable[str], table: str = "property") -> None:
        self.problems = list(problems)
        self.table = table
        lines = "\n".join(f"- {problem}" for problem in self.problems)
        super().__init__(f"{table}: {len(self.problems)} problem(s)\n{lines}")


class ClearingWarning(UserWarning):
    """Return nothing; the root of all warnings of this package."""


class RangeWarning(ClearingWarning):
    """Return nothing; a formula was used outside the range it was fitted on."""
