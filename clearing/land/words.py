"""Say areas and distances of the ground in the owner's units."""

from clearing.units import HA_PER_ACRE, M_PER_FT

SMALL_ACRES = 0.1  # below this the owner hears square feet; own choice
SMALL_HA = 0.1  # below this the owner hears square metres; own choice
MILE_FT = 5280
NEAR_MILES, NEAR_KM = 1.0, 2.0  # below this the owner hears feet or metres; own choice


def area_words(area_m2: float, us: bool) -> str:
    """Return an area as the owner would say it: acres or square feet, hectares or square metres.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> area_words(38.3, us=True), area_words(38.3, us=False), area_words(2e4, us=True)
    ('412 sq ft', '38 m2', '4.94 acres')
    """
    ha = area_m2 / 1e4
    if us:
        acres = ha / HA_PER_ACRE
        return f"{acres:.2f} acres" if acres >= SMALL_ACRES else f"{acres * 43560:,.0f} sq ft"
    return f"{ha:.2f} ha" if ha >= SMALL_HA else f"{area_m2:,.0f} m2"


def distance_words(length_m: float, us: bool) -> str:
    """Return a distance as the owner would say it: feet or miles, metres or kilometres.

    References
    ----------
    nist_hb44

    Examples
    --------
    >>> distance_words(30, us=True), distance_words(6936273, us=True), distance_words(61, us=False)
    ('98 ft', '4,310 miles', '61 m')
    """
    if us:
        feet = length_m / M_PER_FT
        if feet < NEAR_MILES * MILE_FT:
            return f"{feet:,.0f} ft"
        miles = feet / MILE_FT
        return f"{miles:,.0f} miles" if miles >= 10 else f"{miles:.1f} miles"
    if length_m < NEAR_KM * 1000:
        return f"{length_m:,.0f} m"
    return f"{length_m / 1000:,.0f} km" if length_m >= 1e4 else f"{length_m / 1000:.1f} km"
