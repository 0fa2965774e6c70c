"""Chlorine through a bed of carbon whose capacity lasts: half of it gone in every half-length."""

from hydraulics.errors import DomainError


def passing_share(depth: float, half_length: float) -> float:
    """Share of the chlorine that passes a bed.

    2^(-L / L50)

    depth: L, 0 or more [m]; half_length: L50 at the velocity of the water, above 0 [m]. Returns [-], 0 to 1. Raises
    DomainError.
    Source: DIN 19603, the form of its test of carbon.

    Hand arithmetic: three half-lengths leave an eighth.
    >>> round(passing_share(0.15, 0.05), 12)
    0.125
    """
    if not depth >= 0.0:
        raise DomainError("depth of carbon", f"{depth:g} m", "0 m or more")
    if not half_length > 0.0:
        raise DomainError("half-length", f"{half_length:g} m", "above 0 m")
    return float(2.0 ** (-depth / half_length))


def grown_half_length(half_length: float, growth: float, years: float) -> float:
    """Half-length of a carbon that has been in service for a time.

    L50 (1 + g)^t

    half_length: L50 of the new carbon, above 0 [m]; growth: g a year, 0 or more [-]; years: t, 0 or more.
    Returns [m]. Raises DomainError.
    Source: an assumption of this model; fouling grows by what is there.

    Hand arithmetic: half as much again each year, for two.
    >>> round(grown_half_length(0.04, 0.5, 2.0), 12)
    0.09
    """
    if not half_length > 0.0:
        raise DomainError("half-length", f"{half_length:g} m", "above 0 m")
    if not growth >= 0.0:
        raise DomainError("growth of the half-length", f"{growth:g} a year", "0 or more")
    if not years >= 0.0:
        raise DomainError("years in service", f"{years:g}", "0 or more")
    return float(half_length * (1.0 + growth) ** years)
