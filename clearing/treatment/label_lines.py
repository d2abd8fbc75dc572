"""Hold what the label says of the day: wind, heat, dry hours, re-entry, the time for a stump."""

from collections.abc import Mapping
from dataclasses import dataclass

from clearing.rates import Figure, Rates
from clearing.treatment.products import Known
from clearing.units import C_PER_F, F_AT_0_C, KMH_PER_MPH

DAY_LINES = {  # the owner's word -> the handbook's item, factor and nought of its unit
    "wind_min_mph": ("wind_min_mph", 1.0, 0.0),
    "wind_min_kmh": ("wind_min_mph", 1.0 / KMH_PER_MPH, 0.0),
    "wind_max_mph": ("wind_max_mph", 1.0, 0.0),
    "wind_max_kmh": ("wind_max_mph", 1.0 / KMH_PER_MPH, 0.0),
    "max_temp_f": ("max_temp_f", 1.0, 0.0),
    "max_temp_c": ("max_temp_f", 1.0 / C_PER_F, F_AT_0_C),
    "rain_free_hours": ("rain_free_h", 1.0, 0.0),
    "reentry_hours": ("rei_hours", 1.0, 0.0),
    "stump_minutes": ("stump_minutes", 1.0, 0.0),
}
AT_LEAST = ("wind_min_mph", "rain_free_h", "rei_hours")  # of two label lines the larger is stricter


@dataclass(frozen=True)
class DayLine:
    """One thing that a label says of the day.

    Attributes
    ----------
    item : str
        As the handbook has it: wind_min_mph, wind_max_mph [mph], max_temp_f [degrees F],
        rain_free_h, rei_hours [h], stump_minutes [min].
    value : float
        In the item's unit.
    figure : Figure or None
        The handbook's figure; none where the owner's confirmed label says it.
    """

    item: str
    value: float
    figure: Figure | None

    @property
    def own(self) -> bool:
        """Return whether the owner's confirmed label says it."""
        return self.figure is None


def day_line(known: Known, item: str, rates: Rates) -> DayLine:
    """Return what a product's label says of one thing: the confirmed label's, else the handbook's.

    A line of a label that nobody confirmed counts for nothing here. Said in two units, the stricter
    line of the label counts.

    Parameters
    ----------
    known : Known
        The owner's product, known to the handbook.
    item : str
        One of the handbook's items in ``DAY_LINES``.
    rates : Rates
        Table ``figures``.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    own = own_lines(known.product.limits) if known.product.confirmed else {}
    if item in own:
        return DayLine(item, own[item], None)
    figure = rates.figure(known.key, item)
    return DayLine(item, figure.value, figure)


def own_lines(limits: Mapping[str, float]) -> dict[str, float]:
    """Return the label's lines of the day in the handbook's units, item to value.

    Parameters
    ----------
    limits : mapping
        The owner's words and numbers, as in ``[herbicide.NAME.limits]``.

    References
    ----------
    nist_hb44; own reasoning

    Examples
    --------
    >>> own_lines({"max_temp_c": 30, "wind_max_mph": 8, "graze_days": 14})
    {'wind_max_mph': 8.0, 'max_temp_f': 86.0}
    """
    out: dict[str, float] = {}
    for word, (item, factor, nought) in DAY_LINES.items():
        if word in limits:
            value = round(limits[word] * factor + nought, 9)
            stricter = max if item in AT_LEAST else min
            out[item] = stricter(out.get(item, value), value)
    return out
