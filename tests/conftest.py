"""What several tests share: the sample property, planned once."""

from pathlib import Path

import pytest

import clearing

LONGLEAF = Path(__file__).parent / "data" / "longleaf_stand"


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
