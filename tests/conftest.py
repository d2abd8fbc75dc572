"""What several tests share: the sample property, planned once."""

import os

import pytest
from hypothesis import settings

import clearing

# the same examples each time where a red run must be somebody's doing; new ones at a desk
settings.register_profile("ci", derandomize=True, deadline=None)
settings.register_profile("desk", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "desk")


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
