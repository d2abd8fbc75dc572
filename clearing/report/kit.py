"""Name what of a plan the tanks and the go lines look at, so that the next day brings it too."""

from dataclasses import dataclass
from typing import Protocol

import pandas as pd

from clearing.property import Property
from clearing.rates import Rates


class Kit(Protocol):
    """What `Results` and `OwnKit` both carry: the property, its rates, its blocks."""

    @property
    def rates(self) -> Rates:
        """Return the handbook with the owner's figures over it."""

    @property
    def blocks(self) -> pd.DataFrame:
        """Return the blocks: block_id, goal, stock, hay."""

    @property
    def property(self) -> Property:  # the last one: the name hides the decorator from here on
        """Return the property as read."""


class Sprayed(Protocol):
    """A visit as the go lines look at it."""

    @property
    def job_key(self) -> str:
        """Return the job."""

    @property
    def herbicide_key(self) -> str:
        """Return the product, blank for none."""


@dataclass(frozen=True)
class OwnKit:
    """The owner's settings and blocks without a run of the planner."""

    property: Property
    rates: Rates
    blocks: pd.DataFrame
