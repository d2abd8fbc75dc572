"""What several tests share: the sample property, planned once."""

import os

import pytest
from hypothesis import settings

import clearing

# the same examples each time where a red run must be somebody's doing; new ones at a desk
settings.register_profile("ci", derandomize=True, deadline=None)
settings.register_profile("desk", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "desk")

# long ones first, so that no worker is left with one at the end
LONG = (
    "tests/survey/test_longleaf.py", "tests/test_walk.py", "planned",
    "tests/survey/test_coverage.py", "tests/test_horizon.py",
)  # fmt: skip


def pytest_collection_modifyitems(items):
    """Give a module's tests to one worker, and all that take the planned sample to one worker."""
    for item in items:
        planned = "results" in item.fixturenames
        group = "planned" if planned else item.nodeid.partition("::")[0]
        item.add_marker(pytest.mark.xdist_group(group))
    place = {group: number for number, group in enumerate(LONG)}
    items.sort(
        key=lambda item: place.get(item.get_closest_marker("xdist_group").args[0], len(LONG))
    )


@pytest.fixture(scope="session")
def place():
    """Return the sample property as read."""
    return clearing.read(clearing.sample_folder())


@pytest.fixture(scope="session")
def results(place):
    """Return the sample property planned as the demo plans it."""
    return clearing.run(place, gap=0.005)


@pytest.fixture
def sample(tmp_path):
    """Return a copy of the sample property's folder that a test may spoil."""
    return clearing.copy_sample(tmp_path / "sourwood_hollow")
