"""What the tests of the report share: a small place made by hand."""

import pytest

from clearing.property import Results
from tests.report.small_place import HOSTILE, small_results


@pytest.fixture(scope="session")
def small() -> Results:
    """Return the small place."""
    return small_results()


@pytest.fixture(scope="session")
def hostile() -> Results:
    """Return the small place, named by somebody who means harm."""
    return small_results(HOSTILE)
