"""What several tests share: the sample property, planned once."""

import os

import pytest
from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

import clearing

# the same examples each time where a red run must be somebody's doing; new ones at a desk
settings.register_profile("ci", derandomize=True, deadline=None)
settings.register_profile("desk", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "desk")

# modules that take the planned sample: one worker has them all, so that it is planned once
PLANNED = (
    "tests/test_house.py",
    *(f"tests/report/test_{name}.py" for name in (
        "caution_groups", "day_cards", "figures_used", "go_lines", "mixing", "numbers", "practice",
        "profile", "sample", "strengths", "work_rows", "workplan",
    )),
)  # fmt: skip
# long ones first, so that no worker is left with one at the end
LONG = (
    "tests/survey/test_longleaf.py", "tests/test_walk.py", "planned", "tests/test_cli.py",
    "tests/files/test_log_rows.py", "tests/survey/test_coverage.py", "tests/test_seasons.py",
    "tests/app/test_planning.py", "tests/test_horizon.py",
)  # fmt: skip


def dealt_as(nodeid: str) -> str:
    """Return the bundle that a test is dealt out with: its module, or the planned sample's."""
    module = nodeid.partition("::")[0]
    return "planned" if module in PLANNED else module


class Bundles(LoadScopeScheduling):
    """Deal out whole modules, so that what a module shares is made once."""

    def _split_scope(self, nodeid: str) -> str:
        return dealt_as(nodeid)


def pytest_xdist_make_scheduler(config, log):
    """Return who deals out the tests."""
    return Bundles(config, log)


def pytest_collection_modifyitems(items):
    """Put the long bundles first."""
    place = {bundle: number for number, bundle in enumerate(LONG)}
    items.sort(key=lambda item: place.get(dealt_as(item.nodeid), len(LONG)))


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
