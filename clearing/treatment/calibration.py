"""Find out how much a sprayer puts on an acre, and what that means for a tank.

The 1/128-acre method: an acre has as many 128ths as a gallon has fluid ounces, so the fluid ounces
caught in the time that 340 square feet take are the gallons an acre.
"""

import math

from clearing.units import HA_PER_ACRE, L_PER_FLOZ, L_PER_GAL, M_PER_FT

PARTS = 128  # of an acre, and of a gallon
COURSE_M2 = HA_PER_ACRE * 10_000 / PARTS


def sprayed_l_ha(caught_l: float, course_m2: float = COURSE_M2) -> float:
    """Return what a sprayer puts on a hectare [l/ha].

    volume = caught / course x 10,000 m2; on the 1/128 acre, fluid ounces caught = gallons an acre.

    Parameters
    ----------
    caught_l : float
        Caught in the time that the course takes to spray [l].
    course_m2 : float
        Area of the course [m2].

    References
    ----------
    calibration_128, vt_456_502
    """
    _over_nought(caught_l, course_m2)
    return caught_l / course_m2 * 10_000


def caught_in_time_l(caught_l: float, caught_s: float, course_s: float) -> float:
    """Return what would be caught in the time of the course, from a catch of another time [l].

    References
    ----------
    calibration_128
    """
    _over_nought(caught_l, caught_s, course_s)
    return caught_l * course_s / caught_s


def boomless_l_ha(flow_l_min: float, speed_kmh: float, width_m: float) -> float:
    """Return what a moving sprayer puts on a hectare [l/ha].

    volume = 600 x flow / (speed x width), the metric form of 5,940 gal/min over mph x inches.

    References
    ----------
    albany_wy
    """
    _over_nought(flow_l_min, speed_kmh, width_m)
    return 600.0 * flow_l_min / (speed_kmh * width_m)


def product_in_tank_l(rate_l_ha: float, sprayed: float, tank_l: float) -> float:
    """Return the product that goes into a tank to meet a rate [l].

    product = rate / sprayed volume x tank.

    Parameters
    ----------
    rate_l_ha : float
        Product on a hectare [l/ha].
    sprayed : float
        Spray on a hectare [l/ha].
    tank_l : float
        Finished mix [l].

    Raises
    ------
    ValueError
        A number that is not over 0, or more product than spray.

    References
    ----------
    calibration_128, vt_456_502
    """
    _over_nought(rate_l_ha, sprayed, tank_l)
    if rate_l_ha > sprayed * (1 + 1e-9):
        raise ValueError(
            f"{_on_ground(rate_l_ha)} of product do not go into {_on_ground(sprayed)} of spray; "
            "walk slower, take a larger tip, or check the rate on the label"
        )
    return rate_l_ha / sprayed * tank_l


def tank_covers_ha(tank_l: float, sprayed: float) -> float:
    """Return the ground that a tank sprays [ha].

    References
    ----------
    calibration_128
    """
    _over_nought(tank_l, sprayed)
    return tank_l / sprayed


def product_l_ha(ae_kg_ha: float, ae_kg_per_l: float) -> float:
    """Return the product that carries a dose of acid equivalent [l/ha].

    References
    ----------
    pnw_handbook
    """
    _over_nought(ae_kg_ha, ae_kg_per_l)
    return ae_kg_ha / ae_kg_per_l


def course_area_m2(width_ft: float, length_ft: float) -> float:
    """Return the area of a course laid out in feet [m2].

    References
    ----------
    calibration_128
    """
    _over_nought(width_ft, length_ft)
    return width_ft * length_ft * M_PER_FT**2


def gallons_an_acre(l_ha: float) -> float:
    """Return a volume a hectare in gallons an acre [gal/ac].

    References
    ----------
    nist_hb44
    """
    return l_ha * HA_PER_ACRE / L_PER_GAL


def _on_ground(l_ha: float) -> str:
    return f"{l_ha * HA_PER_ACRE / L_PER_FLOZ:,.0f} fl oz an acre ({l_ha:,.3g} L a hectare)"


def _over_nought(*values: float) -> None:
    """Refuse what cannot be measured in the field."""
    for value in values:
        if not 0 < value < math.inf:
            raise ValueError(f"{value:g} cannot be calibrated with; write numbers over 0")
